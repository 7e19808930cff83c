//! `eTimes` and `eArrest`: what marks say of the arrest as a whole.

use cycle::{
    Mark, Ms,
    mark::{
        AirMark, ArrestBasis, BreathMode, By, CheckMark, FlowMark, GivenBy, MechKind, Outcome,
        PriorAed, PriorCpr, Reason, RunMark, SetState, TimesWhich, Via,
    },
};
use debrief::{Doing, EndsBy, Spell};
use words::CarryWord;

use crate::{
    codes,
    facts::{Facts, Marked},
    filled::{Filled, Value},
};

/// Circulation counts from this length on (a comment of the standard's schema).
const ROSC_MIN: Ms = Ms(30_000);
/// 20 minutes on end.
const ROSC_LONG: Ms = Ms(1_200_000);

fn run_marks<'f>(facts: &'f Facts<'_>) -> impl Iterator<Item = (&'f Marked, &'f RunMark)> {
    facts.marks.iter().filter_map(|m| {
        let Mark::Run(run) = &m.mark else { return None };
        Some((m, run))
    })
}

/// The last mark of a time of the mission, and whether there are several.
fn time<'f>(facts: &'f Facts<'_>, asked: TimesWhich) -> Option<(&'f Marked, bool)> {
    let found = run_marks(facts)
        .filter(|(_, run)| matches!(run, RunMark::Times { which } if *which == asked));
    let found: Vec<&Marked> = found.map(|(m, _)| m).collect();
    found.last().map(|last| (*last, found.len() > 1))
}

pub(crate) fn times(facts: &Facts<'_>) -> Vec<Filled> {
    let all = [
        ("eTimes.07", TimesWhich::AtPatient),
        ("eTimes.09", TimesWhich::LeftScene),
        ("eTimes.11", TimesWhich::AtDestination),
        ("eTimes.12", TimesWhich::Handover),
    ];
    let rows = all.into_iter().filter_map(|(element, which)| {
        let (marked, twice) = time(facts, which)?;
        Some(Filled::by(element, Value::Time, marked).ask_if(twice, CarryWord::AskTwice))
    });
    rows.collect()
}

/// The end that stands.
pub(crate) fn end<'f>(facts: &'f Facts<'_>) -> Option<(&'f Marked, Outcome, Option<&'f str>)> {
    let ends = run_marks(facts).filter_map(|(m, run)| {
        let RunMark::End { outcome, reason } = run else {
            return None;
        };
        Some((m, *outcome, reason.as_deref()))
    });
    // An end that was taken back is none.
    let open = facts
        .stretches
        .last()
        .is_some_and(|s| s.doing != Doing::Ended);
    ends.last().filter(|(m, _, _)| {
        let last = facts.stretches.last();
        !open || last.is_none_or(|s| s.to_ms <= m.at)
    })
}

/// What was done before, as it was said last.
pub(crate) fn prior<'f>(facts: &'f Facts<'_>) -> Option<(&'f Marked, &'f cycle::mark::PriorCare)> {
    run_marks(facts)
        .filter_map(|(m, run)| {
            let RunMark::PriorCare(prior) = run else {
                return None;
            };
            Some((m, prior))
        })
        .last()
}

/// Compressions by the crew that a mark began, in order.
pub(crate) fn compressions<'f>(
    facts: &'f Facts<'_>,
) -> impl Iterator<Item = (&'f Marked, By, Option<MechKind>)> {
    facts.marks.iter().filter_map(|m| {
        let Mark::Flow(flow) = &m.mark else {
            return None;
        };
        match flow {
            FlowMark::ComprStart { by, mech_kind, .. } => Some((m, *by, *mech_kind)),
            FlowMark::Rearrest { by } => Some((m, *by, None)),
            FlowMark::StateSet { state } => match state {
                SetState::Manual => Some((m, By::Manual, None)),
                SetState::Mechanical => Some((m, By::Mechanical, None)),
                SetState::HandsOff | SetState::Pulse | SetState::Unknown => None,
            },
            FlowMark::ComprStop { .. }
            | FlowMark::Why { .. }
            | FlowMark::Rotate {}
            | FlowMark::PulseCheck { .. }
            | FlowMark::Rosc {} => None,
        }
    })
}

