//! What a reader found in the rules, each as a crew would meet it.

use super::*;
use crate::{
    fact::{Amend, AmendOp, AmendReason},
    mark::{AirMark, CheckMark, FlowMark, Reason, RhythmSeen},
};

#[test]
fn breaths_first_that_nobody_marks_do_not_silence_the_run() {
    let mut w = Walk::with(setup_of("example-child", &[]));
    w.input(Ms::ZERO, Input::Start(Way::Hand));
    w.key(0, Act::StartWithBreaths).until(140_000);
    // Fifteen seconds of breaths, then the beat; two minutes from there the check is called.
    assert_eq!(w.said("chk_now"), [135_000]);
    assert!(
        !w.heard.iter().any(|(_, n)| n == "attention"),
        "no pause is asked about"
    );
    assert_eq!(
        w.run.view(w.now).state,
        StateWord::HandsOff,
        "no mark, no compression"
    );
}

#[test]
fn a_device_that_stops_near_a_shock_is_told_by_a_tone() {
    let mut w = by_device();
    w.key(30_000, Act::CupGood);
    w.key(40_000, Act::Charge)
        .key(41_000, Act::Stopped)
        .until(45_000);
    assert!(
        w.heard.contains(&(41_000, "attention".to_string())),
        "{:?}",
        w.heard
    );
    assert!(w.said("dev_stop").is_empty());
}

#[test]
fn a_cup_that_left_its_place_is_asked_for_whatever_the_pause_is_called() {
    let mut w = by_device();
    w.key(30_000, Act::CupGood).key(40_000, Act::Stopped);
    let why = Mark::Flow(FlowMark::Why {
        reason: Reason::Airway,
    });
    w.mark(42_000, why)
        .key(50_000, Act::DeviceRunning)
        .until(56_000);
    assert!(
        w.said("cup_now").iter().any(|t| *t >= 50_000),
        "{:?}",
        w.heard
    );
}

#[test]
fn the_first_rhythm_is_the_first_result() {
    let mut w = started();
    w.key(20_000, Act::HandsOffCheck)
        .key(26_000, Act::NoShockHand);
    w.key(146_000, Act::HandsOffCheck)
        .key(152_000, Act::ShockedHand);
    let card = w.run.view(w.now).hand_over.unwrap();
    assert_eq!(card.first_rhythm, Some(RhythmSeen::NotShockable));
    assert_eq!(card.rhythm, Some(RhythmSeen::Shockable));
    // A rhythm that was named is not made vaguer by the result.
    let vf = Mark::Check(CheckMark::Rhythm {
        rhythm: RhythmSeen::Vf,
        first: None,
    });
    let mut w = started();
    w.key(20_000, Act::HandsOffCheck)
        .mark(22_000, vf)
        .key(26_000, Act::ShockedHand);
    assert_eq!(
        w.run.view(w.now).hand_over.unwrap().rhythm,
        Some(RhythmSeen::Vf)
    );
}

#[test]
fn a_pulse_that_is_still_there_answers_the_question() {
    let mut w = started();
    w.key(20_000, Act::HandsOff)
        .key(26_000, Act::PulseBack)
        .until(150_000);
    assert!(w.run.view(w.now).asks.contains(&crate::Ask::PulseAgain));
    w.key(160_000, Act::PulseStill).until(270_000);
    assert!(!w.run.view(w.now).asks.contains(&crate::Ask::PulseAgain));
    let tones = w
        .heard
        .iter()
        .filter(|(_, n)| n == "attention")
        .map(|(t, _)| *t);
    assert_eq!(tones.collect::<Vec<_>>(), [26_000, 146_000]);
    w.until(285_000);
    assert!(
        w.run.view(w.now).asks.contains(&crate::Ask::PulseAgain),
        "280 s"
    );
}

#[test]
fn a_long_gap_is_silent_and_shows_that_the_phone_lives() {
    let mut w = started();
    w.until(142_000);
    w.back(600_000, Seq(40), Ms(142_000));
    w.until(640_000);
    let life = w.heard.iter().filter(|(t, n)| *t >= 600_000 && n == "life");
    assert!(life.count() >= 3, "{:?}", w.heard);
}

#[test]
fn still_off_is_asked_again_after_two_minutes() {
    let mut w = started();
    w.key(20_000, Act::HandsOff)
        .key(90_000, Act::StillOff)
        .until(200_000);
    assert!(!w.run.view(w.now).asks.contains(&crate::Ask::StillOff));
    w.until(215_000);
    assert!(w.run.view(w.now).asks.contains(&crate::Ask::StillOff));
}

