//! `trends` as it is used: which copy of a record counts, and what folders of runs tell.
#![expect(
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use record::Digest;

const RECORD: &str = include_str!("../../record/golden/record-1.4.0.rec.jsonl");

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let name = format!("carrybeat-trends-{name}-{}", std::process::id());
        let path = std::env::temp_dir().join(name);
        drop(fs::remove_dir_all(&path));
        fs::create_dir_all(path.join("in/runs")).unwrap();
        Self(path)
    }

    fn put(&self, name: &str, text: &str) {
        fs::write(self.0.join("in").join(name), text).unwrap();
    }

    /// A list that `trends` writes, without its head and without what it says of each.
    fn list(&self, name: &str) -> Vec<String> {
        let out = self.0.join("out");
        drop(fs::remove_dir_all(&out));
        let done = Command::new(env!("CARGO_BIN_EXE_carrybeat"))
            .arg("trends")
            .arg(self.0.join("in"))
            .arg("--out")
            .arg(&out)
            .output()
            .unwrap();
        assert!(done.status.success(), "{done:?}");
        self.written(name)
    }

    fn written(&self, name: &str) -> Vec<String> {
        let text = fs::read_to_string(self.0.join("out").join(name)).unwrap();
        text.lines().skip(1).map(str::to_owned).collect()
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.join("in").join(name)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.0));
    }
}

fn fingerprint(record: &str) -> String {
    Digest::of(record.lines().last().unwrap().as_bytes()).to_string()
}

fn line(fingerprint: &str) -> String {
    format!("{{\"fingerprint\":\"{fingerprint}\"}}\n")
}

fn replace_by_folder(path: &Path) {
    fs::remove_file(path).unwrap();
    fs::create_dir(path).unwrap();
}

/// The changed copy lies before the sound one, and is as long and as sealed.
#[test]
fn a_changed_copy_never_displaces_the_sound_one() {
    let folder = Folder::new("changed");
    let changed = RECORD.replace("\"energy_j\":200", "\"energy_j\":300");
    assert!(changed != RECORD && changed.len() == RECORD.len());
    folder.put("0.rec.jsonl", &changed);
    folder.put("1.rec.jsonl", RECORD);
    let copies = folder.list("copies.csv");
    assert_eq!(copies.len(), 1);
    assert!(
        copies[0].ends_with(",0.rec.jsonl,differs,1.rec.jsonl"),
        "{copies:?}"
    );
}

