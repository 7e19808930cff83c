//! What stands in each table, column by column.

use cycle::Ms;
use record::Opened;
use serde::Serialize;
use serde_json::Value;

use crate::{
    Measures, Taken,
    table::{Column, Form, Table, began},
};

/// Times as seconds from the zero of the tables.
pub(crate) struct Seconds<'a> {
    id: &'a str,
    zero: i64,
    zero_name: &'static str,
}

fn long(at: Ms) -> i64 {
    i64::try_from(at.0).unwrap_or(i64::MAX)
}

fn seconds(ms: i64) -> String {
    let sign = if ms < 0 { "-" } else { "" };
    let ms = ms.unsigned_abs();
    format!("{sign}{}.{:03}", ms.div_euclid(1000), ms.rem_euclid(1000))
}

fn span(ms: Option<Ms>) -> String {
    ms.map_or_else(String::new, |ms| seconds(long(ms)))
}

fn share(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| format!("{value:.5}"))
}

fn number<T: ToString>(value: Option<T>) -> String {
    value.map_or_else(String::new, |value| value.to_string())
}

/// The record's word for a value of a closed list.
pub(crate) fn word<T: Serialize>(value: T) -> String {
    match serde_json::to_value(value) {
        Ok(Value::String(word)) => word,
        Ok(_) | Err(_) => String::new(),
    }
}

impl<'a> Seconds<'a> {
    pub(crate) fn new(id: &'a str, measures: &Measures) -> Self {
        let window = measures.windows.recognition;
        Self {
            id,
            zero: window.map_or(0, |w| long(w.from_ms)),
            zero_name: if window.is_some() {
                "recognition"
            } else {
                "start_of_record"
            },
        }
    }

    fn at(&self, at: Ms) -> String {
        self.long(long(at))
    }

    fn long(&self, at: i64) -> String {
        seconds(at.saturating_sub(self.zero))
    }

    fn may(&self, at: Option<Ms>) -> String {
        at.map_or_else(String::new, |at| self.at(at))
    }

    fn id(&self) -> String {
        self.id.to_owned()
    }
}

const fn text(name: &'static str, what: &'static str) -> Column {
    Column {
        name,
        datatype: "string",
        unit: "",
        what,
    }
}

const fn yes(name: &'static str, what: &'static str) -> Column {
    Column {
        name,
        datatype: "boolean",
        unit: "",
        what,
    }
}

const fn count(name: &'static str, what: &'static str) -> Column {
    Column {
        name,
        datatype: "integer",
        unit: "",
        what,
    }
}

const fn s(name: &'static str, what: &'static str) -> Column {
    Column {
        name,
        datatype: "decimal",
        unit: "s",
        what,
    }
}

const fn part(name: &'static str, what: &'static str) -> Column {
    Column {
        name,
        datatype: "decimal",
        unit: "1",
        what,
    }
}

const ID: Column = text("run", "the run");

const RUNS: [Column; 37] = [
    ID,
    text("kind", "run, drill, rehearsal or test"),
    text("basis", "as recorded, or as amended"),
    count("revision", "as amended: by which revision"),
    count("unsealed", "amendments since that revision was sealed"),
    text("version", "version of the measures' definitions"),
    yes("record_unchanged", "the record's chain is whole"),
    text("zero", "what the tables' seconds count from"),
    text("begins_by", "what the window begins with"),
    text("ends_by", "what the window ends with"),
    text("ems_witnessed", "the crew saw the arrest: reported apart"),
    s("window_s", "length of the window from recognition"),
    s("compressing_s", "time compressing"),
    s("hands_off_s", "time off the chest without circulation"),
    s(
        "circulation_s",
        "time with spontaneous circulation, in no fraction",
    ),
    s("unknown_s", "time that is not known, never filled in"),
    part("coverage", "known time of the window's"),
    count("checks_marked", "rhythm checks that were marked"),
    count("checks_due", "those and the ones never marked"),
    part("fraction", "compression fraction from recognition"),
    part(
        "fraction_from_compression",
        "compression fraction from the first compression",
    ),
    yes(
        "upper_bound",
        "breath pauses were not marked: an upper bound",
    ),
    part(
        "modelled",
        "the fraction with the protocol's breath pauses taken off",
    ),
    yes(
        "below_floor",
        "the fraction lies below 0.60; empty: not known",
    ),
    part("of_whole_window", "compressing of the whole window"),
    s(
        "no_flow_without_ventilation_s",
        "time off the chest without stretches for breaths",
    ),
    count("pauses", "pauses of the least length or longer"),
    s("pause_min_s", "the least length of a pause"),
    s("longest_pause_s", "the longest pause"),
    text("longest_pause_reason", "its reason"),
    s("device_pauses_s", "pauses for the device together"),
    s(
        "first_compression_s",
        "from the zero to the first compression",
    ),
    s("first_rhythm_s", "to the first rhythm"),
    s("first_shock_s", "to the first shock"),
    s("first_drug_s", "to the first dose"),
    s("first_airway_s", "to the first airway device in place"),
    s("first_device_s", "to the first compression by device"),
];