#[test]
fn where_no_device_is_allowed_no_key_speaks_of_one() {
    let mut w = Walk::with(setup_of("example-infant", &[]));
    w.input(Ms::ZERO, Input::Start(Way::Hand));
    w.key(0, Act::StartByHand).key(30_000, Act::HandsOff);
    let view = w.run.view(w.now);
    let keys = [view.main, view.side, view.sheet].concat();
    assert!(
        !keys.contains(&Act::DeviceRunning) && !keys.contains(&Act::Stopped),
        "{keys:?}"
    );
    w.key(32_000, Act::Stopped);
    assert_eq!(w.ignored().len(), 1, "what is not there cannot stop");
    let co2 = Mark::Air(AirMark::Etco2 {
        value: "12".into(),
        unit: "mmHg".into(),
    });
    w.mark(33_000, co2);
    assert_eq!(w.ignored().len(), 1);
}

#[test]
fn the_voice_key_follows_the_voice() {
    let mut w = started();
    w.key(10_000, Act::VoiceOff2Min).until(20_000);
    assert!(w.run.view(w.now).sheet.contains(&Act::VoiceOn));
    w.until(140_000);
    assert!(
        w.run.view(w.now).sheet.contains(&Act::VoiceOff),
        "it is back by itself"
    );
}

#[test]
fn a_pack_changed_with_circulation_back_opens_no_pause() {
    let rosc = || Mark::Flow(FlowMark::Rosc {});
    let mut w = by_device();
    w.key(30_000, Act::CupGood)
        .key(40_000, Act::Paused)
        .key(46_000, Act::PulseBack)
        .key(60_000, Act::PowerSwap)
        .until(75_000);
    assert_eq!(w.run.view(w.now).state, StateWord::Pulse);
    // The pause that turns out to have been a pulse: what followed it stands in another light.
    let mut w = by_device();
    w.key(30_000, Act::CupGood).key(40_000, Act::Paused);
    let target = w.run.view(w.now).last.first().map(|l| l.seq).unwrap();
    w.key(50_000, Act::PowerSwap);
    let amend = Amend {
        target,
        op: AmendOp::Replace { new: rosc() },
        reason: AmendReason::CrewRecall,
        by_role: None,
    };
    w.input(Ms(60_000), Input::Amend(amend));
    w.until(75_000);
    let view = w.run.view(w.now);
    assert_eq!(
        (view.state, view.state_since),
        (StateWord::Pulse, Ms(40_000))
    );
    assert!(w.said("off20").iter().all(|t| *t < 60_000), "{:?}", w.heard);
}

/// The random crew 5295: nothing is due between two halves, and what the pack did to the cup is asked for
/// when the device runs again.
#[test]
fn a_pack_put_in_between_two_halves_asks_nothing_until_the_device_runs() {
    let halves = |answered: u64| {
        let mut w = by_device();
        w.key(30_000, Act::CupGood)
            .key(40_000, Act::PowerSwap)
            .until(60_000);
        let mut again = w.replayed(400_000);
        again
            .key(402_000, Act::Swapped)
            .key(answered, Act::SamePatient)
            .until(answered + 8000);
        again
    };
    for answered in [404_000, 420_000] {
        let mut w = halves(answered);
        assert!(w.said("power_over").is_empty(), "{:?}", w.heard);
        assert_eq!(w.run.view(w.now).state, StateWord::Unknown);
        w.key(430_000, Act::DeviceRunning).until(440_000);
        let asked = w.said("cup_now");
        assert!(asked.iter().any(|t| *t >= 430_000), "{:?}", w.heard);
    }
}

/// The random crew 14113: what was marked as something else turns out to have been the device, ten minutes on.
#[test]
fn a_cup_that_a_mark_set_right_brings_up_late_is_asked_for() {
    let mut w = started();
    w.key(20_000, Act::Flag);
    let target = w.run.view(w.now).last.first().map(|l| l.seq).unwrap();
    w.until(700_000);
    let amend = Amend {
        target,
        op: AmendOp::Replace {
            new: Mark::Flow(FlowMark::ComprStart {
                by: crate::mark::By::Mechanical,
                mech_kind: None,
                basis: None,
            }),
        },
        reason: AmendReason::CrewRecall,
        by_role: None,
    };
    w.input(Ms(700_000), Input::Amend(amend));
    w.until(760_000);
    let asked = w.said("cup_now");
    assert_eq!(asked.len(), 1, "{asked:?}");
    assert!((700_000..712_000).contains(&asked[0]), "{asked:?}");
}

#[test]
fn a_refusal_is_on_the_card_until_the_device_runs() {
    let mut w = started();
    w.key(20_000, Act::TooLarge);
    let refused = |w: &Walk| w.run.view(w.now).hand_over.unwrap().device_refused;
    assert_eq!(refused(&w).as_deref(), Some("too_large"));
    w.key(60_000, Act::HandsOff).key(70_000, Act::DeviceRunning);
    assert_eq!(refused(&w), None);
}
