//! `carrybeat listening` as it is used: sheets in, their sum out, a bad one with every fault.
#![expect(
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Output},
    sync::atomic::{AtomicU32, Ordering},
};

use listening::{Facts, Level, Row, Sheet, Way, draw};

struct Folder(PathBuf);

impl Folder {
    fn new() -> Self {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let n = NEXT.fetch_add(1, Ordering::Relaxed);
        let name = format!("carrybeat-desk-listening-{}-{n}", std::process::id());
        let path = std::env::temp_dir().join(name);
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn with(&self, name: &str, text: &str) -> PathBuf {
        let path = self.0.join(name);
        fs::write(&path, text).unwrap();
        path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.0));
    }
}

fn run(words: &[&Path]) -> (bool, String) {
    let Output {
        status,
        stdout,
        stderr,
    } = Command::new(env!("CARGO_BIN_EXE_carrybeat"))
        .arg("listening")
        .args(words)
        .output()
        .unwrap();
    let said = [stdout, stderr].concat();
    (status.success(), String::from_utf8(said).unwrap())
}

/// An invented listener who takes fifteen for fifty wherever it comes up, and nothing else.
fn sheet(id: &str, listener: u16, seed: u32) -> Sheet {
    let rows = draw(seed).into_iter().map(|trial| Row {
        answer: Some(if trial.prompt == cycle::Prompt::Off15 {
            cycle::Prompt::Off50
        } else {
            trial.prompt
        }),
        prompt: trial.prompt,
        choices: trial.choices,
        ms: 1200,
        way: Way::default(),
    });
    let fact = |text: &str| text.to_owned();
    Sheet {
        facts: Facts {
            sheet: fact(id),
            version: fact("0.1.0"),
            pack: fact("en-US"),
            pack_sha256: "0123456789abcdef".repeat(4),
            date: fact("2026-01-01"),
            device: fact("invented"),
        },
        level: Level::of(6).unwrap(),
        listener: Some(listener),
        seed,
        rows: rows.collect(),
    }
}

/// A seed that draws fifteen seconds off.
fn with_fifteen(from: u32) -> u32 {
    let has = |seed: &u32| draw(*seed).iter().any(|t| t.prompt == cycle::Prompt::Off15);
    (from..u32::MAX).find(has).unwrap()
}

/// The interval of 18 of 20. Source: scipy 1.17.1, `binomtest(18, 20).proportion_ci(0.95, "exact")`: 0.6830 to
/// 0.9877; of 22 of 24: 0.7300 to 0.9897.
#[test]
fn two_sheets_are_added_up_with_what_was_taken_for_what() {
    let folder = Folder::new();
    let first = with_fifteen(0);
    let one = folder.with("one.csv", &sheet("a1", 1, first).csv());
    let two = folder.with(
        "two.csv",
        &sheet("b2", 2, with_fifteen(first.saturating_add(1))).csv(),
    );
    let out = folder.0.join("sum.csv");
    let (good, said) = run(&[&one, &two, Path::new("--csv"), &out]);
    assert!(good, "{said}");
    for line in [
        "pack en-US 01234567, 6 dB(A) over the noise: sheets 2, numbers of listeners 2\n",
        "  all: 22 of 24 right, 91.7 % (73.0 to 99.0)\n",
        "  urgent (class A and B): 18 of 20 right, 90.0 % (68.3 to 98.8); too few to judge: 150 answers are wanted \
         (15 tests), for with fewer the exact 95 % interval of 95 % right reaches below 90 %\n",
        "  off15         0 of 2\n",
        "  off15 taken for off50: 2\n",
    ] {
        assert!(said.contains(line), "{line} in {said}");
    }
    let table = fs::read_to_string(&out).unwrap();
    assert!(
        table.contains(",class_ab,,,,20,18,0.6830,0.9877,150,too_few\n"),
        "{table}"
    );
    assert!(
        table.contains(",taken_for,off15,off50,2,,,,,,\n"),
        "{table}"
    );
    // The app writes its totals beside the sheets, and all of the folder is named together.
    let (good, with_totals) = run(&[&out, &one, &two]);
    assert!(
        good && with_totals.contains("sum.csv: totals, no sheet; left out\n")
            && with_totals.contains("  all: 22 of 24 right"),
        "{with_totals}"
    );
    let (good, said) = run(&[&out]);
    assert!(!good && said.contains("no sheet among them"), "{said}");
    let (good, said) = run(&[&one, Path::new("--csv"), &out]);
    assert!(
        !good && said.contains("sum.csv") && said.contains("allowed: a new file"),
        "{said}"
    );
}

