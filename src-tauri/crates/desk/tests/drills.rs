//! Scripted crews through the built-in drills, held against the sheets that were worked by hand (`tests/drills`).
#![expect(
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Output},
};

use serde_json::{Value, json};

const SHEETS: &str = include_str!("../../../../tests/drills/sheets.json");

fn crews() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../tests/drills")
}

fn drill(options: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_carrybeat"))
        .arg("drill")
        .args(options)
        .output()
        .unwrap()
}

fn said(output: &Output) -> String {
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    assert!(output.status.success(), "{}", text(&output.stderr));
    text(&output.stdout)
}

fn refused(output: &Output) -> String {
    assert!(!output.status.success() && output.stdout.is_empty());
    String::from_utf8(output.stderr.clone()).unwrap()
}

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path =
            std::env::temp_dir().join(format!("carrybeat-drill-{name}-{}", std::process::id()));
        drop(fs::remove_dir_all(&path));
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn write(&self, name: &str, text: &str) -> String {
        let path = self.0.join(name);
        fs::write(&path, text).unwrap();
        path.display().to_string()
    }

    fn place(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.0));
    }
}

/// A sheet as the hand-worked ones are written.
fn short(sheet: &Value) -> Value {
    let rows = |key: &str, fields: &[&str]| -> Vec<Value> {
        let rows = sheet[key].as_array().unwrap().iter();
        rows.map(|row| Value::Array(fields.iter().map(|field| row[*field].clone()).collect()))
            .collect()
    };
    json!({
        "marks": rows("marks", &["id", "outcome", "took_s", "points"]),
        "measures": rows("measures", &["what", "value", "points"]),
        "points": sheet["points"], "of": sheet["of"],
        "percent": sheet["percent"], "passed": sheet["passed"],
    })
}

#[test]
fn every_crew_is_scored_as_it_was_worked_out_by_hand() {
    let sheets: Value = serde_json::from_str(SHEETS).unwrap();
    let mut seen = 0;
    for (scenario, of) in sheets.as_object().unwrap() {
        for (crew, expected) in of.as_object().unwrap() {
            let script = crews().join(scenario).join(format!("{crew}.json"));
            let output = drill(&[scenario, "--crew", script.to_str().unwrap(), "--json"]);
            let sheet: Value = serde_json::from_str(&said(&output)).unwrap();
            assert_eq!(&short(&sheet), expected, "{scenario}, {crew}");
            assert_eq!(sheet["not_measured"], json!(["depth", "recoil"]));
            seen += 1;
        }
    }
    assert_eq!(seen, 34);
}

#[test]
fn the_sheet_in_words_names_the_drill_the_verdict_and_what_is_not_measured() {
    let script = crews().join("device_on/slow.json");
    let script = script.to_str().unwrap();
    let english = said(&drill(&["device_on", "--crew", script]));
    for words in [
        "drill A: Device on",
        "no patient",
        "10 of 24 points, 41.7 %",
        "Not passed",
        "Depth and recoil",
    ] {
        assert!(english.contains(words), "{words}: {english}");
    }
    assert!(
        english.contains("First stop | late | 70 | 40 | 1/2"),
        "{english}"
    );
    let spanish = said(&drill(&["device_on", "--crew", script, "--lang", "es-ES"]));
    assert!(
        spanish.contains("41,7 %") && spanish.contains("sin paciente"),
        "{spanish}"
    );
    assert!(!spanish.contains("{ $"), "{spanish}");
}

