//! The course of a run: what a chart draws and a page of the debrief lists, in order of time.

use cycle::{
    Fact, Mark, Ms,
    fact::Deed,
    mark::{AirMark, AirwayAct, By, CareMark, CheckMark, Reason, RhythmSeen},
};
use record::Opened;

use crate::{
    Basis, CupCheck, Fault, PauseRow, PowerSwap, ShockRow, Window,
    cup::cup,
    measures::{Taken, taken, with_run},
    pauses::pauses,
    power::power,
    run::Run,
    shocks::shocks,
    spans::Doing,
};

/// What the crew is said to have been doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Compressing.
    Compressing(By),
    /// Off the chest, without circulation.
    HandsOff,
    /// Spontaneous circulation.
    Circulation,
    /// Not known.
    Unknown,
}

/// A stretch of one state.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// Its beginning, run milliseconds.
    pub from: Ms,
    /// Its end.
    pub to: Ms,
    /// The state.
    pub state: State,
    /// Hands off: the reason that stands; `None`: none was given.
    pub reason: Option<Reason>,
}

impl Stretch {
    /// How long.
    pub const fn len(&self) -> Ms {
        self.to.since(self.from)
    }

    /// Whether it has no length.
    pub const fn is_empty(&self) -> bool {
        self.len().0 == 0
    }
}

/// What happened at a moment.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Happening {
    /// A dose on the scene, by the service's name of the drug.
    Dose(String),
    /// So many breaths.
    Breaths(u8),
    /// An airway device in place.
    AirwayIn,
    /// It is out or leaks.
    AirwayLost,
}

/// What a rhythm check came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CheckResult {
    /// A shock.
    Shock,
    /// No shock.
    NoShock,
    /// Nothing was marked but the pause.
    NotSaid,
    /// The check fell due and nobody marked it.
    NotMarked,
}

/// One rhythm check.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CheckRow {
    /// Hands came off for it, or its result; not marked: when it fell due.
    pub at: Ms,
    /// What it came to.
    pub result: CheckResult,
    /// The rhythm, if it was called.
    pub rhythm: Option<RhythmSeen>,
    /// The pause for it; `None`: it is not known, or compressions went on.
    pub pause: Option<Ms>,
    /// By the marks compressions went on: the device ran, or the crew said so of the shock.
    pub went_on: bool,
}

/// A run as a chart needs it.
#[derive(Clone, Debug, PartialEq)]
pub struct Course {
    /// Which marks it was taken of.
    pub basis: Taken,
    /// The window from recognition; `None`: neither arrest nor compressions were marked, and all lists are
    /// empty.
    pub window: Option<Window>,
    /// The state line, without a hole, cut to the window.
    pub stretches: Vec<Stretch>,
    /// The pauses.
    pub pauses: Vec<PauseRow>,
    /// Rhythm checks, those that were never marked too.
    pub checks: Vec<CheckRow>,
    /// Shocks.
    pub shocks: Vec<ShockRow>,
    /// What else happened.
    pub happenings: Vec<(Ms, Happening)>,
    /// Cup checks.
    pub cup: Vec<CupCheck>,
    /// Changes of packs.
    pub power: Vec<PowerSwap>,
    /// Each drug's key with the service's name of it.
    pub drug_names: Vec<(String, String)>,
}

/// The course of a run.
///
/// # Errors
/// See [`crate::measures()`].
pub fn course(opened: &Opened, basis: Basis) -> Result<Course, Fault> {
    let taken = taken(opened, basis);
    with_run(opened, basis, |run| of(run, taken))
}

fn of(run: &Run<'_>, basis: Taken) -> Course {
    Course {
        basis,
        window: run.windows.recognition,
        stretches: stretches(run),
        pauses: pauses(run).rows,
        checks: checks(run),
        shocks: shocks(run).rows,
        happenings: happenings(run),
        cup: cup(run).rows,
        power: power(run).rows,
        drug_names: drug_names(run),
    }
}

fn stretches(run: &Run<'_>) -> Vec<Stretch> {
    let Some((begin, end)) = run.ends() else {
        return Vec::new();
    };
    let mut out: Vec<Stretch> = Vec::new();
    for span in &run.spans {
        let (from, to) = (span.from.max(begin), span.to.min(end));
        if from >= to {
            continue;
        }
        let state = match span.doing {
            Doing::Compressing(by) => State::Compressing(by),
            Doing::HandsOff => State::HandsOff,
            Doing::Circulation => State::Circulation,
            // An end that was taken back tells nothing of what was done then.
            Doing::Unknown | Doing::Ended => State::Unknown,
        };
        match out.last_mut().filter(|last| last.state == state) {
            Some(last) => last.to = to,
            None => out.push(Stretch {
                from,
                to,
                state,
                reason: span.reasons.last().copied(),
            }),
        }
    }
    out
}

fn name(run: &Run<'_>, key: &str) -> String {
    run.protocol(run.header.patient_class)
        .map_or_else(|| key.to_owned(), |p| p.drug_name(key))
}

