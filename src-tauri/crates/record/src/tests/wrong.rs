//! A wrong line of each kind, and what the reader says of it. `tests/py/test_schema.py` holds the lines written
//! here against docs/record.schema.json with a validator that shares no code with ours: what is written must
//! pass, and what the reader refuses must not.

use std::{collections::BTreeMap, fmt::Write as _};

use proptest::{strategy::ValueTree, test_runner::TestRunner};
use serde_json::{Value, json};

use super::{
    files::{V1_8, all_kinds},
    make::{Begun, fact, header, protocol, stamp},
};
use crate::{
    Body, Chain, Header, Scenario, Window, decode, encode_header, encode_protocol, line::both_ways,
};

/// Whether the reader takes a line for what its kind says.
fn takes(line: &[u8]) -> bool {
    match decode(line) {
        Err(_) => false,
        Ok(line) => match line.body {
            Body::Header(d) => Header::parse(&d).is_ok(),
            Body::Unknown { fault, .. } => fault.is_none(),
            Body::Protocol(_) | Body::Fact(_) | Body::Seal(_) => true,
        },
    }
}

/// Every member and element of a value, as JSON pointers.
fn places(value: &Value, at: &str, out: &mut Vec<String>) {
    match value {
        Value::Object(parts) => {
            for (name, part) in parts {
                let place = format!("{at}/{name}");
                places(part, &place, out);
                out.push(place);
            }
        }
        Value::Array(parts) => {
            for (n, part) in parts.iter().enumerate() {
                let place = format!("{at}/{n}");
                places(part, &place, out);
                out.push(place);
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

fn missing(line: &Value, place: &str) -> Option<Value> {
    let (holder, name) = place.rsplit_once('/')?;
    let mut line = line.clone();
    line.pointer_mut(holder)?.as_object_mut()?.remove(name)?;
    Some(line)
}

/// The line with other values at a place: of a wrong type, and strays of the right one.
fn other(line: &Value, place: &str) -> Vec<(&'static str, Value)> {
    let found = line.pointer(place).unwrap();
    let values = match found {
        Value::String(_) => vec![
            ("type", json!(5)),
            ("stray", json!("tea")),
            ("stray", json!("")),
            ("type", json!({})),
        ],
        Value::Number(_) => vec![
            ("type", json!("5")),
            ("stray", json!(-1)),
            ("stray", json!(0.5)),
            ("stray", json!(70_000)),
            ("stray", json!(5_000_000_000_u64)),
            ("stray", json!(3e19)),
        ],
        Value::Bool(_) => vec![("type", json!("true")), ("type", json!(1))],
        Value::Array(_) => vec![("type", json!({})), ("type", json!("x"))],
        Value::Object(_) => vec![("type", json!([])), ("type", json!("x"))],
        Value::Null => vec![("type", json!("x")), ("stray", json!(-1))],
    };
    let with = |value| {
        let mut line = line.clone();
        *line.pointer_mut(place).unwrap() = value;
        line
    };
    values
        .into_iter()
        .map(|(sort, value)| (sort, with(value)))
        .collect()
}

/// Lines with every field that may be absent, beside those of the golden file.
fn heads() -> Vec<Vec<u8>> {
    let mut header = header();
    header.unit_code = Some("unit_7".to_owned());
    header.scenario = Some(Scenario {
        id: "invented".to_owned(),
        version: "1".to_owned(),
    });
    header.clock.last_sync_s = Some(60);
    header.settings.drug_windows = vec![Window {
        name: "adrenaline".to_owned(),
        min_s: 180,
        max_s: 300,
    }];
    let mut chain = Chain::new();
    let mut protocol = protocol();
    protocol.others = vec!["another = 1\n".to_owned()];
    vec![
        encode_header(&mut chain, &stamp(0), &header).unwrap(),
        encode_protocol(&mut chain, &stamp(0), &protocol).unwrap(),
    ]
}

/// So many lines as the writer writes them, of any kind and content.
fn written(lines: usize) -> Vec<Vec<u8>> {
    let mut runner = TestRunner::deterministic();
    let fact = fact();
    let mut begun = Begun::new();
    let heads = heads();
    for n in 0..lines as u64 {
        let (src, fact) = proptest::strategy::Strategy::new_tree(&fact, &mut runner)
            .unwrap()
            .current();
        begun.add(n * 700 - n % 2 * 85, n * 700, src, fact);
    }
    begun.seal(lines as u64 * 700, 1);
    let golden = V1_8
        .bytes
        .split_inclusive(|b| *b == b'\n')
        .map(<[u8]>::to_vec);
    golden.chain(heads).chain(begun.lines).collect()
}

/// Where the lines go for the other program, and how many are made up.
fn asked_for() -> (Option<std::ffi::OsString>, usize) {
    let many = std::env::var_os("CARRYBEAT_FULL").is_some();
    (
        std::env::var_os("CARRYBEAT_LINES"),
        if many { 10_000 } else { 600 },
    )
}

#[test]
fn the_reader_refuses_a_wrong_line_of_each_kind() {
    let (out, many) = asked_for();
    let mut text = String::new();
    let mut note = |sort: &str, place: &str, reads: bool, line: &str| {
        let head = json!({ "sort": sort, "place": place, "reads": reads });
        writeln!(text, "{head}\t{line}").unwrap();
    };
    // Per kind: refused for a field that is missing, of a wrong type, a stray value.
    let mut refused: BTreeMap<(String, &str), usize> = BTreeMap::new();
    for (n, line) in written(many).iter().enumerate() {
        let line = std::str::from_utf8(line).unwrap().trim_end();
        assert!(takes(line.as_bytes()), "{line}");
        note("written", "", true, line);
        // Every kind is in the golden file and the heads; each member of theirs is made wrong once.
        let golden = V1_8.bytes.split_inclusive(|b| *b == b'\n').count();
        if n >= golden + heads().len() {
            continue;
        }
        let line: Value = serde_json::from_str(line).unwrap();
        let ev = line["ev"].as_str().unwrap().to_owned();
        let mut all = Vec::new();
        places(&line, "", &mut all);
        for place in all {
            let mut wrong = other(&line, &place);
            wrong.extend(missing(&line, &place).map(|line| ("missing", line)));
            for (sort, wrong) in wrong {
                let wrong = wrong.to_string();
                let reads = takes(wrong.as_bytes());
                if let Some((quick @ Some(_), slow)) = both_ways(wrong.as_bytes()) {
                    assert_eq!(quick, slow, "{wrong}");
                }
                note(sort, &place, reads, &wrong);
                if !reads {
                    *refused.entry((ev.clone(), sort)).or_default() += 1;
                }
            }
        }
    }
    for ev in all_kinds(&["header", "protocol", "amend", "seal"]) {
        for sort in ["missing", "type", "stray"] {
            assert!(refused.contains_key(&(ev.clone(), sort)), "{ev}: no {sort}");
        }
    }
    if let Some(out) = out {
        std::fs::write(out, text).unwrap();
    }
}
