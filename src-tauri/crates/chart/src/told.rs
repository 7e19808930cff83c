//! The same as the charts in words: a sentence, and a table for those who hear it.

use cycle::{
    Ms,
    mark::{By, CupAct},
};
use debrief::{CheckResult, Course, EndedBy, Happening, PauseRow, ShockRow, State, Stretch};
use words::{SheetWord as W, Words};

/// A chart in words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Told {
    /// What it is.
    pub title: String,
    /// What it shows, in a sentence.
    pub sentence: String,
    /// Names of the columns.
    pub columns: Vec<String>,
    /// A row for each thing drawn, in order of time.
    pub rows: Vec<Vec<String>>,
}

/// Whole seconds, to the nearest.
pub fn seconds(span: Ms) -> u64 {
    span.0.saturating_add(500).div_euclid(1000)
}

/// Minutes and seconds.
pub fn clock(span: Ms) -> String {
    let s = seconds(span);
    format!("{}:{:02}", s.div_euclid(60), s.rem_euclid(60))
}

pub(crate) fn begin(course: &Course) -> Ms {
    course.window.map_or(Ms::ZERO, |w| w.from_ms)
}

/// A moment as minutes and seconds from the window's beginning.
pub(crate) fn at(course: &Course, at: Ms) -> String {
    clock(at.since(begin(course)))
}

pub(crate) fn basis(course: &Course, words: &Words) -> String {
    match course.basis {
        debrief::Taken::Recorded => words.sheet(W::AsRecorded),
        debrief::Taken::Amended {
            revision,
            unsealed: 0,
        } => words.sheet_with(W::AsAmended, &[&revision.to_string()]),
        debrief::Taken::Amended { revision, unsealed } => words.sheet_with(
            W::AsAmendedUnsealed,
            &[&revision.to_string(), &unsealed.to_string()],
        ),
    }
}

pub(crate) fn state(state: State) -> W {
    match state {
        State::Compressing(By::Manual) => W::ByHand,
        State::Compressing(By::Mechanical) => W::ByDevice,
        State::HandsOff => W::HandsOff,
        State::Circulation => W::Circulation,
        State::Unknown => W::Unknown,
    }
}

fn s(words: &Words, span: Ms) -> String {
    words.sheet_with(W::Seconds, &[&seconds(span).to_string()])
}

/// One whole line of what stands in the strip.
fn stretch(words: &Words, found: &Stretch) -> String {
    let name = words.sheet(state(found.state));
    match (found.state, found.reason) {
        (State::HandsOff, Some(_)) => {
            words.sheet_with(W::Pair, &[&name, &words.reason(found.reason)])
        }
        _ => name,
    }
}

fn shock(row: &ShockRow) -> W {
    if row.timed { W::Shock } else { W::ShockUntimed }
}

fn happening(words: &Words, what: &Happening) -> String {
    match what {
        Happening::Dose(name) => words.sheet_with(W::Dose, &[name]),
        Happening::Breaths(n) => {
            words.sheet_with(W::Pair, &[&words.sheet(W::Breaths), &n.to_string()])
        }
        Happening::AirwayIn => words.sheet(W::AirwayIn),
        Happening::AirwayLost => words.sheet(W::AirwayLost),
    }
}

/// What a cup check's answer is called.
pub(crate) const fn cup(answer: Option<CupAct>) -> W {
    match answer {
        Some(CupAct::Good) => W::CupGood,
        Some(CupAct::Reseat) => W::CupReseat,
        None => W::CupOpen,
    }
}

