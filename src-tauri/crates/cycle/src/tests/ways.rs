//! Ways in, the other classes, what leads, what runs out, what comes back.

use super::*;
use crate::{
    Ask, Banner, Card, Figure, ListWord,
    mark::{CheckMark, DeviceMark, GivenBy, PowerAct, RunMark, TimesWhich},
};

fn begun(setup: Setup, way: Way, act: Act) -> Walk {
    let mut w = Walk::with(setup);
    w.input(Ms::ZERO, Input::Start(way));
    w.key(0, act);
    w
}

fn shock_at(w: &mut Walk, t: u64, through: bool) {
    let shock = Mark::Check(CheckMark::Shock {
        timed: true,
        by: GivenBy::Us,
        through,
        stacked: false,
        mode: None,
        energy_j: None,
    });
    w.mark(t, shock);
}

#[test]
fn a_quiet_run_keeps_everything_and_sounds_nothing() {
    let mut w = begun(setup(), Way::Quiet, Act::StartQuiet);
    w.key(30_000, Act::HandsOff)
        .key(45_000, Act::HandsOn)
        .until(200_000);
    assert!(
        w.beats.is_empty() && w.heard.is_empty(),
        "{:?} {:?}",
        w.beats,
        w.heard
    );
    assert!(w.run.view(w.now).banners.contains(&Banner::Quiet));
    // What would have been said stands in the record with its reason.
    let held = |why| {
        w.log.iter().any(|e| match &e.fact {
            Fact::Deed(Deed::Cue(c)) => c.id == Some(Prompt::ChkNow) && c.why == Some(why),
            Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => false,
        })
    };
    assert!(held(HeldWhy::Quiet));
    assert_eq!(w.run.view(w.now).state, StateWord::ByHand);
}

/// Nothing sounds that could be counted: the time stands in the count's place.
#[test]
fn a_quiet_run_by_hand_shows_the_time_until_its_beat_is_on() {
    let mut w = begun(setup(), Way::Quiet, Act::StartQuiet);
    let seen = |w: &mut Walk, t: u64| {
        w.until(t);
        let view = w.run.view(w.now);
        (view.card, view.figure)
    };
    let up = Figure::Up { since: Ms::ZERO };
    assert_eq!(seen(&mut w, 12_000), (Card::HandRatio, up));
    w.key(15_000, Act::FitDevice);
    assert_eq!(seen(&mut w, 16_000), (Card::Fitting, up));
    w.key(20_000, Act::BeatOn);
    assert_eq!(seen(&mut w, 21_000), (Card::Fitting, Figure::Count));
    w.key(22_000, Act::NotNow);
    assert_eq!(seen(&mut w, 23_000), (Card::HandRatio, Figure::Count));
    // In a run that began loud the beat that is off goes on counting.
    let mut loud = started();
    loud.key(10_000, Act::BeatOff);
    assert_eq!(seen(&mut loud, 12_000), (Card::HandRatio, Figure::Count));
}

#[test]
fn a_device_that_runs_already_is_looked_at_first() {
    let mut w = begun(setup(), Way::Device, Act::DeviceAlreadyOn);
    w.until(20_000);
    assert_eq!(w.run.view(w.now).state, StateWord::ByDevice);
    assert!(w.beats_between(0, 20_000).is_empty());
    assert_eq!(w.voices(), [(0, "cup_now")]);
}

#[test]
fn first_breaths_delay_the_beat_until_they_are_given_or_their_time_is_over() {
    // Five breaths, at most 15 s: the child's own file.
    let child = || setup_of("example-child", &[]);
    let mut w = begun(child(), Way::Hand, Act::StartWithBreaths);
    w.until(30_000);
    assert_eq!(
        w.beats_between(0, 30_000)[0],
        15_025,
        "untended it begins by itself"
    );
    assert_eq!(
        w.run.view(w.now).state,
        StateWord::HandsOff,
        "a beat is no compression"
    );
    assert_eq!(w.voices(), [], "breaths are no pause");
    let mut w = begun(child(), Way::Hand, Act::StartWithBreaths);
    w.key(9000, Act::BreathsGiven5).until(30_000);
    assert_eq!(w.beats_between(0, 30_000)[0], 9025);
    assert_eq!(w.run.view(w.now).state, StateWord::ByHand);
}

