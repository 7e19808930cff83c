//! Time off the chest, and what is said in it.

use super::*;

#[test]
fn hands_off_is_silent_and_speaks_the_number() {
    let mut w = started();
    w.tap(30_100, Act::HandsOff)
        .tap(93_100, Act::HandsOn)
        .until(100_000);
    assert!(w.beats_between(30_100, 93_125).is_empty());
    let numbers: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(_, n)| n.starts_with("off"))
        .collect();
    assert_eq!(
        numbers,
        [
            (40_000, "off10"),
            (45_000, "off15"),
            (50_000, "off20"),
            (60_000, "off30"),
            (70_000, "off40"),
            (80_000, "off50"),
            (90_000, "off60"),
        ]
    );
    assert_eq!(w.beats_between(93_100, 93_200), [93_125]);
}

#[test]
fn a_seven_second_pause_hears_no_number() {
    let mut w = started();
    w.tap(30_000, Act::HandsOff)
        .tap(37_000, Act::HandsOn)
        .until(60_000);
    assert_eq!(w.voices(), []);
}

/// What is broken off is over at that moment: the heads-up, held for the pause, comes 1.5 s after it.
#[test]
fn hands_on_breaks_off_the_number_and_the_gap_counts_from_there() {
    for (back, next) in [(90_300, 91_800), (90_900, 92_400), (91_100, 92_500)] {
        let mut w = started();
        w.tap(60_100, Act::HandsOff)
            .tap(back, Act::HandsOn)
            .until(100_000);
        assert_eq!(w.said("off30"), [90_000]);
        assert_eq!(w.said("chk_30"), [next], "hands on at {back}");
    }
}

#[test]
fn off_the_chest_counts_on_when_the_reason_changes() {
    let mut w = by_device();
    w.tap(30_000, Act::CupGood)
        .tap(40_100, Act::Paused)
        .tap(45_000, Act::PowerSwap);
    w.until(51_000);
    assert!(w.voices().contains(&(50_000, "off10")));
    assert_eq!(w.run.view(w.now).state_since, Ms(40_000));
    w.tap(52_000, Act::Stopped).until(56_000);
    assert!(w.voices().contains(&(55_000, "off15")));
}

#[test]
fn voice_off_leaves_a_tone_in_the_voice_s_place_and_stays() {
    let mut w = started();
    w.tap(10_000, Act::VoiceOff).until(121_000);
    assert_eq!(w.voices(), [(10_000, "voice_off")]);
    let tones: Vec<u64> = w
        .heard
        .iter()
        .filter(|(_, n)| n == "attention")
        .map(|(t, _)| *t)
        .collect();
    assert_eq!(
        tones,
        [90_000, 115_000, 116_000, 117_000, 118_000, 119_000, 120_000]
    );
}

#[test]
fn nothing_but_the_number_is_said_after_a_charge() {
    let mut w = started();
    w.tap(119_500, Act::HandsOffCheck);
    let charge = Mark::Check(crate::mark::CheckMark::Charge {
        act: crate::mark::ChargeAct::Begun,
    });
    w.until(121_000);
    w.input(
        Ms(121_000),
        Input::Mark {
            at: Ms(121_000),
            mark: charge,
            src: Source::Button,
        },
    );
    w.until(140_000);
    let said: Vec<_> = w
        .voices()
        .into_iter()
        .filter(|(t, _)| *t > 119_500)
        .collect();
    assert_eq!(
        said,
        [(129_400, "off10"), (134_400, "off15"), (139_400, "off20")]
    );
}

/// The rule of a drill's tone is that of the tone that tells that the sound is back.
#[test]
fn the_tone_of_a_sound_that_is_back_is_not_heard_off_the_chest_nor_near_a_shock() {
    let mut w = started();
    let back = |w: &mut Walk, at: u64| {
        for news in [SoundNews::Lost, SoundNews::Back] {
            w.until(at);
            w.input(Ms(at), Input::Sound(news));
        }
    };
    back(&mut w, 20_000);
    w.key(30_000, Act::HandsOff);
    back(&mut w, 33_000);
    w.key(40_000, Act::HandsOn);
    back(&mut w, 45_000);
    w.key(50_000, Act::Charge);
    w.until(52_000);
    w.input(Ms(52_000), Input::Sound(SoundNews::Lost));
    let has_banner = |w: &Walk| {
        let view = w.run.view(w.now);
        view.banners.contains(&crate::Banner::NoSound)
    };
    assert!(has_banner(&w));
    w.input(Ms(53_500), Input::Sound(SoundNews::Back));
    assert!(!has_banner(&w), "the screen says it");
    w.key(60_000, Act::ChargeDumped);
    back(&mut w, 65_000);
    w.until(70_000);
    assert_eq!(w.said("sound_back"), [20_000, 45_000, 65_000]);
}
