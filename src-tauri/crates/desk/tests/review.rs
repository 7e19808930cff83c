//! `review`, `hand-in`, `unpack` and the keeping of runs as they are used, on a record that `rehearse` wrote.
#![expect(
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

use std::{
    fs,
    path::PathBuf,
    process::{Command, Output},
};

const SCRIPT: &str = r#"{"name": "invented", "protocol": "example-adult", "end_s": 70, "marks": [
    {"at_s": 0, "ev": "compr_start", "d": {"by": "manual"}},
    {"at_s": 20, "ev": "compr_stop", "d": {"reason": "rhythm_check"}},
    {"at_s": 24, "ev": "flag"},
    {"at_s": 28, "ev": "compr_start", "d": {"by": "manual"}},
    {"at_s": 60, "ev": "end", "d": {"outcome": "handed_over"}}
]}"#;

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let name = format!("carrybeat-review-{name}-{}", std::process::id());
        let path = std::env::temp_dir().join(name);
        drop(fs::remove_dir_all(&path));
        fs::create_dir_all(path.join("runs")).unwrap();
        Self(path)
    }

    fn path(&self, name: &str) -> String {
        self.0.join(name).to_string_lossy().into_owned()
    }

    fn record(&self) -> String {
        fs::write(self.0.join("script.json"), SCRIPT).unwrap();
        let record = self.path("runs/out.rec.jsonl");
        let script = self.path("script.json");
        let (wav, cues) = (self.path("out.wav"), self.path("out.json"));
        good(&[
            "rehearse", &script, "--wav", &wav, "--record", &record, "--cues", &cues,
        ]);
        record
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.0));
    }
}

fn carrybeat(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_carrybeat"))
        .args(words)
        .output()
        .unwrap()
}

fn good(words: &[&str]) -> String {
    let out = carrybeat(words);
    let error = String::from_utf8_lossy(&out.stderr).into_owned();
    assert!(out.status.success(), "{words:?}: {error}");
    String::from_utf8(out.stdout).unwrap()
}

fn bad(words: &[&str]) -> String {
    let out = carrybeat(words);
    assert!(!out.status.success(), "{words:?}");
    String::from_utf8(out.stderr).unwrap()
}

/// The number of the line that a list names by these words.
fn line_of(list: &str, words: &str) -> u64 {
    let line = list.lines().find(|line| line.contains(words)).unwrap();
    let number = line.strip_prefix("line ").unwrap().split(':').next();
    number.unwrap().parse().unwrap()
}

#[test]
fn a_record_is_reviewed_handed_in_unpacked_and_deleted() {
    let folder = Folder::new("all");
    let record = folder.record();
    let before = fs::read(&record).unwrap();
    let list = good(&["review", &record, "--list"]);
    assert!(
        list.contains("as amended, revision 1, 0 unsealed"),
        "{list}"
    );
    assert!(list.contains("24000 ms: flag {}; no name yet"), "{list}");
    let (flag, stop) = (line_of(&list, "flag"), line_of(&list, "compr_stop"));
    let file = folder.path("amend.json");
    let text = format!(
        r##"{{"amendments": [
        {{"op": "replace", "target": {flag}, "reason": "crew_recall",
         "new": {{"ev": "note", "d": {{"code": "bag_changed"}}}}}},
        {{"op": "retime", "target": {stop}, "at_ms": 18000, "reason": "other_clock"}},
        {{"op": "add", "at_ms": 40000, "reason": "late_entry", "new": {{"ev": "rotate"}}}},
        {{"op": "retract", "target": "#3", "reason": "duplicate"}}
    ]}}"##
    );
    fs::write(&file, text).unwrap();
    let said = good(&["review", &record, "--amend", &file]);
    assert!(said.contains("as amended, revision 2"), "{said}");
    assert!(fs::read(&record).unwrap().starts_with(&before));
    let list = good(&["review", &record, "--list"]);
    for wanted in [
        "as amended, revision 2, 0 unsealed",
        "note {\"code\":\"bag_changed\"}; as recorded 24000 ms: flag {}",
        "18000 ms: compr_stop {\"reason\":\"rhythm_check\"}; as recorded 20000 ms",
        "40000 ms: rotate {}; added; retracted",
        "revision 2",
    ] {
        assert!(list.contains(wanted), "{wanted}: {list}");
    }
    // The pause of 8 s is one of 10 s now, and as recorded it is not.
    let now = good(&["measures", &record, "--json"]);
    let then = good(&["measures", &record, "--json", "--as-recorded"]);
    assert!(now.contains("\"longest_ms\": 10000"), "{now}");
    assert!(then.contains("\"longest_ms\": 8000"), "{then}");

    let runs = folder.path("runs");
    let out = folder.path("monday.handin");
    let said = good(&["hand-in", &runs, "--out", &out]);
    assert!(said.contains(": 1 run\n"), "{said}");
    let next = folder.path("tuesday.handin");
    let none = bad(&["hand-in", &runs, "--out", &next]);
    assert!(none.contains("nothing to hand in"), "{none}");
    let desk = folder.path("desk");
    let said = good(&["unpack", &out, "--out", &desk]);
    assert!(said.contains("1 new"), "{said}");
    let there = fs::read(folder.0.join("desk/out.rec.jsonl")).unwrap();
    assert_eq!(there, fs::read(&record).unwrap());

    good(&["hold", &runs, "out"]);
    let held = bad(&["delete", &runs, "out"]);
    assert!(held.contains("release it first"), "{held}");
    assert!(good(&["runs", &runs]).contains("on hold"));
    good(&["release", &runs, "out"]);
    good(&["delete", &runs, "--all"]);
    let left = good(&["runs", &runs]);
    assert!(left.starts_with("deleted 2"), "{left}");
    assert!(!PathBuf::from(&record).exists());
}

