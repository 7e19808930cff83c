//! Prompts that ask beside the check: the change of compressor by a clock of its own, what is gone
//! through before a move, the phone's battery, a birth.

use super::*;
use crate::{
    Ask, Banner,
    hand_over::{Due, DueWord},
};

fn due(w: &Walk, prompt: Prompt) -> Vec<u64> {
    let due: alloc::collections::BTreeSet<u64> = w
        .log
        .iter()
        .filter_map(|e| match &e.fact {
            Fact::Deed(Deed::Cue(c)) if c.id == Some(prompt) => Some(c.due_ms.0),
            Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
        })
        .collect();
    due.into_iter().collect()
}

fn apart(also: &str) -> Walk {
    let changes = [
        (
            "[check.rotate]\nvalue = true",
            "[check.rotate]\nvalue = false",
        ),
        (
            "[check.rotate_apart_s]\nvalue = 0",
            "[check.rotate_apart_s]\nvalue = 90",
        ),
        ("[voice.also_spoken]\nvalue = []", also),
    ];
    started_with(setup_of("example-adult", &changes))
}

const SPOKEN: &str = "[voice.also_spoken]\nvalue = [\"rotate_now\"]";
const TONE: &str = "[voice.also_spoken]\nvalue = []";

#[test]
fn with_a_clock_of_its_own_the_change_is_asked_for_by_it() {
    let mut w = apart(SPOKEN);
    w.until(100_000);
    assert_eq!(w.said("rotate_now"), [90_000]);
    assert_eq!(w.shown("next_up"), [70_000], "20 s before");
    assert!(w.run.view(w.now).asks.contains(&Ask::Rotate));
    // The crew changed at 100 s: 90 s from there. Nobody marks that one: it comes again.
    w.key(100_000, Act::Rotate);
    assert!(!w.run.view(w.now).asks.contains(&Ask::Rotate));
    w.until(285_000);
    assert_eq!(w.said("rotate_now"), [90_000, 190_000, 280_000]);
    assert_eq!(w.shown("next_up"), [70_000, 170_000, 260_000]);
}

#[test]
fn not_spoken_it_is_a_tone_and_never_while_the_device_compresses() {
    let mut w = apart(TONE);
    w.until(91_000);
    assert!(w.heard.contains(&(90_000, "attention".to_string())));
    assert_eq!(w.said("rotate_now"), []);
    w.key(91_000, Act::DeviceRunning)
        .key(95_000, Act::CupGood)
        .until(300_000);
    assert_eq!(due(&w, Prompt::RotateNow), [90_000]);
    // By hand again: a new pair of hands, 90 s from there.
    w.key(300_000, Act::HandsOn).until(395_000);
    assert_eq!(due(&w, Prompt::RotateNow), [90_000, 390_000]);
}

#[test]
fn heard_answers_it_without_a_mark() {
    let mut w = apart(TONE);
    w.until(91_000);
    assert!(w.run.view(w.now).sheet.contains(&Act::HeardRotate));
    w.key(91_000, Act::HeardRotate);
    let view = w.run.view(w.now);
    assert!(!view.asks.contains(&Ask::Rotate) && !view.sheet.contains(&Act::HeardRotate));
}

#[test]
fn where_the_change_goes_with_the_check_it_is_not_asked_for_apart() {
    let mut w = started();
    w.until(400_000);
    assert_eq!(due(&w, Prompt::RotateNow), []);
}

#[test]
fn the_check_asks_for_the_change_by_hand_alone_and_where_the_service_wants_it() {
    let at_check = |mut w: Walk| {
        w.until(118_000);
        let view = w.run.view(w.now);
        assert_eq!(view.card, crate::Card::CheckDue);
        view.rotate
    };
    assert!(at_check(started()));
    let mut device = by_device();
    device.key(30_000, Act::CupGood);
    assert!(!at_check(device), "by device");
    let never = [(
        "[check.rotate]\nvalue = true",
        "[check.rotate]\nvalue = false",
    )];
    assert!(!at_check(started_with(setup_of("example-adult", &never))));
}

#[test]
fn before_a_move_that_was_decided_on_the_plan_is_gone_through() {
    let spoken = [(
        "[voice.also_spoken]\nvalue = []",
        "[voice.also_spoken]\nvalue = [\"move_plan\"]",
    )];
    let mut w = started_with(setup_of("example-adult", &spoken));
    w.key(20_000, Act::DeviceRunning).key(30_000, Act::CupGood);
    w.key(50_000, Act::MoveSoon).until(60_000);
    assert_eq!(w.said("move_plan"), [50_000]);
    assert!(
        !w.run.view(w.now).sheet.contains(&Act::MoveSoon),
        "it stands"
    );
    w.key(60_000, Act::Moving).key(80_000, Act::SetDown);
    assert!(
        w.run.view(w.now).sheet.contains(&Act::MoveSoon),
        "the next one"
    );
    // Not spoken unless the service asks for it, and the cup is none by hand.
    let mut w = by_device();
    w.key(30_000, Act::CupGood)
        .key(50_000, Act::MoveSoon)
        .until(60_000);
    assert_eq!(
        (w.said("move_plan"), w.shown("move_plan")),
        (Vec::new(), [50_000].to_vec())
    );
    let mut w = started();
    w.key(50_000, Act::MoveSoon).until(60_000);
    assert_eq!(due(&w, Prompt::MovePlan), []);
}

