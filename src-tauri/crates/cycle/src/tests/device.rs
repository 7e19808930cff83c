//! Fitting, cup, power, stop.

use super::*;

#[test]
fn by_device_in_a_ratio_nothing_beats_and_a_life_tone_says_so() {
    let mut w = by_device();
    w.until(60_000);
    assert!(w.beats_between(20_100, 60_000).is_empty());
    assert_eq!(w.breaths().into_iter().filter(|t| *t > 20_100).count(), 0);
    let life: Vec<u64> = w
        .heard
        .iter()
        .filter(|(_, n)| n == "life")
        .map(|(t, _)| *t)
        .collect();
    assert_eq!(life, [36_000, 46_000, 56_000]);
}

#[test]
fn the_start_of_the_device_asks_for_the_cup_until_it_is_answered() {
    let mut w = by_device();
    w.until(90_000);
    let cups: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(_, n)| n.starts_with("cup"))
        .collect();
    assert_eq!(cups, [(26_100, "cup_now"), (56_100, "cup_now")]);
    assert_eq!(w.run.view(w.now).main, [Act::CupGood, Act::Reseat]);
    assert!(w.run.view(w.now).urgent);
    w.tap(91_000, Act::CupGood);
    assert_eq!(w.run.view(w.now).main, [Act::Paused, Act::Stopped]);
}

#[test]
fn a_move_holds_the_check_and_asks_for_the_cup_first() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(110_000, Act::Moving)
        .tap(130_000, Act::SetDown)
        .until(140_000);
    let said: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 100_000)
        .collect();
    // One second of cup_down, then 1.5 s of no speech.
    assert_eq!(said, [(130_000, "cup_down"), (132_500, "chk_now")]);
    assert!(
        w.log
            .iter()
            .any(|e| matches!(&e.fact, Fact::Deed(Deed::Cue(c))
        if c.outcome == CueOutcome::Held && c.id == Some(Prompt::ChkNow)))
    );
}

#[test]
fn airway_in_by_device_asks_for_continuous_and_breathes_by_the_clock() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(40_100, Act::AirwayIn)
        .until(70_000);
    assert!(w.voices().contains(&(40_100, "dev_cont")));
    let breaths: Vec<u64> = w.breaths().into_iter().filter(|t| *t > 40_000).collect();
    assert_eq!(breaths, [46_000, 52_000, 58_000, 64_000]);
}

#[test]
fn a_power_swap_inside_the_window_is_one_pause_and_a_cup_check() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(40_100, Act::PowerSwap)
        .tap(65_100, Act::Swapped)
        .until(80_000);
    let said: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 39_000)
        .collect();
    assert_eq!(
        said,
        [
            (50_000, "off10"),
            (55_000, "off15"),
            (60_000, "off20"),
            (65_100, "cup_now")
        ]
    );
    assert_eq!(w.run.view(w.now).state, StateWord::ByDevice);
}

#[test]
fn a_power_swap_outside_the_window_stays_hands_off_until_the_device_runs() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(40_100, Act::PowerSwap)
        .tap(105_100, Act::Swapped);
    w.until(106_000);
    assert!(w.heard.contains(&(100_000, "attention".to_string())));
    assert!(w.voices().contains(&(105_100, "power_over")));
    assert_eq!(w.run.view(w.now).state, StateWord::HandsOff);
    w.tap(110_000, Act::DeviceRunning).until(112_000);
    assert!(w.voices().contains(&(110_000, "cup_now")));
}

#[test]
fn stopped_leads_in_and_hands_on_goes_on_in_the_same_beat() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(40_000, Act::AirwayIn)
        .tap(50_000, Act::Stopped);
    w.tap(58_000, Act::HandsOn).until(70_000);
    assert!(w.voices().contains(&(50_000, "dev_stop")));
    let beats = w.beats_between(50_000, 60_000);
    let grid: Vec<u64> = (0..20u64).map(|n| 50_025 + n * 60_000 / 110).collect();
    assert!(
        beats
            .iter()
            .all(|b| grid.iter().any(|g| g.abs_diff(*b) <= 1))
    );
    assert_eq!(beats.len(), grid.iter().filter(|g| **g < 60_000).count());
    let breaths: Vec<u64> = w.breaths().into_iter().filter(|t| *t > 50_000).collect();
    assert_eq!(breaths, [63_900, 69_900]);
}

/// Source: docs/timing.md, "D of `fit` by hand": once for each plan, whatever is marked after it.
#[test]
fn the_plan_of_the_fitting_is_told_once_and_from_the_finger_down() {
    let mut w = Walk::new();
    w.tap(0, Act::StartByHand)
        .tap(40_000, Act::FitDevice)
        .tap(45_000, Act::HandsOffFit)
        .tap(52_000, Act::HandsOn)
        .until(70_000);
    let due: alloc::collections::BTreeSet<Ms> = w
        .log
        .iter()
        .filter_map(|e| match &e.fact {
            Fact::Deed(Deed::Cue(c)) if c.id == Some(Prompt::FitPlan) => Some(c.due_ms),
            _ => None,
        })
        .collect();
    assert_eq!(due.into_iter().collect::<Vec<_>>(), [Ms(39_900)]);
}
