//! The tables of the debrief. A cell that is not known says so; none is a nought in its place.

use chart::{clock, seconds};
use cycle::Ms;
use debrief::{CheckResult, Course, Drug, Fitting, Interval, Measures, PauseRow, Place, ShockRow};
use words::{SheetWord as W, Words};

use crate::flow::Grid;

/// A table with what it is called, and what is said where it has no row.
pub(crate) struct Listed {
    pub(crate) name: W,
    pub(crate) empty: W,
    pub(crate) grid: Grid,
}

/// What every table needs to say a time.
pub(crate) struct Say<'a> {
    pub(crate) words: &'a Words,
    /// The window's beginning.
    pub(crate) zero: Ms,
}

impl Say<'_> {
    pub(crate) fn word(&self, word: W) -> String {
        self.words.sheet(word)
    }

    /// A moment, from the window's beginning.
    pub(crate) fn at(&self, at: Ms) -> String {
        if at < self.zero {
            return format!("\u{2212}{}", clock(self.zero.since(at)));
        }
        clock(at.since(self.zero))
    }

    pub(crate) fn may_at(&self, at: Option<Ms>) -> String {
        at.map_or_else(|| self.word(W::NotKnown), |at| self.at(at))
    }

    pub(crate) fn span(&self, span: Ms) -> String {
        self.words
            .sheet_with(W::Seconds, &[&seconds(span).to_string()])
    }

    pub(crate) fn may(&self, span: Option<Ms>) -> String {
        span.map_or_else(|| self.word(W::NotKnown), |span| self.span(span))
    }

    pub(crate) fn share(&self, value: Option<f64>) -> String {
        value.map_or_else(
            || self.word(W::NotKnown),
            |value| self.words.decimal(&format!("{value:.2}")),
        )
    }

    fn columns(&self, names: &[W]) -> Vec<String> {
        names.iter().map(|name| self.word(*name)).collect()
    }
}

pub(crate) const fn ended(by: debrief::EndedBy) -> W {
    match by {
        debrief::EndedBy::Compressions => W::EndedCompressions,
        debrief::EndedBy::Circulation => W::EndedCirculation,
        debrief::EndedBy::Unknown => W::EndedUnknown,
        debrief::EndedBy::End => W::EndedEnd,
    }
}

/// Pauses, as they are given.
pub(crate) fn pauses<'a>(say: &Say<'_>, rows: impl Iterator<Item = &'a PauseRow>) -> Grid {
    Grid {
        columns: say.columns(&[W::At, W::Length, W::Reason, W::EndedBy]),
        rows: rows
            .map(|row| {
                vec![
                    say.at(row.from_ms),
                    say.span(row.ms),
                    say.words.reason(Some(row.reason)),
                    say.word(ended(row.ended_by)),
                ]
            })
            .collect(),
    }
}

/// Every table, in the order of the page.
pub(crate) fn all(say: &Say<'_>, m: &Measures, course: &Course) -> Vec<Listed> {
    vec![
        Listed {
            name: W::PausesHead,
            empty: W::EmptyPauses,
            grid: pauses(say, m.pauses.of.rows.iter()),
        },
        Listed {
            name: W::ShocksHead,
            empty: W::EmptyShocks,
            grid: shocks(say, &m.shocks.of.rows),
        },
        Listed {
            name: W::ChecksHead,
            empty: W::EmptyChecks,
            grid: checks(say, course),
        },
        Listed {
            name: W::DrugsHead,
            empty: W::EmptyDrugs,
            grid: drugs(say, &m.drugs.of.rows, course),
        },
        Listed {
            name: W::FittingsHead,
            empty: W::EmptyFittings,
            grid: fittings(say, &m.fittings.of.rows),
        },
        Listed {
            name: W::CupHead,
            empty: W::EmptyCup,
            grid: cup(say, m),
        },
        Listed {
            name: W::PowerHead,
            empty: W::EmptyPower,
            grid: power(say, m),
        },
    ]
}

fn shocks(say: &Say<'_>, rows: &[ShockRow]) -> Grid {
    let row = |row: &ShockRow| {
        let flags = [
            (!row.timed, W::MomentNotMarked),
            (row.through_shock, W::Through),
            (row.stacked, W::Stacked),
            (row.no_resume, W::NoResume),
            (row.pause_not_marked, W::PauseNotMarked),
        ];
        let flags = flags.into_iter().filter(|(is, _)| *is);
        let flags: Vec<String> = flags.map(|(_, flag)| say.word(flag)).collect();
        vec![
            say.at(row.at_ms),
            say.word(match row.by {
                cycle::mark::GivenBy::Us => W::ByUs,
                cycle::mark::GivenBy::Others => W::ByOthers,
            }),
            say.may(row.pre_ms),
            say.may(row.post_ms),
            say.may(row.peri_ms),
            if row.through_shock && row.pause_ms.is_none() {
                say.word(W::Through)
            } else {
                say.may(row.pause_ms)
            },
            flags.join("; "),
        ]
    };
    Grid {
        columns: say.columns(&[W::At, W::By, W::Pre, W::Post, W::Peri, W::Pause, W::Remark]),
        rows: rows.iter().map(row).collect(),
    }
}

