//! How the screen looks is on the record, and changes nothing that is heard or asked.

use super::Walk;
use crate::{
    Act, Colours, Fact, Input, Look, Ms, Run,
    fact::{Deed, Entry},
};

const COVERED: Look = Look {
    colours: Colours::Glare,
    by_light: true,
    covered: true,
};

fn started() -> Walk {
    let mut w = Walk::new();
    w.key(0, Act::StartByHand);
    w
}

fn looks(w: &Walk) -> alloc::vec::Vec<Look> {
    let of = |entry: &Entry| match entry.fact {
        Fact::Deed(Deed::Screen(look)) => Some(look),
        Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
    };
    w.log.iter().filter_map(of).collect()
}

#[test]
fn a_look_is_written_once_and_only_where_it_is_another() {
    let mut w = started();
    w.input(Ms(10), Input::Look(Look::default()));
    assert_eq!(looks(&w), []);
    w.input(Ms(20), Input::Look(COVERED));
    w.input(Ms(30), Input::Look(COVERED));
    assert_eq!(looks(&w), [COVERED]);
    assert_eq!(w.run.look(), COVERED);
    assert!(w.run.view(Ms(30)).covered);
}

#[test]
fn a_run_that_was_killed_under_a_covered_screen_comes_back_covered() {
    let mut w = started();
    w.input(Ms(20), Input::Look(COVERED));
    let again = Run::replay(super::setup(), &w.log).unwrap();
    assert!(again.view(Ms(20)).covered);
}

#[test]
fn nothing_is_covered_before_a_run_and_after_it() {
    let mut w = Walk::new();
    w.input(Ms::ZERO, Input::Look(COVERED));
    assert!(!w.run.view(Ms::ZERO).covered);
    let mut w = started();
    w.input(Ms(20), Input::Look(COVERED));
    w.tap(30_000, Act::EndStopped);
    assert!(!w.run.view(Ms(30_000)).covered);
    w.input(Ms(31_000), Input::Look(Look::default()));
    assert_eq!(looks(&w), [COVERED]);
}

/// Five minutes with the check left alone: beats, tones and prompts are those of a screen that is not covered.
#[test]
fn under_a_covered_screen_the_same_is_heard_at_the_same_moments() {
    let five = Ms::secs(300).0;
    let (mut open, mut covered) = (started(), started());
    open.until(five);
    covered.until(40_000);
    covered.input(Ms(40_000), Input::Look(COVERED));
    covered.until(five);
    assert!(open.heard.len() > 10, "{:?}", open.heard);
    assert_eq!(open.heard, covered.heard);
    assert_eq!(open.beats, covered.beats);
    let mut view = covered.run.view(Ms(five));
    view.covered = false;
    assert_eq!(view, open.run.view(Ms(five)));
}
