use super::*;
use crate::{draw::draw, session::Output};

/// An invented listener who takes each third prompt for another, and does not hear the last.
pub(crate) fn sheet(id: &str, level: Level, seed: u32) -> Sheet {
    let rows = draw(seed).into_iter().enumerate().map(|(n, trial)| {
        let wrong = trial.choices.iter().find(|c| **c != trial.prompt).copied();
        let answer = if n % 3 == 2 {
            wrong
        } else {
            Some(trial.prompt)
        };
        Row {
            answer: answer.filter(|_| n != PROMPTS - 1),
            prompt: trial.prompt,
            choices: trial.choices,
            ms: u64::try_from(n).expect("few").saturating_add(700),
            way: Way {
                voice_db: Some(6),
                output: Some(Output {
                    kind: "speaker".to_owned(),
                    hz: 48_000,
                }),
            },
        }
    });
    Sheet {
        facts: Facts {
            sheet: id.to_owned(),
            version: "0.1.0".to_owned(),
            pack: "en-US".to_owned(),
            pack_sha256: "ab12".to_owned(),
            date: "2026-01-01".to_owned(),
            device: "linux x86_64".to_owned(),
        },
        level,
        listener: Some(4),
        seed,
        rows: rows.collect(),
    }
}

fn made() -> Sheet {
    sheet("a1", Level::ALL[1], 5)
}

fn faults(text: &str) -> Vec<String> {
    let found = read(text).expect_err("a fault");
    found.iter().map(ToString::to_string).collect()
}

#[test]
fn a_sheet_reads_back_as_it_was_written() {
    let sheet = made();
    let text = sheet.csv();
    assert_eq!(text.lines().count(), 13);
    assert_eq!(read(&text), Ok(vec![sheet.clone()]));
    // As a spreadsheet may save it.
    let saved = format!("\u{feff}{}", text.replace('\n', "\r\n"));
    assert_eq!(read(&saved), Ok(vec![sheet]));
    let nobody = Sheet {
        listener: None,
        ..made()
    };
    assert_eq!(read(&nobody.csv()), Ok(vec![nobody]));
}

/// As the app does not know it, and as it was written before it was kept: the last three columns are not there.
#[test]
fn a_sheet_without_the_way_of_its_sound_reads_all_the_same() {
    let mut unknown = made();
    for row in &mut unknown.rows {
        row.way = Way::default();
    }
    let text = unknown.csv();
    assert_eq!(read(&text), Ok(vec![unknown.clone()]));
    let lines = text.lines().map(|line| {
        let cells: Vec<&str> = line.split(',').take(16).collect();
        cells.join(",")
    });
    let before = lines.fold(String::new(), |all, line| all + &line + "\n");
    assert!(before.starts_with("sheet,version,") && before.contains(",right,ms\n"));
    assert_eq!(read(&before), Ok(vec![unknown.clone()]));
    // One of each kind in one file, each with the mark of its encoding.
    let other = sheet("b2", Level::ALL[2], 6);
    let both = format!("\u{feff}{before}\u{feff}{}", other.csv());
    assert_eq!(read(&both), Ok(vec![unknown, other]));
    let said = faults(&before.replacen("\na1,", "\na1,x,", 1));
    assert!(
        said.first()
            .is_some_and(|s| s.starts_with("line 2, cells: \"17\", allowed: 16")),
        "{said:?}"
    );
}

#[test]
fn several_sheets_stand_one_after_the_other() {
    let (one, two) = (made(), sheet("b2", Level::ALL[2], 6));
    let text = format!("{}{}", one.csv(), two.csv());
    assert_eq!(read(&text), Ok(vec![one.clone(), two]));
    let twice = format!("{}{}", one.csv(), one.csv());
    let said = faults(&twice);
    assert!(
        said.first().is_some_and(|s| s.contains("order")),
        "{said:?}"
    );
}

#[test]
fn a_text_that_would_break_a_cell_does_not() {
    let mut sheet = made();
    sheet.facts.device = "a,b;\"c\"\nd".to_owned();
    let read = read(&sheet.csv()).expect("whole");
    assert_eq!(read[0].facts.device, "a b  c  d");
}

