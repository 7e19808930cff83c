//! Amendments of a script's marks.

use cycle::{
    Ms,
    fact::{AmendOp, AmendReason},
    mark::{AirMark, AirwayAct, FlowMark, Mark, Reason},
};
use serde_json::{Value, json};

use super::{amend, live, parse};
use crate::{
    script::{Act, Script, ScriptAmend, from_record},
    tests::make::header,
};

#[test]
#[expect(clippy::too_many_lines, reason = "one table, one row a fault")]
fn a_wrong_amendment_is_named() {
    let amend = |d: Value| {
        parse(&json!({"name": "a test", "marks": [
            {"at_s": 0, "ev": "arrest"},
            {"at_s": 1, "ev": "flag"},
            {"at_s": 2, "ev": "amend", "d": {"target": "last", "op": "retract", "reason": "mis_tap"}},
            {"at_s": 10, "ev": "amend", "d": d},
        ]}))
        .unwrap_err()
    };
    let cases: &[(Value, &str)] = &[
        (
            json!({"target": "#4", "op": "retract", "reason": "mis_tap"}),
            "\"#1\" to \"#3\"",
        ),
        (
            json!({"target": "#0", "op": "retract", "reason": "mis_tap"}),
            "d.target = \"#0\"",
        ),
        (
            json!({"target": "#01", "op": "retract", "reason": "mis_tap"}),
            "d.target = \"#01\"",
        ),
        (
            json!({"target": "#3", "op": "retract", "reason": "mis_tap"}),
            "not a start or an amendment",
        ),
        (
            json!({"target": "#2", "op": "retract", "reason": "duplicate"}),
            "it was taken back",
        ),
        (
            json!({"target": 1, "op": "retract", "reason": "mis_tap"}),
            "d.target = 1",
        ),
        (
            json!({"op": "retract", "reason": "mis_tap"}),
            "d.target = null",
        ),
        (
            json!({"target": "last", "op": "retract", "reason": "mis_tap"}),
            "the touch that began the run",
        ),
        (
            json!({"target": "#1", "op": "erase", "reason": "mis_tap"}),
            "erase",
        ),
        (
            json!({"target": "#1", "op": "retime", "reason": "mis_tap"}),
            "at_ms",
        ),
        (
            json!({"target": "#1", "op": "retract", "at_ms": 5, "reason": "mis_tap"}),
            "d.at_ms = 5",
        ),
        (
            json!({"target": "#1", "op": "retime", "at_ms": 10_001, "reason": "late_entry"}),
            "d.at_ms = 10001, allowed: 0 to 10000",
        ),
        (
            json!({"target": "#1", "op": "retime", "at_ms": 5, "reason": "why_not"}),
            "late_entry",
        ),
        (
            json!({"target": "#1", "op": "retime", "at_ms": 5, "reason": "late_entry", "x": 1}),
            "d.x = 1",
        ),
        (
            json!({"target": "#1", "op": "replace", "reason": "mis_tap"}),
            "d.new = null, allowed: an object with ev and d",
        ),
        (
            json!({"target": "#1", "op": "replace", "new": "rosc", "reason": "mis_tap"}),
            "d.new = \"rosc\"",
        ),
        (
            json!({"target": "#1", "op": "replace", "new": {"ev": "tea"}, "reason": "mis_tap"}),
            "d.new.ev = \"tea\", allowed: arrest",
        ),
        (
            json!({"target": "#1", "op": "replace", "new": {"ev": "cue"}, "reason": "mis_tap"}),
            "the app writes cue itself",
        ),
        (
            json!({"target": "#1", "op": "replace", "new": {"ev": "amend"}, "reason": "mis_tap"}),
            "d.new.ev = \"amend\", allowed: a mark, not a start or an amendment",
        ),
        (
            json!({"target": "#1", "op": "replace", "new": {"ev": "rosc", "d": []}, "reason": "mis_tap"}),
            "d.new.d = []",
        ),
        (
            json!({"target": "#1", "op": "replace", "new": {"ev": "rosc", "at_s": 5}, "reason": "mis_tap"}),
            "d.new.at_s = 5, allowed: no such field; the fields are ev, d",
        ),
        (
            json!({"target": "#1", "op": "replace", "new": {"ev": "rosc", "d": {"x": 1}}, "reason": "mis_tap"}),
            "d.new.d.x = 1",
        ),
        (
            json!({"target": "#1", "op": "replace", "new": {"ev": "note", "d": {"code": "Jo Doe"}}, "reason": "mis_tap"}),
            "d.new.d.code = \"Jo Doe\"",
        ),
        (
            json!({"target": "#1", "op": "replace", "new": {"ev": "rosc"}, "at_ms": 5, "reason": "mis_tap"}),
            "d.at_ms = 5",
        ),
        (
            json!({"target": "#1", "op": "retime", "at_ms": 5, "new": {"ev": "rosc"}, "reason": "mis_tap"}),
            "d.new",
        ),
        (
            json!({"target": "#2", "op": "replace", "new": {"ev": "rosc"}, "reason": "mis_tap"}),
            "it was taken back",
        ),
    ];
    for (d, says) in cases {
        let error = amend(d.clone());
        assert!(
            error.contains("mark 4") && error.contains(says),
            "{d}: {error}"
        );
    }
}

