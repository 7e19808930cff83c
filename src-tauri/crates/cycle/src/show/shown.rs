//! What stands beside the card: questions, drugs, the protocol's lines for the moment, the last marks.

use alloc::{string::String, vec::Vec};

use crate::{
    Ms,
    acts::Act,
    mark::{BreathMode, By, FlowMark, Mark, Reason, Task},
    protocol::Protocol,
    rules::{delivery, drugs as windows, drugs::Window, minutes, newborn, rosc, rotate, still},
    state::{Device, Line, State, long, short},
    story::{ActMarks, Story},
    view::{Ask, DrugLine, DrugWord, LastMark, List, ListWord},
};

/// So many acts can be moved or taken away.
const LAST: usize = 6;
/// What to do instead stands for so long after a mark. No source; it is read at the next glance.
const INSTEAD: Ms = Ms(30_000);
/// Lines that belong to a moment stay on the screen for so long.
const STAYS: Ms = Ms(60_000);

pub(super) fn asks(p: &Protocol, s: &State, story: &Story, check_near: bool, now: Ms) -> Vec<Ask> {
    if !s.is_live() {
        return Vec::new();
    }
    let by_device = s.known_line() == Line::Compressing(By::Mechanical);
    let off_for = if s.is_off() {
        now.since(s.since)
    } else {
        Ms::ZERO
    };
    let heart = newborn::next(p, s, now)
        .is_some_and(|at| now >= at && s.acked(Task::HeartRate).is_none_or(|ack| ack < at));
    let pulse = rosc::recheck(p, s, now).is_some_and(|at| now >= at);
    let without_power = s
        .pack_out
        .is_some_and(|out| now.since(out.since) >= p.by_hand_offer);
    let cycles = Ms(u64::from(p.device.after_cycles).saturating_mul(p.check_every.0));
    let early = s.is_being_fitted() && s.began.is_some_and(|began| now.since(began) < cycles);
    let stays = s.refused.is_some() && s.device == Device::Away;
    [
        (still::is_off_asked(s, now), Ask::StillOff),
        (
            still::running_asked(p, s).is_some_and(|at| now >= at),
            Ask::StillRunning,
        ),
        (pulse, Ask::PulseAgain),
        (heart, Ask::HeartRate),
        (check_near && by_device, Ask::CupGlance),
        (without_power, Ask::ByHand),
        (windows::cold_shocks_reached(p, s), Ask::ColdShocks),
        (by_device && s.mode == BreathMode::Ratio, Ask::DevicePause),
        (by_device && s.mains, Ask::KeepPack),
        (
            off_for > budget(p, s) && s.first_breaths.is_none(),
            Ask::OverBudget,
        ),
        (delivery::is_asked(p, s, now), Ask::DeliveryDue),
        (rotate::due(p, s, now).is_some(), Ask::Rotate),
        (early, Ask::TooEarlyForDevice),
        (stays, Ask::StaysByHand),
        (is_tube_asked(story, now), Ask::TubeInstead),
    ]
    .into_iter()
    .filter(|(stands, _)| *stands)
    .map(|(_, ask)| ask)
    .collect()
}

/// The airway's key names no device and marks the commonest: while that is the last mark, and Undo takes
/// it back, the screen says how another one is marked.
fn is_tube_asked(story: &Story, now: Ms) -> bool {
    let acts = story.acts(1);
    let latest = acts
        .first()
        .and_then(|act| Some((act.marks.first()?.1, telling(act)?)));
    latest.is_some_and(|(at, mark)| {
        let is_by_key = Act::AirwayIn.marks().first() == Some(mark);
        is_by_key && now.since(at) < INSTEAD
    })
}

/// What the open pause should not exceed, by what it is for.
fn budget(p: &Protocol, s: &State) -> Ms {
    let Line::HandsOff(reason) = s.line else {
        return Ms(u64::MAX);
    };
    let b = p.budgets;
    match reason {
        Reason::RhythmCheck | Reason::Shock => {
            if s.shock_near.is_some() || s.in_pause > 0 {
                b.shock
            } else {
                b.any
            }
        }
        Reason::Airway => b.airway,
        Reason::Access => b.access,
        Reason::Ultrasound => b.ultrasound,
        Reason::Power => p.swap_window,
        Reason::PulseCheck
        | Reason::Ventilation
        | Reason::Procedure
        | Reason::DeviceFit
        | Reason::DeviceReseat
        | Reason::DeviceOff
        | Reason::DeviceFault
        | Reason::Move
        | Reason::Rotate
        | Reason::Rosc
        | Reason::StopCare
        | Reason::Unknown => b.any,
    }
}

