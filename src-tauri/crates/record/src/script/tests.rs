#![expect(
    clippy::arithmetic_side_effects,
    reason = "small numbers of these tests"
)]

mod amendments;
mod values;

use cycle::{
    Entry, Fact, Ms, Seq,
    fact::{Amend, AmendOp, AmendReason, Deed, Source, Way},
    mark::{By, CheckMark, FlowMark, GivenBy, Mark, PatientClass, RunMark},
};
use proptest::prelude::*;
use serde_json::{Value, json};

use super::{Act, RetellError, Script, ScriptAmend, from_record};
use crate::tests::make::{header, mark};

fn parse(script: &Value) -> Result<Script, String> {
    Script::parse(script.to_string().as_bytes()).map_err(|e| e.to_string())
}

/// A script whose second mark is this one, at 10 s.
fn with(ev: &str, d: &Value) -> Value {
    json!({"name": "a test", "marks": [
        {"at_s": 0, "ev": "arrest"},
        {"at_s": 10, "ev": ev, "d": d},
    ]})
}

#[test]
fn the_example_of_the_format_is_read() {
    let script = parse(&json!({
        "name": "two checks", "protocol": "adult-example", "class": "child", "lang": "en-US",
        "seed": 7, "end_s": 600,
        "marks": [
            {"at_s": 0, "ev": "start", "d": {"way": "device"}},
            {"at_s": 12.5, "age_ms": 120, "ev": "compr_stop", "d": {"reason": "rhythm_check"}},
            {"at_s": 20.001, "ev": "flag"},
            {"at_s": 21, "ev": "amend", "d": {"target": "last", "op": "retract", "reason": "mis_tap"}},
            {"at_s": 22, "ev": "amend",
             "d": {"target": "#2", "op": "retime", "at_ms": 9000, "reason": "crew_recall"}},
        ]
    }))
    .unwrap();
    assert_eq!((script.class, script.seed), (PatientClass::Child, 7));
    assert_eq!(script.end, Some(Ms(600_000)));
    assert_eq!(script.steps[0].act, Act::Start(Way::Device));
    let stop = &script.steps[1];
    assert_eq!(
        (stop.at, stop.age, stop.down()),
        (Ms(12_500), Ms(120), Ms(12_380))
    );
    assert_eq!(script.steps[2].at, Ms(20_001));
    assert_eq!(script.steps[3].act, Act::Undo);
    let Act::Amend(amend) = &script.steps[4].act else {
        panic!("no amendment");
    };
    assert_eq!(
        (amend.target, &amend.op),
        (1, &AmendOp::Retime { at_ms: Ms(9000) })
    );
    let short = parse(&json!({"name": "short", "marks": [{"at_s": 0, "ev": "arrest"}]})).unwrap();
    assert_eq!(
        (short.class, short.lang.as_str()),
        (PatientClass::Adult, "en-US")
    );
    assert_eq!((short.seed, short.end, short.protocol), (0, None, None));
}

#[test]
fn undo_takes_back_all_marks_of_a_touch() {
    let undo = || json!({"at_s": 30, "ev": "amend", "d": {"target": "last", "op": "retract", "reason": "mis_tap"}});
    let moved = json!({"at_s": 30, "ev": "amend", "d": {"target": "last", "op": "retime", "at_ms": 9000, "reason": "crew_recall"}});
    let script = parse(&json!({"name": "a test", "marks": [
        {"at_s": 0, "ev": "arrest"},
        {"at_s": 10, "ev": "flag"},
        {"at_s": 20, "age_ms": 120, "ev": "no_shock"},
        {"at_s": 20, "age_ms": 120, "ev": "compr_start", "d": {"by": "manual"}},
        undo(),
        moved,
    ]}))
    .unwrap();
    let Act::Amend(amend) = &script.steps[5].act else {
        panic!("no amendment");
    };
    assert_eq!(
        amend.target, 1,
        "the mark before that touch is the last one now"
    );
}