#[test]
fn a_mark_is_replaced_by_another_one() {
    let script = parse(&json!({"name": "a test", "marks": [
        {"at_s": 0, "ev": "arrest"},
        {"at_s": 10, "ev": "compr_stop", "d": {"reason": "shock"}},
        {"at_s": 20, "ev": "amend", "d": {"target": "#2", "op": "replace", "reason": "mis_tap",
            "new": {"ev": "compr_stop", "d": {"reason": "airway"}}}},
        {"at_s": 21, "ev": "amend", "d": {"target": "last", "op": "replace", "reason": "crew_recall",
            "new": {"ev": "rosc"}}},
    ]}))
    .unwrap();
    let to = |new| ScriptAmend {
        target: 1,
        op: AmendOp::Replace { new },
        reason: AmendReason::MisTap,
    };
    let airway = Mark::Flow(FlowMark::ComprStop {
        reason: Reason::Airway,
    });
    assert_eq!(script.steps[2].act, Act::Amend(to(airway)));
    let rosc = ScriptAmend {
        reason: AmendReason::CrewRecall,
        ..to(Mark::Flow(FlowMark::Rosc {}))
    };
    assert_eq!(script.steps[3].act, Act::Amend(rosc));
    let again = Script::parse(script.to_json().to_string().as_bytes());
    assert_eq!(again, Ok(script));
}

#[test]
fn a_mark_replaced_by_an_end_ends_the_script() {
    let error = parse(&json!({"name": "a test", "marks": [
        {"at_s": 0, "ev": "arrest"},
        {"at_s": 10, "ev": "flag"},
        {"at_s": 20, "ev": "amend", "d": {"target": "last", "op": "replace", "reason": "mis_tap",
            "new": {"ev": "end", "d": {"outcome": "rosc"}}}},
        {"at_s": 30, "ev": "flag"},
    ]}))
    .unwrap_err();
    assert!(
        error
            .contains("mark 4: ev = \"flag\", allowed: nothing but amend after an end that stands"),
        "{error}"
    );
}

#[test]
fn after_an_end_that_was_taken_back_the_script_goes_on() {
    let with = |target: &str| {
        parse(&json!({"name": "a test", "marks": [
            {"at_s": 0, "ev": "arrest"},
            {"at_s": 9, "ev": "flag"},
            {"at_s": 10, "ev": "end", "d": {"outcome": "stopped"}},
            {"at_s": 20, "ev": "amend", "d": {"target": target, "op": "retract", "reason": "mis_tap"}},
            {"at_s": 30, "ev": "flag"},
        ]}))
    };
    assert_eq!(with("last").unwrap().steps.len(), 5);
    assert_eq!(with("#3").unwrap().steps.len(), 5);
    let error = with("#2").unwrap_err();
    assert!(error.contains("mark 5: ev = \"flag\""), "{error}");
}

#[test]
fn a_mark_that_was_moved_or_replaced_still_goes_with_its_touch() {
    let change = |target: &str, d: Value| {
        let mut d = d;
        d["target"] = json!(target);
        d["reason"] = json!("mis_tap");
        json!({"at_s": 30, "ev": "amend", "d": d})
    };
    let script = parse(&json!({"name": "a test", "marks": [
        {"at_s": 0, "ev": "arrest"},
        {"at_s": 10, "ev": "flag"},
        {"at_s": 20, "age_ms": 120, "ev": "no_shock"},
        {"at_s": 20, "age_ms": 120, "ev": "compr_start", "d": {"by": "manual"}},
        change("#3", json!({"op": "retime", "at_ms": 15_000})),
        change("#4", json!({"op": "replace", "new": {"ev": "rosc"}})),
        change("last", json!({"op": "retract"})),
        change("last", json!({"op": "retime", "at_ms": 9000})),
    ]}))
    .unwrap();
    assert_eq!(script.steps[6].act, Act::Undo);
    let Act::Amend(amend) = &script.steps[7].act else {
        panic!("no amendment");
    };
    assert_eq!(amend.target, 1, "both marks of the touch are gone");
}

#[test]
fn a_replacement_in_a_live_record_is_told() {
    let mut log = live();
    let last = log.last().unwrap().clone();
    let new = Mark::Air(AirMark::Airway {
        act: AirwayAct::Lost,
        device: None,
        attempt: None,
        success: None,
        technique: None,
    });
    let op = AmendOp::Replace { new };
    log.push(cycle::Entry {
        seq: cycle::Seq(last.seq.0 + 1),
        at: Ms(80_000),
        taken: Ms(80_000),
        src: cycle::fact::Source::Button,
        fact: amend(12, op.clone(), AmendReason::CrewRecall),
    });
    let script = from_record("a run", None, &header(), &log).unwrap();
    let told = script.steps.last().unwrap();
    // The twelfth line of the record is the flag at 50 s, the script's eighth step.
    assert_eq!(script.steps[7].at, Ms(50_000));
    assert_eq!(
        told.act,
        Act::Amend(ScriptAmend {
            target: 7,
            op,
            reason: AmendReason::CrewRecall
        })
    );
    let again = Script::parse(script.to_json().to_string().as_bytes());
    assert_eq!(again, Ok(script));
}