/// The strip in words.
pub fn strip_told(course: &Course, words: &Words) -> Told {
    let Some(window) = course.window else {
        let none = words.sheet(W::NoWindow);
        return Told {
            title: words.sheet(W::StripHead),
            sentence: none,
            ..Told::default()
        };
    };
    let sum = |is: fn(State) -> bool| {
        let found = course.stretches.iter().filter(|s| is(s.state));
        found.map(Stretch::len).fold(Ms::ZERO, Ms::plus)
    };
    let longest = course.pauses.iter().map(|p| p.ms).max();
    let longest = longest.map_or_else(|| words.sheet(W::NoneMarked), |ms| s(words, ms));
    let mut rows: Vec<(Ms, String, Option<Ms>)> = course
        .stretches
        .iter()
        .map(|found| (found.from, stretch(words, found), Some(found.len())))
        .collect();
    rows.extend(course.checks.iter().map(|row| {
        let missed = row.result == CheckResult::NotMarked;
        let word = if missed { W::CheckMissed } else { W::Check };
        (row.at, words.sheet(word), None)
    }));
    rows.extend(
        course
            .shocks
            .iter()
            .map(|row| (row.at_ms, words.sheet(shock(row)), None)),
    );
    rows.extend(
        course
            .happenings
            .iter()
            .map(|(at, what)| (*at, happening(words, what), None)),
    );
    rows.extend(
        course
            .power
            .iter()
            .map(|row| (row.from_ms, words.sheet(W::Swap), row.ms)),
    );
    rows.extend(
        course
            .cup
            .iter()
            .map(|row| (row.asked_ms, words.sheet(cup(row.answer)), row.ms)),
    );
    rows.sort_by_key(|(at, ..)| *at);
    let pauses = words.sheet_with(
        W::BarsTold,
        &[
            &course.pauses.len().to_string(),
            &longest,
            &over_ten(course),
        ],
    );
    Told {
        title: words.sheet_with(
            W::StripTitle,
            &[
                &clock(Ms::ZERO),
                &clock(window.len()),
                &basis(course, words),
            ],
        ),
        sentence: format!(
            "{} {pauses}",
            words.sheet_with(
                W::StripTold,
                &[
                    &clock(sum(|s| matches!(s, State::Compressing(_)))),
                    &clock(sum(|s| s == State::HandsOff)),
                    &words.sheet_with(
                        W::Pair,
                        &[
                            &format!(
                                "{} {}",
                                words.sheet(W::Circulation),
                                clock(sum(|s| s == State::Circulation))
                            ),
                            &format!(
                                "{} {}",
                                words.sheet(W::Unknown),
                                clock(sum(|s| s == State::Unknown))
                            ),
                        ],
                    ),
                ],
            )
        ),
        columns: [W::At, W::What, W::Length].map(|w| words.sheet(w)).to_vec(),
        rows: rows
            .into_iter()
            .map(|(when, what, span)| {
                let long = span.map_or_else(String::new, |span| s(words, span));
                vec![at(course, when), what, long]
            })
            .collect(),
    }
}

pub(crate) fn over_ten(course: &Course) -> String {
    let over = course.pauses.iter().filter(|p| p.ms > Ms(10_000));
    over.count().to_string()
}

/// What ended a pause.
pub(crate) const fn ended(by: EndedBy) -> W {
    match by {
        EndedBy::Compressions => W::EndedCompressions,
        EndedBy::Circulation => W::EndedCirculation,
        EndedBy::Unknown => W::EndedUnknown,
        EndedBy::End => W::EndedEnd,
    }
}

/// The bars in words.
pub fn bars_told(course: &Course, words: &Words) -> Told {
    let title = words.sheet_with(W::BarsTitle, &[&basis(course, words)]);
    let longest = course.pauses.iter().map(|p| p.ms).max();
    let sentence = match longest {
        Some(ms) => words.sheet_with(
            W::BarsTold,
            &[
                &course.pauses.len().to_string(),
                &s(words, ms),
                &over_ten(course),
            ],
        ),
        None => words.sheet(W::BarsNone),
    };
    let row = |row: &PauseRow| {
        vec![
            at(course, row.from_ms),
            s(words, row.ms),
            words.reason(Some(row.reason)),
            words.sheet(ended(row.ended_by)),
        ]
    };
    Told {
        title,
        sentence,
        columns: [W::At, W::Length, W::Reason, W::EndedBy]
            .map(|w| words.sheet(w))
            .to_vec(),
        rows: course.pauses.iter().map(row).collect(),
    }
}