#[test]
fn each_fault_is_named_with_its_place_and_what_is_allowed() {
    let text = made().csv();
    let second = text.lines().nth(1).expect("a row").to_owned();
    let cells: Vec<&str> = second.split(',').collect();
    let with = |place: usize, value: &str| {
        let mut cells = cells.clone();
        cells[place] = value;
        text.replacen(&second, &cells.join(","), 1)
    };
    for (place, value, wanted) in [
        (
            0,
            "",
            "line 2, sheet: \"\", allowed: something that names it",
        ),
        (4, "7", "line 2, level_dba: \"7\", allowed: 0, 6 or 12"),
        (
            5,
            "x",
            "line 2, seed: \"x\", allowed: a whole number from 0 to 4294967295",
        ),
        (
            8,
            "Ann",
            "line 2, listener: \"Ann\", allowed: nothing or a number up to 65535",
        ),
        (
            9,
            "13",
            "line 2, order: \"13\", allowed: a whole number from 0 to 12",
        ),
        (
            9,
            "3",
            "line 2, order: \"3\", allowed: 1 to 12, one after the other",
        ),
        (
            10,
            "off11",
            "line 2, prompt: \"off11\", allowed: the id of a prompt",
        ),
        (
            12,
            "off10 x",
            "line 2, choices: \"off10 x\", allowed: ids of prompts",
        ),
        (
            13,
            "phone",
            "line 2, answer: \"phone\", allowed: one of the choices",
        ),
        (14, "2", "line 2, right: \"2\", allowed: 1"),
        (15, "-1", "line 2, ms: \"-1\", allowed: a whole number"),
        (11, "Z", "line 2, class: \"Z\", allowed: "),
        (
            16,
            "25",
            "line 2, voice_db: \"25\", allowed: nothing, or a whole number from 0 to 24",
        ),
        (
            18,
            "",
            "line 2, output_hz: \"\", allowed: samples a second of the output",
        ),
        (
            18,
            "48 kHz",
            "line 2, output_hz: \"48 kHz\", allowed: nothing, or a whole number",
        ),
    ] {
        let said = faults(&with(place, value));
        assert!(
            said.iter().any(|s| s.starts_with(wanted)),
            "{value}: {said:?}"
        );
        assert!(
            said.iter()
                .all(|s| s.ends_with("; export the sheet again, or leave it out"))
        );
    }
    // Of two faults both are told, with their lines.
    let said = faults(
        &with(4, "7")
            .replacen(",linux", ",", 1)
            .replacen(",none,0,", ",none,1,", 1),
    );
    assert!(
        said.iter().any(|s| s.starts_with("line 2, level_dba")),
        "{said:?}"
    );
    assert!(
        said.iter()
            .any(|s| s.starts_with("line 13, right: \"1\", allowed: 0")),
        "{said:?}"
    );
}

#[test]
fn a_file_that_is_no_sheet_or_not_whole_is_refused() {
    let text = made().csv();
    let semicolons = text.replace(',', ";");
    for (bad, wanted) in [
        ("", "line 1, header: \"\""),
        (semicolons.as_str(), "line 1, header: "),
        (
            &format!("{HEADER}\n"),
            "line 2, order: \"\", allowed: 12 lines",
        ),
        (
            &format!("{HEADER}\na,b\n"),
            "line 2, cells: \"2\", allowed: 19, commas between",
        ),
    ] {
        let said = faults(bad);
        assert!(
            said.len() == 1 && said[0].starts_with(wanted),
            "{bad:?}: {said:?}"
        );
    }
    let short: Vec<&str> = text.lines().take(12).collect();
    let said = faults(&short.join("\n"));
    assert_eq!(said.len(), 1);
    assert!(
        said[0].starts_with("line 12, order: \"the last of 11\", allowed: 12 lines"),
        "{said:?}"
    );
    let other_date = text.replacen("2026-01-01", "2026-01-02", 1);
    let said = faults(&other_date);
    assert!(
        said.iter()
            .all(|s| s.contains("date: \"2026-01-01\", allowed: 2026-01-02")),
        "{said:?}"
    );
    assert_eq!(said.len(), 11);
}
