//! The cards that the page's layout tests draw: invented runs in virtual time, through the rules.

use std::sync::OnceLock;

use cycle::{
    Card, ClipLengths, Figure, Input, Mark, Ms, Prompt, Protocol, Run, Setup, View,
    fact::{Source, Way},
    mark::{Outcome, PatientClass},
};

use ::listening::Progress;

use crate::{
    Found, PastRun, Pulse, PulseKind, Receipt, RecordLine, Screen, Tongue, Words,
    listening::tests::answered,
};

mod cases;
mod tongues;

use cases::{Case, In};

fn setup_of(id: &str, changes: &[(&str, &str)]) -> Setup {
    let mut text = Protocol::example(id).expect("example").to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{from} is not in {id}");
        text = text.replacen(from, to, 1);
    }
    let protocol = Protocol::parse(text.as_bytes()).expect("protocol");
    let lengths = Prompt::ALL.iter().map(|prompt| (*prompt, 1_500)).collect();
    Setup {
        class: protocol.class,
        others: PatientClass::ALL
            .iter()
            .filter(|class| **class != protocol.class)
            .filter_map(|class| Protocol::example_for(*class))
            .map(|text| Protocol::parse(text.as_bytes()).expect("example"))
            .collect(),
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

fn press(run: &mut Run, at: Ms, marks: Vec<Mark>) {
    for mark in marks {
        run.handle(
            at,
            Input::Mark {
                at,
                mark,
                src: Source::Button,
            },
        );
        drain(run);
    }
}

fn play(case: &Case) -> Run {
    let mut run = Run::new(setup_of(case.protocol, case.changes));
    let way = case.start.way().unwrap_or(Way::Hand);
    run.handle(Ms::ZERO, Input::Start(way));
    drain(&mut run);
    press(&mut run, Ms::ZERO, case.start.marks());
    for (second, what) in &case.ins {
        let at = Ms::secs(*second);
        // A phone that was off heard nothing of the time between.
        if !matches!(what, In::Input(Input::Recovered { .. })) {
            pass(&mut run, at);
        }
        match what {
            In::Key(act) => press(&mut run, at, act.marks()),
            In::Mark(mark) => press(&mut run, at, vec![mark.clone()]),
            In::Input(input) => {
                run.handle(at, input.clone());
                drain(&mut run);
            }
        }
    }
    pass(&mut run, Ms::secs(case.until));
    run
}

fn screen(words: &Words, run: &Run, view: &View, house: &[cycle::Banner], now: Ms) -> Screen {
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
        face: words.face(view, house),
        theme: "day".to_owned(),
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
        protocol: words.protocol_name(&run.setup().protocol.name, true),
        record: (view.card != Card::Before).then(|| RecordLine {
            id: "invented".to_owned(),
            is_kept: true,
            text: words.record_kept(true),
        }),
        listening: None,
        drill: None,
    }
}

/// The pages before and after a run, of invented runs and an invented phone.
fn papers(words: &Words) -> serde_json::Value {
    let protocol = setup_of("example-adult", &[]).protocol;
    let hash = "0123456789abcdef".repeat(4);
    let past = |id: &str, when: &str, outcome| PastRun {
        is_held: false,
        id: id.to_owned(),
        when: when.to_owned(),
        length: Ms(2_094_000),
        outcome,
        is_sound: true,
        is_drill: false,
    };
    let runs = [
        past("one", "2026-11-25 08:30", Some(Outcome::HandedOver)),
        past("two", "2026-11-24 23:05", None),
        PastRun {
            is_sound: false,
            ..past("three", "2026-11-20 14:12", Some(Outcome::Rosc))
        },
    ];
    let levels = cycle::Levels {
        beat_db: 6,
        breath_db: 0,
        voice_db: 24,
    };
    let found = Found {
        kept: Ok(12),
        free_mb: Some(48_200),
        silent: None,
        pack: vec![],
        levels,
        hash: hash.clone(),
    };
    let tongue = |lang, voice: &str| Tongue {
        lang,
        voice: voice.to_owned(),
    };
    let tongues = [
        tongue("en-US", "en-US"),
        tongue("en-GB", "en-GB"),
        tongue("es-419", "es-419"),
        tongue("es-ES", "en-US"),
    ];
    let protocols: Vec<(String, String)> = Protocol::EXAMPLES
        .iter()
        .map(|(id, text)| {
            let name = Protocol::parse(text.as_bytes()).expect("example").name;
            ((*id).to_owned(), name)
        })
        .collect();
    serde_json::json!({
        "first": words.first(),
        "about": words.about("0.0.0"),
        "protocol": words.protocol(&protocol, &hash, &protocol.rows()),
        "past": words.past(&runs, 1),
        "past_none": words.past(&[], 0),
        "ready": words.ready(&protocol, &found, None),
        "ready_asks": words.ready(&protocol, &found, Some(&tongues)),
        "settings": words.settings(
            &tongues,
            ("auto", "unheard"),
            ("example-adult", &protocols),
            ("/data/protocols", &["ours.toml: line 9: beat.rate_per_min = 300, allowed: 100 to 120".to_owned()]),
            levels,
        ),
    })
}