#[test]
fn a_child_after_all_is_one_touch_and_takes_its_own_numbers() {
    let mut w = started();
    w.until(20_000);
    assert!(
        w.run
            .view(w.now)
            .sheet
            .iter()
            .take(7)
            .any(|a| *a == Act::ClassChild)
    );
    w.key(20_000, Act::ClassChild).until(40_000);
    // 15 beats, then a breath.
    let beats = w.beats_between(20_000, 40_000);
    assert_eq!(beats[0], 20_025);
    let first_breath = w.breaths().into_iter().find(|t| *t > 20_000).unwrap();
    assert!(first_breath.abs_diff(20_025 + 8182) <= 1, "{first_breath}");
    assert_eq!(w.run.view(w.now).class, PatientClass::Child);
}

#[test]
fn a_defibrillator_that_leads_calls_its_own_checks() {
    let mut w = started();
    w.key(10_000, Act::ItLeads).until(121_000);
    assert_eq!(w.voices(), []);
    assert!(w.run.view(w.now).banners.contains(&Banner::Led));
    w.key(122_000, Act::Analysing).until(135_000);
    assert_eq!(w.run.view(w.now).state, StateWord::HandsOff);
    assert_eq!(w.voices(), [(132_000, "off10")], "time goes on");
    w.key(140_000, Act::NoShockHand)
        .key(141_000, Act::LeadsNoMore)
        .until(262_000);
    assert!(w.said("chk_now").contains(&260_000), "{:?}", w.voices());
}

#[test]
fn a_shock_while_the_device_runs_needs_no_pause_and_ends_the_check() {
    let mut w = by_device();
    w.key(30_000, Act::CupGood).until(118_000);
    assert_eq!(
        w.run.view(w.now).main,
        [Act::ShockThrough, Act::NoShockThrough]
    );
    let since = w.run.view(w.now).state_since;
    shock_at(&mut w, 125_000, true);
    w.until(246_000);
    assert_eq!(w.run.view(w.now).state_since, since, "no pause");
    assert_eq!(
        w.said("chk_now"),
        [120_000, 245_000],
        "120 s from the shock"
    );
}

#[test]
fn three_shocks_in_a_row_bring_the_service_s_list() {
    let mut w = started_with(setup_of("example-adult-b", &[]));
    for n in 1..=3 {
        w.key(n * 126_000, Act::HandsOffCheck);
        shock_at(&mut w, n * 126_000 + 3000, false);
        w.key(n * 126_000 + 4000, Act::HandsOn);
        let listed = w
            .run
            .view(w.now)
            .lists
            .iter()
            .any(|l| l.word == ListWord::Refractory);
        assert_eq!(listed, n == 3, "after shock {n}");
    }
    w.key(600_000, Act::HandsOffCheck)
        .key(604_000, Act::NoShockHand);
    assert_eq!(w.run.view(w.now).in_a_row, 0);
}

#[test]
fn the_estimate_comes_only_after_a_full_pack_and_rests_on_mains() {
    let minute = 60_000;
    let mut w = by_device();
    w.key(30_000, Act::CupGood).until(50 * minute);
    assert!(w.said("power_2").is_empty() && w.shown("power_10").is_empty());
    // 45 minutes, from the protocol; ten of them on mains.
    let device = || {
        let mut w = started_with(setup_of("example-adult-b", &[]));
        w.key(20_000, Act::DeviceRunning).key(30_000, Act::CupGood);
        w.key(75_000, Act::FullPack);
        w
    };
    let mut w = device();
    w.until(47 * minute);
    assert_eq!(w.shown("power_10"), [36 * minute + 15_000]);
    assert_eq!(w.said("power_2"), [44 * minute + 15_000]);
    let mut w = device();
    w.key(10 * minute, Act::MainsOn).until(11 * minute);
    assert!(w.run.view(w.now).asks.contains(&Ask::KeepPack));
    w.key(20 * minute, Act::MainsOff).until(57 * minute);
    assert_eq!(w.said("power_2"), [54 * minute + 15_000]);
    let full = Mark::Device(DeviceMark::Power {
        act: PowerAct::SwapEnd,
        full: Some(true),
    });
    w.key(57 * minute, Act::PowerSwap)
        .mark(57 * minute + 20_000, full)
        .until(58 * minute);
    let left = w.run.view(w.now).hand_over.unwrap().power_until;
    assert_eq!(left, Some(Ms(57 * minute + 20_000 + 45 * minute)));
}