/// Circulation that counts.
pub(crate) fn pulses<'f>(facts: &'f Facts<'_>) -> impl Iterator<Item = &'f Spell> {
    facts
        .stretches
        .iter()
        .filter(|s| s.doing == Doing::Circulation && s.to_ms.since(s.from_ms) > ROSC_MIN)
}

pub(crate) fn arrest(facts: &Facts<'_>) -> Vec<Filled> {
    let mut rows = vec![is_arrest(facts), Filled::open("eArrest.02")];
    rows.extend(attempted(facts));
    rows.push(Filled::open("eArrest.04"));
    rows.push(aed_before(facts));
    rows.extend(cpr(facts));
    rows.push(first_rhythm(facts));
    rows.extend(rosc(facts));
    rows.push(began(facts));
    rows.extend(stopped_at(facts));
    rows.push(stopped_why(facts));
    rows.push(ended(facts));
    rows.extend(first_cpr(facts));
    rows.push(who_first(facts));
    rows.extend([Filled::open("eArrest.21"), Filled::open("eArrest.22")]);
    rows
}

fn is_arrest(facts: &Facts<'_>) -> Filled {
    if let Some((marked, Outcome::NoArrest, _)) = end(facts) {
        return Filled::by("eArrest.01", Value::Code("3001001", CarryWord::No), marked)
            .ask(CarryWord::AskCrew);
    }
    let seen = run_marks(facts).find(|(_, run)| {
        matches!(
            run,
            RunMark::Arrest {
                basis: Some(ArrestBasis::Witnessed)
            }
        )
    });
    match seen {
        Some((marked, _)) => Filled::by(
            "eArrest.01",
            Value::Code("3001005", CarryWord::AfterArrival),
            marked,
        )
        .ask(CarryWord::AskCrew),
        None => Filled::open("eArrest.01"),
    }
}

fn attempted(facts: &Facts<'_>) -> Vec<Filled> {
    let element = "eArrest.03";
    let mut rows = Vec::new();
    let shocks = || {
        facts.marks.iter().filter_map(|m| {
            let Mark::Check(CheckMark::Shock { by, .. }) = &m.mark else {
                return None;
            };
            Some((m, *by))
        })
    };
    let ours = shocks().find(|(_, by)| *by == GivenBy::Us);
    if let Some((marked, by)) = ours.or_else(|| shocks().next()) {
        let value = Value::Code("3003001", CarryWord::Defibrillation);
        rows.push(
            Filled::by(element, value, marked).ask_if(by == GivenBy::Others, CarryWord::AskOthers),
        );
    }
    if let Some((marked, _)) = breaths(facts).next() {
        let value = Value::Code("3003003", CarryWord::Breaths);
        rows.push(Filled::by(element, value, marked));
    }
    if let Some((marked, _, _)) = compressions(facts).next() {
        let value = Value::Code("3003005", CarryWord::Compressions);
        rows.push(Filled::by(element, value, marked));
    }
    if rows.is_empty() {
        rows.push(Filled::open(element));
    }
    rows
}

/// Breaths that were marked, each with the way they went in where that was said, with them or before.
fn breaths<'f>(facts: &'f Facts<'_>) -> impl Iterator<Item = (&'f Marked, Option<Via>)> {
    let mut said: Option<Via> = None;
    facts.marks.iter().filter_map(move |m| {
        let Mark::Air(air) = &m.mark else { return None };
        if let AirMark::BreathMode { via, .. } = air {
            said = via.or(said);
        }
        let AirMark::Vent { via, .. } = air else {
            return None;
        };
        Some((m, via.or(said)))
    })
}

fn aed_before(facts: &Facts<'_>) -> Filled {
    let element = "eArrest.07";
    let told = prior(facts).and_then(|(m, prior)| prior.aed.map(|aed| (m, aed)));
    let Some((marked, aed)) = told else {
        return Filled::open(element);
    };
    let value = match aed {
        PriorAed::None => Value::Code("3007001", CarryWord::AedNone),
        PriorAed::Applied => Value::Code("3007003", CarryWord::AedApplied),
        PriorAed::Shocked => Value::Code("3007005", CarryWord::AedShocked),
    };
    Filled::by(element, value, marked).ask(CarryWord::AskTold)
}

