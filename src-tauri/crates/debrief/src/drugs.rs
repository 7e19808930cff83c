//! Doses, and the time between them against the protocol's window. Never a dose's size.

use cycle::{
    DrugDue, Fact, Mark, Ms, Overlay, Protocol,
    mark::{CareMark, PatientClass, PriorCare, RunMark, TempBand},
};
use serde::Serialize;

use crate::{run::Run, spans::Doing};

/// Where an interval lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// Shorter than the window.
    Below,
    /// Inside it, its ends included.
    Inside,
    /// Longer.
    Above,
}

/// From one dose to the next.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Interval {
    /// The earlier dose, run milliseconds; below nought where it was given before the run.
    pub from_ms: i64,
    /// The later one.
    pub to_ms: i64,
    /// Between them.
    pub ms: i64,
    /// Against the window in force at the later dose; `None` where there is none.
    pub place: Option<Place>,
    /// That window's beginning, ms: stretched where the protocol does so in the cold.
    pub window_min_ms: Option<Ms>,
    /// Its end.
    pub window_max_ms: Option<Ms>,
    /// One of the two was given before this crew, and its time is what the crew was told, to the minute.
    pub from_before_us: bool,
    /// There was circulation between them, in which the drug was not due.
    pub circulation_between: bool,
}

/// One drug.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Drug {
    /// The protocol's key.
    pub drug: String,
    /// Doses by this crew and others on the scene.
    pub doses: usize,
    /// Doses before this crew; `None`: nothing was said.
    pub doses_before_us: Option<usize>,
    /// Not due before, ms, where the protocol has a window: of the run's first class, not stretched.
    pub window_min_ms: Option<Ms>,
    /// Late after, ms.
    pub window_max_ms: Option<Ms>,
    /// Intervals below the window.
    pub below: usize,
    /// Inside.
    pub inside: usize,
    /// Above.
    pub above: usize,
    /// In order.
    pub intervals: Vec<Interval>,
}

/// The drugs of a run, by their first dose.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Drugs {
    /// One row a drug.
    pub rows: Vec<Drug>,
}

#[derive(Clone, Copy)]
struct Dose {
    at: i64,
    before_us: bool,
    class: PatientClass,
    cold: Option<TempBand>,
}

/// Doses by drug.
#[derive(Default)]
struct Given {
    key: String,
    doses: Vec<Dose>,
    /// Given before us, as told in one number, which the next such number takes the place of.
    told: Option<usize>,
    /// Given before us, marked one by one.
    marked_before: usize,
}

impl Given {
    fn before_us(&self) -> Option<usize> {
        match (self.told, self.marked_before) {
            (None, 0) => None,
            (told, marked) => Some(told.unwrap_or(0).saturating_add(marked)),
        }
    }
}

fn long(at: Ms) -> i64 {
    i64::try_from(at.0).unwrap_or(i64::MAX)
}

fn of<'g>(all: &'g mut Vec<Given>, key: &str) -> Option<&'g mut Given> {
    if !all.iter().any(|given| given.key == key) {
        all.push(Given {
            key: key.to_owned(),
            ..Given::default()
        });
    }
    all.iter_mut().find(|given| given.key == key)
}

/// Said again, what was given before us takes the place of what was said before.
fn prior(all: &mut Vec<Given>, at: Ms, class: PatientClass, prior: &PriorCare) {
    for given in all.iter_mut() {
        given.doses.retain(|dose| !dose.before_us);
        given.told = None;
    }
    for dose in &prior.doses {
        let Some(given) = of(all, &dose.drug) else {
            continue;
        };
        given.told = Some(usize::from(dose.n));
        if let Some(min) = dose.last_min.filter(|_| dose.n > 0) {
            given.doses.push(Dose {
                at: long(at).saturating_sub(i64::from(min).saturating_mul(60_000)),
                before_us: true,
                class,
                cold: None,
            });
        }
    }
}

