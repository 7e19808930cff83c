//! The golden files, kept for ever: each opens with the numbers that stand beside it, counted by hand.

use std::{collections::BTreeSet, fs, path::Path};

use serde_json::Value;

use crate::{DamageKind, Opened, Schema, Tail, Verdict, open, verify};

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/golden");

fn numbers() -> serde_json::Map<String, Value> {
    let text = fs::read(Path::new(FOLDER).join("numbers.json")).unwrap();
    serde_json::from_slice(&text).unwrap()
}

fn number(of: &Value, name: &str) -> usize {
    usize::try_from(of[name].as_u64().unwrap()).unwrap()
}

fn list(of: &Value, name: &str) -> Option<Vec<u64>> {
    let list = of.get(name)?.as_array().unwrap();
    Some(list.iter().map(|n| n.as_u64().unwrap()).collect())
}

fn is_as_counted(name: &str, of: &Value, bytes: &[u8], read: &Opened) {
    let torn = |d: &&crate::Damage| matches!(d.what, DamageKind::Torn { .. });
    assert!(
        read.is_sound() && read.broken_at.is_none(),
        "{name}: {:?}",
        read.damage
    );
    assert_eq!(
        read.damage.iter().filter(torn).count(),
        number(of, "torn"),
        "{name}"
    );
    let tail = match &read.tail {
        Tail::Clean => 0,
        Tail::NoLineFeed => 1,
        Tail::Torn(bytes) => bytes.len(),
    };
    assert_eq!(tail, number(of, "tail"), "{name}");
    assert_eq!(read.entries.len(), number(of, "entries"), "{name}");
    assert_eq!(read.unknown.len(), number(of, "unknown"), "{name}");
    assert_eq!(read.seals.len(), number(of, "seals"), "{name}");
    let boots: BTreeSet<&str> = read
        .stamps
        .iter()
        .map(|stamp| stamp.boot.as_str())
        .collect();
    assert_eq!(boots.len(), number(of, "boots"), "{name}");
    let processes: BTreeSet<u32> = read.stamps.iter().map(|stamp| stamp.proc).collect();
    assert_eq!(processes.len(), number(of, "processes"), "{name}");
    assert_eq!(
        read.last_run.0,
        of["last_run_ms"].as_u64().unwrap(),
        "{name}"
    );
    for (field, found) in [
        (
            "taken_ms",
            read.entries.iter().map(|e| e.taken.0).collect::<Vec<_>>(),
        ),
        ("at_ms", read.entries.iter().map(|e| e.at.0).collect()),
    ] {
        if let Some(counted) = list(of, field) {
            assert_eq!(found, counted, "{name}: {field}");
        }
    }
    if let Some(kinds) = of.get("unknown_kinds") {
        let found: Vec<&str> = read
            .unknown
            .iter()
            .map(|unknown| unknown.ev.as_str())
            .collect();
        assert_eq!(kinds, &serde_json::json!(found), "{name}");
        assert!(read.newer_minor, "{name}");
    }
    let kept = of
        .get("fingerprint")
        .map(|kept| kept.as_str().unwrap().parse().unwrap());
    let verdict = if kept.is_some() {
        Verdict::Whole
    } else {
        Verdict::NotProven
    };
    assert_eq!(verify(read, kept), verdict, "{name}");
    // Nothing of it is lost: a line that is not known is kept with what it says.
    let lines = bytes.split_inclusive(|b| *b == b'\n').count();
    let heads = 2;
    let known = read.entries.len() + read.unknown.len() + read.seals.len() + heads;
    assert_eq!(
        known + number(of, "torn") + usize::from(tail > 1),
        lines,
        "{name}"
    );
}

#[test]
fn every_golden_file_opens_with_the_numbers_beside_it() {
    let numbers = numbers();
    let mut seen = Vec::new();
    for file in fs::read_dir(FOLDER).unwrap() {
        let path = file.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if name.ends_with(".rec.jsonl") {
            let bytes = fs::read(&path).unwrap();
            let of = numbers
                .get(&name)
                .unwrap_or_else(|| panic!("no numbers of {name}"));
            is_as_counted(&name, of, &bytes, &open(&bytes).unwrap());
            seen.push(name);
        }
    }
    assert_eq!(seen.len(), numbers.len(), "{seen:?}");
    // One of each version, the present one included.
    let page = include_str!("../../../../../docs/record.md");
    let versions = page.split("\n| ").filter_map(|row| {
        let version = row.split_once(" |")?.0;
        let plain = version.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        (plain && version.split('.').count() == 3).then_some(version)
    });
    let versions: Vec<&str> = ["1.0.0"].into_iter().chain(versions).collect();
    assert_eq!(
        Schema::CURRENT.to_string(),
        format!("record/{}", versions.last().unwrap())
    );
    for version in versions {
        let name = format!("record-{version}.rec.jsonl");
        assert!(seen.contains(&name), "no {name}");
    }
}

#[test]
fn what_a_newer_app_wrote_is_kept_with_its_fields() {
    let bytes = fs::read(Path::new(FOLDER).join("newer-1.9.3.rec.jsonl")).unwrap();
    let read = open(&bytes).unwrap();
    assert_eq!(read.unknown[0].d["hz"], 440);
    assert_eq!(read.unknown[1].d["reason"], "tea");
    assert_eq!(read.seals[0].0.alg.as_deref(), Some("none-yet"));
}
