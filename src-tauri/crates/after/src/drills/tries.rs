//! The score sheet of a drill, its tries side by side, and a drill that was stopped to be looked at together.

use std::{collections::BTreeSet, sync::mpsc, time::Duration};

use ::drill::{Scenario, Sheet, sheet, told, walk};
use cycle::{Fact, Mark, Ms, mark::By};
use debrief::{Basis, State, course};
use record::Opened;
use words::{DrillLook, DrillStrip, DrillTries, DrillWord, StripKind, Words};

use super::{scenario_of, scenarios};
use crate::{After, AfterError};

/// So many tries of one drill stand side by side.
const MOST_TRIES: usize = 4;
/// So much before the stop is looked at. Own.
const LOOK_BACK: Ms = Ms(30_000);
/// A drill that was stopped just now is on the disk soon after: so often it is looked for, so long apart.
const LOOKS: u32 = 40;
const LOOK_EVERY: Duration = Duration::from_millis(25);

/// A try, and from when on it is one of its own.
struct Try {
    opened: Opened,
    cut: Option<Ms>,
}

impl After {
    /// The tries up to this one, the first first. What was only stopped and gone on with is part of the next.
    fn tries(&self, id: &str, last: Opened) -> Vec<Try> {
        let mut before = told(&last).again;
        // A record may name itself, or one that names it: each is looked at once.
        let mut seen = BTreeSet::from([id.to_owned()]);
        let mut tries = vec![Try {
            opened: last,
            cut: None,
        }];
        while let Some((id, from)) = before.take_if(|_| tries.len() < MOST_TRIES) {
            if !seen.insert(id.clone()) {
                break;
            }
            // A try that was deleted is missing here; the others stand.
            let Ok(opened) = self.open(&id) else { break };
            before = told(&opened).again;
            if opened.run_end() <= from {
                continue;
            }
            if let Some(first) = tries.first_mut() {
                first.cut = Some(from);
            }
            tries.insert(0, Try { opened, cut: None });
        }
        tries
    }

    /// The score sheet of a drill, beside the tries that it went on from.
    ///
    /// # Errors
    /// See [`AfterError`]: it is no drill, or its scenario is not known here.
    pub fn drill_sheet(&self, words: &Words, id: &str) -> Result<DrillTries, AfterError> {
        let known = scenarios();
        let last = self.open(id)?;
        let scenario = scenario_of(&last, &known).ok_or(AfterError::NoDrill)?;
        let injected = told(&last).injected;
        let tries = self.tries(id, last);
        let mut sheets: Vec<Sheet> = Vec::new();
        for one in &tries {
            sheets.push(sheet(scenario, &one.opened)?);
        }
        let (strips, rows) = if sheets.len() > 1 {
            (strips(words, &tries)?, words.drill_tries(scenario, &sheets))
        } else {
            (Vec::new(), Vec::new())
        };
        let found = sheets.pop().map(|found| {
            let mut found = words.drill_sheet(scenario, &found);
            found.notes.extend(words.drill_injected(&injected));
            found
        });
        Ok(DrillTries {
            sheet: found.unwrap_or_default(),
            names: words.drill_strip_names(&strips.iter().collect::<Vec<_>>()),
            strips,
            strips_title: words.drill(DrillWord::TriesStrip, &[]),
            rows,
            rows_title: words.drill(DrillWord::TriesMarks, &[]),
            sign: words.drill(DrillWord::SignKey, &[]),
        })
    }

    /// A drill that was stopped at `at`: the last half minute on the chest and off it, the marks so far, and the
    /// tries before it. No points.
    ///
    /// # Errors
    /// See [`AfterError`]: it is no drill, or its scenario is not known here.
    pub fn drill_look(&self, words: &Words, id: &str, at: Ms) -> Result<DrillLook, AfterError> {
        let known = scenarios();
        let opened = self.stopped(id)?;
        let scenario = scenario_of(&opened, &known).ok_or(AfterError::NoDrill)?;
        let rows = so_far(words, scenario, &opened, at);
        let span = (at.minus(LOOK_BACK), at);
        let strip = strip(words, String::new(), &opened, (span, None))?;
        let tries = self.tries(id, opened);
        let tries = if tries.len() > 1 {
            strips(words, &tries)?
        } else {
            Vec::new()
        };
        let all: Vec<&DrillStrip> = tries.iter().chain([&strip]).collect();
        Ok(DrillLook {
            names: words.drill_strip_names(&all),
            strip_title: words.drill(DrillWord::LookStrip, &[]),
            rows_title: words.drill(DrillWord::LookMarks, &[]),
            none: rows
                .is_empty()
                .then(|| words.drill(DrillWord::LookNone, &[])),
            rows,
            tries_title: words.drill(DrillWord::TriesStrip, &[]),
            tries,
            strip,
        })
    }

    /// Its record is closed as it is stopped, and the disk may take a moment.
    fn stopped(&self, id: &str) -> Result<Opened, AfterError> {
        let (_nobody, word) = mpsc::channel::<()>();
        for _ in 0..LOOKS {
            if let Ok(opened) = self.open(id)
                && !opened.seals.is_empty()
            {
                return Ok(opened);
            }
            // Nobody says when it is on the disk: it is looked at again and again.
            word.recv_timeout(LOOK_EVERY).unwrap_or_default();
        }
        self.open(id)
    }
}

fn so_far(words: &Words, scenario: &Scenario, opened: &Opened, at: Ms) -> Vec<words::TryRow> {
    let told = told(opened);
    let entries = record::amended(&opened.entries).entries;
    let marks: Vec<(Ms, Mark)> = entries
        .into_iter()
        .filter_map(|entry| match entry.fact {
            Fact::Mark(mark) if entry.at <= at => Some((entry.at, mark)),
            Fact::Mark(_) | Fact::Amend(_) | Fact::Deed(_) => None,
        })
        .collect();
    let walked = walk(scenario, told.seed.unwrap_or(0), &marks, &told.heard);
    words.drill_so_far(scenario, &walked, at)
}

/// The tries, all from the beginning of the drill to the end of the longest.
fn strips(words: &Words, tries: &[Try]) -> Result<Vec<DrillStrip>, AfterError> {
    let end = tries.iter().map(|one| one.opened.run_end()).max();
    let span = (Ms::ZERO, end.unwrap_or(Ms::ZERO));
    let each = tries.iter().enumerate().map(|(n, one)| {
        let label = words.drill(DrillWord::Try, &[&n.saturating_add(1).to_string()]);
        strip(words, label, &one.opened, (span, one.cut))
    });
    each.collect()
}

fn strip(
    words: &Words,
    label: String,
    opened: &Opened,
    (span, cut): ((Ms, Ms), Option<Ms>),
) -> Result<DrillStrip, AfterError> {
    let course = course(opened, Basis::Amended)?;
    let pieces: Vec<_> = (course.stretches.iter())
        .map(|stretch| {
            let kind = match stretch.state {
                State::Compressing(By::Manual) => StripKind::Hand,
                State::Compressing(By::Mechanical) => StripKind::Device,
                State::HandsOff => StripKind::Off,
                State::Circulation | State::Unknown => StripKind::Other,
            };
            (stretch.from, stretch.to, kind)
        })
        .collect();
    let (from, to) = span;
    let within = |row: &&debrief::PauseRow| row.from_ms < to && row.from_ms.plus(row.ms) > from;
    let off: Vec<u64> = (course.pauses.iter().filter(within))
        .map(|row| chart::seconds(row.ms))
        .collect();
    Ok(words.drill_strip(label, &pieces, &off, (span, cut)))
}
