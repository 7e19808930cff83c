//! Every prompt that was due was asked for, or stands in the record with its reason.

use super::super::*;
use super::phone::Phone;
use super::told::{Line, Told};
use crate::{
    DrugDue,
    mark::{DeviceMark, FlowMark, PowerAct, Reason, Task, TempBand},
};
use alloc::collections::BTreeSet;

type Written = BTreeSet<(Prompt, u64)>;

/// A question may wait so long for its turn before it is said or its reason is written.
const TURN: u64 = 6000;
/// Behind other voices, or a count and its now, it is longer; what is answered meanwhile is not said.
const LONG_TURN: u64 = 12_000;

const OFF: [(u8, Prompt); 8] = [
    (5, Prompt::Off05),
    (10, Prompt::Off10),
    (15, Prompt::Off15),
    (20, Prompt::Off20),
    (30, Prompt::Off30),
    (40, Prompt::Off40),
    (50, Prompt::Off50),
    (60, Prompt::Off60),
];

pub(super) fn all_told(phone: &mut Phone) {
    let mut written = Written::new();
    for e in &phone.log {
        if let Fact::Deed(Deed::Cue(c)) = &e.fact
            && let Some(prompt) = c.id
        {
            written.insert((prompt, c.due_ms.0));
        }
    }
    let mut wanting = Vec::new();
    for (i, (from, told)) in phone.told.iter().enumerate() {
        let to = phone.told.get(i + 1).map_or(phone.now, |next| next.0);
        let p = phone.setup.protocol_of(told.class);
        // A long gap is asked about before anything else.
        if told.live() && !told.halves() {
            of_stretch(p, told, (*from, to), &mut wanting);
        }
    }
    wanting.retain(|(_, due, _)| phone.awake(due.saturating_sub(500), due + TURN));
    cups(phone, &mut wanting);
    answers(phone, &mut wanting);
    let first = wanting
        .into_iter()
        .find(|(prompt, due, _)| !written.contains(&(*prompt, *due)));
    if let Some((prompt, due, rule)) = first {
        let what = std::format!("{} due {due} is nowhere", prompt.word());
        phone.faults.push(super::Fault {
            rule,
            at: due,
            what,
        });
    }
    drugs(phone);
}