fn cpr(facts: &Facts<'_>) -> Vec<Filled> {
    let element = "eArrest.09";
    let mut rows: Vec<Filled> = Vec::new();
    let mut add = |value: Value, marked: &Marked, ask: Option<CarryWord>| {
        if !rows.iter().any(|row| row.value == value) {
            let row = Filled::by(element, value, marked);
            rows.push(match ask {
                Some(why) => row.ask(why),
                None => row,
            });
        }
    };
    for (marked, by, kind) in compressions(facts) {
        match (by, kind) {
            (By::Manual, _) => add(Value::Code("3009001", CarryWord::ByHand), marked, None),
            (By::Mechanical, Some(MechKind::Band)) => {
                add(Value::Code("3009003", CarryWord::ByBand), marked, None);
            }
            (By::Mechanical, Some(MechKind::Piston)) => {
                add(Value::Code("3009005", CarryWord::ByPiston), marked, None);
            }
            (By::Mechanical, Some(MechKind::PistonArm)) => {
                add(Value::Code("3009007", CarryWord::ByPistonArm), marked, None);
            }
            (By::Mechanical, Some(MechKind::Other)) => {
                add(Value::Code("3009011", CarryWord::ByOther), marked, None);
            }
            (By::Mechanical, None) => {}
        }
    }
    // Without a kind the device has no code; where the kind was said once, that stands for all.
    let unnamed = compressions(facts).find(|(_, by, kind)| *by == By::Mechanical && kind.is_none());
    let named = compressions(facts).any(|(_, _, kind)| kind.is_some());
    if let Some((marked, _, _)) = unnamed.filter(|_| !named) {
        let ask = Some(CarryWord::AskWhich);
        add(Value::Word(CarryWord::ByDevice), marked, ask);
    }
    let pausing = facts.marks.iter().find(|m| {
        matches!(
            m.mark,
            Mark::Air(AirMark::BreathMode {
                mode: BreathMode::Ratio,
                ..
            }) | Mark::Flow(
                FlowMark::ComprStop {
                    reason: Reason::Ventilation
                } | FlowMark::Why {
                    reason: Reason::Ventilation
                }
            )
        )
    });
    if let Some(marked) = pausing {
        let ask = Some(CarryWord::AskDerived);
        add(Value::Code("3009009", CarryWord::WithBreaths), marked, ask);
    }
    for (marked, via) in breaths(facts) {
        match via {
            Some(Via::Mask) => add(Value::Code("3009013", CarryWord::MaskBreaths), marked, None),
            Some(Via::Sga | Via::Ett) => {
                add(
                    Value::Code("3009025", CarryWord::AirwayBreaths),
                    marked,
                    None,
                );
            }
            Some(Via::Cric) | None => {
                let ask = Some(CarryWord::AskWhich);
                add(Value::Word(CarryWord::Breaths), marked, ask);
            }
        }
    }
    if rows.is_empty() {
        rows.push(Filled::open(element));
    }
    // What has no code yet stands last.
    rows.sort_by_key(|row| row.code().unwrap_or("~"));
    rows
}

fn first_rhythm(facts: &Facts<'_>) -> Filled {
    let element = "eArrest.11";
    let first = facts.marks.iter().find_map(|m| {
        let Mark::Check(CheckMark::Rhythm {
            rhythm,
            first: Some(true),
        }) = &m.mark
        else {
            return None;
        };
        Some((m, *rhythm))
    });
    let Some((marked, rhythm)) = first else {
        return Filled::open(element);
    };
    match codes::rhythm(rhythm) {
        Some((code, _, word)) => {
            Filled::by(element, Value::Code(code, word), marked).ask(CarryWord::AskFirst)
        }
        None => Filled::by(element, Value::Word(CarryWord::OtherRhythm), marked)
            .ask(CarryWord::AskWhich),
    }
}

