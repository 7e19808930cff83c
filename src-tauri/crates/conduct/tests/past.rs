//! The list of kept runs and a run's plain debrief, of the thirty-five minute rehearsal and of files
//! that are none.
#![expect(
    clippy::expect_used,
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

use std::{
    fs,
    path::{Path, PathBuf},
};

use conduct::{FileStore, Heads, fakes::FakeSpeaker, past};
use cycle::{
    ClipLengths, Ms, Prompt,
    mark::{Outcome, Reason},
};
use record::{Digest, RunKind, script::Script};

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let name = format!("carrybeat-past-{name}-{}", std::process::id());
        let path = std::env::temp_dir().join(name);
        drop(fs::remove_dir_all(&path));
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.0));
    }
}

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
    };
    let mut speaker = FakeSpeaker::new();
    let rehearsed = conduct::rehearse(&script, setup, &heads, &mut speaker);
    rehearsed.expect("the rehearsal").record
}

/// Worked out by hand from the script: from the finger's way down at each hands off to that at the
/// next hands on (each mark's `at_s` less its `age_ms`).
const PAUSES: [(u64, u64, Reason); 12] = [
    (43_890, 50_900, Reason::RhythmCheck),
    (172_880, 181_100, Reason::RhythmCheck),
    (302_900, 310_100, Reason::RhythmCheck),
    (374_910, 381_400, Reason::DeviceFit),
    (390_910, 397_670, Reason::DeviceFit),
    (872_900, 886_900, Reason::DeviceReseat),
    (1_439_900, 1_487_900, Reason::Power),
    // The mistaken pulse was taken back: the pause goes on to the device's start.
    (1_493_900, 1_500_900, Reason::PulseCheck),
    (1_619_900, 1_627_900, Reason::DeviceFault),
    (1_671_900, 1_679_000, Reason::RhythmCheck),
    (1_801_900, 1_808_900, Reason::RhythmCheck),
    (1_999_900, 2_007_900, Reason::DeviceFit),
];

#[test]
fn the_rehearsal_tells_its_pauses_as_the_script_has_them() {
    let folder = Folder::new("told");
    fs::write(
        folder.0.join("one.rec.jsonl"),
        rehearsed(RunKind::Rehearsal),
    )
    .unwrap();
    let told = past::told(&FileStore::at(&folder.0), "one").expect("told");
    let found: Vec<_> = told
        .pauses
        .iter()
        .map(|p| (p.from.0, p.to.0, p.reason))
        .collect();
    assert_eq!(found, PAUSES);
    // 67 rows of the script are marks, two of them the start's; the mistaken one and the amendment
    // are not told.
    assert_eq!(told.marks.len(), script_marks() - 1);
    assert_eq!(told.past.outcome, Some(Outcome::HandedOver));
    // The record has the key; example-adult-b, the run's own protocol, has the service's name.
    let name = (
        "adrenaline".to_owned(),
        "Epinephrine (adrenaline)".to_owned(),
    );
    assert!(told.drugs.contains(&name), "{:?}", told.drugs);
    // docs/record.md: SHA-256 of the last line, without its line feed.
    let record = rehearsed(RunKind::Rehearsal);
    let whole = record.strip_suffix(b"\n").expect("a line feed at the end");
    let last = whole.rsplit(|b| *b == b'\n').next().expect("a line");
    assert_eq!(told.past.fingerprint, Digest::of(last));
}

/// The script's rows that are marks: all but the start and the amendment.
fn script_marks() -> usize {
    let path =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../tests/scripts/reference-35.json");
    let text = fs::read_to_string(path).unwrap();
    let others = text
        .matches("\"ev\": \"start\"")
        .count()
        .saturating_add(text.matches("\"ev\": \"amend\"").count());
    text.matches("\"at_s\"").count().saturating_sub(others)
}

#[test]
fn files_that_are_no_run_are_passed_over_and_damage_is_told() {
    let folder = Folder::new("list");
    let whole = rehearsed(RunKind::Drill);
    let text = String::from_utf8(whole.clone()).unwrap();
    let changed = text.replacen(
        "\"reason\":\"rhythm_check\"",
        "\"reason\":\"pulse_check\" ",
        1,
    );
    assert_ne!(changed, text);
    fs::write(folder.0.join("a.rec.jsonl"), &whole).unwrap();
    fs::write(folder.0.join("b.rec.jsonl"), changed).unwrap();
    fs::write(folder.0.join("c.rec.jsonl"), "{}").unwrap();
    fs::write(folder.0.join("d.txt"), &whole).unwrap();
    let store = FileStore::at(&folder.0);
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
    // The script ends at 2100 s; nothing is written after that.
    assert!(runs[0].length <= Ms(2_101_000) && runs[0].length >= Ms(2_093_900));
    assert!(past::told(&store, "c").is_err());
    assert!(past::told(&store, "../a").is_err());
}
