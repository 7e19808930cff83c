#![expect(
    clippy::arithmetic_side_effects,
    reason = "expected values are plain arithmetic; a test may overflow"
)]

use ::listening::{Facts, Output, Test, add_up, are_alike};
use cycle::{ClipLengths, CueId, Ms};

use super::*;

const ID: CueId = CueId(1);

/// An invented test, answered right but for every third prompt, whose last one nobody heard.
pub(crate) fn answered(until: usize) -> Test {
    let clips = Prompt::ALL.iter().map(|p| (*p, 1000)).collect();
    let facts = Facts {
        sheet: "0a1b2c3d4e5f".to_owned(),
        version: "0.1.0".to_owned(),
        pack: "en-US".to_owned(),
        pack_sha256: "0123456789abcdef".to_owned(),
        date: "2026-01-01".to_owned(),
        device: "linux x86_64".to_owned(),
    };
    let clips = ClipLengths::new(clips).expect("each");
    let level = Level::of(6).expect("one of them");
    let mut test = Test::new(facts, level, Some(12), 20_260_101, clips);
    for n in 0..until {
        let now = Ms(u64::try_from(n).expect("few") * 10_000);
        let choices = asked(&mut test, now);
        let right = ::listening::draw(20_260_101)[n].prompt;
        let wrong = choices.iter().find(|c| **c != right).copied();
        let answer = if n % 3 == 2 { wrong } else { Some(right) };
        let answer = answer.filter(|_| n + 1 != PROMPTS);
        test.answer(n + 1, answer, now.plus(Ms(4000)));
    }
    test
}

/// Lets the next prompt be heard to its end.
pub(crate) fn asked(test: &mut Test, now: Ms) -> Vec<Prompt> {
    test.play(ID, now, 6).expect("one waits");
    let output = Output {
        kind: "speaker".to_owned(),
        hz: 48_000,
    };
    test.begun(ID, now, Some(output));
    test.tick(now.plus(Ms(3000)));
    let Progress::Asking { choices, .. } = test.progress() else {
        panic!("{:?}", test.progress());
    };
    choices
}

fn words(lang: &str) -> Words {
    Words::load(lang).expect(lang)
}

#[test]
fn a_test_is_shown_from_its_first_prompt_to_its_figures() {
    let words = words("en-US");
    let shown = |test: &Test| words.listening(&test.progress(), &words);
    let mut test = answered(0);
    let ready = shown(&test);
    assert_eq!((ready.phase, ready.n), (ListeningPhase::Ready, 1));
    assert_eq!(ready.place, "1 of 12");
    let choices = asked(&mut test, Ms(0));
    let asking = shown(&test);
    assert_eq!(asking.phase, ListeningPhase::Asking);
    let labels: Vec<_> = choices.iter().map(|p| words.prompt(*p)).collect();
    let keys: Vec<_> = asking.choices.iter().map(|key| key.label.clone()).collect();
    assert_eq!(keys, labels);
    let result = shown(&answered(PROMPTS)).result.expect("it is over");
    // The interval is that of 7 of 10. Source: scipy 1.17.1, binomtest(7, 10).proportion_ci(0.95, "exact"):
    // 0.3475 to 0.9333.
    let pressing = right_of_pressing();
    assert_eq!(pressing, 7, "of the invented listener's ten");
    assert_eq!(
        result.lines,
        [
            "Right: 8 of 12",
            "Urgent prompts right: 7 of 10",
            "That leaves open anything from 34.8 to 93.3\u{a0}% (exact 95\u{a0}% interval).",
            "Aim: 95\u{a0}% of urgent prompts right, over the sheets of all listeners.",
            "One test is too few to judge: it takes 150 urgent answers, 15 tests. With fewer, 95\u{a0}% right may be less \
             than 90\u{a0}% in truth.",
        ]
    );
    assert_eq!(result.confusions.rows.len(), 4);
    assert!(result.confusions.rows.iter().all(|row| row[0] != row[1]));
    assert_eq!(result.confusions.rows[3][1], "Heard Nothing");
    let facts: Vec<_> = result.facts.iter().map(|f| f.value.as_str()).collect();
    assert_eq!(
        facts,
        [
            "+6 dB(A)",
            "6 dB below full",
            "en-US 01234567",
            "20260101",
            "12",
            "linux x86_64",
            "48000 Hz",
            "2026-01-01"
        ]
    );
}

