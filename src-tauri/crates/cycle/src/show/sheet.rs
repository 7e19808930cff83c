//! What has no key on the card: first what is asked, then the likeliest marks of the card, then the
//! others, always in the same order.

use alloc::{vec, vec::Vec};

use super::{airway, displaced, main_acts, side_acts};
use crate::{
    Ms,
    acts::Act,
    mark::{AirwayDevice, BreathMode, By, PatientClass, Reason, Task, TempBand},
    protocol::{CheckForm, DrugDue, Overlay, Protocol},
    rules::{check, drugs, minutes, newborn, power, rotate, still},
    state::{Device, Line, State},
    view::Card,
};

mod likely;

pub(super) fn acts(p: &Protocol, s: &State, card: Card, now: Ms) -> Vec<Act> {
    match s.line {
        Line::Before => return before(p, s),
        Line::Ended => return vec![],
        Line::Compressing(_) | Line::HandsOff(_) | Line::Pulse | Line::Unknown => {}
    }
    let acts = [
        here(s),
        why(p, s),
        care(p, s),
        rhythm(p, s),
        breaths(s),
        device(p, s),
        moves(s),
        procedures(s),
        always(p, s, now),
    ]
    .concat();
    let on_card = [main_acts(p, s, card), side_acts(p, s, card, false, now)].concat();
    let can_stand = |act: &Act| {
        let mark = act.marks().into_iter().next();
        mark.is_none_or(|mark| s.accepts(&mark).is_ok())
    };
    // Looked for where they are learnt as well: a pulse under Rhythm, the drug under Drugs.
    let stays = |act: &Act| matches!(act, Act::PulseBack | Act::DrugByClock);
    let is_elsewhere = |act: &Act| on_card.contains(act) && !stays(act);
    let offered: Vec<Act> = acts
        .into_iter()
        .filter(|act| can_stand(act) && !is_elsewhere(act))
        .collect();
    let first: [Vec<Act>; 3] = [
        answer(p, s, now).into_iter().filter(can_stand).collect(),
        for_drug(p, s, card, now)
            .into_iter()
            .filter(|act| offered.contains(act))
            .collect(),
        likely::first(p, s, card, now, &offered)
            .into_iter()
            .filter(|act| !on_card.contains(act))
            .collect(),
    ];
    let first = first.concat();
    let mut kept: Vec<Act> = Vec::new();
    for act in [first, offered].concat() {
        if !kept.contains(&act) {
            kept.push(act);
        }
    }
    kept
}

/// What a drug that is due has pushed off the card; the drug, where the airway and a move kept their places.
fn for_drug(p: &Protocol, s: &State, card: Card, now: Ms) -> Option<Act> {
    let is_kept = matches!(card, Card::DeviceRatio | Card::DeviceContinuous)
        && drugs::is_called_by_clock(p, s, now);
    displaced(p, s, card, now).or_else(|| is_kept.then_some(Act::DrugByClock))
}

/// What is known before the run begins, and decides how it begins.
fn before(p: &Protocol, s: &State) -> Vec<Act> {
    let mut acts = Vec::new();
    if p.has_cycle() {
        acts.push(Act::StartQuiet);
    }
    acts.extend(overlays(p, s));
    acts.extend(classes(s));
    acts
}

/// The answer without a mark to what is asked: the most pressing one alone, so that it never takes more
/// than one key. Once it is given the next one stands.
fn answer(p: &Protocol, s: &State, now: Ms) -> Option<Act> {
    if still::is_off_asked(s, now) {
        return Some(Act::StillOff);
    }
    if still::running_asked(p, s).is_some_and(|at| now >= at) {
        return Some(Act::StillRunning);
    }
    heard(p, s, now)
}

