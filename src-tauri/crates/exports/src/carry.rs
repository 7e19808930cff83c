//! The times to carry over: one row an element, for a screen or a table.

use cycle::fact::Source;
use debrief::{Basis, Fault, Taken};
use record::{Opened, RunKind, Wall};
use serde::Serialize;
use words::Words;

use crate::{
    clocks::clocks,
    codes::{self, ProcedureCodes},
    facts::Facts,
    filled::{self, Filled, Value},
    groups,
};

/// The standard whose elements the rows are.
pub(crate) const STANDARD: &str = "NEMSIS v3.5.1, build 250403CP1";

/// A moment by the device's own clock: nothing is shifted.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct CarryTime {
    /// Year, month, day.
    pub date: String,
    /// Hours, minutes, seconds, cut to whole seconds.
    pub time: String,
    /// The offset from UTC, `+HH:MM` or `-HH:MM`.
    pub offset: String,
}

impl CarryTime {
    pub(crate) fn new(wall: Wall) -> Self {
        let text = wall.to_string();
        let part = |range: std::ops::Range<usize>| text.get(range).unwrap_or_default().to_owned();
        Self {
            date: part(0..10),
            time: part(11..19),
            offset: part(23..29),
        }
    }

    /// As the standard and FHIR write it.
    pub(crate) fn joined(&self) -> String {
        format!("{}T{}{}", self.date, self.time, self.offset)
    }
}

/// One element.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct CarryRow {
    /// Its id, such as `eArrest.03`.
    pub element: String,
    /// The standard's name of it.
    pub name: String,
    /// Which dose, procedure, reading or confirmation, from 1; `None`: it is there once.
    #[cfg_attr(feature = "ts", ts(type = "number | null"))]
    pub group: Option<usize>,
    /// The code, where a list has one.
    pub code: Option<String>,
    /// In plain words, or the number; `None`: not said.
    pub value: Option<String>,
    /// When, by this device's clock.
    pub time: Option<CarryTime>,
    /// The record's word for where it comes from.
    #[cfg_attr(feature = "ts", ts(type = "string | null"))]
    pub source: Option<Source>,
    /// The same in words.
    pub source_words: Option<String>,
    /// Why the crew still has to confirm it; `None`: nothing to confirm.
    pub confirm: Option<String>,
}

/// What another clock showed against this device's.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct CarryClock {
    /// Whose, in words.
    pub name: String,
    /// The offset lies from here on, milliseconds; `None`: the looks do not agree.
    #[cfg_attr(feature = "ts", ts(type = "number | null"))]
    pub from_ms: Option<i64>,
    /// And below this.
    #[cfg_attr(feature = "ts", ts(type = "number | null"))]
    pub to_ms: Option<i64>,
    /// Two looks do not agree: one of the clocks was moved, and none is chosen.
    pub moved: bool,
    /// Each look, as figures.
    pub looks: Vec<String>,
}

/// All of a run's times to carry over.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct CarryOver {
    /// The standard.
    pub standard: String,
    /// Run, drill, rehearsal or test: only a run belongs in a care record.
    #[cfg_attr(feature = "ts", ts(type = "string"))]
    pub kind: RunKind,
    /// As recorded, or as amended and by which revision.
    #[cfg_attr(
        feature = "ts",
        ts(
            type = "{ as: \"recorded\" } | { as: \"amended\", revision: number, unsealed: number }"
        )
    )]
    pub basis: Taken,
    /// The rows, in the dictionary's order.
    pub rows: Vec<CarryRow>,
    /// Other clocks that were looked at.
    pub clocks: Vec<CarryClock>,
}

/// The times to carry over.
///
/// # Errors
/// Where the state line cannot be folded, since not even a built-in protocol can be read.
pub fn carry_over(
    opened: &Opened,
    basis: Basis,
    words: &Words,
    own: &ProcedureCodes,
) -> Result<CarryOver, Fault> {
    let facts = Facts::new(opened, basis)?;
    let rows = groups::all(&facts);
    Ok(CarryOver {
        standard: STANDARD.to_owned(),
        kind: opened.header.kind,
        basis: facts.measures.basis,
        rows: rows.iter().map(|row| shown(row, words, own)).collect(),
        clocks: clocks(&facts, words),
    })
}

fn shown(row: &Filled, words: &Words, own: &ProcedureCodes) -> CarryRow {
    let time = row.wall.map(CarryTime::new);
    let joined = time.as_ref().map(CarryTime::joined);
    let code = |code: &str| Some(code.to_owned());
    let (code, value) = match &row.value {
        Value::Code(known, word) => (code(known), Some(words.carry(*word))),
        Value::Time => (None, joined),
        Value::About => (code(codes::APPROXIMATE), joined),
        Value::Number(number) => (None, Some(number.clone())),
        Value::Tries(n) => (None, Some(n.to_string())),
        Value::Gas(number, known, unit) => (code(known), Some(format!("{number} {unit}"))),
        Value::Drug(key) => drug(key, words),
        Value::Unit(known, key) => (code(known), Some(key.clone())),
        Value::Procedure(what) => (
            own.get(*what).map(str::to_owned),
            Some(words.carry(what.said())),
        ),
        Value::Own(known) => (code(known), None),
        Value::Word(word) => (None, Some(words.carry(*word))),
        Value::Open => (None, None),
    };
    CarryRow {
        element: row.element.to_owned(),
        name: filled::name(row.element).to_owned(),
        group: row.group,
        code,
        value,
        time,
        source: row.src,
        source_words: row
            .src
            .and_then(groups::source)
            .map(|word| words.carry(word)),
        confirm: row.ask.map(|word| words.carry(word)),
    }
}

/// A drug in words: ours where we know it, else the service's own key.
pub(crate) fn drug(key: &str, words: &Words) -> (Option<String>, Option<String>) {
    match codes::drug(key) {
        Some((word, code)) => (code.map(str::to_owned), Some(words.carry(word))),
        None => (None, Some(key.replace('_', " "))),
    }
}
