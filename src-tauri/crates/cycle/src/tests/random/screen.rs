//! The screen against what was said; undo, remove and replay against what never was.

use super::super::*;
use super::phone::Phone;
use super::told::{Line, Told};
use crate::{Card, Figure, View, hand_over::DueWord, mark::Reason};

fn word(line: Line) -> StateWord {
    match line {
        Line::Before => StateWord::Before,
        Line::Hand => StateWord::ByHand,
        Line::Device => StateWord::ByDevice,
        Line::Off(_) => StateWord::HandsOff,
        Line::Pulse => StateWord::Pulse,
        Line::Unknown => StateWord::Unknown,
        Line::Ended => StateWord::Ended,
    }
}

type Facts = (StateWord, u64, Option<Reason>, PatientClass);

fn line_of(told: &Told) -> Facts {
    (word(told.line), told.since, told.reason, told.class)
}

/// State line, airway, breath mode, shocks, next check and the cup's question.
pub(super) fn agrees(phone: &mut Phone) {
    let view = phone.run.view(Ms(phone.now));
    let told = phone.is_told().clone();
    let seen: Facts = (view.state, view.state_since.0, view.reason, view.class);
    if seen != line_of(&told) {
        phone.fault(
            "1 state line",
            std::format!("{seen:?}, told {:?}", line_of(&told)),
        );
        return;
    }
    let shocks = (u64::from(view.shocks), u64::from(view.in_a_row));
    if shocks != (told.shocks, told.in_a_row) {
        let told = (told.shocks, told.in_a_row);
        phone.fault("1 shocks", std::format!("{shocks:?}, told {told:?}"));
    }
    let Some(card) = &view.hand_over else {
        return;
    };
    if (card.airway, card.breaths) != (told.airway, told.mode) {
        let seen = (card.airway, card.breaths);
        phone.fault(
            "1 airway",
            std::format!("{seen:?}, told {:?}", (told.airway, told.mode)),
        );
    }
    let p = phone.setup.protocol_of(told.class);
    let due = told.check_due(p, phone.now);
    let seen = card
        .next
        .iter()
        .find(|due| due.word == DueWord::Check)
        .map(|due| due.at.0);
    if due != seen {
        phone.fault("1 check due", std::format!("{seen:?}, told {due:?}"));
    }
    // What counts follows what sounds, and every card of a run has a figure.
    let sounding = phone.run.sounding().map(|placed| placed.score.pattern);
    let is_counted = matches!(sounding, Some(beat::Pattern::Ratio { .. }));
    let is_empty = view.figure == Figure::None || view.figure == Figure::Count && !is_counted;
    if told.live() && is_empty {
        phone.fault(
            "1 figure",
            std::format!(
                "{:?} on {:?}, sounding {sounding:?}",
                view.figure,
                view.card
            ),
        );
    }
    let asks = view.card == Card::Cup;
    let asked = told.line == Line::Device && told.moving.is_none() && told.cup.is_some();
    if asks != asked {
        phone.fault(
            "6 cup on the screen",
            std::format!("{asks}, told {:?}", told.cup),
        );
    }
}

/// The screen without what the app did.
fn of_marks(run: &Run, now: u64) -> View {
    let mut view = run.view(Ms(now));
    view.said = None;
    view
}

fn drain(run: &mut Run) {
    while run.poll().is_some() {}
}

fn wake_until(run: &mut Run, t: u64) {
    while let Some(wake) = run.next_wakeup().filter(|w| w.0 < t) {
        run.handle(wake, Input::Wake);
        drain(run);
    }
    run.handle(Ms(t), Input::Wake);
    drain(run);
}

/// A touch made and taken back `after` later leaves nothing behind.
pub(super) fn undo_probe(phone: &mut Phone, touch: &[Mark], after: u64) {
    let now = phone.now;
    let (mut made, mut never) = (phone.run.clone(), phone.run.clone());
    let first = made.next_seq();
    let refused = touch.iter().any(|mark| {
        let refused = made.check(mark).is_err();
        let (at, src) = (Ms(now), Source::Button);
        made.handle(
            Ms(now),
            Input::Mark {
                at,
                mark: mark.clone(),
                src,
            },
        );
        drain(&mut made);
        refused
    });
    if refused || made.is_over() || first.0 <= 2 || phone.is_told().line == Line::Before {
        return;
    }
    let later = now + after;
    wake_until(&mut made, later);
    wake_until(&mut never, later);
    made.handle(Ms(later), Input::Undo);
    drain(&mut made);
    let (a, b) = (of_marks(&made, later), of_marks(&never, later));
    if a != b {
        let what = differs(&a, &b);
        phone.fault("8 undo", std::format!("{touch:?} after {after}: {what}"));
    }
    let silent = |p: &beat::Placed| p.score.pattern == beat::Pattern::Silent { breath_ms: 0 };
    let grid = |p: beat::Placed| beat::Placed { from_ms: 0, ..p };
    if let (Some(a), Some(b)) = (made.sounding(), never.sounding())
        && grid(a) != grid(b)
        && !(silent(&a) && silent(&b))
    {
        phone.fault(
            "8 undo, beat",
            std::format!("{touch:?} after {after}: {a:?} {b:?}"),
        );
    }
}

/// An act removed later on leaves what the same marks without it leave.
pub(super) fn remove_probe(phone: &mut Phone, k: usize) {
    let now = phone.now;
    let view = phone.run.view(Ms(now));
    let Some(last) = view.last.get(k).filter(|_| phone.is_told().live()) else {
        return;
    };
    let mut removed = phone.run.clone();
    removed.handle(Ms(now), Input::Remove(last.seq));
    drain(&mut removed);
    let touch = phone
        .log
        .iter()
        .find(|e| e.seq == last.seq)
        .map(|e| (e.at, e.taken));
    let never: Vec<Entry> = phone
        .log
        .iter()
        .filter(|e| !(matches!(e.fact, Fact::Mark(_)) && Some((e.at, e.taken)) == touch))
        .cloned()
        .collect();
    let never = Run::replay(phone.setup.clone(), &never).unwrap();
    let (a, b) = (of_marks(&removed, now), of_marks(&never, now));
    if a != b {
        let what = differs(&a, &b);
        phone.fault(
            "8 remove",
            std::format!(
                "{} at {}: {what}",
                crate::mark::kind_of(&last.mark),
                last.at
            ),
        );
    }
}

pub(super) fn replay_probe(phone: &mut Phone) {
    let now = Ms(phone.now);
    let again = Run::replay(phone.setup.clone(), &phone.log).unwrap();
    let (a, b) = (phone.run.view(now), again.view(now));
    if a != b {
        phone.fault("9 replay", differs(&a, &b));
    }
}

fn differs(a: &View, b: &View) -> String {
    let (a, b) = (std::format!("{a:#?}"), std::format!("{b:#?}"));
    let lines = a.lines().zip(b.lines()).filter(|(a, b)| a != b).take(4);
    let lines: Vec<String> = lines
        .map(|(a, b)| std::format!("{} / {}", a.trim(), b.trim()))
        .collect();
    lines.join("; ")
}