/// A hand-in of an older program has in it what holds no run: the phone has nothing else to hand in.
#[test]
fn of_what_holds_no_run_in_a_hand_in_no_other_one_is_asked_for() {
    let folder = Folder::new("noise");
    let sha256 = Digest::of(b"hello").to_string();
    let piece =
        format!(r#"{{"record_id":"b","bytes":5,"sha256":"{sha256}","fingerprint":"{sha256}"}}"#);
    let made = r#""made":"2026-11-28T12:00:00.000-05:00""#;
    let head = format!(r#"{{"schema":"handin/1.1.0",{made},"records":[{piece}]}}"#);
    folder.put("one.handin", &format!("{head}\nhello"));
    let left = folder.list("left-out.csv");
    assert_eq!(left.len(), 1, "{left:?}");
    assert!(
        left[0].starts_with("one.handin: record b,foreign,"),
        "{left:?}"
    );
    assert!(!left[0].contains("hand it in again"), "{left:?}");
    assert!(left[0].contains("so it lies on the phone"), "{left:?}");
}

/// Where there is nothing to report no report is written; where nothing could be read it is said first.
#[test]
fn a_folder_without_a_record_is_said_to_be_one() {
    let folder = Folder::new("empty");
    let trends = || {
        let mut command = Command::new(env!("CARGO_BIN_EXE_carrybeat"));
        command.arg("trends").arg(folder.0.join("in"));
        command.arg("--out").arg(folder.0.join("out"));
        command.output().unwrap()
    };
    let done = trends();
    let said = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(1), "{said}");
    let what = "no record and no hand-in, allowed: a folder with records (ID.rec.jsonl) and hand-ins; nothing was written";
    assert!(said.contains(what), "{said}");
    assert!(!folder.0.join("out").exists());
    folder.put("b.rec.jsonl", "hello");
    let done = trends();
    assert!(done.status.success());
    let said = String::from_utf8(done.stdout).unwrap();
    assert!(
        said.starts_with("no record could be read: the report is of none\n"),
        "{said}"
    );
    assert!(said.contains("left out: b.rec.jsonl: foreign"), "{said}");
}

/// In a folder of runs a file that holds none waits for no hand-in: it is left out with its reason.
#[test]
fn what_holds_no_run_is_not_said_to_wait_for_a_hand_in() {
    let folder = Folder::new("no-run");
    folder.put("runs/lock", "");
    folder.put("runs/b.rec.jsonl", "hello");
    assert_eq!(folder.list("missing.csv"), [""; 0]);
    let left = folder.written("left-out.csv");
    assert_eq!(left.len(), 1, "{left:?}");
    assert!(left[0].starts_with("runs/b.rec.jsonl,foreign,"), "{left:?}");
}

/// Of two runs one was handed in; the list names one more that is gone, and one that was deleted.
#[test]
fn a_folder_of_runs_tells_what_is_missing_and_which_list_cannot_be_read() {
    let folder = Folder::new("runs");
    let other = RECORD.replace("d0e1f", "d0e1e");
    // Another id, and so another last line once it is cut before its seal.
    let other: String = other.split_inclusive('\n').take(40).collect();
    folder.put(
        "runs/0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1f.rec.jsonl",
        RECORD,
    );
    folder.put(
        "runs/0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1e.rec.jsonl",
        &other,
    );
    // Without a list and without a lock they are records that lie loose.
    assert_eq!(folder.list("missing.csv"), [""; 0]);
    folder.put("runs/lock", "");
    let of = |name: &str, what: &str, by: &str| format!("{name},{what},{by}");
    let one = "0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1e";
    let two = "0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1f";
    let never = |id: &str, by: &str| of(id, "never_handed_in", by);
    assert_eq!(
        folder.list("missing.csv"),
        [never(one, "runs"), never(two, "runs")]
    );

    let (lost, deleted) = ("e".repeat(64), "d".repeat(64));
    let handed = [&fingerprint(RECORD), &lost, &deleted].map(|print| line(print));
    folder.put("runs/handed-in.jsonl", &handed.concat());
    folder.put("runs/tombstones.jsonl", &line(&deleted));
    let told_by = "runs/handed-in.jsonl";
    let gone = |name: &str| of(name, "handed_in_but_not_here", told_by);
    assert_eq!(
        folder.list("missing.csv"),
        [never(one, told_by), gone(&lost)]
    );

    // A line that is no tombstone is said, and the others hold.
    folder.put(
        "runs/tombstones.jsonl",
        &format!("{}half a li\n", line(&deleted)),
    );
    assert_eq!(
        folder.list("missing.csv"),
        [never(one, told_by), gone(&lost)]
    );
    let left = |start: &str| {
        let left = folder.written("left-out.csv");
        left.into_iter().find(|row| row.starts_with(start))
    };
    let said = left("runs/tombstones.jsonl,unreadable,").unwrap();
    assert!(said.contains("line 2"), "{said}");

    replace_by_folder(&folder.path("runs/tombstones.jsonl"));
    assert_eq!(
        folder.list("missing.csv"),
        [never(one, told_by), gone(&deleted), gone(&lost)]
    );
    assert!(left("runs/tombstones.jsonl,unreadable,").is_some());
    // Of a list that cannot be read nothing is made up.
    replace_by_folder(&folder.path("runs/handed-in.jsonl"));
    assert_eq!(folder.list("missing.csv"), [""; 0]);
    assert!(left("runs/handed-in.jsonl,unreadable,").is_some());
}