#[test]
fn amendments_that_make_no_sense_are_refused_and_nothing_is_written() {
    let folder = Folder::new("bad");
    let record = folder.record();
    let before = fs::read(&record).unwrap();
    let file = folder.path("amend.json");
    for (text, wanted) in [
        ("[]", "a JSON object"),
        (r#"{"amendments": []}"#, "at least one amendment"),
        (
            r#"{"amendments": [{"op": "retract", "target": 3}]}"#,
            "d.reason",
        ),
        (
            r#"{"amendments": [{"op": "retract", "target": -1, "reason": "mis_tap"}]}"#,
            "d.target = -1",
        ),
        (
            r#"{"amendments": [{"op": "retract", "target": "last", "reason": "mis_tap"}]}"#,
            "d.target = \"last\"",
        ),
        (
            r#"{"amendments": [{"op": "retract", "target": 2, "reason": "mis_tap"}]}"#,
            "amendment 1: amend: target = 2 (a deed)",
        ),
        (
            r#"{"amendments": [{"op": "add", "at_ms": -5, "reason": "mis_tap", "new": {"ev": "rotate"}}]}"#,
            "d.at_ms = -5",
        ),
        (
            r#"{"amendments": [{"op": "add", "target": 3, "at_ms": 5, "reason": "mis_tap", "new": {"ev": "rotate"}}]}"#,
            "none where a mark is added",
        ),
        (
            r#"{"amendments": [{"op": "add", "at_ms": 5, "reason": "mis_tap", "new": {"ev": "heartbeat"}}]}"#,
            "the app writes heartbeat itself",
        ),
        (
            r#"{"amendments": [{"op": "add", "at_ms": 5, "reason": "mis_tap", "by_role": "chief", "new": {"ev": "rotate"}}]}"#,
            "d.by_role",
        ),
    ] {
        fs::write(&file, text).unwrap();
        let said = bad(&["review", &record, "--amend", &file]);
        assert!(said.contains(wanted), "{text}: {said}");
    }
    let said = bad(&["review", &folder.path("script.json"), "--list"]);
    assert!(said.contains("such as RUN.rec.jsonl"), "{said}");
    assert_eq!(fs::read(&record).unwrap(), before);
    // A run may be going on where the app has the folder.
    let lock = fs::OpenOptions::new()
        .write(true)
        .create(true)
        .truncate(false)
        .open(folder.0.join("runs/lock"))
        .unwrap();
    lock.try_lock().unwrap();
    fs::write(
        &file,
        r#"{"amendments": [{"op": "add", "at_ms": 5, "reason": "mis_tap", "new": {"ev": "rotate"}}]}"#,
    )
    .unwrap();
    let said = bad(&["review", &record, "--amend", &file]);
    assert!(said.contains("is in use"), "{said}");
    assert_eq!(fs::read(&record).unwrap(), before);
}