fn checks(say: &Say<'_>, course: &Course) -> Grid {
    let rows = course.checks.iter().map(|row| {
        vec![
            say.at(row.at),
            say.word(match row.result {
                CheckResult::Shock => W::ResultShock,
                CheckResult::NoShock => W::ResultNoShock,
                CheckResult::NotSaid => W::ResultNotSaid,
                CheckResult::NotMarked => W::ResultMissed,
            }),
            row.rhythm
                .map_or_else(|| say.word(W::NotKnown), |rhythm| say.words.rhythm(rhythm)),
            match row.pause {
                Some(pause) => say.span(pause),
                None if row.went_on => say.word(W::WentOn),
                None => say.word(W::NoPause),
            },
        ]
    });
    Grid {
        columns: say.columns(&[W::At, W::Result, W::Rhythm, W::Pause]),
        rows: rows.collect(),
    }
}

fn drugs(say: &Say<'_>, rows: &[Drug], course: &Course) -> Grid {
    let interval = |i: &Interval| {
        let span = say.span(Ms(u64::try_from(i.ms).unwrap_or(0)));
        let span = if i.from_before_us {
            say.words.sheet_with(W::IntervalBefore, &[&span])
        } else {
            span
        };
        if i.circulation_between {
            say.words.sheet_with(W::IntervalPulse, &[&span])
        } else {
            span
        }
    };
    let row = |drug: &Drug| {
        let known = course.drug_names.iter().find(|(key, _)| *key == drug.drug);
        let window = drug.window_min_ms.zip(drug.window_max_ms);
        let intervals: Vec<String> = drug.intervals.iter().map(interval).collect();
        let placed = drug.intervals.iter().any(|i| match i.place {
            Some(Place::Below | Place::Inside | Place::Above) => true,
            None => false,
        });
        vec![
            known.map_or_else(|| drug.drug.clone(), |(_, name)| name.clone()),
            drug.doses.to_string(),
            drug.doses_before_us
                .map_or_else(|| say.word(W::NotKnown), |n| n.to_string()),
            window.map_or_else(
                || say.word(W::NoDrugWindow),
                |(min, max)| {
                    let values = [say.span(min), say.span(max)];
                    let values: Vec<&str> = values.iter().map(String::as_str).collect();
                    say.words.sheet_with(W::FromTo, &values)
                },
            ),
            if intervals.is_empty() {
                say.word(W::NoneMarked)
            } else {
                intervals.join(", ")
            },
            if placed {
                let values = [drug.below, drug.inside, drug.above].map(|n| n.to_string());
                let values: Vec<&str> = values.iter().map(String::as_str).collect();
                say.words.sheet_with(W::PlacesValue, &values)
            } else {
                say.word(W::NoneMarked)
            },
        ]
    };
    Grid {
        columns: say.columns(&[
            W::Drug,
            W::Doses,
            W::DosesBefore,
            W::DrugWindow,
            W::Intervals,
            W::Places,
        ]),
        rows: rows.iter().map(row).collect(),
    }
}

fn fittings(say: &Say<'_>, rows: &[Fitting]) -> Grid {
    let row = |row: &Fitting| {
        let windows: Vec<String> = row.windows_ms.iter().map(|ms| say.span(*ms)).collect();
        vec![
            say.at(row.from_ms),
            match (row.running_ms, &row.refused) {
                (Some(at), _) => say.at(at),
                (None, Some(why)) => say
                    .words
                    .sheet_with(W::NotFitted, &[&why.replace('_', " ")]),
                (None, None) => say.word(W::NeverRan),
            },
            if windows.is_empty() {
                say.word(W::NoneMarked)
            } else {
                windows.join(", ")
            },
            if windows.is_empty() {
                say.word(W::NoneMarked)
            } else {
                say.span(row.total_ms)
            },
            say.share(row.flow_before),
        ]
    };
    Grid {
        columns: say.columns(&[W::At, W::Running, W::Windows, W::Together, W::HandsBefore]),
        rows: rows.iter().map(row).collect(),
    }
}

fn cup(say: &Say<'_>, m: &Measures) -> Grid {
    let rows = m.cup.of.rows.iter().map(|row| {
        vec![
            say.at(row.asked_ms),
            say.word(match row.answer {
                Some(cycle::mark::CupAct::Good) => W::CupGood,
                Some(cycle::mark::CupAct::Reseat) => W::CupReseat,
                None => W::CupOpen,
            }),
            say.may(row.ms),
        ]
    });
    Grid {
        columns: say.columns(&[W::Asked, W::Answer, W::After]),
        rows: rows.collect(),
    }
}

fn power(say: &Say<'_>, m: &Measures) -> Grid {
    let rows = m.power.of.rows.iter().map(|row| {
        vec![
            say.at(row.from_ms),
            say.may_at(row.swapped_ms),
            say.may(row.ms),
            say.word(match row.inside_window {
                Some(true) => W::Inside,
                Some(false) => W::Outside,
                None => W::NotKnown,
            }),
            say.may(row.hands_off_ms),
        ]
    });
    Grid {
        columns: say.columns(&[
            W::PackOut,
            W::PackIn,
            W::Swapped,
            W::SwapWindow,
            W::OffAround,
        ]),
        rows: rows.collect(),
    }
}
