//! The windows of the fitting, by the service's protocol, and a device that is out of use.

use super::*;
use crate::{Card, FitStep};

fn windows(word: &str) -> Walk {
    let new = std::format!("[device.windows]\nvalue = \"{word}\"");
    let changes = [("[device.windows]\nvalue = \"two\"", new.as_str())];
    started_with(setup_of("example-adult", &changes))
}

fn look(w: &Walk) -> (Card, Option<FitStep>, Vec<Act>) {
    let view = w.run.view(w.now);
    (view.card, view.fit, view.main)
}

#[test]
fn in_two_windows_the_first_ends_with_hands_on_and_the_second_with_the_device() {
    let mut w = windows("two");
    w.key(10_000, Act::FitDevice).until(12_000);
    assert_eq!(
        look(&w),
        (
            Card::Fitting,
            Some(FitStep::First),
            std::vec![Act::HandsOffFit]
        )
    );
    assert_eq!(w.shown("fit_plan"), [10_000]);
    w.key(20_000, Act::HandsOffFit);
    let first = std::vec![Act::HandsOn, Act::DeviceRunning];
    assert_eq!(look(&w), (Card::FitPause, Some(FitStep::First), first));
    w.key(26_000, Act::HandsOn);
    assert_eq!(
        look(&w),
        (
            Card::Fitting,
            Some(FitStep::Last),
            std::vec![Act::HandsOffFit]
        )
    );
    w.key(40_000, Act::HandsOffFit);
    let last = std::vec![Act::HandsOn, Act::DeviceRunning];
    assert_eq!(look(&w), (Card::FitPause, Some(FitStep::Last), last));
    w.key(47_000, Act::DeviceRunning);
    assert_eq!(look(&w).1, None);
}

#[test]
fn in_one_window_the_device_is_the_first_answer_at_once() {
    let mut w = windows("one");
    w.key(10_000, Act::FitDevice).until(12_000);
    assert_eq!(
        look(&w),
        (
            Card::Fitting,
            Some(FitStep::Last),
            std::vec![Act::HandsOffFit]
        )
    );
    assert_eq!(
        w.shown("fit_plan"),
        [10_000],
        "the same words for one pause and two"
    );
    w.key(20_000, Act::HandsOffFit);
    let last = std::vec![Act::HandsOn, Act::DeviceRunning];
    assert_eq!(look(&w), (Card::FitPause, Some(FitStep::Last), last));
}

#[test]
fn inside_the_check_nobody_stops_before_it_and_the_device_goes_on_after_it() {
    let mut w = windows("in_check");
    w.key(60_000, Act::FitDevice).until(80_000);
    assert_eq!(
        look(&w),
        (
            Card::Fitting,
            Some(FitStep::InCheck),
            std::vec![Act::HandsOff]
        )
    );
    assert_eq!(
        w.shown("fit_plan"),
        [],
        "there is no pause of its own to speak of"
    );
    w.key(120_000, Act::HandsOffCheck);
    assert_eq!(look(&w).1, Some(FitStep::InCheck));
    w.key(126_000, Act::ShockNow);
    let on = std::vec![Act::HandsOn, Act::DeviceRunning];
    assert_eq!(look(&w), (Card::Check, Some(FitStep::InCheck), on));
    w.key(133_000, Act::DeviceRunning).until(135_000);
    assert_eq!(w.run.view(w.now).state, StateWord::ByDevice);
    assert_eq!(
        w.said("cup_now"),
        [133_000],
        "one cup check, after the last of them"
    );
}

#[test]
fn a_new_plan_begins_with_the_first_window() {
    let mut w = windows("two");
    w.key(10_000, Act::FitDevice)
        .key(20_000, Act::HandsOffFit)
        .key(26_000, Act::HandsOn)
        .key(30_000, Act::TooLarge)
        .key(60_000, Act::FitDevice);
    assert_eq!(look(&w).1, Some(FitStep::First));
}

#[test]
fn a_device_out_of_use_stands_on_the_hand_over_card_until_one_runs_again() {
    let out = |w: &Walk| w.run.view(w.now).hand_over.unwrap().device_out;
    let mut w = by_device();
    w.key(30_000, Act::CupGood);
    assert_eq!(out(&w), None);
    w.key(50_000, Act::Stopped)
        .key(58_000, Act::HandsOn)
        .until(70_000);
    assert_eq!(out(&w), Some(Ms(50_000)));
    // Another one is opened: the first is out of use all the same.
    w.key(80_000, Act::FitDevice).until(85_000);
    assert_eq!(out(&w), Some(Ms(50_000)));
    w.key(90_000, Act::HandsOffFit)
        .key(96_000, Act::DeviceRunning);
    assert_eq!(out(&w), None);
}

#[test]
fn why_a_device_is_told_in_the_service_s_words() {
    let mut w = started();
    w.key(10_000, Act::FitDevice).until(11_000);
    let entries = w.run.view(w.now).entries;
    assert_eq!(entries.reasons[2], "Long resuscitation, few rescuers");
    let mark = w.run.entered(&crate::Entered::Reason { n: 2 }).unwrap();
    w.mark(12_000, mark);
    let why = w.run.view(w.now).hand_over.unwrap().device_why;
    assert_eq!(why.as_deref(), Some("Long resuscitation, few rescuers"));
    let fault = w.run.entered(&crate::Entered::Reason { n: 4 }).unwrap_err();
    assert_eq!(fault.to_string(), "reason = 4, allowed: a number below 4");
    let part = crate::Entered::Part { key: "held".into() };
    let mark = w.run.entered(&part).unwrap();
    w.mark(13_000, mark).until(14_000);
    assert_eq!(w.ignored(), [""; 0]);
    let part = crate::Entered::Part { key: "lid".into() };
    let fault = w.run.entered(&part).unwrap_err();
    assert_eq!(fault.found, "lid");
}
