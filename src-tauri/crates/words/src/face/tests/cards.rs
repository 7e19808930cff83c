//! The cards that the page's layout tests draw: invented runs in virtual time, through the rules.

use cycle::{
    Act, Banner, Card, ClipLengths, Figure, Input, Ms, Prompt, Protocol, Run, Setup, View,
    fact::{Source, Way},
};

use crate::{Pulse, PulseKind, Receipt, Screen, Words};

use Act as A;

/// An invented case: seconds and acts, then the second at which the screen is looked at.
type Case = (&'static str, Card, &'static [(u32, Act)], u32);

const FITTED: [(u32, Act); 4] = [
    (30, A::FitDevice),
    (40, A::HandsOffFit),
    (55, A::DeviceRunning),
    (60, A::CupGood),
];

const CASES: &[Case] = &[
    ("hand_ratio", Card::HandRatio, &[], 12),
    (
        "hand_continuous",
        Card::HandContinuous,
        &[(20, A::AirwayIn)],
        30,
    ),
    ("fitting", Card::Fitting, &[(20, A::FitDevice)], 25),
    ("check_due", Card::CheckDue, &[], 121),
    ("check_over", Card::CheckDue, &[], 145),
    ("hands_off", Card::HandsOff, &[(20, A::HandsOff)], 36),
    ("check", Card::Check, &[(121, A::HandsOffCheck)], 125),
    (
        "fit_pause",
        Card::FitPause,
        &[(30, A::FitDevice), (40, A::HandsOffFit)],
        47,
    ),
    ("device_ratio", Card::DeviceRatio, &FITTED, 70),
    (
        "device_continuous",
        Card::DeviceContinuous,
        &[
            FITTED[0],
            FITTED[1],
            FITTED[2],
            FITTED[3],
            (70, A::AirwayIn),
        ],
        72,
    ),
    (
        "moving",
        Card::Moving,
        &[FITTED[0], FITTED[1], FITTED[2], FITTED[3], (65, A::Moving)],
        80,
    ),
    (
        "cup",
        Card::Cup,
        &[
            FITTED[0],
            FITTED[1],
            FITTED[2],
            FITTED[3],
            (65, A::Moving),
            (80, A::SetDown),
        ],
        82,
    ),
    (
        "reseating",
        Card::Reseating,
        &[FITTED[0], FITTED[1], FITTED[2], (58, A::Reseat)],
        63,
    ),
    (
        "power",
        Card::Power,
        &[
            FITTED[0],
            FITTED[1],
            FITTED[2],
            FITTED[3],
            (70, A::PowerSwap),
        ],
        85,
    ),
    (
        "power_late",
        Card::PowerLate,
        &[
            FITTED[0],
            FITTED[1],
            FITTED[2],
            FITTED[3],
            (62, A::PowerSwap),
            (125, A::Swapped),
        ],
        127,
    ),
    (
        "stopped",
        Card::Stopped,
        &[FITTED[0], FITTED[1], FITTED[2], FITTED[3], (70, A::Stopped)],
        72,
    ),
    (
        "pulse",
        Card::Pulse,
        &[(121, A::HandsOffCheck), (126, A::PulseBack)],
        140,
    ),
    (
        "ended",
        Card::Ended,
        &[
            (121, A::HandsOffCheck),
            (128, A::ShockedHand),
            (200, A::EndHandedOver),
        ],
        201,
    ),
];

fn setup() -> Setup {
    let text = Protocol::example("example-adult").expect("example");
    let protocol = Protocol::parse(text.as_bytes()).expect("protocol");
    let lengths = Prompt::ALL.iter().map(|prompt| (*prompt, 1_500)).collect();
    Setup {
        class: protocol.class,
        others: Vec::new(),
        clips: ClipLengths::new(lengths).expect("lengths"),
        protocol,
    }
}

fn drain(run: &mut Run) {
    while run.poll().is_some() {}
}

/// Lets the rules' own moments pass until `until`.
fn pass(run: &mut Run, until: Ms) {
    while let Some(at) = run.next_wakeup().filter(|at| *at <= until) {
        run.handle(at, Input::Wake);
        drain(run);
    }
    run.handle(until, Input::Wake);
    drain(run);
}

fn play(acts: &[(u32, Act)], until: u32) -> Run {
    let mut run = Run::new(setup());
    run.handle(Ms::ZERO, Input::Start(Way::Hand));
    drain(&mut run);
    for (second, act) in [(0, A::StartByHand)].iter().chain(acts) {
        let at = Ms::secs(*second);
        pass(&mut run, at);
        for mark in act.marks() {
            run.handle(
                at,
                Input::Mark {
                    at,
                    mark,
                    src: Source::Button,
                },
            );
            drain(&mut run);
        }
    }
    pass(&mut run, Ms::secs(until));
    run
}

fn screen(words: &Words, run: &Run, view: &View, now: Ms) -> Screen {
    let first = run
        .sounding()
        .and_then(|placed| Some((placed, placed.first(now.0, 1000)?)));
    let pulses = first
        .filter(|_| run.is_live())
        .map_or_else(Vec::new, |(placed, first)| {
            std::iter::successors(Some(first), |sound| placed.after(*sound, 1000))
                .take_while(|sound| sound.at < now.0 + 4_000)
                .map(|sound| Pulse {
                    at: Ms(sound.at),
                    kind: match sound.kind {
                        beat::Kind::BeatFirst => PulseKind::BeatFirst,
                        beat::Kind::Beat => PulseKind::Beat,
                        beat::Kind::BeatLast => PulseKind::BeatLast,
                        beat::Kind::Breath => PulseKind::Breath,
                    },
                    n: sound.n,
                })
                .collect()
        });
    Screen {
        face: words.face(view, &[]),
        now,
        receipt: run.last_mark().map(|(seq, at)| Receipt {
            seq: seq.0,
            at,
            kept: true,
            taken: true,
            waiting_ms: 0,
        }),
        pulses,
        faults: vec![],
    }
}

#[test]
fn faces_are_written() {
    let words = Words::load("en-US").expect("en-US");
    let mut screens = serde_json::Map::new();
    let mut add = |name: &str, screen: &Screen| {
        screens.insert(name.to_owned(), serde_json::to_value(screen).expect("json"));
    };
    let idle = Run::new(setup());
    let view = idle.view(Ms::ZERO);
    assert_eq!((view.card, view.figure), (Card::Before, Figure::None));
    add("start", &screen(&words, &idle, &view, Ms::ZERO));
    for (name, card, acts, until) in CASES {
        let now = Ms::secs(*until);
        let run = play(acts, *until);
        let view = run.view(now);
        assert_eq!(view.card, *card, "{name}");
        add(name, &screen(&words, &run, &view, now));
        // The fullest card: both lines over it, the longest sentence in it.
        if *name == "stopped" {
            let banners = vec![
                Banner::NoSound,
                Banner::NotSaving,
                Banner::VoiceOff,
                Banner::BeatOff,
            ];
            let full = View { banners, ..view };
            add("stopped_full", &screen(&words, &run, &full, now));
        }
    }
    let all = serde_json::json!({
        "labels": words.labels(&setup().protocol.name),
        "screens": screens,
    });
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../tests/ui/faces.json");
    let text = serde_json::to_string_pretty(&all).expect("json");
    std::fs::write(path, format!("{text}\n")).expect(path);
}