fn battery(w: &mut Walk, t: u64, battery_pct: u8, charging: bool) {
    w.until(t);
    let input = Input::Phone {
        battery_pct,
        charging,
    };
    w.input(Ms(t), input);
}

#[test]
fn a_low_battery_of_the_phone_is_said_once_and_stands_on_the_screen() {
    let mut w = started();
    for (t, percent, charging) in [
        (5000, 60, false),
        (10_000, 16, false),
        (20_000, 15, false),
        (25_000, 14, false),
    ] {
        battery(&mut w, t, percent, charging);
    }
    w.until(40_000);
    assert_eq!(w.said("phone_low"), [20_000]);
    assert!(w.run.view(w.now).banners.contains(&Banner::PhoneLow));
    battery(&mut w, 40_000, 14, true);
    assert!(!w.run.view(w.now).banners.contains(&Banner::PhoneLow));
    battery(&mut w, 50_000, 13, false);
    w.until(60_000);
    assert_eq!(w.said("phone_low"), [20_000, 50_000]);
    let kept: Vec<_> = w
        .log
        .iter()
        .filter_map(|e| match &e.fact {
            Fact::Deed(Deed::Phone { battery_pct, low }) => Some((e.at.0, *battery_pct, *low)),
            Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
        })
        .collect();
    assert_eq!(
        kept,
        [(20_000, 15, true), (40_000, 14, false), (50_000, 13, true)]
    );
}

#[test]
fn hands_off_it_waits() {
    let mut w = started();
    w.key(10_000, Act::HandsOff);
    battery(&mut w, 12_000, 9, false);
    w.key(27_000, Act::HandsOn).until(40_000);
    // The spacing after "fifteen", spoken from 25 to 26 s.
    assert_eq!(w.said("phone_low"), [27_500]);
}

/// Delivery within 5 min of the arrest, the example's figure; the arrest was 3 min before us.
#[test]
fn a_birth_is_due_by_the_service_s_figure() {
    let mut w = Walk::new();
    w.input(Ms::ZERO, Input::Start(Way::Earlier));
    w.key(0, Act::BeganEarlier);
    let before = crate::Entered::Before(crate::Before {
        minutes: Some(3),
        ..crate::Before::default()
    });
    let mark = w.run.entered(&before).unwrap();
    w.mark(0, mark)
        .key(10_000, Act::OverlayPregnancy)
        .until(119_000);
    let next = w.run.view(w.now).hand_over.unwrap().next;
    let is_due = |due: &Due| (due.word, due.at) == (DueWord::Delivery, Ms(120_000));
    assert!(next.iter().any(is_due), "{next:?}");
    assert!(!w.run.view(w.now).asks.contains(&Ask::DeliveryDue));
    w.until(121_000);
    assert!(w.run.view(w.now).asks.contains(&Ask::DeliveryDue));
    assert!(
        w.heard.contains(&(120_000, "attention".to_string())),
        "{:?}",
        w.heard
    );
    // Without the overlay nobody asks.
    let mut w = started();
    w.until(400_000);
    assert!(!w.run.view(w.now).asks.contains(&Ask::DeliveryDue));
}

/// Below 30 degrees the service's own numbers say how many doses are still given.
#[test]
fn how_many_doses_the_cold_leaves_is_the_service_s_to_say() {
    let stands = |changes: &[(&str, &str)]| {
        let mut w = started_with(setup_of("example-adult", changes));
        w.key(1000, Act::OverlayCold30)
            .key(20_000, Act::HandsOffCheck)
            .key(26_000, Act::NoShockHand)
            .until(27_000);
        let first = w.drug("adrenaline");
        w.key(27_000, Act::DrugByClock).until(300_000);
        (first, w.drug("adrenaline"))
    };
    let one = [("cold_doses_by_time = 0", "cold_doses_by_time = 1")];
    assert_eq!(stands(&[]), (DrugWord::Withheld, DrugWord::Withheld));
    assert_eq!(stands(&one), (DrugWord::Due, DrugWord::Withheld));
    let many = [("cold_doses_by_time = 0", "cold_doses_by_time = 20")];
    assert_eq!(stands(&many), (DrugWord::Due, DrugWord::Due));
}

/// A line of the log is looked at once: after a kill nothing that lies far back is missed.
#[test]
fn a_run_that_is_taken_up_again_misses_nothing_of_long_ago() {
    let mut w = started();
    let missed = |log: &[Entry]| {
        log.iter()
            .filter(|e| match &e.fact {
                Fact::Deed(Deed::Cue(c)) => c.outcome == CueOutcome::Missed,
                Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => false,
            })
            .count()
    };
    // A check every two minutes for 25 minutes, each called; nothing missed.
    w.until(1_510_000);
    assert_eq!(missed(&w.log), 0);
    let now = w.log.last().unwrap().taken.0 + 3000;
    let mut again = w.replayed(now);
    again.key(now + 2000, Act::AsBefore).until(now + 20_000);
    assert_eq!(missed(&again.log), 0, "{:?}", again.log);
}