/// A row by a stretch of the state line: of the mark that began it, where one did.
fn by_line(facts: &Facts<'_>, element: &'static str, value: Value, at: Ms) -> Filled {
    let begun = facts
        .marks
        .iter()
        .filter(|m| m.mark.is_of_state_line())
        .rfind(|m| m.at == at);
    match begun {
        Some(marked) => Filled::by(element, value, marked),
        None => Filled {
            wall: facts.wall(at),
            value,
            ..Filled::open(element)
        },
    }
    .ask(CarryWord::AskDerived)
}

/// When the patient was handed over, where that was marked.
fn handed_over(facts: &Facts<'_>) -> Option<Ms> {
    let by_end =
        end(facts).and_then(|(m, outcome, _)| (outcome == Outcome::HandedOver).then_some(m.at));
    by_end.or_else(|| time(facts, TimesWhich::Handover).map(|(m, _)| m.at))
}

fn arrived(facts: &Facts<'_>) -> Option<Ms> {
    time(facts, TimesWhich::AtDestination).map(|(m, _)| m.at)
}

fn rosc(facts: &Facts<'_>) -> Vec<Filled> {
    let element = "eArrest.12";
    let mut rows = Vec::new();
    let before = pulses(facts).find(|s| arrived(facts).is_none_or(|at| s.from_ms < at));
    if let Some(stretch) = handed_over(facts).and_then(|at| at_moment(facts, at)) {
        let value = Value::Code("3012003", CarryWord::RoscAt);
        rows.push(by_line(facts, element, value, stretch.from_ms));
    }
    if let Some(stretch) = before {
        let value = Value::Code("3012005", CarryWord::RoscBefore);
        rows.push(by_line(facts, element, value, stretch.from_ms));
    }
    if let Some(stretch) = pulses(facts).find(|s| s.to_ms.since(s.from_ms) >= ROSC_LONG) {
        let value = Value::Code("3012007", CarryWord::RoscLong);
        rows.push(by_line(facts, element, value, stretch.from_ms));
    }
    if !rows.is_empty() {
        return rows;
    }
    // Said of a whole run only: nobody knows what an open one, or a gap, still holds.
    let whole = end(facts).filter(|(_, outcome, _)| *outcome != Outcome::NoArrest);
    let gaps = facts.stretches.iter().any(|s| s.doing == Doing::Unknown);
    let late = pulses(facts).next().is_some();
    match whole {
        Some((marked, _, _)) if !gaps && !late => {
            let value = Value::Code("3012001", CarryWord::RoscNone);
            vec![Filled::by(element, value, marked).ask(CarryWord::AskDerived)]
        }
        Some(_) | None => vec![Filled::open(element)],
    }
}

/// Circulation that counts and holds at a moment.
fn at_moment<'f>(facts: &'f Facts<'_>, at: Ms) -> Option<&'f Spell> {
    pulses(facts).find(|s| s.from_ms <= at && at <= s.to_ms)
}

fn began(facts: &Facts<'_>) -> Filled {
    let element = "eArrest.14";
    let seen = run_marks(facts).find(|(_, run)| {
        matches!(
            run,
            RunMark::Arrest {
                basis: Some(ArrestBasis::Witnessed)
            }
        )
    });
    if let Some((marked, _)) = seen {
        return Filled::by(element, Value::Time, marked);
    }
    let told = prior(facts).and_then(|(m, prior)| Some((m, m.wall?, prior.began_min?)));
    let earlier = told.and_then(|(m, wall, minutes)| {
        let back = i64::from(minutes).saturating_mul(60_000);
        let unix = wall.unix_ms().checked_sub(back)?;
        let wall = record::Wall::new(unix, wall.offset_min()).ok()?;
        Some((m, wall))
    });
    match earlier {
        Some((marked, wall)) => Filled {
            wall: Some(wall),
            ..Filled::by(element, Value::About, marked).ask(CarryWord::AskTold)
        },
        None => Filled::open(element),
    }
}

