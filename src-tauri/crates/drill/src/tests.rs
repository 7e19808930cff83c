#![expect(
    clippy::arithmetic_side_effects,
    reason = "small numbers; an overflow fails the test"
)]

mod scenarios;
mod spacing;
mod walks;

use cycle::{
    Mark, Ms,
    mark::{By, FlowMark, Reason},
};
use serde_json::{Value, json};

use crate::Scenario;

fn s(seconds: u32) -> Ms {
    Ms::secs(seconds)
}

fn stop(at: u32) -> (Ms, Mark) {
    let reason = Reason::RhythmCheck;
    (s(at), Mark::Flow(FlowMark::ComprStop { reason }))
}

fn back(at: u32) -> (Ms, Mark) {
    let mark = FlowMark::ComprStart {
        by: By::Manual,
        mech_kind: None,
        basis: None,
    };
    (s(at), Mark::Flow(mark))
}

/// Two cues and two marks: off 10 s after the first cue, back 5 s after a second that follows the stop.
fn small() -> Value {
    json!({
        "format": "drill/1.0.0", "id": "small", "version": "1", "letter": "X",
        "name": {"en": "Small", "es": "Breve"}, "scene": {"en": "Invented."},
        "begin": "hand", "end_s": 100,
        "cues": [
            {"id": "go", "after_s": 20, "vary_s": 9, "say": {"en": "Go."}},
            {"id": "then", "from": "off", "after_s": 3, "latest_s": 60, "choices": [
                {"id": "one", "say": {"en": "One."}}, {"id": "two", "kind": "rhythm", "say": {"en": "Two."}}]}
        ],
        "expect": [
            {"id": "off", "name": {"en": "Off"}, "from": "go", "ev": "compr_stop", "d": {"reason": "rhythm_check"},
             "within_s": 10, "weight": 1},
            {"id": "on", "name": {"en": "On"}, "from": "then", "ev": "compr_start", "within_s": 5, "weight": 2,
             "needs": ["off"], "must": true}
        ]
    })
}

fn parsed(value: &Value) -> Scenario {
    Scenario::parse(value.to_string().as_bytes()).unwrap()
}
