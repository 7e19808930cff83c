//! The part of the national standard's XML that marks can fill. Never a whole document: dispatch and the care
//! record hold the rest.

use std::io;

use debrief::{Basis, Fault};
use quick_xml::{
    Writer,
    events::{BytesEnd, BytesStart, BytesText, Event},
};
use record::Opened;

use crate::{
    CarryTime,
    carry::STANDARD,
    codes::{self, ProcedureCodes},
    facts::Facts,
    filled::{Filled, Value},
    groups,
};

/// An element of a group, in the schema's order.
enum Part {
    /// Written always: without a value as not recorded.
    Must(&'static str),
    /// Written where it is filled.
    May(&'static str),
    /// Elements that stand in a group of their own.
    Inner(&'static str, &'static [Part]),
}

use Part::{Inner, May, Must};

const TIMES: &[Part] = &[
    May("eTimes.07"),
    May("eTimes.09"),
    May("eTimes.11"),
    May("eTimes.12"),
];

const ARREST: &[Part] = &[
    Must("eArrest.01"),
    Must("eArrest.02"),
    Must("eArrest.03"),
    Must("eArrest.04"),
    Must("eArrest.07"),
    Must("eArrest.09"),
    Must("eArrest.11"),
    Must("eArrest.12"),
    Must("eArrest.14"),
    Must("eArrest.15"),
    Must("eArrest.16"),
    Must("eArrest.17"),
    Must("eArrest.18"),
    May("eArrest.19"),
    Must("eArrest.20"),
    Must("eArrest.21"),
    Must("eArrest.22"),
];

/// What is required nationally, for nothing else can be filled.
const VITALS: &[Part] = &[
    Must("eVitals.01"),
    Must("eVitals.02"),
    Inner(
        "eVitals.CardiacRhythmGroup",
        &[Must("eVitals.03"), Must("eVitals.04"), Must("eVitals.05")],
    ),
    Inner("eVitals.BloodPressureGroup", &[Must("eVitals.06")]),
    Inner("eVitals.HeartRateGroup", &[Must("eVitals.10")]),
    Must("eVitals.12"),
    Must("eVitals.14"),
    Must("eVitals.16"),
    Must("eVitals.18"),
    Inner(
        "eVitals.GlasgowScoreGroup",
        &[
            Must("eVitals.19"),
            Must("eVitals.20"),
            Must("eVitals.21"),
            Must("eVitals.22"),
        ],
    ),
    Must("eVitals.26"),
    Inner("eVitals.PainScaleGroup", &[Must("eVitals.27")]),
    Inner(
        "eVitals.StrokeScaleGroup",
        &[Must("eVitals.29"), Must("eVitals.30")],
    ),
    Must("eVitals.31"),
];

const MEDICATIONS: &[Part] = &[
    Must("eMedications.01"),
    Must("eMedications.02"),
    Must("eMedications.03"),
    Must("eMedications.04"),
    Inner(
        "eMedications.DosageGroup",
        &[Must("eMedications.05"), Must("eMedications.06")],
    ),
    Must("eMedications.07"),
    Must("eMedications.08"),
    Must("eMedications.10"),
    May("eMedications.13"),
];

const PROCEDURES: &[Part] = &[
    Must("eProcedures.01"),
    Must("eProcedures.02"),
    Must("eProcedures.03"),
    Must("eProcedures.05"),
    Must("eProcedures.06"),
    Must("eProcedures.07"),
    Must("eProcedures.08"),
    Must("eProcedures.10"),
    May("eProcedures.13"),
    May("eProcedures.14"),
];

const CONFIRMATION: &[Part] = &[Must("eAirway.02"), Must("eAirway.03"), Must("eAirway.04")];

/// The part as XML.
///
/// # Errors
/// Where the state line cannot be folded, or the text cannot be formed.
pub fn nemsis(opened: &Opened, basis: Basis, own: &ProcedureCodes) -> Result<String, Fault> {
    let facts = Facts::new(opened, basis)?;
    let rows = groups::all(&facts);
    let mut part = Xml {
        to: Writer::new_with_indent(Vec::new(), b' ', 2),
        rows: &rows,
        own,
    };
    let written = part.whole().map(|()| part.to.into_inner());
    let text = written.ok().and_then(|bytes| String::from_utf8(bytes).ok());
    text.map(|text| format!("{text}\n")).ok_or_else(|| Fault {
        place: "the XML".to_owned(),
        what: "cannot be formed".to_owned(),
    })
}

struct Xml<'r> {
    to: Writer<Vec<u8>>,
    rows: &'r [Filled],
    own: &'r ProcedureCodes,
}

impl Xml<'_> {
    fn whole(&mut self) -> io::Result<()> {
        self.to
            .write_event(Event::Decl(quick_xml::events::BytesDecl::new(
                "1.0",
                Some("UTF-8"),
                None,
            )))?;
        let mut root = BytesStart::new("PatientCareReport");
        root.push_attribute(("xmlns", "http://www.nemsis.org"));
        root.push_attribute(("xmlns:xsi", "http://www.w3.org/2001/XMLSchema-instance"));
        self.to.write_event(Event::Start(root))?;
        self.to.write_event(Event::Comment(BytesText::new(&format!(
            " A part of a report ({STANDARD}), by the crew's marks: dispatch and the care record hold the rest. "
        ))))?;
        if self
            .rows
            .iter()
            .any(|row| row.element.starts_with("eTimes."))
        {
            self.section("eTimes", TIMES)?;
        }
        self.section("eArrest", ARREST)?;
        self.groups("eVitals", &["eVitals.VitalGroup"], VITALS)?;
        self.groups(
            "eMedications",
            &["eMedications.MedicationGroup"],
            MEDICATIONS,
        )?;
        self.groups("eProcedures", &["eProcedures.ProcedureGroup"], PROCEDURES)?;
        self.airway()?;
        self.end("PatientCareReport")
    }