/// Several at once would be keys of one name: the most pressing one stands.
fn heard(p: &Protocol, s: &State, now: Ms) -> Option<Act> {
    let open = |task, since: Ms| now >= since && s.acked(task).is_none_or(|ack| ack < since);
    let round = check::current(p, s, now).filter(|r| !check::is_acked(p, s, r.due));
    let check = |from: fn(&check::Round) -> Ms| round.is_some_and(|r| now >= from(&r));
    let drug = p
        .drugs
        .iter()
        .any(|drug| match drugs::window(p, s, drug, now) {
            drugs::Window::Due { since, .. } | drugs::Window::Late { since } => {
                open(Task::Drug, since)
            }
            drugs::Window::NotAsked
            | drugs::Window::Withheld
            | drugs::Window::Doubled { .. }
            | drugs::Window::NotDue { .. } => false,
        });
    let heart = newborn::next(p, s, now).is_some_and(|at| open(Task::HeartRate, at));
    let minute = p
        .minutes
        .iter()
        .filter_map(|rule| minutes::due(s, rule))
        .any(|at| {
            let is_of_now = now.since(at) < minutes::PATIENCE;
            is_of_now && open(Task::Minute, at)
        });
    [
        (
            s.cup.is_some_and(|cup| open(Task::Cup, cup.due)),
            Act::HeardCup,
        ),
        (check(|r| r.due), Act::HeardCheck),
        (heart, Act::HeardHeart),
        (drug, Act::HeardDrug),
        (rotate::due(p, s, now).is_some(), Act::HeardRotate),
        (
            power::asked(p, s, now).is_some_and(|at| open(Task::Power, at)),
            Act::HeardPower,
        ),
        (minute, Act::HeardMinute),
        (check(|r| r.heads_up), Act::HeardCheck),
    ]
    .into_iter()
    .find(|(stands, _)| *stands)
    .map(|(_, act)| act)
}

/// Marks of the state line's own moment.
fn here(s: &State) -> Vec<Act> {
    match s.line {
        Line::HandsOff(_) => vec![
            Act::HandsOn,
            Act::DeviceRunning,
            Act::Stopped,
            Act::PulseBack,
            Act::PulseNone,
        ],
        Line::Compressing(By::Mechanical) => vec![Act::Paused, Act::Stopped, Act::HandsOn],
        Line::Compressing(By::Manual) => vec![Act::HandsOff, Act::DeviceRunning],
        Line::Unknown => vec![Act::HandsOff, Act::HandsOn, Act::DeviceRunning],
        Line::Pulse => vec![
            Act::PulseStill,
            Act::ArrestAgainHand,
            Act::ArrestAgainDevice,
        ],
        Line::Before | Line::Ended => vec![],
    }
}

/// What the open pause is for. A pause for a rhythm check, a stopped device or a pack that is out was
/// opened by a mark of its own, and can be called something else all the same. A device is fitted also where
/// nobody has marked that it lies ready.
fn why(p: &Protocol, s: &State) -> Vec<Act> {
    let Line::HandsOff(now) = s.line else {
        return Vec::new();
    };
    let here = s.device == Device::On || s.by == By::Mechanical;
    let fitting = s.device == Device::Beside || p.device.allowed;
    [
        (Reason::RhythmCheck, true, Act::WhyCheck),
        (Reason::Airway, true, Act::WhyAirway),
        (Reason::PulseCheck, true, Act::WhyPulse),
        (Reason::Power, here, Act::WhyPower),
        (Reason::Move, true, Act::WhyMove),
        (Reason::Access, true, Act::WhyLine),
        (Reason::Ventilation, true, Act::WhyBreaths),
        (Reason::Rotate, !here, Act::WhyRotate),
        (Reason::DeviceFit, fitting || here, Act::WhyFit),
        (Reason::DeviceReseat, here, Act::WhyReseat),
        (Reason::DeviceOff, here, Act::WhyDeviceOff),
        (Reason::Procedure, true, Act::WhyOther),
    ]
    .into_iter()
    .filter(|(reason, may, _)| *may && *reason != now && s.first_breaths.is_none())
    .map(|(_, _, act)| act)
    .collect()
}

