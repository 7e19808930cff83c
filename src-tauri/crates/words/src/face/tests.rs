use cycle::{
    Act, Banner, Card, Figure, FitStep, Ms, Next, NextWord, Prompt, Said, StateWord, View,
    mark::{Outcome, Reason},
};

use crate::{Key, Words};

fn words() -> Words {
    Words::load("en-US").expect("en-US")
}

fn view(card: Card) -> View {
    View {
        card,
        state: StateWord::HandsOff,
        state_since: Ms(90_000),
        reason: None,
        figure: Figure::Up { since: Ms(90_000) },
        next: None,
        fit: None,
        rotate: false,
        urgent: false,
        main: vec![Act::HandsOn, Act::DeviceRunning],
        side: vec![Act::WhyCheck, Act::WhyAirway],
        sheet: vec![Act::Flag],
        entries: cycle::Entries::default(),
        undo: true,
        banners: vec![],
        said: None,
        shocks: 0,
        beat_off: false,
        covered: false,
        outcome: None,
        class: cycle::mark::PatientClass::Adult,
        device_mode: None,
        asks: vec![],
        in_a_row: 0,
        drugs: vec![],
        lists: vec![],
        last: vec![],
        hand_over: None,
    }
}

fn labels(keys: &[Key]) -> Vec<&str> {
    keys.iter().map(|key| key.label.as_str()).collect()
}

#[test]
fn a_card_comes_in_finished_words() {
    let face = words().face(
        &View {
            reason: Some(Reason::DeviceFault),
            said: Some(Said {
                prompt: Prompt::Off10,
                at: Ms(100_000),
            }),
            next: Some(Next {
                word: NextWord::Check,
                at: Ms(240_000),
            }),
            shocks: 2,
            outcome: Some(Outcome::HandedOver),
            ..view(Card::Stopped)
        },
        &[],
    );
    assert_eq!(face.state_text, "Hands Off");
    assert_eq!(face.reason.as_deref(), Some("device stopped"));
    assert_eq!(face.question, "Take it off, hands on");
    assert_eq!(face.figure_label, "off the chest");
    assert_eq!(labels(&face.main), ["Hands On", "Device Running"]);
    assert_eq!(labels(&face.side), ["Check", "Airway"]);
    assert_eq!(labels(&face.sheet), ["Time Mark"]);
    let next = face.next.expect("next");
    assert_eq!(
        (next.text.as_str(), next.at),
        ("Rhythm check in", Ms(240_000))
    );
    let said = face.said.expect("said");
    assert_eq!(
        (said.text.as_str(), said.at),
        ("Off: ten seconds.", Ms(100_000))
    );
    assert_eq!(face.shocks.as_deref(), Some("2 shocks"));
    assert_eq!(face.outcome.as_deref(), Some("Handed Over"));
}

/// The rule: one voice at a time. A screen reader is a voice.
#[test]
fn a_pressing_prompt_breaks_into_a_screen_reader_only_where_no_voice_says_it() {
    let alert = |prompt, house: &[Banner]| {
        let view = View {
            said: Some(Said {
                prompt,
                at: Ms(100_000),
            }),
            ..view(Card::HandsOff)
        };
        words().face(&view, house).said.expect("said").alert
    };
    assert!(!alert(Prompt::Off10, &[]));
    assert!(!alert(Prompt::Off10, &[Banner::Resumed, Banner::PhoneLow]));
    for silent in [
        Banner::NoSound,
        Banner::Muted,
        Banner::Call,
        Banner::Taken,
        Banner::Quiet,
        Banner::VoiceOff,
    ] {
        assert!(alert(Prompt::Off10, &[silent]), "{silent:?}");
        // Of class B: it waits its turn.
        assert!(!alert(Prompt::ChkNow, &[silent]), "{silent:?}");
    }
}

#[test]
fn with_the_pack_out_hands_take_over_by_hand() {
    for card in [Card::Power, Card::PowerLate] {
        assert_eq!(words().face(&view(card), &[]).main[0].label, "By Hand");
    }
    assert_eq!(
        words().face(&view(Card::HandsOff), &[]).main[0].label,
        "Hands On"
    );
}

/// The rule: by hand the card of the check asks for the change of compressor as well.
#[test]
fn the_check_asks_for_the_change_only_where_there_is_one() {
    let asked = |rotate, fit| {
        let view = View {
            rotate,
            fit,
            ..view(Card::CheckDue)
        };
        words().face(&view, &[]).question
    };
    assert_eq!(asked(true, None), "Rhythm check. Rotate.");
    assert_eq!(asked(false, None), "Rhythm check");
    assert_eq!(
        asked(true, Some(FitStep::InCheck)),
        "Rhythm check, then fit"
    );
}

#[test]
fn a_check_that_is_answered_asks_for_the_hands() {
    let asked = |main: [Act; 2]| {
        let view = View {
            main: main.to_vec(),
            ..view(Card::Check)
        };
        words().face(&view, &[]).question
    };
    assert_eq!(asked([Act::ShockedHand, Act::NoShockHand]), "Shock given?");
    assert_eq!(asked([Act::HandsOn, Act::DeviceRunning]), "Back on?");
}

#[test]
fn with_the_new_pack_in_the_card_asks_for_the_device() {
    let asked = |main: [Act; 2]| {
        let view = View {
            main: main.to_vec(),
            ..view(Card::PowerLate)
        };
        words().face(&view, &[]).question
    };
    assert_eq!(
        asked([Act::Swapped, Act::HandsOn]),
        "Window over. New pack in?"
    );
    assert_eq!(asked([Act::DeviceRunning, Act::HandsOn]), "Device running?");
}