const OWN: [Column; 4] = [
    text("unit_code", "the service's own code of the unit"),
    text("protocol", "id and version of the protocol"),
    Column {
        name: "began",
        datatype: "dateTimeStamp",
        unit: "",
        what: "the phone's wall clock at the start of the record",
    },
    text("patient_class", "whose numbers, at the start"),
];

const OTHERS: [Column; 2] = [
    count("year", "the year"),
    text("patient_class", "whose numbers, at the start"),
];

pub(crate) fn runs(opened: &Opened, m: &Measures, form: &Form, to: &Seconds<'_>) -> Table {
    let began = began(opened)
        .map(|wall| wall.to_string())
        .unwrap_or_default();
    let class = word(opened.header.patient_class);
    let (more, about): (&[Column], Vec<String>) = match form {
        Form::Own => (
            &OWN,
            vec![
                opened.header.unit_code.clone().unwrap_or_default(),
                m.protocol
                    .as_ref()
                    .map_or_else(String::new, |p| format!("{} {}", p.id, p.version)),
                began,
                class,
            ],
        ),
        Form::Deidentified { .. } => {
            let year = began.split('-').next().unwrap_or_default().to_owned();
            (&OTHERS, vec![year, class])
        }
    };
    let mut table = Table::new("runs", &[&RUNS[..], more].concat());
    let time = m.time.as_ref().map(|t| &t.of);
    let trust = m.trust.as_ref().map(|t| &t.of);
    let fraction = m.fraction.as_ref().map(|f| &f.of);
    let first = m.first.as_ref().map(|f| &f.of);
    let firsts = |of: fn(&crate::First) -> Option<Ms>| span(first.and_then(of));
    let (as_what, revision, unsealed) = match m.basis {
        Taken::Recorded => ("as recorded", String::new(), String::new()),
        Taken::Amended { revision, unsealed } => {
            ("as amended", revision.to_string(), unsealed.to_string())
        }
    };
    let mut cells = vec![
        to.id(),
        word(m.kind),
        as_what.to_owned(),
        revision,
        unsealed,
        m.version.to_owned(),
        m.is_sound.to_string(),
        to.zero_name.to_owned(),
        m.windows.begins_by.map(word).unwrap_or_default(),
        word(m.windows.ends_by),
        word(m.windows.ems_witnessed),
        span(m.windows.recognition.map(crate::Window::len)),
        span(time.map(|t| t.compressing_ms)),
        span(time.map(|t| t.hands_off_ms)),
        span(time.map(|t| t.circulation_ms)),
        span(time.map(|t| t.unknown_ms)),
        share(time.and_then(|t| t.coverage)),
        number(trust.map(|t| t.checks_marked)),
        number(trust.map(|t| t.checks_due)),
        share(fraction.and_then(|f| f.value)),
        share(
            m.fraction_from_compression
                .as_ref()
                .and_then(|f| f.of.value),
        ),
        number(fraction.map(|f| f.upper_bound)),
        share(fraction.and_then(|f| f.modelled)),
        number(fraction.and_then(|f| f.below_floor)),
        share(fraction.and_then(|f| f.of_whole_window)),
        span(m.no_flow.as_ref().map(|n| n.of.without_ventilation_ms)),
        number(time.map(|_| m.pauses.of.count)),
        span(Some(m.pauses.of.min_ms)),
        span(m.pauses.of.longest_ms),
        m.pauses.of.longest_reason.map(word).unwrap_or_default(),
        span(time.map(|_| m.device_pauses.of.total_ms)),
        firsts(|f| f.compression_ms),
        firsts(|f| f.rhythm_ms),
        firsts(|f| f.shock_ms),
        firsts(|f| f.drug_ms),
        firsts(|f| f.airway_ms),
        firsts(|f| f.device_ms),
    ];
    cells.extend(about);
    table.row(cells);
    table
}

