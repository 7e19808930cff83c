//! The list of kept runs, of the thirty-five minute rehearsal and of files
//! that are none.
#![expect(
    clippy::expect_used,
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

#[path = "house/folder.rs"]
mod folder;

use std::{fs, path::Path};

use conduct::{FileStore, Heads, fakes::FakeSpeaker, past};
use cycle::{ClipLengths, Ms, Prompt, mark::Outcome};
use record::{Digest, RunKind, script::Script};

use folder::Folder;

fn rehearsed(kind: RunKind) -> Vec<u8> {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../tests/scripts/reference-35.json");
    let script = Script::parse(&fs::read(path).unwrap()).expect("the script");
    let clips = ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap();
    let setup = conduct::of_example("example-adult-b", clips)
        .unwrap()
        .unwrap();
    let heads = Heads {
        kind,
        version: "0".to_owned(),
        pack_id: "none".to_owned(),
        pack_sha256: Digest::of(b""),
        lang: "en-US".to_owned(),
        tz: "UTC".to_owned(),
        record_id: "2f0c6f0e-7a8e-4b5c-9d61-0d9f1f2a3b4c".to_owned(),
        scenario: None,
        unit_code: None,
    };
    let mut speaker = FakeSpeaker::new();
    let rehearsed = conduct::rehearse(&script, setup, &heads, &mut speaker);
    rehearsed.expect("the rehearsal").record
}

#[test]
fn a_run_in_the_list_has_its_end_and_its_fingerprint() {
    let folder = Folder::new();
    let record = rehearsed(RunKind::Rehearsal);
    fs::write(folder.path().join("one.rec.jsonl"), &record).unwrap();
    let run = past::runs(&FileStore::at(folder.path()), 1)
        .unwrap()
        .remove(0);
    assert_eq!(run.outcome, Some(Outcome::HandedOver));
    // docs/record.md: SHA-256 of the last line, without its line feed.
    let whole = record.strip_suffix(b"\n").expect("a line feed at the end");
    let last = whole.rsplit(|b| *b == b'\n').next().expect("a line");
    assert_eq!(run.fingerprint, Digest::of(last));
}

#[test]
fn files_that_are_no_run_are_named_and_damage_is_told() {
    let folder = Folder::new();
    let whole = rehearsed(RunKind::Drill);
    let text = String::from_utf8(whole.clone()).unwrap();
    let changed = text.replacen(
        "\"reason\":\"rhythm_check\"",
        "\"reason\":\"pulse_check\" ",
        1,
    );
    assert_ne!(changed, text);
    fs::write(folder.path().join("a.rec.jsonl"), &whole).unwrap();
    fs::write(folder.path().join("b.rec.jsonl"), changed).unwrap();
    fs::write(folder.path().join("c.rec.jsonl"), "{}").unwrap();
    fs::write(folder.path().join("d.txt"), &whole).unwrap();
    let store = FileStore::at(folder.path());
    let mut runs = past::runs(&store, 10).unwrap();
    runs.sort_by(|a, b| a.record_id.cmp(&b.record_id));
    let found: Vec<_> = runs
        .iter()
        .map(|run| (run.record_id.as_str(), run.is_sound, run.kind))
        .collect();
    assert_eq!(
        found,
        [("a", true, RunKind::Drill), ("b", false, RunKind::Drill)]
    );
    assert_eq!(past::runs(&store, 1).unwrap().len(), 1);
    // A page has room for some runs; of what cannot be read all is named.
    fs::write(folder.path().join("e.rec.jsonl"), "").unwrap();
    for (most, listed) in [(10, 2), (1, 1), (0, 0)] {
        let kept = past::kept(&store, most).unwrap();
        assert_eq!(kept.runs.len(), listed);
        let mut unread: Vec<String> = kept.unread.iter().map(ToString::to_string).collect();
        unread.sort_unstable();
        assert_eq!(
            unread,
            [
                "c.rec.jsonl: this is not a record: its first line is not a header",
                "e.rec.jsonl: the file is empty; a record begins with a header line"
            ]
        );
    }
    // The script ends at 2094 s by a touch that is 100 ms old, and goes on until 2100 s.
    assert_eq!(runs[0].length, Ms(2_093_900));
}
