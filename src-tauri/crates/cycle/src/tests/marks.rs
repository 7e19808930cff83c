//! Receipts, refusals, undo.

use super::*;

#[test]
fn undo_brings_the_old_grid_back_and_says_so() {
    let mut w = started();
    w.tap(5000, Act::HandsOff).undo(8000).until(16_000);
    assert!(w.voices().contains(&(8000, "undo")));
    // The grid of the start: 25 + n * 545.45; n = 15 is 8206.
    assert_eq!(w.beats_between(5000, 8700), [8206]);
    assert_eq!(w.run.view(w.now).state, StateWord::ByHand);
}

#[test]
fn undo_takes_both_marks_of_one_touch() {
    let mut w = started();
    w.tap(123_000, Act::HandsOffCheck)
        .tap(130_000, Act::ShockedHand)
        .undo(132_000);
    let view = w.run.view(w.now);
    assert_eq!((view.state, view.shocks), (StateWord::HandsOff, 0));
    assert_eq!(view.state_since, Ms(122_900));
}

#[test]
fn a_mark_that_cannot_stand_is_kept_as_ignored() {
    let mut w = started();
    w.tap(5000, Act::Swapped)
        .tap(6000, Act::HandsOn)
        .tap(7000, Act::PulseBack);
    assert_eq!(
        w.ignored(),
        [
            "the pack is in: swap_begin comes first",
            "already compressing by hand",
            "hands are not off: compr_stop comes first",
        ]
    );
}

#[test]
fn receipts_answer_each_touch_once() {
    let mut w = started();
    w.tap(123_000, Act::HandsOffCheck)
        .tap(130_000, Act::ShockedHand)
        .until(131_000);
    let receipts: Vec<u64> = w
        .heard
        .iter()
        .filter(|(_, n)| n == Tone::Receipt.word())
        .map(|(t, _)| *t)
        .collect();
    assert_eq!(receipts, [0, 123_000, 130_000]);
}

#[test]
fn a_prompt_that_was_cut_before_it_began_is_said_after_the_slip_is_undone() {
    let mut w = started();
    w.tap(119_700, Act::HandsOff).undo(121_000).until(130_000);
    // The answer to the undo comes first, then 1.5 s of no speech.
    let after: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t >= 119_700)
        .collect();
    assert!(after.iter().any(|(_, n)| *n == "chk_now"), "{after:?}");
}

#[test]
fn every_key_offered_makes_a_mark_that_can_stand() {
    let mut w = by_device();
    let script = [
        Act::CupGood,
        Act::AirwayIn,
        Act::Moving,
        Act::SetDown,
        Act::Reseat,
        Act::DeviceRunning,
        Act::CupGood,
        Act::PowerSwap,
        Act::Swapped,
        Act::Paused,
        Act::WhyCheck,
        Act::ShockNow,
        Act::DeviceRunning,
        Act::Stopped,
        Act::HandsOn,
        Act::HandsOff,
        Act::PulseBack,
        Act::ArrestAgainHand,
        Act::Moving,
        Act::HandsOff,
        Act::HandsOn,
    ];
    let mut t = 30_000;
    for act in script {
        w.tap(t, act);
        let view = w.run.view(w.now);
        for key in view.main.iter().chain(&view.side).chain(&view.sheet) {
            // A key that opens an entry makes its mark there.
            for mark in key.marks().iter().take(1) {
                assert_eq!(w.run.check(mark), Ok(()), "{key:?} after {act:?}");
            }
        }
        t += 4000;
    }
    assert!(w.ignored().is_empty(), "{:?}", w.ignored());
}

#[test]
fn a_mark_that_was_not_taken_is_not_told_as_kept() {
    let mut w = started();
    w.tap(5000, Act::Swapped);
    assert_eq!(w.run.last_act().map(|a| a.taken), Some(false));
    w.tap(6000, Act::Flag).undo(7000);
    let amend = w
        .log
        .iter()
        .rev()
        .find(|e| matches!(e.fact, Fact::Amend(_)))
        .unwrap()
        .seq;
    assert_eq!(
        w.run.last_act().map(|a| (a.seq, a.taken)),
        Some((amend, true))
    );
}
