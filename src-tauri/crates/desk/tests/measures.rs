//! `measures` and `export` as they are used, on a record that `rehearse` wrote.
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
    {"at_s": 26, "ev": "shock", "d": {"timed": true, "by": "us"}},
    {"at_s": 28, "ev": "compr_start", "d": {"by": "manual"}},
    {"at_s": 60, "ev": "end", "d": {"outcome": "handed_over"}}
]}"#;

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let name = format!("carrybeat-measures-{name}-{}", std::process::id());
        let path = std::env::temp_dir().join(name);
        drop(fs::remove_dir_all(&path));
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn path(&self, name: &str) -> String {
        self.0.join(name).to_string_lossy().into_owned()
    }

    fn record(&self) -> String {
        fs::write(self.0.join("script.json"), SCRIPT).unwrap();
        let out = carrybeat(&[
            "rehearse",
            &self.path("script.json"),
            "--wav",
            &self.path("out.wav"),
            "--record",
            &self.path("out.rec.jsonl"),
            "--cues",
            &self.path("out.json"),
        ]);
        assert!(out.status.success(), "{}", error(&out));
        self.path("out.rec.jsonl")
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

fn error(out: &Output) -> String {
    String::from_utf8_lossy(&out.stderr).into_owned()
}

fn said(out: &Output) -> String {
    String::from_utf8_lossy(&out.stdout).into_owned()
}

#[test]
fn a_rehearsal_is_measured_and_exported() {
    let folder = Folder::new("whole");
    let record = folder.record();
    let out = carrybeat(&["measures", &record]);
    assert!(out.status.success(), "{}", error(&out));
    let text = said(&out);
    assert!(
        text.contains("shock at 0:26: pre 6 s, post 2 s, peri 8 s"),
        "{text}"
    );
    assert!(text.contains("longest 8 s"), "{text}");

    let out = carrybeat(&["measures", &record, "--json", "--as-recorded"]);
    let found: serde_json::Value = serde_json::from_str(&said(&out)).unwrap();
    assert_eq!(found["basis"]["as"], "recorded");
    assert_eq!(found["time"]["compressing_ms"], 52_000);

    for (to, file) in [
        ("csv", "pauses.csv"),
        ("deidentified", "pauses.csv"),
        ("strip", "strip.svg"),
    ] {
        let place = folder.path(to);
        let out = carrybeat(&["export", &record, "--to", to, "--out", &place]);
        assert!(out.status.success(), "{}", error(&out));
        assert!(
            fs::metadata(PathBuf::from(&place).join(file))
                .unwrap()
                .len()
                > 0
        );
    }
    let told = fs::read_to_string(folder.path("strip/strip.txt")).unwrap();
    for line in [
        "0:20, off the chest, check, 8 s",
        "0:26, shock",
        "0:20, 8 s, check, compressions",
    ] {
        assert!(told.lines().any(|l| l == line), "{line}\n{told}");
    }
    for (to, begins) in [("pdf", "%PDF-1.7"), ("picture", "<svg ")] {
        let place = folder.path(&format!("one.{to}"));
        let out = carrybeat(&["export", &record, "--to", to, "--out", &place]);
        assert!(out.status.success(), "{}", error(&out));
        assert!(fs::read(&place).unwrap().starts_with(begins.as_bytes()));
    }
    let raw = folder.path("raw.rec.jsonl");
    let out = carrybeat(&["export", &record, "--to", "raw", "--out", &raw]);
    assert!(out.status.success(), "{}", error(&out));
    assert_eq!(fs::read(&raw).unwrap(), fs::read(&record).unwrap());
}

#[test]
fn two_deidentified_exports_have_nothing_in_common_to_find_the_run_by() {
    let folder = Folder::new("twice");
    let record = folder.record();
    let id = fs::read_to_string(&record).unwrap();
    let id: serde_json::Value = serde_json::from_str(id.lines().next().unwrap()).unwrap();
    let id = id["d"]["record_id"].as_str().unwrap();
    let mut ids = Vec::new();
    for name in ["one", "two"] {
        let place = folder.path(name);
        let out = carrybeat(&["export", &record, "--to", "deidentified", "--out", &place]);
        assert!(out.status.success(), "{}", error(&out));
        let runs = fs::read_to_string(PathBuf::from(&place).join("runs.csv")).unwrap();
        assert!(!runs.contains(id));
        let row = runs.lines().nth(1).unwrap().to_owned();
        ids.push(row.split(',').next().unwrap().to_owned());
    }
    assert_ne!(ids[0], ids[1]);
}

#[test]
fn what_is_wrong_is_named_with_its_place_and_what_is_allowed() {
    let folder = Folder::new("wrong");
    let record = folder.record();
    let text = folder.path("text.rec.jsonl");
    fs::write(&text, "not a record\n").unwrap();
    let there = folder.path("there");
    fs::create_dir(&there).unwrap();
    let new = folder.path("new");
    let cases: [(&[&str], &str); 10] = [
        (&["measures"], "a RECORD is needed"),
        (
            &["measures", &record, "--fast"],
            "option --fast, allowed: --as-recorded, --json",
        ),
        (&["measures", &record, &record], "allowed: one at a time"),
        (&["measures", "/no/such"], "/no/such: No such file"),
        (&["measures", &text], "this is not a record"),
        (
            &["export", &record, "--to", "paper", "--out", &new],
            "--to paper, allowed: csv, deidentified, pdf",
        ),
        (
            &[
                "export", &record, "--to", "pdf", "--out", &new, "--paper", "a3",
            ],
            "--paper a3, allowed: a4, letter",
        ),
        (
            &[
                "export", &record, "--to", "csv", "--out", &new, "--paper", "a4",
            ],
            "--paper a4 with --to csv, allowed: with --to pdf",
        ),
        (&["export", &record, "--to", "csv"], "--out are both needed"),
        (
            &["export", &record, "--to", "csv", "--out", &there],
            "a folder that is not there yet",
        ),
    ];
    for (words, expected) in cases {
        let out = carrybeat(words);
        assert_eq!(out.status.code(), Some(1), "{words:?}");
        assert!(error(&out).contains(expected), "{words:?}: {}", error(&out));
        assert_eq!(said(&out), "", "{words:?}");
    }
    let out = carrybeat(&["export", &record, "--to", "raw", "--out", &text]);
    assert!(
        error(&out).contains("a file that is not there yet"),
        "{}",
        error(&out)
    );
    assert_eq!(fs::read_to_string(&text).unwrap(), "not a record\n");
    assert!(fs::read_dir(&there).unwrap().next().is_none());
    assert!(!PathBuf::from(&new).exists());
}
