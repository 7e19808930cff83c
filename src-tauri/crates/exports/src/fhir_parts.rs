//! The resources of a bundle: procedures, doses, readings, measures.

use cycle::{
    Mark, Ms,
    mark::{By, CareMark, CheckMark},
};
use debrief::Doing;
use record::Wall;
use serde_json::{Map, Value, json};
use words::CarryWord;

use crate::{
    carry::drug,
    codes::{self, Procedure},
    fhir::Bundle,
    filled::{Filled, Value as Said},
};

const LOINC: &str = "http://loinc.org";
const UCUM: &str = "http://unitsofmeasure.org";
const RXNORM: &str = "http://www.nlm.nih.gov/research/umls/rxnorm";
/// The code system of a service's own procedure codes: the one that the national standard asks for.
const PROCEDURES: &str = "http://snomed.info/sct";

/// Rows of one group.
fn grouped<'r>(rows: &'r [Filled], section: &str) -> Vec<Vec<&'r Filled>> {
    let of = |row: &&Filled| row.element.split('.').next() == Some(section);
    let count = rows.iter().filter(of).filter_map(|row| row.group).max();
    let groups = (1..=count.unwrap_or(0)).map(|n| {
        let rows = rows.iter().filter(of);
        rows.filter(|row| row.group == Some(n)).collect()
    });
    groups.collect()
}

fn value<'r>(rows: &[&'r Filled], element: &str) -> Option<&'r Said> {
    rows.iter()
        .find(|row| row.element == element)
        .map(|row| &row.value)
}

fn put(to: &mut Value, key: &str, what: Value) {
    if let Some(fields) = to.as_object_mut() {
        fields.insert(key.to_owned(), what);
    }
}

impl Bundle<'_> {
    /// R4 wants somebody that it was done to; nobody is named.
    fn subject(&self) -> Value {
        json!({
            "extension": [{
                "url": "http://hl7.org/fhir/StructureDefinition/data-absent-reason",
                "valueCode": "masked",
            }],
            "display": self.words.carry(CarryWord::Subject),
        })
    }

    fn said(&self, word: CarryWord) -> Value {
        json!({"text": self.words.carry(word)})
    }

    fn loinc(&self, code: &str, word: CarryWord) -> Value {
        json!({
            "coding": [{"system": LOINC, "code": code}],
            "text": self.words.carry(word),
        })
    }

    fn period(&self, from: Ms, to: Ms) -> Value {
        let mut period = Map::new();
        for (key, at) in [("start", from), ("end", to)] {
            if let Some(wall) = self.facts.wall(at) {
                period.insert(key.to_owned(), json!(wall.to_string()));
            }
        }
        Value::Object(period)
    }

    fn procedure(&self, what: Procedure) -> Value {
        let mut code = self.said(what.said());
        if let Some(own) = self.own.get(what) {
            put(
                &mut code,
                "coding",
                json!([{"system": PROCEDURES, "code": own}]),
            );
        }
        json!({
            "resourceType": "Procedure",
            "status": "completed",
            "code": code,
            "subject": self.subject(),
            "encounter": {"reference": self.encounter},
        })
    }

    fn observation(&self, code: &Value) -> Value {
        json!({
            "resourceType": "Observation",
            "status": "final",
            "code": code,
            "encounter": {"reference": self.encounter},
            "device": {"reference": self.device},
        })
    }
}

pub(crate) fn procedures(bundle: &mut Bundle<'_>, rows: &[Filled]) {
    // Compressions stand as they were, stretch by stretch.
    for stretch in bundle.facts.stretches.clone() {
        let Doing::Compressing(by) = stretch.doing else {
            continue;
        };
        let what = match by {
            By::Manual => Procedure::ByHand,
            By::Mechanical => Procedure::ByDevice,
        };
        let mut made = bundle.procedure(what);
        let period = bundle.period(stretch.from_ms, stretch.to_ms);
        put(&mut made, "performedPeriod", period);
        bundle.add(&made);
    }
    for group in grouped(rows, "eProcedures") {
        let Some(Said::Procedure(what)) = value(&group, "eProcedures.03") else {
            continue;
        };
        if matches!(what, Procedure::ByHand | Procedure::ByDevice) {
            continue;
        }
        let mut made = bundle.procedure(*what);
        if value(&group, "eProcedures.06")
            .is_some_and(|v| *v == Said::Code(codes::NO, CarryWord::No))
        {
            // "not-done" would say that nobody tried.
            put(&mut made, "outcome", json!({"text": "not successful"}));
        }
        let mut notes: Vec<Value> = Vec::new();
        if let Some(Said::Tries(tries)) = value(&group, "eProcedures.05") {
            notes.push(json!({"text": format!("tries: {tries}")}));
        }
        if let Some(wall) = group.first().and_then(|row| row.wall) {
            put(&mut made, "performedDateTime", json!(wall.to_string()));
            if let Some(joules) = energy(bundle, wall, *what) {
                notes.push(json!({"text": format!("{joules} J")}));
            }
        }
        if !notes.is_empty() {
            put(&mut made, "note", Value::Array(notes));
        }
        bundle.add(&made);
    }
}

/// The energy of the shock at that moment.
fn energy(bundle: &Bundle<'_>, at: Wall, what: Procedure) -> Option<u16> {
    matches!(
        what,
        Procedure::Shock | Procedure::ShockAed | Procedure::ShockManual
    )
    .then(|| {
        bundle.facts.marks.iter().find_map(|m| {
            let Mark::Check(CheckMark::Shock { energy_j, .. }) = &m.mark else {
                return None;
            };
            if m.wall == Some(at) { *energy_j } else { None }
        })
    })
    .flatten()
}