#[test]
fn checkpoints_count_from_the_zero_that_they_name() {
    let mut w = started_with(setup_of("example-adult-b", &[]));
    let als = Mark::Run(RunMark::Times {
        which: TimesWhich::AlsArrival,
    });
    w.mark(100_000, als).until(1_400_000);
    assert_eq!(w.shown("causes"), [600_000], "ten minutes of the arrest");
    assert_eq!(
        w.shown("plan_now"),
        [1_300_000],
        "twenty of the advanced crew"
    );
}

#[test]
fn circulation_back_is_a_tone_and_is_looked_at_again() {
    let mut w = started_with(setup_of("example-adult-b", &[]));
    w.key(120_000, Act::HandsOffCheck)
        .key(126_000, Act::PulseBack)
        .until(380_000);
    let after: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 126_000)
        .collect();
    assert_eq!(after, [], "nothing private is said");
    let tones = w
        .heard
        .iter()
        .filter(|(_, n)| n == "attention")
        .map(|(t, _)| *t);
    assert_eq!(tones.collect::<Vec<_>>(), [126_000, 246_000, 366_000]);
    let breaths: Vec<u64> = w
        .breaths()
        .into_iter()
        .filter(|t| *t > 126_000)
        .take(2)
        .collect();
    assert_eq!(breaths, [132_000, 138_000], "the protocol's breath tone");
    assert!(w.run.view(w.now).asks.contains(&Ask::PulseAgain));
    w.key(400_000, Act::ArrestAgainDevice).until(404_000);
    let after: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 390_000)
        .collect();
    // Class A first; the cup after the spacing.
    assert_eq!(after, [(400_000, "arrest_again"), (402_500, "cup_now")]);
    w.until(521_000);
    assert!(
        w.said("chk_now").contains(&520_000),
        "two minutes from the arrest"
    );
}

#[test]
fn voice_off_for_two_minutes_comes_back_by_itself() {
    let mut w = started();
    w.key(10_000, Act::VoiceOff2Min).until(140_000);
    assert_eq!(w.said("voice_off"), [10_000]);
    assert!(w.said("chk_now").is_empty(), "a tone in its place");
    assert!(w.said("voice_on")[0] >= 130_000);
    w.key(141_000, Act::HandsOff).until(152_000);
    assert_eq!(w.said("off10"), [151_000]);
}

/// Source: docs/timing.md, "every timer counts from D".
#[test]
fn the_two_minutes_of_silence_count_from_the_finger_down() {
    let mut w = started();
    w.tap(10_000, Act::VoiceOff2Min).until(140_000);
    let back = w.log.iter().find_map(|e| match &e.fact {
        Fact::Deed(Deed::Cue(c)) if c.id == Some(Prompt::VoiceOn) => Some(c.due_ms),
        _ => None,
    });
    assert_eq!(back, Some(Ms(129_900)));
}

#[test]
fn still_off_is_asked_on_the_screen_and_a_tone_follows() {
    let mut w = started();
    w.key(20_000, Act::HandsOff).until(145_000);
    assert!(w.run.view(w.now).asks.contains(&Ask::StillOff));
    let tones = w
        .heard
        .iter()
        .filter(|(_, n)| n == "attention")
        .map(|(t, _)| *t);
    assert_eq!(
        tones.collect::<Vec<_>>(),
        [110_000, 140_000],
        "30 and 60 s after the last number"
    );
    w.key(146_000, Act::StillOff).until(250_000);
    assert!(!w.run.view(w.now).asks.contains(&Ask::StillOff));
    let more = w
        .heard
        .iter()
        .any(|(t, n)| n == "attention" && *t > 146_000);
    assert!(!more);
}

#[test]
fn the_card_of_the_hand_over_says_what_falls_due_next() {
    let mut w = started();
    w.key(30_000, Act::HandsOffCheck)
        .key(36_000, Act::NoShockHand);
    w.key(40_000, Act::DrugByClock).until(50_000);
    let card = w.run.view(w.now).hand_over.unwrap();
    // The check from the resume, the dose after 180 s; ten minutes of the arrest.
    let next: Vec<u64> = card.next.iter().take(3).map(|due| due.at.0).collect();
    assert_eq!(next, [156_000, 220_000, 600_000]);
    assert_eq!(card.longest.map(|p| p.ms), Some(Ms(6000)));
    assert_eq!(card.arrest, Some(0));
}