#[test]
fn a_wrong_time_or_field_is_named() {
    let mark = json!({"at_s": 0, "ev": "arrest"});
    let second = |second: Value| json!({"name": "a test", "marks": [mark, second]});
    let cases: &[(Value, &str)] = &[
        (json!([]), "file = []"),
        (
            json!({"marks": [mark]}),
            "name = null, allowed: 1 to 200 characters",
        ),
        (json!({"name": "", "marks": [mark]}), "name = \"\""),
        (json!({"name": 5, "marks": [mark]}), "name = 5"),
        (json!({"name": "n"}), "marks = null"),
        (json!({"name": "n", "marks": []}), "marks = []"),
        (json!({"name": "n", "marks": [5]}), "mark 1: mark = 5"),
        (
            json!({"name": "n", "marks": [mark], "tempo": 1}),
            "tempo = 1, allowed: no such field; the fields are name",
        ),
        (
            json!({"name": "n", "marks": [mark], "class": "elf"}),
            "class = \"elf\", allowed: adult, child, infant, newborn",
        ),
        (
            json!({"name": "n", "marks": [mark], "seed": -1}),
            "seed = -1",
        ),
        (
            json!({"name": "n", "marks": [mark], "end_s": "600"}),
            "end_s = \"600\"",
        ),
        (
            json!({"name": "n", "marks": [mark, {"at_s": 9, "ev": "flag"}], "end_s": 8}),
            "end_s = 8, allowed: seconds from 9 to 172800",
        ),
        (
            second(json!({"at_s": -1, "ev": "flag"})),
            "mark 2: at_s = -1",
        ),
        (
            second(json!({"at_s": 1e300, "ev": "flag"})),
            "mark 2: at_s = 1e+300",
        ),
        (
            second(json!({"at_s": 172_800.001, "ev": "flag"})),
            "mark 2: at_s = 172800.001",
        ),
        (
            second(json!({"at_s": 1.0005, "ev": "flag"})),
            "no finer than 0.001",
        ),
        (second(json!({"ev": "flag"})), "mark 2: at_s = null"),
        (second(json!({"at_s": 1, "ev": 5})), "mark 2: ev = 5"),
        (second(json!({"at_s": 1})), "mark 2: ev = null"),
        (
            second(json!({"at_s": 1, "ev": "flag", "src": "auto"})),
            "mark 2: src = \"auto\"",
        ),
        (
            second(json!({"at_s": 1, "ev": "flag", "age_ms": 1001})),
            "age_ms = 1001, allowed: whole milliseconds, 0 to 1000",
        ),
        (
            second(json!({"at_s": 60, "ev": "flag", "age_ms": 10_001})),
            "0 to 10000",
        ),
        (
            second(json!({"at_s": 60, "ev": "flag", "age_ms": -5})),
            "age_ms = -5",
        ),
        (
            second(json!({"at_s": 60, "ev": "flag", "age_ms": 1.5})),
            "age_ms = 1.5",
        ),
        (
            json!({"name": "n", "marks": [{"at_s": 5, "ev": "arrest"}, {"at_s": 4.999, "ev": "flag"}]}),
            "mark 2: at_s = 4.999, allowed: seconds from 5",
        ),
        (
            json!({"name": "n", "marks": [mark, {"at_s": 1, "ev": "end", "d": {"outcome": "rosc"}}, {"at_s": 2, "ev": "flag"}]}),
            "mark 3: ev = \"flag\", allowed: nothing but amend after an end that stands",
        ),
    ];
    for (script, says) in cases {
        let error = parse(script).unwrap_err();
        assert!(error.contains(says), "{script}: {error}");
    }
}

#[test]
fn what_is_no_json_or_says_a_thing_twice_is_refused() {
    let cases: &[(&[u8], &str)] = &[
        (b"", "EOF"),
        (b"\xff\xfe", "expected value"),
        (
            br#"{"name":"a","name":"b","marks":[]}"#,
            "\"name\" stands twice",
        ),
        (
            br#"{"name":"a","marks":[{"at_s":0,"at_s":1,"ev":"flag"}]}"#,
            "\"at_s\" stands twice",
        ),
        (
            br#"{"name":"a","marks":[{"at_s":1e999,"ev":"flag"}]}"#,
            "number out of range",
        ),
        (b"{} {}", "trailing characters"),
    ];
    for (bytes, says) in cases {
        let error = Script::parse(bytes).unwrap_err().to_string();
        assert!(
            error.starts_with("script: file = ") && error.contains(says),
            "{error}"
        );
    }
}

#[test]
fn a_false_that_is_left_out_in_writing_may_be_given() {
    for through in [false, true] {
        let d = json!({"timed": false, "by": "us", "through": through});
        let script = parse(&with("shock", &d)).unwrap();
        let shock = CheckMark::Shock {
            timed: false,
            by: GivenBy::Us,
            through,
            stacked: false,
            mode: None,
            energy_j: None,
        };
        assert_eq!(script.steps[1].act, Act::Mark(Mark::Check(shock)));
    }
}

fn log(facts: Vec<(u64, u64, Fact)>) -> Vec<Entry> {
    (2..)
        .zip(facts)
        .map(|(seq, (at, taken, fact))| Entry {
            seq: Seq(seq),
            at: Ms(at),
            taken: Ms(taken),
            src: match fact {
                Fact::Deed(_) => Source::Auto,
                Fact::Mark(_) | Fact::Amend(_) => Source::Button,
            },
            fact,
        })
        .collect()
}

fn on() -> Fact {
    Fact::Mark(Mark::Flow(FlowMark::ComprStart {
        by: By::Manual,
        mech_kind: None,
        basis: None,
    }))
}

fn run(mark: RunMark) -> Fact {
    Fact::Mark(Mark::Run(mark))
}

