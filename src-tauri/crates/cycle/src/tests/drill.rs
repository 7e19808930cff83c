//! A drill: said on every card and in the log, and nothing else of the run is another.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::Walk;
use crate::{
    Act, Banner, Entry, Fact, Input, Ms, Run, Tone,
    fact::{CueOutcome, Deed, DrillLine, DrillWord},
};

fn told(id: &str) -> Input {
    Input::Drill(DrillLine {
        id: Some(id.to_string()),
        ..DrillLine::of(DrillWord::Cue)
    })
}

fn drill() -> Walk {
    let mut w = Walk::new();
    w.key(0, Act::StartByHand);
    w.input(Ms::ZERO, Input::Drill(DrillLine::of(DrillWord::Begun)));
    w
}

/// What the run wrote but for the lines and the tone of the drill, and the numbers of all.
fn without_drill(w: &Walk) -> Vec<(Ms, String)> {
    let told = |entry: &Entry| match &entry.fact {
        Fact::Deed(Deed::Drill(_)) => None,
        Fact::Deed(Deed::Cue(line)) if line.kind == Tone::SoundBack.word() => None,
        // When the sound's own news is taken hangs on who woke last.
        Fact::Deed(Deed::Cue(line)) if line.outcome == CueOutcome::Spoken => None,
        Fact::Deed(Deed::Cue(line)) => Some(format!(
            "{} {:?} {} {} {:?} {:?}",
            line.kind, line.id, line.due_ms, line.start_ms, line.outcome, line.why
        )),
        other => Some(format!("{other:?}")),
    };
    let log = w.log.iter();
    log.filter_map(|entry| Some((entry.at, told(entry)?)))
        .collect()
}

/// When the tone of a drill was asked for.
fn tones(w: &Walk) -> Vec<u64> {
    let tones = w.log.iter().filter_map(|entry| match &entry.fact {
        Fact::Deed(Deed::Cue(line)) if line.kind == Tone::SoundBack.word() => match line.outcome {
            CueOutcome::Asked => Some(line.start_ms.0),
            _ => None,
        },
        _ => None,
    });
    tones.collect()
}

#[test]
fn a_drill_says_so_on_every_card_and_a_run_never_does() {
    let mut w = drill();
    for (at, act) in [
        (10_000, Act::HandsOff),
        (20_000, Act::HandsOn),
        (30_000, Act::EndStopped),
    ] {
        assert_eq!(w.run.view(w.now).banners[0], Banner::Drill);
        w.key(at, act);
    }
    assert_eq!(
        w.run.view(w.now).banners,
        [Banner::Drill],
        "over, it was a drill all the same"
    );
    assert_eq!(w.run.drill(), Some(Ms::ZERO));
    let again = Run::replay(w.run.setup().clone(), &w.log).unwrap();
    assert_eq!(again.drill(), Some(Ms::ZERO), "after a kill too");
    let mut run = Walk::new();
    run.key(0, Act::StartByHand);
    run.input(Ms(1), told("a_cue"));
    assert!(
        !run.run.view(run.now).banners.contains(&Banner::Drill),
        "only what begins as one is one"
    );
}

#[test]
fn what_a_drill_tells_changes_no_state_no_sound_and_no_prompt() {
    let go_on = |w: &mut Walk| {
        for (at, act) in [
            (45_000, Act::HandsOff),
            (52_000, Act::HandsOn),
            (130_000, Act::Flag),
        ] {
            w.key(at, act);
        }
        w.until(200_000);
    };
    let mut with = drill();
    with.until(30_000);
    with.input(Ms(30_000), told("a_cue"));
    go_on(&mut with);
    let mut without = Walk::new();
    without.key(0, Act::StartByHand);
    without.until(30_000);
    go_on(&mut without);
    assert_eq!(without_drill(&with), without_drill(&without));
    let undo = |w: &Walk| w.run.last_mark().map(|(_, at)| at);
    assert_eq!(undo(&with), undo(&without), "no act of the crew's");
}

#[test]
fn the_marks_that_stand_are_had_in_order_of_time_as_amended() {
    let mut w = drill();
    w.key(10_000, Act::HandsOff);
    w.key(16_000, Act::HandsOn);
    w.key(20_000, Act::Flag);
    w.input(Ms(25_000), Input::Undo);
    let at: Vec<Ms> = w.run.standing().iter().map(|(at, _)| *at).collect();
    assert!(
        at.is_sorted() && at.contains(&Ms(10_000)) && !at.contains(&Ms(20_000)),
        "{at:?}"
    );
}

/// Worked by hand: as it begins, then at 30, 60 and 90 s; the one at 60 falls into hands off, that at 90 into a charge.
#[test]
fn a_drill_is_heard_every_half_minute_but_off_the_chest_and_near_a_shock_and_a_run_never() {
    let course = |w: &mut Walk| {
        w.key(55_000, Act::HandsOff);
        w.key(64_000, Act::HandsOn);
        w.key(85_000, Act::Charge);
        w.key(95_000, Act::ChargeDumped);
        w.until(125_000);
    };
    let mut w = drill();
    course(&mut w);
    assert_eq!(tones(&w), [0, 30_000, 120_000]);
    let mut run = Walk::new();
    run.key(0, Act::StartByHand);
    course(&mut run);
    assert_eq!(tones(&run), []);
}