fn done() -> Sheet {
    let Progress::Done(sheet) = answered(PROMPTS).progress() else {
        panic!("it is over");
    };
    *sheet
}

/// What the app does not know of a sheet, such as one of before, has no line; what has changed within it has both.
#[test]
fn the_way_of_the_sound_is_shown_as_far_as_it_is_known() {
    let words = words("en-GB");
    let names = |sheet: Sheet| -> Vec<(String, String)> {
        let shown = words.listening(&Progress::Done(Box::new(sheet)), &words);
        let facts = shown.result.expect("it is over").facts;
        facts
            .into_iter()
            .map(|fact| (fact.name, fact.value))
            .collect()
    };
    let value = |facts: &[(String, String)], name: &str| {
        let found = facts.iter().find(|(of, _)| of == name);
        found.map(|(_, value)| value.clone())
    };
    let mut sheet = done();
    sheet.rows[4].way.voice_db = Some(0);
    sheet.rows[5].way.output = None;
    let facts = names(sheet.clone());
    assert_eq!(
        value(&facts, "Voice level").as_deref(),
        Some("6 dB below full, full")
    );
    assert_eq!(value(&facts, "Sound output").as_deref(), Some("48000 Hz"));
    for row in &mut sheet.rows {
        row.way = Way::default();
    }
    let facts = names(sheet);
    assert_eq!(value(&facts, "Voice level"), None);
    assert_eq!(value(&facts, "Sound output"), None);
    assert_eq!(facts.len(), 6, "{facts:?}");
}

/// Of one test it is said that it is too few; of enough, whether the aim is reached.
#[test]
fn the_total_of_few_answers_says_neither() {
    let words = words("en-US");
    let total = |sheets: usize, wrong: usize| {
        let mut all = vec![done(); sheets];
        let rows = || {
            all.iter()
                .map(|sheet| sheet.pressing().asked)
                .sum::<usize>()
        };
        assert_eq!(rows(), sheets * 10);
        let rows = all.iter_mut().flat_map(|sheet| &mut sheet.rows);
        let pressing = rows.filter(|row| ::listening::is_pressing(row.prompt));
        for (n, row) in pressing.enumerate() {
            row.answer = (n >= wrong).then_some(row.prompt);
        }
        let groups = add_up(&all);
        words.listening_total(&groups[0])
    };
    assert_eq!(
        total(1, 0),
        "Urgent prompts of this voice at +6 dB(A), all sheets: 10 of 10 right. Too few to judge: it takes 150 \
         answers, 15 tests. With fewer, 95 % right may be less than 90 % in truth."
    );
    assert!(total(15, 7).ends_with("143 of 150 right. The aim of 95 % is reached."));
    assert!(total(15, 8).ends_with("142 of 150 right. The aim of 95 % is not reached."));
}

fn right_of_pressing() -> usize {
    done().pressing().right
}

#[test]
fn answers_stand_in_the_language_of_the_voice() {
    let (screen, voice) = (words("es-ES"), words("en-US"));
    let mut test = answered(0);
    let choices = asked(&mut test, Ms(0));
    let shown = screen.listening(&test.progress(), &voice);
    assert_eq!(shown.lang, "en-US");
    assert_eq!(shown.choices[0].label, voice.prompt(choices[0]));
    assert_eq!(shown.place, "1 de 12");
}

/// What begins with the same word is what is taken for one another: it must stand among the answers, so it must be
/// of one kind. And of two answers that read alike none could be right.
#[test]
fn prompts_that_begin_alike_are_of_one_kind_and_no_two_say_the_same() {
    let first = |text: &str| {
        let word = text.split_whitespace().next().unwrap_or_default();
        word.trim_matches(|c: char| !c.is_alphanumeric())
            .to_lowercase()
    };
    let mut found = Vec::new();
    for lang in Words::languages() {
        let words = words(lang);
        for (n, one) in Prompt::ALL.iter().enumerate() {
            for other in &Prompt::ALL[n + 1..] {
                let (a, b) = (words.prompt(*one), words.prompt(*other));
                if a == b || first(&a) == first(&b) && !are_alike(*one, *other) {
                    found.push(format!("{lang}: {a} {b}"));
                }
            }
        }
    }
    assert!(found.is_empty(), "{found:#?}");
}