/// Every aim with its source or that it is own, the limits of the marks as well, in words of the sheet's language.
#[test]
fn the_sheet_says_where_each_aim_comes_from_and_what_was_not_reached() {
    for (scenario, _) in ::drill::Scenario::BUILT_IN {
        let script = crews().join(scenario).join("good.json");
        let script = script.to_str().unwrap();
        for (lang, aim, own) in [
            ("en-GB", "Aim: ", "80 % to pass: own, no source"),
            (
                "es-419",
                "Meta: ",
                "80 % para superarla: propios, sin fuente",
            ),
        ] {
            let text = said(&drill(&[scenario, "--crew", script, "--lang", lang]));
            let known = ::drill::Scenario::built_in(scenario).unwrap();
            for (n, rule) in known.measures.iter().enumerate() {
                // With seed 0 the first of every choice.
                if rule.only.is_some_and(|only| only.choice != 0) {
                    continue;
                }
                let source = rule.source.of(lang);
                let is_it = |line: &str| line.starts_with(aim) && line.ends_with(source);
                assert!(text.lines().any(is_it), "{scenario}, measure {n}: {text}");
            }
            assert!(text.contains(own), "{text}");
        }
    }
    let early = crews().join("slip_and_off/ended_early.json");
    let text = said(&drill(&["slip_and_off", "--crew", early.to_str().unwrap()]));
    for line in [
        "16 of 16 points, 100.0 %.",
        "Ended early: neither passed nor failed.",
        "Stop marked | not reached | \u{2013} | 5 | \u{2013}",
        "To take the device off, longest, s | \u{2013} | up to 10 | \u{2013}",
    ] {
        assert!(text.lines().any(|l| l == line), "{line}: {text}");
    }
}

#[test]
fn a_drill_stands_in_its_record_and_is_scored_from_it_again() {
    let folder = Folder::new("record");
    let script = crews().join("check_and_shock/wrong_order.json");
    let record = folder.place("out.rec.jsonl");
    let options = [
        "check_and_shock",
        "--crew",
        script.to_str().unwrap(),
        "--json",
        "--record",
        &record,
    ];
    let first = said(&drill(&options));
    let lines: Vec<Value> = (fs::read_to_string(&record).unwrap().lines())
        .map(|line| serde_json::from_str(line).unwrap())
        .collect();
    assert_eq!(lines[0]["d"]["kind"], "drill");
    assert_eq!(
        lines[0]["d"]["scenario"],
        json!({"id": "check_and_shock", "version": "2"})
    );
    let of_drill: Vec<&Value> = lines.iter().filter(|line| line["ev"] == "drill").collect();
    let told: Vec<&str> = of_drill
        .iter()
        .filter_map(|line| line["d"]["id"].as_str())
        .collect();
    assert_eq!(of_drill[0]["d"], json!({"what": "begun", "seed": 0}));
    assert_eq!(told, ["charge_now", "rhythm", "check_2", "rhythm_2"]);
    // Told at the moment at which the plan has it: 2 s after the stop.
    let stop = lines
        .iter()
        .find(|line| line["d"]["reason"] == "rhythm_check")
        .unwrap();
    let rhythm = of_drill
        .iter()
        .find(|line| line["d"]["id"] == "rhythm")
        .unwrap();
    assert_eq!(
        rhythm["mono_ms"].as_u64(),
        stop["mono_ms"].as_u64().map(|ms| ms + 2000)
    );
    assert_eq!(said(&drill(&["--score", &record, "--json"])), first);
    // A run is never scored, whatever is in it.
    let run =
        fs::read_to_string(&record)
            .unwrap()
            .replacen("\"kind\":\"drill\"", "\"kind\":\"run\"", 1);
    let run = folder.write("run.rec.jsonl", &run);
    assert!(refused(&drill(&["--score", &run])).contains("runs are never scored"));
}