/// A number as it was entered; JSON writes it without its last noughts.
fn number(text: &str) -> Option<Value> {
    let number: f64 = text.parse().ok()?;
    number.is_finite().then(|| json!(number))
}

pub(crate) fn medications(bundle: &mut Bundle<'_>, rows: &[Filled]) {
    // A dose whose time was not told was given before the crew said so.
    let told = bundle.facts.marks.iter().rfind(|m| {
        matches!(
            &m.mark,
            Mark::Run(cycle::mark::RunMark::PriorCare(_))
                | Mark::Care(CareMark::Drug { prior: true, .. })
        )
    });
    let told = told.and_then(|m| m.wall);
    for group in grouped(rows, "eMedications") {
        let Some(Said::Drug(key)) = value(&group, "eMedications.03") else {
            continue;
        };
        let (code, text) = drug(key, bundle.words);
        let mut what = json!({"text": text});
        if let Some(code) = code {
            put(
                &mut what,
                "coding",
                json!([{"system": RXNORM, "code": code}]),
            );
        }
        let mut made = json!({
            "resourceType": "MedicationAdministration",
            "status": "completed",
            "medicationCodeableConcept": what,
            "subject": bundle.subject(),
            "context": {"reference": bundle.encounter},
        });
        if let Some(wall) = group.first().and_then(|row| row.wall) {
            put(&mut made, "effectiveDateTime", json!(wall.to_string()));
        } else {
            let end = told.map_or_else(|| json!({}), |wall| json!({"end": wall.to_string()}));
            put(&mut made, "effectivePeriod", end);
        }
        if let Some(dosage) = dosage(bundle, &group) {
            put(&mut made, "dosage", dosage);
        }
        bundle.add(&made);
    }
}

/// R4 has no dosage without a dose: a route alone is left out.
fn dosage(bundle: &Bundle<'_>, group: &[&Filled]) -> Option<Value> {
    let Some(Said::Number(dose)) = value(group, "eMedications.05") else {
        return None;
    };
    let mut quantity = json!({"value": number(dose)?});
    if let Some(Said::Unit(_, unit)) = value(group, "eMedications.06") {
        let code = match unit.as_str() {
            "mcg" => "ug",
            "mEq" => "meq",
            same => same,
        };
        put(&mut quantity, "unit", json!(unit));
        put(&mut quantity, "system", json!(UCUM));
        put(&mut quantity, "code", json!(code));
    }
    let mut dosage = json!({"dose": quantity});
    if let Some(Said::Code(_, word)) = value(group, "eMedications.04") {
        put(&mut dosage, "route", bundle.said(*word));
    }
    Some(dosage)
}

pub(crate) fn observations(bundle: &mut Bundle<'_>, rows: &[Filled]) {
    for row in rows {
        let (Some(wall), Said::Code(_, word)) = (row.wall, &row.value) else {
            continue;
        };
        let code = match row.element {
            "eArrest.11" => bundle.loinc("67512-4", CarryWord::FirstRhythm),
            "eArrest.12" => bundle.loinc("88670-5", CarryWord::Circulation),
            "eArrest.18" => bundle.loinc("77152-7", CarryWord::EndOfEvent),
            "eVitals.03" => bundle.said(CarryWord::Rhythm),
            _ => continue,
        };
        let mut made = bundle.observation(&code);
        put(&mut made, "effectiveDateTime", json!(wall.to_string()));
        put(&mut made, "valueCodeableConcept", bundle.said(*word));
        bundle.add(&made);
    }
    for row in rows {
        let (Some(wall), Said::Gas(read, _, unit)) = (row.wall, &row.value) else {
            continue;
        };
        let Some(number) = number(read) else {
            continue;
        };
        let code = match unit.as_str() {
            "mmHg" => "mm[Hg]",
            "pct" => "%",
            same => same,
        };
        let mut made = bundle.observation(&bundle.said(CarryWord::Gas));
        put(&mut made, "effectiveDateTime", json!(wall.to_string()));
        let quantity = json!({"value": number, "unit": unit, "system": UCUM, "code": code});
        put(&mut made, "valueQuantity", quantity);
        bundle.add(&made);
    }
    measured(bundle);
}

/// Fraction and pauses: no code system was read that has a code for either, so they go by words.
fn measured(bundle: &mut Bundle<'_>) {
    let measures = &bundle.facts.measures;
    let fraction = measures.fraction.as_ref().map(|f| &f.of);
    if let Some((fraction, window)) = fraction.zip(measures.windows.recognition)
        && let Some(part) = fraction.value
    {
        let mut made = bundle.observation(&bundle.said(CarryWord::Fraction));
        let period = bundle.period(window.from_ms, window.to_ms);
        put(&mut made, "effectivePeriod", period);
        let quantity = json!({"value": part, "system": UCUM, "code": "1"});
        put(&mut made, "valueQuantity", quantity);
        let note = if fraction.upper_bound {
            CarryWord::UpperBound
        } else {
            CarryWord::ByMarks
        };
        let text = bundle.words.carry(note);
        put(&mut made, "note", json!([{"text": text}]));
        bundle.add(&made);
    }
    for pause in measures.pauses.of.rows.clone() {
        let mut made = bundle.observation(&bundle.said(CarryWord::Pause));
        let period = bundle.period(pause.from_ms, pause.to_ms);
        put(&mut made, "effectivePeriod", period);
        let seconds = number(&format!(
            "{}.{:03}",
            pause.ms.0.div_euclid(1000),
            pause.ms.0.rem_euclid(1000)
        ));
        let quantity = json!({"value": seconds, "unit": "s", "system": UCUM, "code": "s"});
        put(&mut made, "valueQuantity", quantity);
        let text = bundle.words.reason(Some(pause.reason));
        put(&mut made, "note", json!([{"text": text}]));
        bundle.add(&made);
    }
}