#[test]
fn every_fault_is_named_with_file_place_and_remedy_and_nothing_is_added_up() {
    let folder = Folder::new();
    let text = sheet("a1", 1, 5).csv();
    let good = folder.with("good.csv", &text);
    let bad = folder.with(
        "bad.csv",
        &text.replace("a1,", "c3,").replace(",6,5,", ",7,5,"),
    );
    let gone = folder.0.join("gone.csv");
    let (is_good, said) = run(&[&good, &good, &bad, &gone]);
    assert!(!is_good && !said.contains("right,"), "{said}");
    for part in [
        "good.csv: sheet a1 a second time, allowed: each once; leave one of them out",
        "bad.csv: line 2, level_dba: \"7\", allowed: 0, 6 or 12; export the sheet again",
        "bad.csv: line 13, level_dba",
        "gone.csv: ",
    ] {
        assert!(said.contains(part), "{part} in {said}");
    }
    let (is_good, said) = run(&[]);
    assert!(
        !is_good && said.contains("allowed: one sheet or more"),
        "{said}"
    );
}

/// Fifteen tests are enough to say it, fourteen are not: all right but for fifteen taken for fifty, once in each.
#[test]
fn the_aim_is_reached_or_not_once_the_answers_are_enough() {
    let folder = Folder::new();
    let mut seed = 0;
    let mut files = Vec::new();
    for n in 0..15_u16 {
        seed = with_fifteen(seed).saturating_add(1);
        let mut of_one = sheet(&format!("a{n}"), n, seed.saturating_sub(1));
        if n < 8 {
            for row in &mut of_one.rows {
                row.answer = Some(row.prompt);
            }
        }
        files.push(folder.with(&format!("{n}.csv"), &of_one.csv()));
    }
    let of = |from: usize, until: usize| {
        let files: Vec<&Path> = files[from..until].iter().map(PathBuf::as_path).collect();
        let (good, said) = run(&files);
        assert!(good, "{said}");
        let line = said.lines().find(|line| line.contains("urgent"));
        line.unwrap().to_owned()
    };
    assert!(
        of(0, 15).ends_with("143 of 150 right, 95.3 % (90.6 to 98.1); the aim of 95 % is reached")
    );
    assert!(of(0, 14).contains("134 of 140 right, 95.7 %"));
    assert!(of(0, 14).contains("; too few to judge: 150 answers"));
    let text = fs::read_to_string(&files[0]).unwrap();
    let eighth = fs::read_to_string(&files[8]).unwrap();
    // One answer more is wrong.
    let worse = eighth.replace("a8,", "a0,").replace(",8,", ",0,");
    assert_ne!(text, worse);
    fs::write(&files[0], worse).unwrap();
    assert!(of(0, 15).contains("142 of 150 right, 94.7 %"));
    assert!(of(0, 15).ends_with("; the aim of 95 % is not reached"));
}

/// What a spreadsheet or a cut off write leaves: a mark of the encoding is no fault, a `.new` is never read.
#[test]
fn a_mark_of_the_encoding_is_taken_and_a_write_that_was_cut_off_is_not() {
    let folder = Folder::new();
    let text = sheet("a1", 1, 5).csv();
    let marked = folder.with(
        "marked.csv",
        &format!("\u{feff}{text}\u{feff}{}", sheet("b2", 2, 6).csv()),
    );
    let (good, said) = run(&[&marked]);
    assert!(
        good && said.contains("sheets 2, numbers of listeners 2"),
        "{said}"
    );
    let left = folder.with("carrybeat-listening-c3.new", &sheet("c3", 3, 7).csv());
    let (good, said) = run(&[&marked, &left]);
    assert!(
        !good
            && said.contains(
                "c3.new: left by a write that was cut off, allowed: what the app has named .csv"
            )
            && !said.contains("right,"),
        "{said}"
    );
}
