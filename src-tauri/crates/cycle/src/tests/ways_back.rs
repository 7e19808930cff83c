//! Ways back from what was said by mistake, and ways on that a key has to reach.

use super::*;
use crate::{
    Banner, ListWord, Overlay,
    mark::{CheckMark, RunMark, SoundAct, TempBand},
};

/// The keys on card and sheet that make just this mark.
fn keys_of(w: &Walk, is: impl Fn(&Mark) -> bool) -> Vec<Act> {
    let view = w.run.view(w.now);
    [view.main, view.side, view.sheet]
        .concat()
        .into_iter()
        .filter(|act| matches!(act.marks().as_slice(), [mark] if is(mark)))
        .collect()
}

fn situation(kind: Overlay, on: bool, band: Option<TempBand>) -> impl Fn(&Mark) -> bool {
    move |mark| {
        *mark
            == Mark::Run(RunMark::Overlay {
                kind,
                on,
                temp_band: band,
            })
    }
}

#[test]
fn every_special_situation_said_by_mistake_is_taken_off_by_a_key() {
    for kind in Overlay::ALL {
        let band = (*kind == Overlay::Cold).then_some(TempBand::Below30);
        let mut w = started();
        w.until(10_000);
        let on = keys_of(&w, situation(*kind, true, band));
        assert_eq!(on.len(), 1, "{kind:?}");
        assert_eq!(keys_of(&w, situation(*kind, false, None)), [], "{kind:?}");
        w.key(10_000, on[0]);
        let shown = |w: &Walk| {
            let lists = w.run.view(w.now).lists;
            lists.iter().any(|l| l.word == ListWord::Overlay)
        };
        assert!(shown(&w), "{kind:?}");
        let off = keys_of(&w, situation(*kind, false, None));
        assert_eq!(off.len(), 1, "{kind:?}");
        w.key(12_000, off[0]);
        assert!(!shown(&w), "{kind:?}");
    }
}

/// Source: clinical facts, below 30 C no adrenaline, above 35 C the usual intervals.
#[test]
fn a_patient_warmed_above_35_degrees_is_said_by_a_key_and_has_the_drug_called() {
    let mut w = started();
    w.key(10_000, Act::OverlayCold30)
        .key(20_000, Act::HandsOffCheck)
        .key(26_000, Act::ShockedHand)
        .key(146_000, Act::HandsOffCheck)
        .key(152_000, Act::ShockedHand)
        .until(400_000);
    assert_eq!(w.drug("adrenaline"), DrugWord::Withheld);
    let warm = situation(Overlay::Cold, true, Some(TempBand::Above35));
    let keys = keys_of(&w, &warm);
    assert_eq!(keys.len(), 1);
    assert_eq!(w.said("drug_due"), []);
    w.key(400_000, keys[0]).until(405_000);
    assert_eq!(w.drug("adrenaline"), DrugWord::Due);
    assert_eq!(w.said("drug_due"), [400_000]);
    assert_eq!(keys_of(&w, warm), [], "said already");
}

fn quiet() -> Walk {
    let mut w = Walk::new();
    w.input(Ms::ZERO, Input::Start(Way::Quiet));
    w.key(0, Act::StartQuiet);
    w
}

fn switch(what: SoundAct) -> impl Fn(&Mark) -> bool {
    move |mark| matches!(mark, Mark::Run(RunMark::Sound { what: found, .. }) if *found == what)
}

#[test]
fn a_quiet_run_finds_voice_and_beat_by_a_key_each() {
    let mut w = quiet();
    w.until(30_000);
    let voice = keys_of(&w, switch(SoundAct::VoiceOn));
    let beat = keys_of(&w, switch(SoundAct::BeatOn));
    assert_eq!((voice.len(), beat.len()), (1, 1));
    w.key(30_000, voice[0]).until(100_000);
    assert_eq!(
        w.voices(),
        [(30_000, "voice_on"), (90_000, "chk_30")],
        "the voice"
    );
    assert!(w.beats.is_empty(), "without the beat");
    let banners = w.run.view(w.now).banners;
    assert!(banners.contains(&Banner::BeatOff) && !banners.contains(&Banner::Quiet));
    w.key(100_000, beat[0]).until(125_000);
    // The run's own grid: the sixth cycle begins 5 x (30 x 60 / 110 + 4) s after 25 ms.
    assert_eq!(w.beats_between(0, 101_844), [101_843]);
    assert_eq!(w.said("chk_now"), [120_000]);
    assert_eq!(w.run.view(w.now).banners, []);
}

#[test]
fn a_quiet_run_that_found_its_sound_can_be_quiet_again() {
    let mut w = quiet();
    w.key(30_000, Act::BeatOn)
        .key(130_000, Act::VoiceOn)
        .key(135_000, Act::VoiceOff)
        .key(140_000, Act::BeatOff)
        .until(260_000);
    assert!(!w.beats_between(30_000, 140_000).is_empty());
    assert!(w.beats_between(140_000, 260_000).is_empty());
    let after: Vec<_> = w.heard.iter().filter(|(t, _)| *t >= 140_000).collect();
    assert!(after.is_empty(), "{after:?}");
    assert_eq!(w.run.view(w.now).banners, [Banner::Quiet]);
}

#[test]
fn sound_that_comes_back_makes_no_tone_in_a_quiet_run() {
    let mut w = quiet();
    w.until(10_000);
    w.input(Ms(10_000), Input::Sound(SoundNews::Lost));
    w.input(Ms(12_000), Input::Sound(SoundNews::Back));
    w.until(20_000);
    assert!(w.heard.is_empty(), "{:?}", w.heard);
}

/// Shocks in a row: the example that gives three.
#[test]
fn one_more_shock_in_the_same_pause_is_a_key_where_the_service_gives_several() {
    let again = |mark: &Mark| {
        matches!(
            mark,
            Mark::Check(CheckMark::Shock {
                timed: true,
                stacked: true,
                ..
            })
        )
    };
    let mut w = started_with(setup_of("example-adult-b", &[]));
    w.key(20_000, Act::HandsOffCheck).until(22_000);
    assert_eq!(keys_of(&w, again), [], "before the first");
    w.key(22_000, Act::ShockNow);
    for n in 2..=3u16 {
        let keys = keys_of(&w, again);
        assert_eq!(keys.len(), 1, "shock {n}");
        w.key(20_000 + u64::from(n) * 3000, keys[0]);
        assert_eq!(w.run.view(w.now).shocks, n);
    }
    assert_eq!(keys_of(&w, again), [], "three are the most");
    let mut w = started();
    w.key(20_000, Act::HandsOffCheck).key(22_000, Act::ShockNow);
    assert_eq!(keys_of(&w, again), [], "one shock a pause");
}

/// The rule: a run that nobody tends goes on.
#[test]
fn a_move_that_nobody_ends_does_not_hold_the_checks_for_good() {
    let mut w = started();
    w.key(30_000, Act::Moving).until(700_000);
    assert_eq!(w.said("chk_now"), [630_000], "ten minutes later");
    w.until(730_000);
    assert_eq!(w.said("chk_now"), [630_000, 720_000]);
}