fn care(p: &Protocol, s: &State) -> Vec<Act> {
    let mut acts = vec![Act::PadsOn];
    for drug in &p.drugs {
        acts.push(match drug.due {
            DrugDue::Interval { .. } => Act::DrugByClock,
            DrugDue::Shocks(_) => Act::DrugByShocks,
        });
    }
    acts.extend([Act::LineIn, Act::LineBone]);
    if !p.other_drugs.is_empty() {
        acts.push(Act::OtherDrug);
    }
    // Never while the device compresses; in a pause it is who goes on.
    if s.line == Line::Compressing(By::Manual) || s.is_off() && s.by == By::Manual {
        acts.push(Act::Rotate);
    }
    if p.newborn.is_some() {
        acts.extend([Act::HeartBelow60, Act::HeartFrom60, Act::HeartAbove100]);
    }
    acts.push(if s.awake.is_some() {
        Act::SignsGone
    } else {
        Act::SignsOfLife
    });
    acts
}

/// Rhythm, charge and shock, also where no check is open: a mark may come late.
fn rhythm(p: &Protocol, s: &State) -> Vec<Act> {
    if !p.has_cycle() || s.line == Line::Pulse {
        return Vec::new();
    }
    // Named or answered, the charge is still there to be dumped, and another one may follow.
    let charge: &[Act] = match (s.is_charged, s.shock_near) {
        (false, _) => &[Act::Charge],
        (true, Some(_)) => &[Act::ChargeDumped],
        (true, None) => &[Act::ChargeDumped, Act::Charge],
    };
    let named: &[Act] = &[Act::Shockable, Act::NotShockable];
    let result: &[Act] = &[Act::ShockNow, Act::NoShockThrough];
    let mut acts = match p.check_form {
        CheckForm::Full => [charge, named, result].concat(),
        CheckForm::Short => [result, charge, named].concat(),
    };
    if s.leads {
        acts.insert(0, Act::Analysing);
    }
    acts
}

/// Airway, and the breath mode apart from it.
fn breaths(s: &State) -> Vec<Act> {
    let mut acts = vec![airway(s)];
    let placed = airway(s) == Act::AirwayLost;
    if s.airway != Some(AirwayDevice::Ett) {
        acts.push(Act::TubeIn);
    }
    acts.push(if placed {
        Act::AirwaySeen
    } else {
        Act::AirwayTry
    });
    let modes = [
        (BreathMode::Ratio, Act::BreathsBetween),
        (BreathMode::Continuous, Act::BreathsThrough),
        (BreathMode::None, Act::BreathsNone),
    ];
    acts.extend(
        modes
            .into_iter()
            .filter(|(mode, _)| *mode != s.mode)
            .map(|(_, act)| act),
    );
    acts.push(Act::Co2);
    acts
}

fn device(p: &Protocol, s: &State) -> Vec<Act> {
    // With a pulse nothing is being pressed: neither cup nor pack stops anything.
    let stops = match s.line {
        Line::Compressing(By::Mechanical) | Line::Unknown => {
            vec![Act::CupGood, Act::Reseat, Act::PowerSwap]
        }
        Line::HandsOff(_) => vec![Act::CupGood, Act::PowerSwap, Act::Swapped],
        Line::Before | Line::Compressing(By::Manual) | Line::Pulse | Line::Ended => Vec::new(),
    };
    let rest = match s.device {
        Device::On => vec![
            Act::FullPack,
            if s.mains { Act::MainsOff } else { Act::MainsOn },
            Act::FitParts,
            Act::FitReason,
        ],
        Device::Beside => vec![
            Act::FitParts,
            Act::FitReason,
            Act::TooSmall,
            Act::TooLarge,
            Act::NotSuited,
            Act::NotNow,
            Act::FullPack,
        ],
        Device::Away | Device::OutOfUse if p.device.allowed => {
            vec![Act::FitDevice, Act::TooSmall, Act::TooLarge, Act::NotSuited]
        }
        Device::Away | Device::OutOfUse => Vec::new(),
    };
    let stops = if s.device == Device::On {
        stops
    } else {
        Vec::new()
    };
    [stops, rest].concat()
}

