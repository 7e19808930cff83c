//! Other clocks as intervals of offset: what they showed less what this device showed.

use cycle::mark::ClockRef;
use debrief::{ClockOffset, ClockSpan};
use words::{CarryWord, Words};

use crate::{CarryClock, facts::Facts};

/// Milliseconds as seconds with a sign.
fn seconds(ms: i64) -> String {
    let sign = if ms < 0 { "-" } else { "+" };
    let ms = ms.unsigned_abs();
    format!("{sign}{}.{:03} s", ms.div_euclid(1000), ms.rem_euclid(1000))
}

const fn said(clock: ClockRef) -> CarryWord {
    match clock {
        ClockRef::Dispatch => CarryWord::ClockDispatch,
        ClockRef::Monitor => CarryWord::ClockMonitor,
        ClockRef::Wall => CarryWord::ClockWall,
        ClockRef::Other => CarryWord::ClockOther,
    }
}

pub(crate) fn clocks(facts: &Facts<'_>, words: &Words) -> Vec<CarryClock> {
    let found = &facts.measures.clocks.of;
    let of = |clock: ClockRef| {
        let span = found.spans.iter().find(|span| span.clock == clock)?;
        let looks = found.rows.iter().filter(|row| row.clock == clock);
        Some(one(words.carry(said(clock)), span, looks))
    };
    ClockRef::ALL
        .iter()
        .filter_map(|clock| of(*clock))
        .collect()
}

fn one<'a>(
    name: String,
    span: &ClockSpan,
    looks: impl Iterator<Item = &'a ClockOffset>,
) -> CarryClock {
    let looks = looks.filter_map(|look| Some(between(look.from_ms?, look.to_ms?)));
    CarryClock {
        name,
        from_ms: span.from_ms,
        to_ms: span.to_ms,
        moved: span.moved,
        looks: looks.collect(),
    }
}

fn between(from: i64, to: i64) -> String {
    format!("{} to {}", seconds(from), seconds(to))
}

impl CarryClock {
    /// What all looks leave open; where no offset agrees with all of them, each look.
    pub fn offset(&self) -> String {
        match (self.from_ms, self.to_ms) {
            (Some(from), Some(to)) => between(from, to),
            _ => self.looks.join(" / "),
        }
    }
}

/// All clocks in one cell of a table.
pub(crate) fn cell(clocks: &[CarryClock]) -> String {
    let all = clocks
        .iter()
        .map(|clock| format!("{} {}", clock.name, clock.offset()));
    all.collect::<Vec<_>>().join("; ")
}