/// A run that was played, its view, the house's banners, and the moment.
struct Played {
    name: &'static str,
    run: Run,
    view: View,
    house: &'static [cycle::Banner],
    now: Ms,
}

/// Every case, played once: what it is told in makes no difference to a run.
fn played() -> &'static [Played] {
    static PLAYED: OnceLock<Vec<Played>> = OnceLock::new();
    PLAYED.get_or_init(|| {
        let idle = [
            ("start", "example-adult"),
            ("start_child", "example-child"),
            ("start_newborn", "example-newborn"),
        ];
        let idle = idle.map(|(name, id)| {
            let run = Run::new(setup_of(id, &[]));
            let view = run.view(Ms::ZERO);
            assert_eq!((view.card, view.figure), (Card::Before, Figure::None));
            (name, run, view, &[][..], Ms::ZERO)
        });
        let mut wrong = Vec::new();
        let cases = cases::all().into_iter().map(|case| {
            let now = Ms::secs(case.until);
            let run = play(&case);
            let view = run.view(now);
            if view.figure == Figure::None {
                wrong.push(format!("{}: no figure", case.name));
            }
            if view.card != case.card {
                wrong.push(format!("{}: {:?}", case.name, view.card));
            }
            (case.name, run, view, case.house, now)
        });
        let all = idle.into_iter().chain(cases);
        let all = all
            .map(|(name, run, view, house, now)| Played {
                name,
                run,
                view,
                house,
                now,
            })
            .collect();
        assert_eq!(wrong, Vec::<String>::new(), "the card that is shown");
        all
    })
}

/// A listening test from its beginning to its figures, the answers the longest there are; of an invented listener,
/// in a language that has a voice.
fn listened(words: &Words) -> serde_json::Value {
    let mut longest = Prompt::ALL.to_vec();
    longest.sort_by_key(|prompt| std::cmp::Reverse(words.prompt(*prompt).chars().count()));
    longest.truncate(::listening::CHOICES);
    let asking = Progress::Asking {
        n: 12,
        choices: longest,
    };
    let done = answered(::listening::PROMPTS).progress();
    let shown = |progress: &Progress| words.listening(progress, words);
    serde_json::json!({
        "ready": shown(&Progress::Ready { n: 12 }),
        "sounding": shown(&Progress::Sounding { n: 12 }),
        "asking": shown(&asking),
        "done": shown(&done),
        "failed": shown(&Progress::Failed),
    })
}

/// All that the page's layout tests draw, in one language.
fn faces(words: &Words) -> (serde_json::Value, Vec<(String, serde_json::Value)>) {
    let screen = |it: &Played| {
        let screen = screen(words, &it.run, &it.view, it.house, it.now);
        let value = serde_json::to_value(screen).expect("json");
        (it.name.to_owned(), value)
    };
    let mut screens: Vec<_> = played().iter().map(screen).collect();
    screens.sort_by(|(a, _), (b, _)| a.cmp(b));
    let beside = serde_json::json!({
        "labels": words.labels("auto", false),
        "papers": papers(words),
        "listening": listened(words),
    });
    (beside, screens)
}

fn write(name: &str, text: &str) {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../tests/ui");
    let path = format!("{folder}/{name}");
    std::fs::write(&path, text).expect(&path);
}

#[test]
fn faces_are_written() {
    let (beside, screens) = faces(&Words::load("en-US").expect("en-US"));
    // A line a screen: a change of one is a change of one line.
    let lines: Vec<String> = screens
        .iter()
        .map(|(name, screen)| format!("\"{name}\": {screen}"))
        .collect();
    let text = format!(
        "{{\"labels\": {},\n\"papers\": {},\n\"listening\": {},\n\"screens\": {{\n{}\n}}}}\n",
        beside["labels"],
        beside["papers"],
        beside["listening"],
        lines.join(",\n")
    );
    write("faces.json", &text);
}
