//! What leaves the house, and what stays.

use serde_json::Value;

use super::make::{CaseLine, protocol, record};
use crate::{Basis, CheckResult, Form, Happening, State, course, measures, tables, text};

const NEW_ID: &str = "7c1f8f0e-52f6-4a53-9d0c-6f7d4f1d2b3a";

fn opened(name: &str) -> record::Opened {
    #[derive(serde::Deserialize)]
    struct Case {
        name: String,
        lines: Vec<CaseLine>,
    }
    let cases: Vec<Case> = serde_json::from_str(include_str!("../../worked/cases.json")).unwrap();
    let case = cases.iter().find(|case| case.name.contains(name)).unwrap();
    record::open(&record(&case.lines, &protocol(None))).unwrap()
}

fn files(name: &str, form: &Form) -> Vec<(String, String)> {
    let opened = opened(name);
    tables(&opened, &measures(&opened, Basis::Amended).unwrap(), form)
}

fn file(files: &[(String, String)], name: &str) -> String {
    let found = files.iter().find(|(known, _)| known == name);
    found.unwrap().1.clone()
}

#[test]
fn the_tables_hold_what_was_measured_in_seconds_from_recognition() {
    let files = files("took over", &Form::Own);
    let runs = file(&files, "runs.csv");
    let lines: Vec<Vec<&str>> = runs.lines().map(|l| l.split(',').collect()).collect();
    let value = |name: &str| {
        let n = lines[0].iter().position(|c| *c == name).unwrap();
        lines[1][n]
    };
    assert_eq!(lines[0].len(), lines[1].len());
    assert_eq!(value("window_s"), "90.000");
    assert_eq!(value("fraction"), "1.00000");
    assert_eq!(value("longest_pause_s"), "", "none is not nought");
    assert_eq!(value("unit_code"), "unit-7");
    assert_eq!(value("basis"), "as amended");

    let files = self::files("fifteen", &Form::Own);
    let pauses = file(&files, "pauses.csv");
    assert_eq!(
        pauses.lines().nth(1).unwrap(),
        "0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1f,65.000,76.000,11.000,rhythm_check,compressions"
    );
    let shocks = file(&files, "shocks.csv");
    assert!(
        shocks.contains(",73.000,us,true,8.000,3.000,11.000,11.000,false,false,false,false\r\n")
    );
    assert!(file(&files, "clocks.csv").contains(",monitor,20.000,-90,\r\n"));
}

#[test]
fn every_table_is_described_column_by_column() {
    let files = files("fifteen", &Form::Own);
    let about: Value = serde_json::from_str(&file(&files, "metadata.json")).unwrap();
    assert_eq!(about["schema:version"], crate::VERSION);
    let described = about["tables"].as_array().unwrap();
    assert_eq!(described.len() + 1, files.len());
    for table in described {
        let csv = file(&files, table["url"].as_str().unwrap());
        let columns = table["tableSchema"]["columns"].as_array().unwrap();
        let names: Vec<&str> = columns
            .iter()
            .map(|c| c["name"].as_str().unwrap())
            .collect();
        assert_eq!(csv.lines().next().unwrap(), names.join(","));
        for line in csv.lines() {
            assert_eq!(line.split(',').count(), names.len(), "{line}");
        }
    }
}

#[test]
fn nothing_that_leads_back_is_left_in_a_deidentified_run() {
    let form = Form::Deidentified {
        id: NEW_ID.to_owned(),
    };
    let files = files("fifteen", &form);
    let all: String = files.iter().map(|(_, text)| text.as_str()).collect();
    assert!(all.contains(NEW_ID));
    let runs = file(&files, "runs.csv");
    assert!(runs.contains(",2025,adult"), "the year alone: {runs}");
    for gone in [
        "0f9b6c1e",
        "unit-7",
        "2025-",
        "-11-25",
        "08:30",
        "08:28",
        "a-boot",
        "America",
        "example-adult",
        "monitor",
        "clock",
        "unit_code",
    ] {
        assert!(!all.contains(gone), "{gone} is still there");
    }
    // The same measures stand in it.
    assert!(file(&files, "pauses.csv").contains(",65.000,76.000,11.000,rhythm_check,"));
}

#[test]
fn the_course_lists_what_the_measures_count() {
    let opened = opened("fifteen");
    let drawn = course(&opened, Basis::Amended).unwrap();
    assert_eq!(drawn.pauses.len(), 6);
    assert_eq!(drawn.shocks.len(), 2);
    let results: Vec<CheckResult> = drawn.checks.iter().map(|row| row.result).collect();
    assert_eq!(results, [CheckResult::Shock, CheckResult::Shock]);
    assert_eq!(drawn.checks[0].pause, Some(cycle::Ms(11_000)));
    let dose = Happening::Dose("Epinephrine".to_owned());
    assert!(drawn.happenings.contains(&(cycle::Ms(210_000), dose)));
    let at = |ms: u64| {
        drawn
            .stretches
            .iter()
            .find(|s| s.from == cycle::Ms(ms))
            .unwrap()
    };
    assert_eq!(at(65_000).state, State::HandsOff);
    assert_eq!(at(65_000).len(), cycle::Ms(11_000));
    assert_eq!(at(500_000).state, State::Unknown);
    assert_eq!(at(600_000).state, State::Circulation);
}

#[test]
fn a_check_of_which_nothing_was_said_is_a_row_too() {
    let line = |at: f64, ev: &str, d| CaseLine::Line(at, ev.to_owned(), d);
    let lines = [
        line(0.0, "compr_start", serde_json::json!({"by": "manual"})),
        line(
            20.0,
            "compr_stop",
            serde_json::json!({"reason": "rhythm_check"}),
        ),
        line(26.0, "compr_start", serde_json::json!({"by": "mechanical"})),
        line(40.0, "no_shock", serde_json::json!({})),
        line(60.0, "end", serde_json::json!({"outcome": "stopped"})),
    ];
    let bytes = record(&lines, &protocol(None));
    let drawn = course(&record::open(&bytes).unwrap(), Basis::Amended).unwrap();
    let rows: Vec<_> = drawn
        .checks
        .iter()
        .map(|r| (r.at.0, r.result, r.pause, r.went_on))
        .collect();
    let six = Some(cycle::Ms(6_000));
    assert_eq!(
        rows,
        [
            (20_000, CheckResult::NotSaid, six, false),
            (40_000, CheckResult::NoShock, None, true),
        ]
    );
}

#[test]
fn the_text_prints_whole_seconds_with_their_trust() {
    let opened = opened("fifteen");
    let said = text(&measures(&opened, Basis::Amended).unwrap());
    for line in [
        "precision: by marks, +/- 1 s",
        "measures: metrics/1.0.0, as amended, revision 2",
        "trust: 2 of 2 checks marked, 20 s unknown, coverage 0.978",
        "compression fraction from recognition: 0.914",
        "pause at 1:05: 11 s, rhythm check, ended by compressions",
        "shock at 1:13: pre 8 s, post 3 s, peri 11 s; pause 11 s",
        "time to first airway device: none marked",
    ] {
        assert!(said.lines().any(|l| l == line), "{line}\n{said}");
    }
}
