//! Every case of `worked/cases.json`, worked by hand.

use serde::Deserialize;
use serde_json::{Map, Value};

use super::make::{CaseLine, protocol, record};
use crate::{Basis, Known, measures};

#[derive(Deserialize)]
struct Case {
    name: String,
    window_s: Option<u32>,
    lines: Vec<CaseLine>,
    #[serde(default)]
    recorded: bool,
    expect: Map<String, Value>,
}

fn cases() -> Vec<Case> {
    serde_json::from_str(include_str!("../../worked/cases.json")).unwrap()
}

/// A number with a point may differ in the fifth place; everything else is exact.
fn agrees(found: &Value, worked: &Value) -> bool {
    match (found, worked) {
        (Value::Number(a), Value::Number(b)) if b.is_f64() => {
            (a.as_f64().unwrap() - b.as_f64().unwrap()).abs() < 1e-5
        }
        _ => found == worked,
    }
}

#[test]
fn the_measures_are_what_was_worked_out_by_hand() {
    let mut wrong = Vec::new();
    // One for all cases, whose protocols are not all the same.
    let mut known = Known::default();
    for case in cases() {
        let bytes = record(&case.lines, &protocol(case.window_s));
        let opened = record::open(&bytes).unwrap();
        assert_eq!(opened.damage, [], "{}", case.name);
        let basis = if case.recorded {
            Basis::Recorded
        } else {
            Basis::Amended
        };
        let found = measures(&opened, basis).unwrap();
        for turn in ["first", "again"] {
            let same = known.measures(&opened, basis).unwrap();
            assert_eq!(same, found, "{}, {turn}", case.name);
        }
        let found = serde_json::to_value(found).unwrap();
        for (place, worked) in &case.expect {
            match found.pointer(place) {
                Some(found) if agrees(found, worked) => {}
                found => wrong.push(format!(
                    "{}: {place}: {found:?}, by hand {worked}",
                    case.name
                )),
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_measure_names_its_window_and_the_version_of_its_definition() {
    let case = cases().pop().unwrap();
    let bytes = record(&case.lines, &protocol(None));
    let opened = record::open(&bytes).unwrap();
    let found = serde_json::to_value(measures(&opened, Basis::Amended).unwrap()).unwrap();
    let about = [
        "version",
        "basis",
        "record_id",
        "kind",
        "is_sound",
        "protocol",
        "windows",
    ];
    let mut named = 0;
    for (name, value) in found.as_object().unwrap() {
        if about.contains(&name.as_str()) || value.is_null() {
            continue;
        }
        named += 1;
        let window = if name == "fraction_from_compression" {
            "compression"
        } else {
            "recognition"
        };
        assert_eq!(value["window"], window, "{name}");
        assert_eq!(value["version"], crate::VERSION, "{name}");
    }
    assert_eq!(named, 16);
}
