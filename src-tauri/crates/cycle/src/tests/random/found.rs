//! What the crews of this folder found, each by itself and short.

use super::super::*;
use super::crew::Plan;
use crate::mark::{CheckMark, HeartRate};

#[test]
fn a_heart_rate_moves_no_rhythm_check() {
    let mut w = started();
    let rate = CheckMark::HeartRate {
        band: HeartRate::From60,
    };
    w.mark(60_000, Mark::Check(rate)).until(121_000);
    assert_eq!(w.said("chk_now"), [120_000]);
}

#[test]
fn a_reason_says_nothing_once_its_pause_is_taken_back() {
    let mut w = started();
    w.key(10_000, Act::HandsOff)
        .key(20_000, Act::WhyCheck)
        .until(21_000);
    let stop = w.run.view(w.now).last[1].seq;
    w.input(Ms(21_000), Input::Remove(stop));
    let view = w.run.view(w.now);
    assert_eq!(
        (view.state, view.state_since),
        (StateWord::ByHand, Ms::ZERO)
    );
}

#[test]
fn no_class_breathes_by_another_ones_interval() {
    // Breath tones every 1.5 s for a newborn whose circulation is back; none for an adult.
    let mut w = Walk::with(Plan::new(4).setup());
    w.key(1000, Act::HandsOn)
        .key(5000, Act::HandsOff)
        .key(10_000, Act::PulseBack)
        .key(20_000, Act::ClassAdult)
        .until(40_000);
    let breaths = w.breaths();
    let after = |t: u64| breaths.iter().filter(|at| **at > t).count();
    assert!(after(10_000) > 5);
    assert_eq!(after(20_000), 0);
}

#[test]
fn the_end_key_held_again_and_again_keeps_to_the_budget() {
    let mut w = started();
    for t in [1000, 5000, 9000, 13_000] {
        w.until(t);
        w.input(Ms(t), Input::EndHeld);
    }
    w.until(20_000);
    assert_eq!(w.said("hold_end"), [1000, 5000, 9000]);
}

#[test]
fn a_voice_broken_off_keeps_its_distance_too() {
    let mut w = started();
    w.until(1000);
    w.input(Ms(1000), Input::EndHeld);
    w.key(1500, Act::HandsOff)
        .key(1800, Act::HandsOn)
        .until(2000);
    // Half a second of silence since it was broken off.
    w.input(Ms(2000), Input::EndHeld);
    w.until(3100);
    w.input(Ms(3100), Input::EndHeld);
    w.until(5000);
    assert_eq!(w.said("hold_end"), [1000, 3100]);
}

#[test]
fn hands_on_after_a_long_gap_has_a_beat() {
    let mut w = started();
    w.until(10_000);
    let last = w.log.last().unwrap().clone();
    let (from_seq, from) = (last.seq, last.taken);
    w.input(
        Ms(400_000),
        Input::Recovered {
            from_seq,
            from,
            bad_bytes: 0,
        },
    );
    w.now = Ms(400_000);
    w.key(410_000, Act::HandsOn).until(412_000);
    assert_eq!(w.beats_between(410_000, 411_000), [410_025, 410_570]);
}

#[test]
fn the_start_stands_even_where_the_class_was_named_before_it() {
    let mut w = Walk::new();
    w.key(500, Act::ClassChild)
        .key(1000, Act::StartByHand)
        .until(3000);
    for _ in 0..3 {
        w.input(Ms(3000), Input::Undo);
    }
    assert_eq!(w.run.view(Ms(3000)).state, StateWord::ByHand);
}