const PAUSES: [Column; 6] = [
    ID,
    s("from_s", "hands off"),
    s("to_s", "its end"),
    s("length_s", "how long"),
    text("reason", "the reason that stands"),
    text("ended_by", "compressions, circulation, a gap or the end"),
];
const SHOCKS: [Column; 12] = [
    ID,
    s("at_s", "the mark's time"),
    text("by", "us or others"),
    yes("timed", "that time is the shock's own"),
    s("pre_s", "last compression to shock"),
    s("post_s", "shock to next compression"),
    s("peri_s", "last compression to next compression"),
    s("pause_s", "the pause that it lies in"),
    yes("through_shock", "compressions went on through it"),
    yes("stacked", "one of several in one pause"),
    yes("no_resume", "no compressions came after it"),
    yes(
        "pause_not_marked",
        "its times are empty for want of a marked pause",
    ),
];
const MINUTES: [Column; 7] = [
    ID,
    count("minute", "from 0"),
    s("compressing_s", "time compressing"),
    s("hands_off_s", "time off the chest"),
    s("circulation_s", "time with circulation"),
    s("unknown_s", "time that is not known"),
    part("fraction", "compressing of (compressing + hands off)"),
];
const DRUGS: [Column; 9] = [
    ID,
    text("drug", "the protocol's key"),
    s("from_s", "the earlier dose"),
    s("to_s", "the later dose"),
    s("interval_s", "between them"),
    s("window_min_s", "not due before, by the window in force"),
    s("window_max_s", "late after, by the window in force"),
    text("place", "below, inside or above the window in force"),
    yes(
        "from_before_us",
        "one of the two was given before this crew",
    ),
];
const DOSES: [Column; 8] = [
    ID,
    text("drug", "the protocol's key"),
    count("doses", "doses by this crew and others on the scene"),
    count("doses_before_us", "doses before this crew"),
    s("window_min_s", "not due before"),
    s("window_max_s", "late after"),
    count("inside", "intervals inside the window"),
    count("intervals", "all intervals"),
];
const FITTINGS: [Column; 7] = [
    ID,
    s("from_s", "its first step"),
    s("running_s", "the device ran"),
    text("refused", "why it was not fitted"),
    count("windows", "stretches of hands off that it took"),
    s("total_s", "together"),
    part("flow_before", "share of the minute before with hands on"),
];
const CUP: [Column; 5] = [
    ID,
    s("asked_s", "asked"),
    s("answered_s", "answered"),
    s("to_answer_s", "from question to answer"),
    text("answer", "good or reseat"),
];
const POWER: [Column; 6] = [
    ID,
    s("from_s", "the pack came out"),
    s("swapped_s", "the new one was in"),
    s("length_s", "from one to the other"),
    yes("inside_window", "that lay inside the protocol's window"),
    s("hands_off_s", "hands off around it"),
];
const CLOCKS: [Column; 5] = [
    ID,
    text("clock", "whose clock"),
    s("at_s", "when it was looked at"),
    s("offset_s", "what it showed less the phone's wall clock"),
    s("precision_s", "how exact that is"),
];

pub(crate) fn tables(m: &Measures, form: &Form, to: &Seconds<'_>) -> Vec<Table> {
    vec![
        pauses(m, to),
        shocks(m, to),
        minutes(m, to),
        doses(m, form, to),
        drugs(m, form, to),
        fittings(m, form, to),
        cup(m, to),
        power(m, to),
    ]
}

fn pauses(m: &Measures, to: &Seconds<'_>) -> Table {
    let mut table = Table::new("pauses", &PAUSES);
    for row in &m.pauses.of.rows {
        table.row(vec![
            to.id(),
            to.at(row.from_ms),
            to.at(row.to_ms),
            span(Some(row.ms)),
            word(row.reason),
            word(row.ended_by),
        ]);
    }
    table
}

fn shocks(m: &Measures, to: &Seconds<'_>) -> Table {
    let mut table = Table::new("shocks", &SHOCKS);
    for row in &m.shocks.of.rows {
        table.row(vec![
            to.id(),
            to.at(row.at_ms),
            word(row.by),
            row.timed.to_string(),
            span(row.pre_ms),
            span(row.post_ms),
            span(row.peri_ms),
            span(row.pause_ms),
            row.through_shock.to_string(),
            row.stacked.to_string(),
            row.no_resume.to_string(),
            row.pause_not_marked.to_string(),
        ]);
    }
    table
}