#[test]
fn a_seed_varies_alike_each_time_and_a_crew_that_waits_for_its_cues_follows() {
    let folder = Folder::new("seed");
    // After each cue, as a crew does that listens.
    let crew = r#"{"name": "a crew that listens, invented", "marks": [
        {"at_s": 0, "ev": "compr_start", "d": {"by": "mechanical"}},
        {"at_s": 10, "ev": "cup", "d": {"act": "good"}},
        {"on": "slip", "s": 4, "ev": "compr_stop", "d": {"reason": "device_reseat"}},
        {"on": "slip", "s": 14, "ev": "compr_start", "d": {"by": "mechanical"}},
        {"on": "slip", "s": 20, "ev": "cup", "d": {"act": "good"}},
        {"on": "stops", "s": 2.5, "ev": "compr_stop", "d": {"reason": "device_fault"}},
        {"on": "stops", "s": 8, "ev": "compr_start", "d": {"by": "manual"}},
        {"at_s": 240, "ev": "end", "d": {"outcome": "handed_over"}}]}"#;
    let crew = folder.write("crew.json", crew);
    let sheet = |seed: &str| {
        let output = drill(&["slip_and_off", "--crew", &crew, "--json", "--seed", seed]);
        serde_json::from_str::<Value>(&said(&output)).unwrap()
    };
    let mut times = std::collections::BTreeSet::new();
    for seed in ["0", "1", "2", "3", "4"] {
        let found = sheet(seed);
        assert_eq!(found["percent"], 100.0, "{found}");
        assert_eq!(found, sheet(seed));
        times.insert(found["cues"][0]["at_s"].to_string());
    }
    assert!(times.len() > 2, "{times:?}");
    assert_eq!(sheet("0")["cues"][0]["at_s"], 60.0);
}

#[test]
fn what_is_wrong_is_named_and_nothing_is_written() {
    let folder = Folder::new("wrong");
    let good = crews().join("device_on/good.json");
    let good = good.to_str().unwrap();
    let out = folder.place("out.rec.jsonl");
    let cases: [(&[&str], &str); 6] = [
        (&["nowhere.json"], "built-in scenarios: device_on, "),
        (
            &["device_on", "--seed", "-1"],
            "--seed -1, allowed: a whole number from 0",
        ),
        (&["device_on", "--record", &out], "go with --crew"),
        (
            &["device_on", "--crew", good, "--loud"],
            "option --loud, allowed: --seed",
        ),
        (&["device_on", "--lang", "xx"], "en-US"),
        (&["--score", good], "not a record"),
    ];
    for (options, part) in cases {
        let text = refused(&drill(options));
        assert!(text.contains(part), "{options:?}: {text}");
    }
    for (crew, part) in [
        (
            r#"{"name": "x", "marks": [{"on": "never", "s": 1, "ev": "rosc"}]}"#,
            "mark 1: on = \"never\", allowed: a cue of the scenario: at_side",
        ),
        (
            r#"{"name": "x", "marks": [{"on": "at_side", "s": -1, "ev": "rosc"}]}"#,
            "mark 1: s = -1, allowed: seconds from 0",
        ),
        (
            r#"{"name": "x", "protocol": "example-child", "marks": [{"at_s": 0, "ev": "arrest"}]}"#,
            "protocol = \"example-child\"",
        ),
        (
            r#"{"name": "x", "marks": [{"at_s": 0, "ev": "rosc"}]}"#,
            "mark 1 at 0 ms: rosc cannot stand here",
        ),
        ("[]", "no list of marks"),
    ] {
        let crew = folder.write("crew.json", crew);
        let text = refused(&drill(&["device_on", "--crew", &crew, "--record", &out]));
        assert!(text.contains(part), "{text}");
    }
    assert!(!Path::new(&out).exists());
    let scenario = folder.write("mine.json", r#"{"format": "drill/1.0.0", "id": "Mine"}"#);
    let text = refused(&drill(&[&scenario]));
    assert!(
        text.contains("mine.json: scenario: line 1, column ") && text.contains("missing field"),
        "{text}"
    );
}

#[test]
fn the_list_and_a_scenario_by_itself_say_what_an_instructor_needs() {
    let list = said(&drill(&["--list"]));
    assert_eq!(list.lines().count(), 6);
    assert!(list.starts_with("A device_on: Device on"));
    let plan = said(&drill(&["check_and_shock"]));
    for words in [
        "At 105 s: Fifteen seconds to the check.",
        "2 s after \u{201c}Hands off for the check\u{201d}: The monitor shows VF.",
        "Shock: within 8 s",
        "Depth and recoil",
    ] {
        assert!(plan.contains(words), "{words}: {plan}");
    }
    let other = said(&drill(&["device_on", "--seed", "0"]));
    assert!(
        other.contains("Fit it.") && !other.contains("too large"),
        "{other}"
    );
}