pub(super) fn drugs(p: &Protocol, s: &State, now: Ms) -> Vec<DrugLine> {
    if s.began.is_none() || s.line == Line::Before {
        return Vec::new();
    }
    p.drugs
        .iter()
        .map(|drug| {
            let n = s.doses_of(&drug.key).map_or(0, |d| d.n);
            let (stands, at) = match windows::window(p, s, drug, now) {
                Window::NotAsked => (DrugWord::NotAsked, None),
                Window::Withheld => (DrugWord::Withheld, None),
                Window::Doubled { since } => (DrugWord::Doubled, Some(short(since))),
                Window::NotDue { from } => (DrugWord::NotDue, Some(from)),
                Window::Due { since, .. } => (DrugWord::Due, Some(since)),
                Window::Late { since } => (DrugWord::Late, Some(since)),
            };
            DrugLine {
                key: drug.key.clone(),
                name: drug.name.clone(),
                words: words_for(&drug.words, n),
                stands,
                at,
                n,
            }
        })
        .collect()
}

/// What the service writes for dose number `n` from 0, the last for all further ones.
fn words_for(words: &[String], n: u16) -> String {
    words
        .get(usize::from(n))
        .or_else(|| words.last())
        .cloned()
        .unwrap_or_default()
}

pub(super) fn lists(p: &Protocol, s: &State, now: Ms) -> Vec<List> {
    let mut lists = Vec::new();
    let mut add = |stands: bool, word, lines: &[String]| {
        if stands && !lines.is_empty() {
            lists.push(List {
                word,
                lines: lines.to_vec(),
            });
        }
    };
    if s.line == Line::Ended {
        add(true, ListWord::Ready, &p.ready_list);
        return lists;
    }
    if !s.is_live() {
        return lists;
    }
    let fitting = s.is_being_fitted();
    let parts: Vec<String> = p
        .device
        .parts
        .iter()
        .map(|(_, words)| words.clone())
        .collect();
    add(fitting, ListWord::Reasons, &p.device.reasons);
    add(fitting, ListWord::NotFor, &p.device.not_for);
    add(fitting, ListWord::Roles, &p.device.roles);
    add(fitting, ListWord::Parts, &parts);
    add(fitting, ListWord::Landmarks, &p.device.landmarks);
    let on_device = s.known_line() == Line::Compressing(By::Mechanical) && s.moving.is_none();
    add(on_device, ListWord::BeforeMove, &p.device.before_move);
    let refractory = s.in_a_row >= u16::from(p.refractory_after);
    add(refractory, ListWord::Refractory, &p.refractory_list);
    for (kind, _) in &s.overlays {
        if let Some(rule) = p.overlay(*kind) {
            add(true, ListWord::Overlay, &rule.lines);
        }
    }
    for rule in &p.minutes {
        let stands = minutes::due(s, rule)
            .is_some_and(|due| now >= due && long(now) < long(due.plus(STAYS)));
        add(stands, ListWord::Minute, &rule.lines);
    }
    add(s.line == Line::Pulse, ListWord::Pulse, &p.rosc_list);
    add(true, ListWord::Doses, &p.dose_table);
    lists
}

/// With a result hands go back on, and with a cup they come off: the result and the cup are what was meant.
fn telling<'a>(act: &ActMarks<'a>) -> Option<&'a Mark> {
    let marks = || act.marks.iter().rev().map(|(_, _, mark)| *mark);
    let hands = |mark: &&Mark| {
        matches!(
            mark,
            Mark::Flow(FlowMark::ComprStart { .. } | FlowMark::ComprStop { .. })
        )
    };
    marks().find(|mark| !hands(mark)).or_else(|| marks().next())
}

pub(super) fn last(story: &Story) -> Vec<LastMark> {
    story
        .acts(LAST)
        .iter()
        .filter_map(|act| {
            let (seq, at, _) = act.marks.first()?;
            Some(LastMark {
                seq: *seq,
                at: *at,
                mark: telling(act)?.clone(),
            })
        })
        .collect()
}