    fn start(&mut self, name: &str) -> io::Result<()> {
        self.to.write_event(Event::Start(BytesStart::new(name)))
    }

    fn end(&mut self, name: &str) -> io::Result<()> {
        self.to.write_event(Event::End(BytesEnd::new(name)))
    }

    fn section(&mut self, name: &str, parts: &[Part]) -> io::Result<()> {
        self.start(name)?;
        self.parts(parts, None)?;
        self.end(name)
    }

    /// How many groups a section has.
    fn count(&self, section: &str) -> usize {
        let of = |row: &&Filled| row.element.split('.').next() == Some(section);
        let groups = self.rows.iter().filter(of).filter_map(|row| row.group);
        groups.max().unwrap_or(0)
    }

    /// A section of groups. Without one it is left out: that nothing was marked does not say that nothing was
    /// done.
    fn groups(&mut self, section: &str, around: &[&str], parts: &[Part]) -> io::Result<()> {
        let count = self.count(section);
        if count == 0 {
            return Ok(());
        }
        self.start(section)?;
        for n in 1..=count {
            for name in around {
                self.start(name)?;
            }
            self.parts(parts, Some(n))?;
            for name in around.iter().rev() {
                self.end(name)?;
            }
        }
        self.end(section)
    }

    /// Confirmations stand together in one group of the airway.
    fn airway(&mut self) -> io::Result<()> {
        let count = self.count("eAirway");
        if count == 0 {
            return Ok(());
        }
        self.start("eAirway")?;
        self.start("eAirway.AirwayGroup")?;
        for n in 1..=count {
            self.start("eAirway.ConfirmationGroup")?;
            self.parts(CONFIRMATION, Some(n))?;
            self.end("eAirway.ConfirmationGroup")?;
        }
        self.end("eAirway.AirwayGroup")?;
        self.end("eAirway")
    }

    fn parts(&mut self, parts: &[Part], group: Option<usize>) -> io::Result<()> {
        for part in parts {
            match part {
                Must(element) | May(element) => {
                    let rows = self.rows;
                    let mut written = false;
                    for row in rows
                        .iter()
                        .filter(|row| row.element == *element && row.group == group)
                    {
                        written |= self.element(row)?;
                    }
                    if !written && matches!(part, Must(_)) {
                        self.not_recorded(element)?;
                    }
                }
                Inner(name, inner) => {
                    self.start(name)?;
                    self.parts(inner, group)?;
                    self.end(name)?;
                }
            }
        }
        Ok(())
    }

    fn not_recorded(&mut self, element: &str) -> io::Result<()> {
        let mut empty = BytesStart::new(element);
        empty.push_attribute(("xsi:nil", "true"));
        empty.push_attribute(("NV", codes::NOT_RECORDED));
        self.to.write_event(Event::Empty(empty))
    }

    /// Writes what has a form in the standard; the rest is as if it had not been said.
    fn element(&mut self, row: &Filled) -> io::Result<bool> {
        let mut tag = BytesStart::new(row.element);
        let time = row.wall.map(|wall| CarryTime::new(wall).joined());
        let text = match &row.value {
            Value::Code(code, _) | Value::Unit(code, _) => Some((*code).to_owned()),
            Value::Time => time,
            Value::About => {
                tag.push_attribute(("PN", codes::APPROXIMATE));
                time
            }
            Value::Number(number) => Some(number.clone()),
            Value::Tries(n) => Some(n.to_string()),
            Value::Gas(number, code, _) => {
                tag.push_attribute(("ETCO2Type", *code));
                Some(number.clone())
            }
            Value::Drug(key) => {
                tag.push_attribute(("CodeType", "9924003"));
                codes::drug(key).and_then(|(_, code)| code.map(str::to_owned))
            }
            Value::Procedure(what) => self.own.get(*what).map(str::to_owned),
            Value::Own(code) => Some(code.clone()),
            Value::Word(_) | Value::Open => None,
        };
        let Some(text) = text else {
            return Ok(false);
        };
        self.to.write_event(Event::Start(tag))?;
        self.to.write_event(Event::Text(BytesText::new(&text)))?;
        self.end(row.element)?;
        Ok(true)
    }
}