fn minutes(m: &Measures, to: &Seconds<'_>) -> Table {
    let mut table = Table::new("minutes", &MINUTES);
    for row in m.minutes.iter().flat_map(|minutes| &minutes.of.rows) {
        table.row(vec![
            to.id(),
            row.minute.to_string(),
            span(Some(row.compressing_ms)),
            span(Some(row.hands_off_ms)),
            span(Some(row.circulation_ms)),
            span(Some(row.unknown_ms)),
            share(row.fraction),
        ]);
    }
    table
}

/// Drugs that go by their own name also where nothing may lead back to the service.
const COMMON: [&str; 11] = [
    "adrenaline",
    "antiarrhythmic",
    "amiodarone",
    "lidocaine",
    "bicarbonate",
    "calcium",
    "glucose",
    "magnesium",
    "naloxone",
    "atropine",
    "vasopressin",
];

/// A drug's key; a service's own key for others' eyes as its number among the run's drugs.
fn key(drug: &str, n: usize, form: &Form) -> String {
    match form {
        Form::Deidentified { .. } if !COMMON.contains(&drug) => {
            format!("drug_{}", n.saturating_add(1))
        }
        Form::Own | Form::Deidentified { .. } => drug.to_owned(),
    }
}

fn doses(m: &Measures, form: &Form, to: &Seconds<'_>) -> Table {
    let mut table = Table::new("drugs", &DOSES);
    for (n, drug) in m.drugs.of.rows.iter().enumerate() {
        let is_placed = drug.intervals.iter().any(|i| i.place.is_some())
            || drug.intervals.is_empty() && drug.window_min_ms.is_some();
        table.row(vec![
            to.id(),
            key(&drug.drug, n, form),
            drug.doses.to_string(),
            number(drug.doses_before_us),
            span(drug.window_min_ms),
            span(drug.window_max_ms),
            // Without a window none lies inside one, and none outside.
            number(is_placed.then_some(drug.inside)),
            drug.intervals.len().to_string(),
        ]);
    }
    table
}

/// Why a device was not fitted; a word of no list of ours for others' eyes as `other`.
fn refused(why: Option<&String>, form: &Form) -> String {
    const KNOWN: [&str; 4] = ["too_small", "too_large", "local_list", "other"];
    match (why.map(String::as_str), form) {
        (None, _) => String::new(),
        (Some(why), Form::Deidentified { .. }) if !KNOWN.contains(&why) => "other".to_owned(),
        (Some(why), _) => why.to_owned(),
    }
}

fn drugs(m: &Measures, form: &Form, to: &Seconds<'_>) -> Table {
    let mut table = Table::new("drug_intervals", &DRUGS);
    for (n, drug) in m.drugs.of.rows.iter().enumerate() {
        for row in &drug.intervals {
            table.row(vec![
                to.id(),
                key(&drug.drug, n, form),
                to.long(row.from_ms),
                to.long(row.to_ms),
                seconds(row.ms),
                span(row.window_min_ms),
                span(row.window_max_ms),
                row.place.map(word).unwrap_or_default(),
                row.from_before_us.to_string(),
            ]);
        }
    }
    table
}

fn fittings(m: &Measures, form: &Form, to: &Seconds<'_>) -> Table {
    let mut table = Table::new("fittings", &FITTINGS);
    for row in &m.fittings.of.rows {
        table.row(vec![
            to.id(),
            to.at(row.from_ms),
            to.may(row.running_ms),
            refused(row.refused.as_ref(), form),
            row.windows_ms.len().to_string(),
            span(Some(row.total_ms)),
            share(row.flow_before),
        ]);
    }
    table
}

fn cup(m: &Measures, to: &Seconds<'_>) -> Table {
    let mut table = Table::new("cup_checks", &CUP);
    for row in &m.cup.of.rows {
        table.row(vec![
            to.id(),
            to.at(row.asked_ms),
            to.may(row.answered_ms),
            span(row.ms),
            row.answer.map(word).unwrap_or_default(),
        ]);
    }
    table
}

fn power(m: &Measures, to: &Seconds<'_>) -> Table {
    let mut table = Table::new("power_swaps", &POWER);
    for row in &m.power.of.rows {
        table.row(vec![
            to.id(),
            to.at(row.from_ms),
            to.may(row.swapped_ms),
            span(row.ms),
            number(row.inside_window),
            span(row.hands_off_ms),
        ]);
    }
    table
}

pub(crate) fn clocks(m: &Measures, to: &Seconds<'_>) -> Table {
    let mut table = Table::new("clocks", &CLOCKS);
    for row in &m.clocks.of.rows {
        table.row(vec![
            to.id(),
            word(row.clock),
            to.at(row.at_ms),
            number(row.offset_s),
            number(row.precision_s),
        ]);
    }
    table
}
