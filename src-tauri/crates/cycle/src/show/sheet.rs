//! What lies behind Mark: first what the card leaves no way to, then the rarer marks, always in the
//! same order.

use alloc::{vec, vec::Vec};

use super::{airway, main_acts, side_acts};
use crate::{
    Ms,
    acts::Act,
    mark::{AirwayDevice, By, PatientClass, TempBand},
    protocol::{CheckForm, DrugDue, Overlay, Protocol},
    state::{Device, Line, State},
    view::Card,
};

/// In the first minute the patient's class is one touch from the sheet's first page.
const CLASS_FIRST: Ms = Ms(60_000);

pub(super) fn acts(p: &Protocol, s: &State, card: Card, now: Ms) -> Vec<Act> {
    match s.line {
        Line::Before => return before(p),
        Line::Ended => return vec![],
        Line::Compressing(_) | Line::HandsOff(_) | Line::Pulse | Line::Unknown => {}
    }
    let mut acts = here(p, s);
    acts.extend(care(p, s));
    acts.extend(always(p, s, now));
    let on_card = [main_acts(p, s, card), side_acts(p, s, card, false)].concat();
    let mut kept: Vec<Act> = Vec::new();
    for act in acts {
        let marks = act.marks();
        let can_stand = marks.first().is_some_and(|mark| s.accepts(mark).is_ok());
        if can_stand && !on_card.contains(&act) && !kept.contains(&act) {
            kept.push(act);
        }
    }
    kept
}

fn before(p: &Protocol) -> Vec<Act> {
    let mut acts = Vec::new();
    if p.has_cycle() {
        acts.push(Act::StartQuiet);
    }
    acts
}

/// Marks of the state line's own moment.
fn here(p: &Protocol, s: &State) -> Vec<Act> {
    match s.line {
        Line::HandsOff(_) => {
            let mut acts = vec![
                Act::HandsOn,
                Act::DeviceRunning,
                Act::Stopped,
                Act::WhyAirway,
                Act::PulseBack,
                Act::Charge,
                Act::ChargeDumped,
            ];
            if p.check_form == CheckForm::Full {
                acts.extend([Act::Shockable, Act::NotShockable]);
            }
            acts.extend([Act::Ultrasound, Act::ProcedureDone]);
            if s.device != Device::On {
                acts.extend([Act::TooSmall, Act::TooLarge]);
            }
            acts
        }
        Line::Compressing(By::Mechanical) => {
            vec![
                airway(s),
                Act::Moving,
                Act::PowerSwap,
                Act::Reseat,
                Act::FullPack,
                if s.mains { Act::MainsOff } else { Act::MainsOn },
            ]
        }
        Line::Compressing(By::Manual) => {
            let mut acts = vec![Act::HandsOff, airway(s), Act::Moving];
            if s.device == Device::Beside {
                acts.extend([Act::TooSmall, Act::TooLarge, Act::FullPack]);
            }
            acts
        }
        Line::Unknown => vec![Act::HandsOff],
        Line::Pulse => vec![Act::PulseStill],
        Line::Before | Line::Ended => vec![],
    }
}

fn care(p: &Protocol, s: &State) -> Vec<Act> {
    let mut acts = Vec::new();
    if !s.is_off() {
        acts.push(Act::PadsOn);
    }
    let first_minute = s
        .began
        .is_some_and(|began| s.last_mark.since(began) < CLASS_FIRST);
    if first_minute {
        acts.extend(classes(s));
    }
    for drug in &p.drugs {
        acts.push(match drug.due {
            DrugDue::Interval { .. } => Act::DrugByClock,
            DrugDue::Shocks(_) => Act::DrugByShocks,
        });
    }
    acts.push(Act::LineIn);
    let by_hand = s.line == Line::Compressing(By::Manual);
    if by_hand {
        acts.push(Act::Rotate);
    }
    if p.newborn.is_some() {
        acts.extend([Act::HeartBelow60, Act::HeartFrom60, Act::HeartAbove100]);
    }
    if s.airway
        .is_none_or(|a| matches!(a, AirwayDevice::Opa | AirwayDevice::Npa))
    {
        acts.push(Act::AirwayTry);
    }
    acts.push(if s.awake.is_some() {
        Act::SignsGone
    } else {
        Act::SignsOfLife
    });
    acts
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
    if p.has_cycle() {
        acts.push(if s.leads {
            Act::LeadsNoMore
        } else {
            Act::ItLeads
        });
        if s.leads {
            acts.push(Act::Analysing);
        }
    }
    if s.als.is_none() {
        acts.push(Act::AlsHere);
    }
    acts.extend([Act::CallMade, Act::LeftScene]);
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
