//! A drill that is stopped to be looked at: nothing sounds any more, and what had not been said is said once it goes on.

use alloc::vec::Vec;

use super::Walk;
use crate::{
    Act, Fact, Input, Ms, Run,
    fact::{CueOutcome, Deed, DrillLine, DrillWord},
};

fn line(what: DrillWord) -> Input {
    Input::Drill(DrillLine::of(what))
}

fn drill() -> Walk {
    let mut w = Walk::new();
    w.key(0, Act::StartByHand);
    w.input(Ms::ZERO, line(DrillWord::Begun));
    w
}

/// What the log says of the voice of this name: asked, cut.
fn told(w: &Walk, id: &str) -> Vec<(u64, CueOutcome)> {
    let cues = w.log.iter().filter_map(|entry| match &entry.fact {
        Fact::Deed(Deed::Cue(line)) => {
            let is_it = line.id.is_some_and(|prompt| prompt.word() == id);
            is_it.then_some((entry.taken.0, line.outcome))
        }
        _ => None,
    });
    cues.filter(|(_, outcome)| *outcome != CueOutcome::Spoken)
        .collect()
}

/// The check falls due at 120 s; its heads-up of 90 s is handed over before that, and the drill is stopped in between.
#[test]
fn stopped_it_is_silent_and_what_was_handed_over_is_taken_back() {
    let mut w = drill();
    w.until(89_900);
    let before = told(&w, "chk_30");
    assert_eq!(
        before.iter().map(|(_, o)| *o).collect::<Vec<_>>(),
        [CueOutcome::Asked]
    );
    w.input(Ms(89_900), line(DrillWord::Stopped));
    let beats = w.beats.len();
    w.until(95_000);
    assert_eq!(w.beats.len(), beats, "no beat");
    let outcomes: Vec<_> = told(&w, "chk_30").iter().map(|(_, o)| *o).collect();
    assert_eq!(outcomes, [CueOutcome::Asked, CueOutcome::Cut]);
    assert_eq!(w.run.next_wakeup().map(|at| at > w.now), Some(true));
}

#[test]
fn gone_on_with_it_sounds_as_before_and_says_what_had_not_been_said() {
    let mut w = drill();
    w.until(89_900);
    let placed = w.run.sounding().unwrap();
    w.input(Ms(89_900), line(DrillWord::Stopped));
    // As another record has it: all lines up to there, then what it goes on from.
    let mut gone = Walk::new();
    gone.run = Run::replay(w.run.setup().clone(), &w.log).unwrap();
    gone.now = Ms(89_900);
    gone.input(Ms(89_900), line(DrillWord::Again));
    let again = gone.run.sounding().unwrap();
    assert_eq!(
        (again.score, again.anchor_ms),
        (placed.score, placed.anchor_ms)
    );
    gone.until(95_000);
    assert!(gone.beats.len() > 5, "{}", gone.beats.len());
    assert!(gone.beats.iter().all(|(at, _)| *at >= 89_900));
    let outcomes: Vec<_> = told(&gone, "chk_30").iter().map(|(_, o)| *o).collect();
    assert_eq!(outcomes, [CueOutcome::Asked]);
}