fn moves(s: &State) -> Vec<Act> {
    if s.moving.is_some() {
        return vec![Act::SetDown, Act::Loaded];
    }
    let mut acts = vec![
        Act::Moving,
        Act::MoveScoop,
        Act::MoveStairs,
        Act::MoveStretcher,
        Act::Loaded,
    ];
    if s.device == Device::On && s.move_planned.is_none() {
        acts.insert(0, Act::MoveSoon);
    }
    acts
}

fn procedures(s: &State) -> Vec<Act> {
    match s.procedure {
        Some(_) => vec![Act::ProcedureDone],
        None => vec![Act::Ultrasound, Act::Decompression, Act::OtherTask],
    }
}

fn always(p: &Protocol, s: &State, now: Ms) -> Vec<Act> {
    let mut acts = vec![Act::Flag];
    let has_voice = s.has_voice(now);
    acts.push(if has_voice {
        Act::VoiceOff
    } else {
        Act::VoiceOn
    });
    acts.push(if s.beat_off {
        Act::BeatOn
    } else {
        Act::BeatOff
    });
    if has_voice {
        acts.push(Act::VoiceOff2Min);
    }
    acts.push(Act::Levels);
    if p.has_cycle() {
        acts.push(if s.leads {
            Act::LeadsNoMore
        } else {
            Act::ItLeads
        });
    }
    acts.push(Act::BeforeUs);
    if s.als.is_none() {
        acts.push(Act::AlsHere);
    }
    acts.extend([Act::CallMade, Act::EcprCalled, Act::LeftScene]);
    acts.extend(overlays(p, s));
    acts.extend(classes(s));
    acts
}

/// Special situations, each to be said or taken off, in the same place. One that the protocol does not
/// have can still be on, said in another class.
fn overlays(p: &Protocol, s: &State) -> Vec<Act> {
    let mut acts = Vec::new();
    for kind in Overlay::ALL {
        let on = s.has_overlay(*kind);
        if !on && p.overlay(*kind).is_none() {
            continue;
        }
        let (say, take_off) = match kind {
            Overlay::Pregnancy => (Act::OverlayPregnancy, Act::PregnancyOff),
            Overlay::Drowning => (Act::OverlayDrowning, Act::DrowningOff),
            Overlay::Opioid => (Act::OverlayOpioid, Act::OpioidOff),
            Overlay::Trauma => (Act::OverlayTrauma, Act::TraumaOff),
            Overlay::AsthmaAnaphylaxis => (Act::OverlayAsthma, Act::AsthmaOff),
            Overlay::Cold => {
                acts.extend(cold(s, on));
                continue;
            }
        };
        acts.push(if on { take_off } else { say });
    }
    acts
}

/// A band that turns out to be another one is said anew; warmed up is not the same as never cold.
fn cold(s: &State, on: bool) -> impl Iterator<Item = Act> {
    let band = s.cold();
    [
        (band != Some(TempBand::Below30), Act::OverlayCold30),
        (band != Some(TempBand::From30To35), Act::OverlayCold35),
        (on && band != Some(TempBand::Above35), Act::OverlayColdAbove),
        (on, Act::ColdOff),
    ]
    .into_iter()
    .filter(|(stands, _)| *stands)
    .map(|(_, act)| act)
}

fn classes(s: &State) -> impl Iterator<Item = Act> {
    let own = s.class;
    [
        (PatientClass::Adult, Act::ClassAdult),
        (PatientClass::Child, Act::ClassChild),
        (PatientClass::Infant, Act::ClassInfant),
        (PatientClass::Newborn, Act::ClassNewborn),
    ]
    .into_iter()
    .filter(move |(class, _)| *class != own)
    .map(|(_, act)| act)
}
