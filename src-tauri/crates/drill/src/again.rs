//! When a crew drills again. Reminders of this phone; nothing is sent, and no name is known.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::sheet::Verdict;

/// From drill to drill, days. Own, after a trial in which monthly practice kept excellent compressions in 58 % of
/// staff at twelve months, three-monthly in 26 %, six-monthly in 21 %, yearly in 15 % (Anderson, Resuscitation
/// 2019;135:153).
const MONTH: i64 = 30;
/// After three passes in a row. Own.
const TWO_MONTHS: i64 = 60;
const IN_A_ROW: usize = 3;
/// After a fail it is done again until it was passed so often. Own, after practice by pause and rewind (ILCOR review
/// 2024, very low certainty).
const UNTIL_PASSED: usize = 2;
/// A crew that did no drill here for so many days is taken to be gone. Own: three times the longest wait.
const GONE: i64 = 180;
/// The drills that a new device makes due anew: putting it on, and when it slips or stops. Own.
pub const ABOUT_DEVICE: [&str; 2] = ["device_on", "slip_and_off"];

/// A drill that a crew has done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Past {
    /// Its record.
    pub record: String,
    /// The record of the earlier try that it goes on from.
    pub again_of: Option<String>,
    /// The crew's opaque code; empty: none was given.
    pub crew: String,
    /// The scenario's id.
    pub scenario: String,
    /// The day, counted from any day.
    pub day: i64,
    /// Whether it was passed, not passed, or neither; `None`: it was done by another version of the scenario, and nothing
    /// here says.
    pub verdict: Option<Verdict>,
    /// It was done before the device came that is in use now.
    pub old_device: bool,
}

impl Past {
    fn is_passed(&self) -> bool {
        self.verdict == Some(Verdict::Passed)
    }
}

/// When a crew drills next.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Due {
    /// The crew's code.
    pub crew: String,
    /// From this day on.
    pub day: i64,
    /// Which drill: one that was not passed, else one that a new device asks for, else one that was never done, else that
    /// done longest ago.
    pub scenario: String,
    /// It was not passed, and is done again until it was passed twice.
    pub again: bool,
    /// It is about the device, a new one came, and this crew did not do it since.
    pub new_device: bool,
    /// Passed in a row, over all drills.
    pub in_a_row: usize,
    /// The day of its last drill.
    pub last: i64,
}

impl Due {
    /// Whether the crew is still one of this phone's: it drilled here within half a year, or its code is the one that is
    /// set. Else a code that was changed or mistyped once would be due for ever.
    pub fn is_here(&self, set: &str, today: i64) -> bool {
        self.crew == set || today.saturating_sub(self.last) <= GONE
    }
}

/// When each crew drills next, by its drills in order of time and the scenarios there are; crews in order of their
/// codes. A crew that never drilled is not known here. Of a drill that was gone through again the last try counts: the
/// instructor stopped those before it. One that is neither passed nor failed counts as none; of one by another version of
/// its scenario the day counts alone. `device` is the day on which a new device came.
pub fn due(past: &[Past], scenarios: &[String], device: Option<i64>) -> Vec<Due> {
    let gone_on: BTreeSet<&str> = past.iter().filter_map(|d| d.again_of.as_deref()).collect();
    let counts = |drill: &&Past| {
        drill.verdict != Some(Verdict::NotFinished) && !gone_on.contains(drill.record.as_str())
    };
    let past: Vec<&Past> = past.iter().filter(counts).collect();
    let mut crews: Vec<&str> = past.iter().map(|drill| drill.crew.as_str()).collect();
    crews.sort_unstable();
    crews.dedup();
    crews
        .into_iter()
        .filter_map(|crew| {
            let own: Vec<&Past> = (past.iter().copied())
                .filter(|drill| drill.crew == crew)
                .collect();
            next(crew, &own, scenarios, device)
        })
        .collect()
}

fn next(crew: &str, own: &[&Past], scenarios: &[String], device: Option<i64>) -> Option<Due> {
    let last = own.iter().map(|drill| drill.day).max()?;
    let in_a_row = own
        .iter()
        .rev()
        .filter(|drill| drill.verdict.is_some())
        .take_while(|drill| drill.is_passed())
        .count();
    let open = scenarios.iter().find(|id| is_open(own, id));
    let is_anew = |id: &&String| {
        let mut since = own.iter().filter(|drill| !drill.old_device);
        ABOUT_DEVICE.contains(&id.as_str()) && !since.any(|drill| drill.scenario == **id)
    };
    let anew = device.filter(|_| open.is_none());
    let anew = anew.and_then(|day| Some((day, scenarios.iter().find(is_anew)?)));
    let wait = if in_a_row >= IN_A_ROW {
        TWO_MONTHS
    } else {
        MONTH
    };
    let done = |id: &str| {
        own.iter()
            .filter(|drill| drill.scenario == id)
            .map(|drill| drill.day)
            .max()
    };
    // Never is before any day; of equals the first of the list.
    let oldest = scenarios.iter().min_by_key(|id| done(id));
    let scenario = match (open, anew) {
        (Some(id), _) | (None, Some((_, id))) => Some(id),
        (None, None) => oldest,
    };
    Some(Due {
        crew: crew.to_owned(),
        day: match (open, anew) {
            (Some(_), _) => last,
            (None, Some((day, _))) => day,
            (None, None) => last.saturating_add(wait),
        },
        scenario: scenario?.clone(),
        again: open.is_some(),
        new_device: anew.is_some(),
        in_a_row,
        last,
    })
}

/// Not passed, and not passed twice in a row since.
fn is_open(own: &[&Past], id: &str) -> bool {
    let of_it: Vec<bool> = own
        .iter()
        .filter(|drill| drill.scenario == id && drill.verdict.is_some())
        .map(|drill| drill.is_passed())
        .collect();
    let since = of_it.iter().rev().take_while(|passed| **passed).count();
    since < of_it.len() && since < UNTIL_PASSED
}
