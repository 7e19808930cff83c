//! Ways in: what a crew finds when it comes, and what is chosen before the run begins, as breaths first after drowning.

use super::*;
use crate::{
    Before, Card, Entered,
    mark::{By, PriorCare, RunMark},
};

fn prior(by: By, airway: Option<AirwayDevice>) -> Mark {
    Mark::Run(RunMark::PriorCare(PriorCare {
        by: Some(by),
        airway,
        ..PriorCare::default()
    }))
}

fn begun(way: Way, act: Act) -> Walk {
    let mut w = Walk::new();
    w.input(Ms::ZERO, Input::Start(way));
    w.key(0, act);
    w
}

#[test]
fn a_device_that_ran_before_us_has_run_since_the_beginning() {
    let mut w = begun(Way::Earlier, Act::BeganEarlier);
    w.mark(12_000, prior(By::Mechanical, None)).until(40_000);
    let view = w.run.view(w.now);
    assert_eq!((view.state, view.state_since), (StateWord::ByDevice, Ms(0)));
    assert_eq!(view.card, Card::Cup);
    // By hand until it was said; then nothing beats, and the cup is to be looked at.
    assert!(w.beats_between(0, 12_000).len() > 15);
    assert_eq!(w.beats_between(12_000, 40_000), []);
    assert_eq!(w.voices(), [(12_000, "cup_now")]);
    assert_eq!(view.hand_over.unwrap().device_since, Some(Ms(0)));
}

#[test]
fn with_an_airway_in_place_it_is_asked_to_go_on_without_pauses() {
    let mut w = begun(Way::Earlier, Act::BeganEarlier);
    w.mark(12_000, prior(By::Mechanical, Some(AirwayDevice::Ett)))
        .until(40_000);
    assert!(w.said("dev_cont").len() == 1, "{:?}", w.voices());
    let breaths: Vec<u64> = w.breaths().into_iter().filter(|t| *t > 12_000).collect();
    assert_eq!(breaths, [18_000, 24_000, 30_000, 36_000]);
}

#[test]
fn what_was_marked_since_stands_against_what_was_found() {
    // Hands off and on again in between: the crew has seen to it.
    let mut w = begun(Way::Earlier, Act::BeganEarlier);
    w.key(5000, Act::HandsOff).key(9000, Act::HandsOn);
    w.mark(12_000, prior(By::Mechanical, None)).until(13_000);
    let view = w.run.view(w.now);
    assert_eq!(
        (view.state, view.state_since),
        (StateWord::ByHand, Ms(9000))
    );
    // And in a run that did not begin earlier it tells of those before us alone.
    let mut w = begun(Way::Hand, Act::StartByHand);
    w.mark(12_000, prior(By::Mechanical, None)).until(13_000);
    assert_eq!(w.run.view(w.now).state, StateWord::ByHand);
    let mut w = begun(Way::Device, Act::DeviceAlreadyOn);
    w.mark(12_000, prior(By::Manual, None)).until(13_000);
    assert_eq!(w.run.view(w.now).state, StateWord::ByDevice);
}

#[test]
fn said_otherwise_it_is_by_hand_after_all() {
    let mut w = begun(Way::Earlier, Act::BeganEarlier);
    w.mark(12_000, prior(By::Mechanical, None))
        .mark(15_000, prior(By::Manual, None))
        .until(20_000);
    let view = w.run.view(w.now);
    assert_eq!((view.state, view.state_since), (StateWord::ByHand, Ms(0)));
    assert_eq!(w.beats_between(15_000, 15_100), [15_025]);
    assert_eq!(view.hand_over.unwrap().device_since, None);
}

#[test]
fn the_steppers_of_a_run_that_began_earlier_make_one_mark_and_start_from_what_was_said() {
    let mut w = begun(Way::Earlier, Act::BeganEarlier);
    w.until(10_000);
    let entries = w.run.view(w.now).entries;
    assert!(entries.ask_before);
    assert_eq!(entries.before, Some(Before::default()));
    let told = Before {
        minutes: Some(6),
        shocks: Some(2),
        doses: Some(1),
        last_dose: Some(2),
        device: Some(true),
        airway: None,
    };
    let mark = w.run.entered(&Entered::Before(told.clone())).unwrap();
    w.mark(10_000, mark).until(11_000);
    let view = w.run.view(w.now);
    assert!(!view.entries.ask_before);
    assert_eq!(view.entries.before, Some(told));
    assert_eq!((view.state, view.shocks), (StateWord::ByDevice, 2));
    let card = view.hand_over.unwrap();
    assert_eq!(card.arrest, Some(10_000 - 360_000));
    assert_eq!(card.doses[0].last, Some(10_000 - 120_000));
    let wrong = Before {
        shocks: Some(31),
        ..Before::default()
    };
    let fault = w.run.entered(&Entered::Before(wrong)).unwrap_err();
    assert_eq!(fault.to_string(), "shocks = 31, allowed: 0 to 30");
}

#[test]
fn drowned_before_the_start_breaths_come_first() {
    let mut w = Walk::new();
    let start = w.run.view(Ms::ZERO);
    assert_eq!(start.main, [Act::StartByHand]);
    for act in [
        Act::OverlayDrowning,
        Act::OverlayPregnancy,
        Act::OverlayCold30,
        Act::ClassChild,
    ] {
        assert!(start.sheet.contains(&act), "{act:?}");
    }
    // Two breaths, at most 15 s: the adult example.
    w.key(0, Act::OverlayDrowning);
    let chosen = w.run.view(Ms::ZERO);
    assert_eq!(chosen.main, [Act::StartWithBreaths]);
    assert!(!chosen.sheet.contains(&Act::OverlayDrowning));
    assert_eq!((chosen.card, chosen.hand_over), (Card::Before, None));
    w.key(1000, Act::StartWithBreaths).until(9000);
    assert_eq!(w.beats_between(0, 9000), []);
    assert_eq!(w.run.view(w.now).main, [Act::BreathsGiven2]);
    w.key(9000, Act::BreathsGiven2).until(12_000);
    assert_eq!(w.beats_between(0, 12_000)[0], 9025);
}

#[test]
fn a_child_chosen_before_the_start_begins_with_its_own_breaths() {
    let mut w = Walk::new();
    w.key(0, Act::ClassChild);
    let view = w.run.view(Ms::ZERO);
    assert_eq!(view.class, PatientClass::Child);
    assert_eq!(view.main, [Act::StartWithBreaths]);
}