pub(crate) fn drugs(run: &Run<'_>) -> Drugs {
    let mut all: Vec<Given> = Vec::new();
    for step in &run.steps {
        let at = step.entry.at;
        match &step.entry.fact {
            Fact::Mark(Mark::Run(RunMark::PriorCare(said))) => {
                prior(&mut all, at, step.class, said);
            }
            Fact::Mark(Mark::Care(CareMark::Drug {
                drug, prior: true, ..
            })) => {
                if let Some(given) = of(&mut all, drug) {
                    given.marked_before = given.marked_before.saturating_add(1);
                }
            }
            Fact::Mark(Mark::Care(CareMark::Drug { drug, .. })) => {
                if let Some(given) = of(&mut all, drug) {
                    given.doses.push(Dose {
                        at: long(at),
                        before_us: false,
                        class: step.class,
                        cold: step.cold,
                    });
                }
            }
            Fact::Mark(_) | Fact::Deed(_) | Fact::Amend(_) => {}
        }
    }
    Drugs {
        rows: all.into_iter().map(|given| row(run, given)).collect(),
    }
}

/// The window of a drug as it was in force: by the record's protocol, or by its header where the
/// protocol is lost.
fn window(run: &Run<'_>, key: &str, dose: Dose) -> Option<(Ms, Ms)> {
    let Some(p) = run.protocol(dose.class) else {
        let windows = run.header.settings.drug_windows.iter();
        return windows
            .filter(|w| w.name == key)
            .map(|w| (Ms::secs(w.min_s), Ms::secs(w.max_s)))
            .next();
    };
    match p.drug(key)?.due {
        DrugDue::Interval { min, max, .. } => {
            let times = u64::from(cold_factor(p, dose.cold));
            let stretched = |span: Ms| Ms(span.0.saturating_mul(times));
            Some((stretched(min), stretched(max)))
        }
        DrugDue::Shocks(_) => None,
    }
}

fn cold_factor(p: &Protocol, band: Option<TempBand>) -> u8 {
    match band {
        Some(TempBand::From30To35) => p.overlay(Overlay::Cold).and_then(|o| o.cold_factor),
        Some(TempBand::Below30 | TempBand::Above35) | None => None,
    }
    .unwrap_or(1)
}

fn row(run: &Run<'_>, mut given: Given) -> Drug {
    given.doses.sort_by_key(|dose| dose.at);
    let intervals: Vec<Interval> = given
        .doses
        .iter()
        .zip(given.doses.iter().skip(1))
        .map(|(from, to)| interval(run, &given.key, *from, *to))
        .collect();
    let plain = Dose {
        at: 0,
        before_us: false,
        class: run.header.patient_class,
        cold: None,
    };
    let window = window(run, &given.key, plain);
    let count = |place: Place| {
        let in_it = |i: &&Interval| i.place == Some(place);
        intervals.iter().filter(in_it).count()
    };
    Drug {
        doses: given.doses.iter().filter(|dose| !dose.before_us).count(),
        doses_before_us: given.before_us(),
        window_min_ms: window.map(|(min, _)| min),
        window_max_ms: window.map(|(_, max)| max),
        below: count(Place::Below),
        inside: count(Place::Inside),
        above: count(Place::Above),
        intervals,
        drug: given.key,
    }
}

fn interval(run: &Run<'_>, key: &str, from: Dose, to: Dose) -> Interval {
    let ms = to.at.saturating_sub(from.at);
    let window = window(run, key, to);
    let place = window.map(|(min, max)| {
        if ms < long(min) {
            Place::Below
        } else if ms > long(max) {
            Place::Above
        } else {
            Place::Inside
        }
    });
    let short = |at: i64| Ms(u64::try_from(at).unwrap_or(0));
    let pulse = run.time_in(short(from.at), short(to.at), |d| d == Doing::Circulation);
    Interval {
        from_ms: from.at,
        to_ms: to.at,
        ms,
        place,
        window_min_ms: window.map(|(min, _)| min),
        window_max_ms: window.map(|(_, max)| max),
        from_before_us: from.before_us || to.before_us,
        circulation_between: pulse > Ms::ZERO,
    }
}