fn stopped_at(facts: &Facts<'_>) -> Option<Filled> {
    let element = "eArrest.15";
    let (marked, outcome, _) = end(facts)?;
    match outcome {
        Outcome::Stopped => {
            // Given up when hands came off for good, where that was said.
            let windows = &facts.measures.windows;
            let given_up = windows
                .recognition
                .filter(|w| windows.ends_by == EndsBy::Stopped && w.to_ms < marked.at);
            Some(match given_up {
                Some(window) => by_line(facts, element, Value::Time, window.to_ms),
                None => Filled::by(element, Value::Time, marked),
            })
        }
        Outcome::Rosc => {
            let last = facts
                .stretches
                .iter()
                .rfind(|s| matches!(s.doing, Doing::Compressing(_)))?;
            Some(by_line(facts, element, Value::Time, last.to_ms))
        }
        Outcome::HandedOver | Outcome::NoArrest => None,
    }
}

fn stopped_why(facts: &Facts<'_>) -> Filled {
    let element = "eArrest.16";
    match end(facts) {
        Some((marked, Outcome::Rosc, _)) => {
            Filled::by(element, Value::Code("3016011", CarryWord::StopRosc), marked)
        }
        Some((marked, Outcome::Stopped, Some(reason))) => match codes::stop_reason(reason) {
            Some((code, word)) => Filled::by(element, Value::Code(code, word), marked),
            None => Filled::open(element),
        },
        Some((_, Outcome::Stopped | Outcome::HandedOver | Outcome::NoArrest, _)) | None => {
            Filled::open(element)
        }
    }
}

fn ended(facts: &Facts<'_>) -> Filled {
    let element = "eArrest.18";
    let Some((marked, outcome, _)) = end(facts) else {
        return Filled::open(element);
    };
    let here = arrived(facts).filter(|at| *at <= marked.at);
    match (outcome, here) {
        // What happened in the hospital has codes that no mark tells apart.
        (Outcome::Rosc, None) => {
            Filled::by(element, Value::Code("3018007", CarryWord::EndRosc), marked)
        }
        (Outcome::Stopped, None) => {
            Filled::by(element, Value::Code("3018003", CarryWord::EndField), marked)
        }
        (Outcome::HandedOver, _) => match (at_moment(facts, marked.at), here) {
            (Some(pulse), at) if at.is_none_or(|at| pulse.from_ms < at) => {
                Filled::by(element, Value::Code("3018007", CarryWord::EndRosc), marked)
                    .ask(CarryWord::AskDerived)
            }
            (None, Some(_)) => {
                let value = Value::Code("3018005", CarryWord::EndHospital);
                Filled::by(element, value, marked).ask(CarryWord::AskDerived)
            }
            (Some(_) | None, _) => Filled::open(element),
        },
        (Outcome::Rosc | Outcome::Stopped, Some(_)) | (Outcome::NoArrest, _) => {
            Filled::open(element)
        }
    }
}

fn first_cpr(facts: &Facts<'_>) -> Option<Filled> {
    let told = prior(facts).and_then(|(_, prior)| prior.cpr);
    // Others began before this crew, at a time that no mark tells.
    if told.is_some_and(|cpr| cpr != PriorCpr::None) {
        return None;
    }
    let (marked, _, _) = compressions(facts).next()?;
    Some(Filled::by("eArrest.19", Value::Time, marked).ask_if(told.is_none(), CarryWord::AskCrew))
}

fn who_first(facts: &Facts<'_>) -> Filled {
    let element = "eArrest.20";
    let told = prior(facts).and_then(|(m, prior)| prior.cpr.map(|cpr| (m, cpr)));
    let Some((marked, cpr)) = told else {
        return Filled::open(element);
    };
    let value = match cpr {
        PriorCpr::Bystander => Value::Code("3020001", CarryWord::Bystander),
        PriorCpr::Family => Value::Code("3020003", CarryWord::Family),
        PriorCpr::Hcp => Value::Code("3020005", CarryWord::HealthWorker),
        // Which service, or whether this crew was the first, is not said.
        PriorCpr::FirstResponder | PriorCpr::OtherCrew | PriorCpr::None => {
            return Filled::open(element);
        }
    };
    Filled::by(element, value, marked).ask(CarryWord::AskTold)
}
