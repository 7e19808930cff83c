//! The two-minute check.

use super::*;

#[test]
fn a_check_counts_from_the_later_of_shock_and_resume() {
    let mut w = started();
    w.tap(123_000, Act::HandsOffCheck)
        .tap(130_000, Act::ShockedHand)
        .until(400_000);
    let checks: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(_, n)| *n == "chk_now")
        .collect();
    // The resume's finger went down at 129,900.
    assert_eq!(
        checks,
        [
            (120_000, "chk_now"),
            (249_900, "chk_now"),
            (369_900, "chk_now")
        ]
    );
}

#[test]
fn nothing_asks_for_a_check_in_the_two_minutes_after_a_shock() {
    let mut w = started();
    w.tap(60_000, Act::HandsOff)
        .tap(62_000, Act::ShockNow)
        .tap(64_000, Act::HandsOn);
    w.until(183_000);
    assert!(
        w.voices()
            .iter()
            .all(|(t, n)| *n != "chk_now" || *t >= 182_000),
        "{:?}",
        w.voices()
    );
}

#[test]
fn a_plain_pause_does_not_move_the_check() {
    let mut w = started();
    w.tap(60_000, Act::HandsOff)
        .tap(66_000, Act::HandsOn)
        .until(121_000);
    assert!(w.voices().contains(&(120_000, "chk_now")));
}

#[test]
fn a_check_that_falls_due_in_hands_off_is_called_when_hands_are_on() {
    let mut w = started();
    w.tap(80_000, Act::HandsOff)
        .tap(125_000, Act::HandsOn)
        .until(140_000);
    let after: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 120_000)
        .collect();
    assert_eq!(after, [(125_000, "chk_now")]);
}

#[test]
fn a_timed_shock_leaves_a_way_on_that_counts_it_once() {
    let mut w = started();
    w.tap(123_000, Act::HandsOffCheck)
        .tap(128_000, Act::ShockNow);
    let view = w.run.view(w.now);
    assert_eq!(view.main, [Act::HandsOn, Act::DeviceRunning]);
    w.tap(131_000, Act::HandsOn).until(132_000);
    assert_eq!(w.run.view(w.now).shocks, 1);
}

#[test]
fn a_pause_that_was_no_check_after_all_does_not_move_the_check() {
    let mut w = started();
    w.tap(123_000, Act::HandsOffCheck)
        .tap(124_000, Act::WhyAirway)
        .tap(130_000, Act::HandsOn);
    w.until(245_000);
    assert!(w.voices().contains(&(240_000, "chk_now")));
}

#[test]
fn long_overdue_the_plain_card_is_back() {
    let mut w = started();
    w.until(140_000);
    assert_eq!(w.run.view(w.now).main, [Act::HandsOffCheck]);
    // Called once more 30 s after it fell due: who stops then stops for it.
    w.until(180_000);
    assert_eq!(w.said("chk_over"), [150_000]);
    assert_eq!(w.run.view(w.now).main, [Act::HandsOffCheck]);
    w.until(181_000);
    assert_eq!(w.run.view(w.now).main, [Act::HandsOff]);
}

/// With the device beside, a stop long after the second call is the one to put it on; who obeys that call stops for it.
#[test]
fn with_the_device_beside_the_fitting_s_card_is_back_soon_after_the_second_call() {
    let mut w = started();
    w.tap(100_000, Act::FitDevice).until(165_000);
    assert_eq!(w.said("chk_over"), [150_000]);
    assert_eq!(w.run.view(w.now).main, [Act::HandsOffCheck]);
    w.until(165_001);
    assert_eq!(w.run.view(w.now).main, [Act::HandsOffFit]);
}

#[test]
fn the_heads_up_is_in_the_words_for_its_time() {
    let in_15 = "[check.heads_up_s]\nvalue = 15";
    let in_30 = "[check.heads_up_s]\nvalue = 30";
    let mut w = started_with(setup_of("example-adult", &[(in_30, in_15)]));
    w.until(121_000);
    assert_eq!(w.said("chk_15"), [105_000]);
    assert_eq!(w.said("chk_30"), []);
    assert_eq!(w.said("chk_now"), [120_000]);
    let mut w = started();
    w.until(121_000);
    assert_eq!(w.said("chk_30"), [90_000]);
    assert_eq!(w.said("chk_15"), []);
}