/// What falls due in a stretch in which nothing new was said.
fn of_stretch(
    p: &Protocol,
    told: &Told,
    (from, to): (u64, u64),
    wanting: &mut Vec<(Prompt, u64, &'static str)>,
) {
    let mut add = |prompt, due: u64, room: u64| {
        if from <= due && due + room < to {
            wanting.push((prompt, due, "6 due and told"));
        }
    };
    if matches!(told.line, Line::Off(_)) && told.breaths_until.is_none() {
        for (s, prompt) in OFF.iter().filter(|(s, _)| p.off_numbers.contains(s)) {
            add(*prompt, told.since + u64::from(*s) * 1000, 1600);
        }
    }
    let mut t = from;
    while let Some(due) = told.check_due(p, t).filter(|due| *due < to) {
        if !told.acked(Task::Check, due.saturating_sub(p.check_heads_up.0)) {
            add(Prompt::ChkNow, due, LONG_TURN);
        }
        t = t.max(due) + p.check_every.0 - p.check_heads_up.0;
    }
    // Held back by a move, a pause, a pulse or signs of life it is written down all the same.
    if let Some((last, min, _)) = window(p, told).filter(|_| told.may_have_another(p)) {
        let due = u64::try_from(last + min).unwrap_or(0);
        if !told.acked(Task::Drug, due) {
            add(Prompt::DrugDue, due, LONG_TURN);
        }
    }
    if let Some(own) = p
        .newborn
        .filter(|_| !told.class_changed && told.known() != Line::Pulse)
    {
        let every = i64::try_from(own.recheck.0).unwrap();
        for n in 1..60 {
            let due = u64::try_from(told.hr_base + n * every).unwrap_or(0);
            if !told.acked(Task::HeartRate, due) {
                add(Prompt::HrNow, due, LONG_TURN);
            }
        }
    }
}

/// What is said at once in answer to a mark, where it stays true for a while.
fn answers(phone: &Phone, wanting: &mut Vec<(Prompt, u64, &'static str)>) {
    for (n, e) in phone.log.iter().enumerate() {
        let Fact::Mark(mark) = &e.fact else {
            continue;
        };
        let taken = e.taken.0;
        let after: Vec<&Told> = phone
            .told
            .iter()
            .filter(|(at, _)| (taken..taken + TURN).contains(at))
            .map(|(_, told)| told)
            .collect();
        let Some(last) = after.last().filter(|_| phone.awake(taken, taken + TURN)) else {
            continue;
        };
        // Whose run it is comes first, as for all that falls due in a stretch.
        let single = after.len() == 1 && taken + TURN < phone.now && !last.halves();
        let runs = matches!(last.line, Line::Hand | Line::Device);
        let prompt = match mark {
            Mark::Flow(FlowMark::ComprStop {
                reason: Reason::DeviceFault,
            }) => Prompt::DevStop,
            Mark::Flow(FlowMark::Rearrest { .. }) if runs => Prompt::ArrestAgain,
            Mark::Device(DeviceMark::Power {
                act: PowerAct::SwapEnd,
                ..
            }) if last.pack_out.is_some_and(|(_, over)| over) => Prompt::PowerOver,
            _ => continue,
        };
        // Amended before it was said, it is another matter.
        let stands = !phone.log[n..].iter().any(|later| {
            matches!(&later.fact, Fact::Amend(a) if a.target == e.seq && later.taken.0 < taken + TURN)
        });
        if single && stands {
            wanting.push((prompt, taken, "6 answers told"));
        }
    }
}

/// Each cup check that stood open, and its one repetition.
fn cups(phone: &Phone, wanting: &mut Vec<(Prompt, u64, &'static str)>) {
    let mut open: Option<(Prompt, u64, u64)> = None;
    let end = (phone.now, None);
    let states = phone.told.iter().map(|(at, told)| (*at, Some(told)));
    for (at, told) in states.chain([end]) {
        let known = told.filter(|t| !t.halves());
        let cup = known.and_then(|t| t.cup.filter(|(_, due)| !t.acked(Task::Cup, *due)));
        if let Some((prompt, due, since)) = open
            && cup != Some((prompt, due))
        {
            // Asked in a stretch of at least so long, and once more when it stayed open.
            let first = since.max(due);
            if at > first + LONG_TURN && phone.awake(first, first + LONG_TURN) {
                wanting.push((prompt, due, "6 cup asked"));
            }
            let again = due + 30_000;
            if since <= again
                && at > again + LONG_TURN
                && phone.awake(again - 500, again + LONG_TURN)
            {
                wanting.push((Prompt::CupNow, again, "6 cup asked again"));
            }
            open = None;
        }
        if let (None, Some((prompt, due))) = (open, cup) {
            open = Some((prompt, due, at));
        }
    }
}

/// The last dose, and from it the ends of the window, as the class's own file and the cold have them.
fn window(p: &Protocol, told: &Told) -> Option<(i64, i64, i64)> {
    let last = told.last_dose("adrenaline")?;
    let DrugDue::Interval { min, max, .. } = p.drug("adrenaline").map(|d| d.due.clone())? else {
        return None;
    };
    let cold = told.cold == Some(TempBand::From30To35);
    let factor = p
        .overlay(crate::Overlay::Cold)
        .and_then(|o| o.cold_factor)
        .filter(|_| cold);
    let span = |span: Ms| i64::try_from(span.0).unwrap() * i64::from(factor.unwrap_or(1));
    Some((last, span(min), span(max)))
}

/// Drug prompts by the numbers of the class's own file.
fn drugs(phone: &mut Phone) {
    let mut wrong = None;
    let mut n = 0;
    for e in &phone.log {
        while phone
            .told
            .get(n + 1)
            .is_some_and(|(at, _)| *at <= e.taken.0)
        {
            n += 1;
        }
        let Fact::Deed(Deed::Cue(c)) = &e.fact else {
            continue;
        };
        let told = &phone.told[n].1;
        // What was answered was due by the dose before.
        let answered = c.why == Some(HeldWhy::Answered);
        if answered || !matches!(c.outcome, CueOutcome::Asked | CueOutcome::Held) {
            continue;
        }
        let p = phone.setup.protocol_of(told.class);
        let Some((last, min, max)) = window(p, told) else {
            continue;
        };
        let (min, max) = ((last + min).max(0), (last + max).max(0));
        let due = i64::try_from(c.due_ms.0).unwrap();
        let good = match c.id {
            // What lay before the run falls due with it.
            Some(Prompt::DrugDue) => due == min || due == min + 30_000,
            Some(Prompt::DrugLate) => due == max,
            Some(Prompt::Drug60) => due == (min - 60_000).max(0),
            _ => true,
        };
        if !good {
            wrong = wrong.or_else(|| {
                let what = std::format!("{:?} due {due}, last dose {last}, {:?}", c.id, told.class);
                Some((e.taken.0, what))
            });
        }
    }
    if let Some((at, what)) = wrong {
        phone.faults.push(super::Fault {
            rule: "7 drug intervals",
            at,
            what,
        });
    }
}