fn drug_names(run: &Run<'_>) -> Vec<(String, String)> {
    let mut names: Vec<(String, String)> = Vec::new();
    for (_, mark) in run.marks() {
        let keys: Vec<&str> = match mark {
            Mark::Care(CareMark::Drug { drug, .. }) => vec![drug],
            Mark::Run(cycle::mark::RunMark::PriorCare(prior)) => {
                prior.doses.iter().map(|dose| dose.drug.as_str()).collect()
            }
            Mark::Care(_)
            | Mark::Run(_)
            | Mark::Air(_)
            | Mark::Check(_)
            | Mark::Flow(_)
            | Mark::Device(_) => Vec::new(),
        };
        for key in keys {
            if !names.iter().any(|(known, _)| known == key) {
                names.push((key.to_owned(), name(run, key)));
            }
        }
    }
    names
}

fn happenings(run: &Run<'_>) -> Vec<(Ms, Happening)> {
    let marks = run.marks().filter(|(at, _)| run.is_in_window(*at));
    let told = marks.filter_map(|(at, mark)| {
        let what = match mark {
            Mark::Care(CareMark::Drug {
                drug, prior: false, ..
            }) => Happening::Dose(name(run, drug)),
            Mark::Air(AirMark::Vent { n, .. }) => Happening::Breaths(*n),
            Mark::Air(AirMark::Airway { act, .. }) => match act {
                AirwayAct::In => Happening::AirwayIn,
                AirwayAct::Lost => Happening::AirwayLost,
                AirwayAct::TryBegin | AirwayAct::TryEnd => return None,
            },
            Mark::Air(_)
            | Mark::Care(_)
            | Mark::Check(_)
            | Mark::Run(_)
            | Mark::Flow(_)
            | Mark::Device(_) => return None,
        };
        Some((at, what))
    });
    told.collect()
}

/// Each check of the trust line as a row: stretches of hands off that were for one or hold a result,
/// results outside any, and checks that nobody marked.
fn checks(run: &Run<'_>) -> Vec<CheckRow> {
    let marks: Vec<(Ms, &CheckMark)> = run
        .marks()
        .filter(|(at, _)| run.is_in_window(*at))
        .filter_map(|(at, mark)| match mark {
            Mark::Check(check) => Some((at, check)),
            Mark::Air(_) | Mark::Care(_) | Mark::Run(_) | Mark::Flow(_) | Mark::Device(_) => None,
        })
        .collect();
    let result = |mark: &CheckMark| match mark {
        CheckMark::Shock { .. } => Some(CheckResult::Shock),
        CheckMark::NoShock {} => Some(CheckResult::NoShock),
        CheckMark::Pads { .. }
        | CheckMark::Charge { .. }
        | CheckMark::Analysing {}
        | CheckMark::Rhythm { .. }
        | CheckMark::HeartRate { .. } => None,
    };
    let rhythm = |mark: &CheckMark| match mark {
        CheckMark::Rhythm { rhythm, .. } => Some(*rhythm),
        CheckMark::Shock { .. }
        | CheckMark::NoShock {}
        | CheckMark::Pads { .. }
        | CheckMark::Charge { .. }
        | CheckMark::Analysing {}
        | CheckMark::HeartRate { .. } => None,
    };
    let mut rows = Vec::new();
    for off in &run.offs {
        let inside = || marks.iter().filter(|(at, _)| off.span.touches(*at));
        // A shock decides: of several results in one pause it is the one that counts.
        let results: Vec<CheckResult> = inside().filter_map(|(_, mark)| result(mark)).collect();
        let found = results
            .iter()
            .find(|r| **r == CheckResult::Shock)
            .or_else(|| results.first());
        if found.is_none() && !off.span.reasons.contains(&Reason::RhythmCheck) {
            continue;
        }
        rows.push(CheckRow {
            at: off.span.from,
            result: found.copied().unwrap_or(CheckResult::NotSaid),
            rhythm: inside().find_map(|(_, mark)| rhythm(mark)),
            pause: (off.follows_compressions() && off.ended_by != crate::EndedBy::Unknown)
                .then(|| off.span.len()),
            went_on: false,
        });
    }
    for (at, mark) in &marks {
        let stacked = matches!(mark, CheckMark::Shock { stacked: true, .. });
        if let Some(found) = result(mark).filter(|_| !stacked && run.off_at(*at).is_none()) {
            let called = marks.iter().filter(|(when, _)| when == at);
            let through = matches!(mark, CheckMark::Shock { through: true, .. });
            let doing = run.doing_at(*at);
            rows.push(CheckRow {
                went_on: doing == Some(Doing::Compressing(By::Mechanical))
                    || (through && matches!(doing, Some(Doing::Compressing(_)))),
                at: *at,
                result: found,
                rhythm: called.into_iter().find_map(|(_, mark)| rhythm(mark)),
                pause: None,
            });
        }
    }
    rows.extend(run.entries.iter().filter_map(|e| match &e.fact {
        Fact::Deed(Deed::CheckUnmarked { due_ms }) if run.is_in_window(*due_ms) => Some(CheckRow {
            at: *due_ms,
            result: CheckResult::NotMarked,
            rhythm: None,
            pause: None,
            went_on: false,
        }),
        Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
    }));
    rows.sort_by_key(|row| row.at);
    rows
}