#[test]
fn the_fitting_asks_by_the_windows_of_the_service() {
    let asked = |card, fit| {
        let view = View {
            fit: Some(fit),
            ..view(card)
        };
        words().face(&view, &[]).question
    };
    let fitting =
        [FitStep::First, FitStep::Last, FitStep::InCheck].map(|fit| asked(Card::Fitting, fit));
    assert_eq!(
        fitting,
        [
            "Open and on. Two short pauses.",
            "Open and on. One short pause.",
            "Open and on. Fit at the check."
        ]
    );
    assert_eq!(
        asked(Card::FitPause, FitStep::First),
        "First part in, hands on"
    );
    assert_eq!(asked(Card::FitPause, FitStep::Last), "Device running?");
}

/// Keys of one name are the same to a reader and to a screen reader: each group here never stands on one
/// screen together, or means the same there.
#[test]
fn keys_of_one_name_are_known() {
    const SAME: &[&[Act]] = &[
        &[Act::HandsOff, Act::HandsOffCheck, Act::HandsOffFit],
        &[Act::Paused, Act::PausedCheck],
        &[Act::ShockedHand, Act::ShockedDevice],
        &[Act::NoShockHand, Act::NoShockDevice],
        &[Act::Stopped, Act::EndStopped],
        &[Act::PulseBack, Act::EndPulse],
        &[Act::Reseat, Act::WhyReseat],
        &[
            Act::HeardCheck,
            Act::HeardCup,
            Act::HeardDrug,
            Act::HeardRotate,
            Act::HeardPower,
            Act::HeardMinute,
            Act::HeardHeart,
        ],
    ];
    for lang in Words::languages() {
        let keys = Words::load(lang)
            .expect(lang)
            .keys(Card::HandsOff, Act::ALL);
        for (n, a) in keys.iter().enumerate() {
            for b in keys.iter().take(n).filter(|b| b.label == a.label) {
                let known = SAME
                    .iter()
                    .any(|group| group.contains(&a.act) && group.contains(&b.act));
                let both = format!("{lang}: {:?} and {:?} are both {}", a.act, b.act, a.label);
                assert!(known, "{both}");
            }
        }
    }
}

#[test]
fn banners_stand_once_and_the_most_pressing_first() {
    let face = words().face(
        &View {
            banners: vec![Banner::VoiceOff, Banner::NoSound],
            ..view(Card::HandsOff)
        },
        &[Banner::NotSaving, Banner::NoSound],
    );
    let order: Vec<Banner> = face.banners.iter().map(|line| line.banner).collect();
    assert_eq!(
        order,
        [Banner::NoSound, Banner::NotSaving, Banner::VoiceOff]
    );
    assert_eq!(face.banners[0].text, "No sound");
    let chosen: Vec<bool> = face.banners.iter().map(|line| line.chosen).collect();
    assert_eq!(
        chosen,
        [false, false, true],
        "what the crew set is no fault"
    );
}

#[test]
fn no_card_has_two_keys_of_one_name() {
    for lang in Words::languages() {
        let words = Words::load(lang).expect(lang);
        for pair in [
            [Act::ShockedHand, Act::NoShockHand],
            [Act::ShockedDevice, Act::NoShockDevice],
            [Act::HandsOn, Act::DeviceRunning],
            [Act::CupGood, Act::Reseat],
            [Act::ArrestAgainHand, Act::ArrestAgainDevice],
        ] {
            for card in Card::ALL {
                let keys = words.keys(*card, &pair);
                assert_ne!(keys[0].label, keys[1].label, "{lang} {card:?} {pair:?}");
            }
        }
    }
}

#[test]
fn the_start_card_says_that_the_protocol_is_an_example() {
    let labels = words().labels("day", false);
    assert_eq!(
        words().protocol_name("Example, adult", true),
        "Example, adult: an example, not your service's protocol."
    );
    assert_eq!(words().protocol_name("Our adults", false), "Our adults");
    assert_eq!(labels.cautions.len(), 4);
    let ends: Vec<&str> = labels.ends.iter().map(|key| key.label.as_str()).collect();
    assert_eq!(
        ends,
        ["Handed Over", "Efforts Ended", "Pulse Back", "No Arrest"]
    );
}

mod beside;
#[cfg(feature = "ts")]
mod cards;
mod pages;

/// Writes the page's types; the build compares them with the committed ones.
#[cfg(feature = "ts")]
#[test]
fn bindings_are_written() {
    use ts_rs::{Config, TS};

    let config = Config::new().with_large_int("number").with_out_dir(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../../ui/src/bindings"
    ));
    crate::News::export_all(&config).expect("News");
    crate::Labels::export_all(&config).expect("Labels");
    crate::Paper::export_all(&config).expect("Paper");
    crate::Debrief::export_all(&config).expect("Debrief");
    crate::CarryPage::export_all(&config).expect("CarryPage");
    crate::Review::export_all(&config).expect("Review");
    crate::Change::export_all(&config).expect("Change");
    crate::Keep::export_all(&config).expect("Keep");
    crate::DrillPage::export_all(&config).expect("DrillPage");
    crate::DrillTries::export_all(&config).expect("DrillTries");
    crate::DrillLook::export_all(&config).expect("DrillLook");
    crate::DrillOver::export_all(&config).expect("DrillOver");
    crate::DrillWish::export_all(&config).expect("DrillWish");
    crate::Draft::export_all(&config).expect("Draft");
    crate::DraftChange::export_all(&config).expect("DraftChange");
    crate::DraftMinute::export_all(&config).expect("DraftMinute");
    cycle::Entered::export_all(&config).expect("Entered");
}