fn no_shock() -> Fact {
    Fact::Mark(Mark::Check(CheckMark::NoShock {}))
}

fn amend(target: u64, op: AmendOp, reason: AmendReason) -> Fact {
    Fact::Amend(Amend {
        target: Seq(target),
        op,
        reason,
        by_role: None,
    })
}

fn live() -> Vec<Entry> {
    let undone = |target| amend(target, AmendOp::Retract, AmendReason::MisTap);
    log(vec![
        (0, 0, Fact::Deed(Deed::Start { way: Way::Hand })),
        (0, 0, run(RunMark::Arrest { basis: None })),
        (0, 0, on()),
        (10_000, 10_000, Fact::Deed(Deed::Heartbeat {})),
        (20_000, 20_120, no_shock()),
        (20_000, 20_120, on()),
        (21_000, 21_000, undone(7)),
        (21_000, 21_000, undone(6)),
        (30_000, 30_085, run(RunMark::Flag {})),
        (
            40_000,
            40_000,
            amend(
                10,
                AmendOp::Retime { at_ms: Ms(25_000) },
                AmendReason::CrewRecall,
            ),
        ),
        (50_000, 50_000, run(RunMark::Flag {})),
        (60_000, 60_000, undone(10)),
        (70_000, 70_000, Fact::Deed(Deed::Heartbeat {})),
    ])
}

#[test]
fn a_live_record_is_told_as_the_acts_of_its_crew() {
    let script = from_record("a run", Some("adult-example"), &header(), &live()).unwrap();
    let told: Vec<_> = script.steps.iter().map(|s| (s.at.0, s.age.0)).collect();
    assert_eq!(
        told,
        [
            (0, 0),
            (0, 0),
            (20_120, 120),
            (20_120, 120),
            (21_000, 0),
            (30_085, 85),
            (40_000, 0),
            (50_000, 0),
            (60_000, 0)
        ]
    );
    // One key press took both marks of one touch back.
    assert_eq!(script.steps[4].act, Act::Undo);
    assert_eq!(
        script.steps[6].act,
        Act::Amend(ScriptAmend {
            target: 5,
            op: AmendOp::Retime { at_ms: Ms(25_000) },
            reason: AmendReason::CrewRecall
        })
    );
    // Not the latest mark: no key does that.
    assert_eq!(
        script.steps[8].act,
        Act::Amend(ScriptAmend {
            target: 5,
            op: AmendOp::Retract,
            reason: AmendReason::MisTap
        })
    );
    assert_eq!(script.end, Some(Ms(70_000)));
    assert_eq!(
        Script::parse(script.to_json().to_string().as_bytes()),
        Ok(script)
    );
}

#[test]
fn a_record_without_a_mark_or_with_a_stray_amendment_is_not_told() {
    let deed = log(vec![(0, 0, Fact::Deed(Deed::Heartbeat {}))]);
    assert_eq!(
        from_record("n", None, &header(), &deed),
        Err(RetellError::NoMark)
    );
    let stray = log(vec![
        (0, 0, on()),
        (9, 9, amend(7, AmendOp::Retract, AmendReason::Duplicate)),
    ]);
    assert_eq!(
        from_record("n", None, &header(), &stray),
        Err(RetellError::Target {
            seq: Seq(3),
            target: Seq(7)
        })
    );
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1000) })]

    #[test]
    fn any_script_is_read_as_it_was_written(
        marks in proptest::collection::vec((mark(), 0..50_000_u64, 0..1000_u64), 1..12)
    ) {
        let mut taken = 1000;
        let mut facts = Vec::new();
        for (mark, later, age) in marks {
            if super::check::mark(&mark).is_ok() {
                taken += later;
                facts.push((taken - age, taken, Fact::Mark(mark)));
            }
        }
        let is_end = |f: &Fact| matches!(f, Fact::Mark(Mark::Run(RunMark::End { .. })));
        if let Some(end) = facts.iter().position(|(_, _, f)| is_end(f)) {
            facts.truncate(end + 1);
        }
        prop_assume!(!facts.is_empty());
        let script = from_record("any", None, &header(), &log(facts)).unwrap();
        let json = script.to_json().to_string();
        prop_assert_eq!(Script::parse(json.as_bytes()), Ok(script), "{}", json);
    }

    #[test]
    fn the_script_reader_takes_any_bytes(bytes in proptest::collection::vec(0..=u8::MAX, 0..300)) {
        drop(Script::parse(&bytes));
    }

    #[test]
    fn the_script_reader_takes_any_mangled_script(at in 0..400_usize, byte in 0..=u8::MAX) {
        let script = from_record("a run", None, &header(), &live()).unwrap();
        let mut bytes = script.to_json().to_string().into_bytes();
        let at = at % bytes.len();
        bytes[at] = byte;
        drop(Script::parse(&bytes));
    }
}
