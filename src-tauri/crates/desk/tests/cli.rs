//! The command line as it is used: right input gives three files, wrong input a text and no file.
#![expect(
    clippy::unwrap_used,
    reason = "a test that meets an error fails, as it should"
)]

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Output},
};

const EXAMPLE: &str = include_str!("../../cycle/protocols/example-adult.toml");
const FIVE_MINUTES: &str = include_str!("../../../../tests/scripts/five-minutes.json");

struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path =
            std::env::temp_dir().join(format!("carrybeat-cli-{name}-{}", std::process::id()));
        drop(fs::remove_dir_all(&path));
        fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn write(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.0.join(name);
        fs::write(&path, bytes).unwrap();
        path
    }

    fn rehearse(&self, script: &[u8]) -> Output {
        let script = self.write("script.json", script);
        Command::new(env!("CARGO_BIN_EXE_carrybeat"))
            .args(["rehearse".as_ref(), script.as_os_str()])
            .args(["--wav".as_ref(), self.0.join("out.wav").as_os_str()])
            .args([
                "--record".as_ref(),
                self.0.join("out.rec.jsonl").as_os_str(),
            ])
            .args(["--cues".as_ref(), self.0.join("out.json").as_os_str()])
            .output()
            .unwrap()
    }

    fn outputs(&self) -> Vec<String> {
        let mut names: Vec<_> = fs::read_dir(&self.0)
            .unwrap()
            .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
            .filter(|n| n.starts_with("out"))
            .collect();
        names.sort();
        names
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.0));
    }
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn refused(name: &str, script: &str, expected: &[&str]) {
    let folder = Folder::new(name);
    let output = folder.rehearse(script.as_bytes());
    let text = said(&output);
    assert_eq!(output.status.code(), Some(1), "{text}");
    for part in expected {
        assert!(text.contains(part), "{part:?} is not in {text:?}");
    }
    assert_eq!(folder.outputs(), Vec::<String>::new());
}

fn script(marks: &str) -> String {
    format!(r#"{{"name": "t", "marks": [{marks}], "end_s": 20}}"#)
}

const START: &str = r#"{"at_s": 0, "ev": "compr_start", "d": {"by": "manual"}}"#;

#[test]
fn a_good_script_gives_a_wav_a_record_and_a_cue_list_and_twice_the_same() {
    let (one, two) = (Folder::new("good-1"), Folder::new("good-2"));
    for folder in [&one, &two] {
        let output = folder.rehearse(FIVE_MINUTES.as_bytes());
        assert!(output.status.success(), "{}", said(&output));
        assert_eq!(folder.outputs(), ["out.json", "out.rec.jsonl", "out.wav"]);
    }
    for name in ["out.json", "out.rec.jsonl", "out.wav"] {
        let same = fs::read(one.0.join(name)).unwrap() == fs::read(two.0.join(name)).unwrap();
        assert!(same, "{name}");
    }
    let opened = record::open(&fs::read(one.0.join("out.rec.jsonl")).unwrap()).unwrap();
    assert!(opened.is_sound() && opened.sealed, "{:?}", opened.damage);
    // 300 s at 48 kHz, mono, 16 bit, behind a header of 44 bytes.
    assert_eq!(
        fs::metadata(one.0.join("out.wav")).unwrap().len(),
        300 * 96_000 + 44
    );
}

#[test]
fn a_rehearsal_takes_the_place_of_none_but_a_rehearsal() {
    let folder = Folder::new("kept");
    let run = r#"{"seq":0,"ev":"header","d":{"record_id":"1b27e05e-3b20-48e5-9687-a2302a54905b","kind":"run"}}"#;
    let kept = folder.write("out.rec.jsonl", run.as_bytes());
    let output = folder.rehearse(script(START).as_bytes());
    let text = said(&output);
    assert_eq!(output.status.code(), Some(1), "{text}");
    assert!(
        text.contains("out.rec.jsonl") && text.contains("would be lost"),
        "{text}"
    );
    assert_eq!(fs::read(&kept).unwrap(), run.as_bytes());
    assert_eq!(folder.outputs(), ["out.rec.jsonl"]);
    fs::remove_file(kept).unwrap();
    for _ in 0..2 {
        let output = folder.rehearse(script(START).as_bytes());
        assert!(output.status.success(), "{}", said(&output));
    }
}

#[test]
fn a_picture_has_every_prompt_of_the_cue_list_in_words_and_is_twice_the_same() {
    let picture = |name: &str| {
        let folder = Folder::new(name);
        let script = folder.write("script.json", FIVE_MINUTES.as_bytes());
        let out = |name: &str| folder.0.join(name);
        let output = Command::new(env!("CARGO_BIN_EXE_carrybeat"))
            .args(["rehearse".as_ref(), script.as_os_str()])
            .args(["--wav".as_ref(), out("out.wav").as_os_str()])
            .args(["--record".as_ref(), out("out.rec.jsonl").as_os_str()])
            .args(["--cues".as_ref(), out("out.json").as_os_str()])
            .args(["--picture".as_ref(), out("out.svg").as_os_str()])
            .output()
            .unwrap();
        assert!(output.status.success(), "{}", said(&output));
        let cues = fs::read(out("out.json")).unwrap();
        (fs::read_to_string(out("out.svg")).unwrap(), cues)
    };
    let (svg, cues) = picture("picture-1");
    assert!(picture("picture-2").0 == svg);
    let cues: Vec<serde_json::Value> = serde_json::from_slice(&cues).unwrap();
    let of = |kinds: &[&str]| {
        let is = |cue: &&serde_json::Value| kinds.iter().any(|kind| cue["kind"] == *kind);
        cues.iter().filter(is).count()
    };
    let (_, desc) = svg.split_once("<desc>").unwrap();
    let (desc, _) = desc.split_once("</desc>").unwrap();
    let beats = of(&["beat", "beat_first", "beat_last"]);
    // The grid is the record's, the list the sound's: they must agree.
    let counts = format!("Beats: {beats}, breath tones: {}, ", of(&["breath"]));
    assert!(desc.starts_with(&counts), "{counts}: {desc}");
    let voices = of(&["voice"]);
    assert!(
        voices > 5 && desc.contains(&format!("Prompts: {voices}, ")),
        "{desc}"
    );
    let first = cues.iter().find(|cue| cue["kind"] == "voice").unwrap();
    let s = first["at_s"].as_f64().unwrap().floor();
    let at = format!("{}:{:02} ", (s / 60.0).floor(), s % 60.0);
    assert!(desc.contains(&at), "{at}: {desc}");
}

#[test]
fn an_impossible_order_names_the_mark_and_what_is_allowed() {
    let marks = format!(r#"{START}, {{"at_s": 5, "ev": "power", "d": {{"act": "swap_end"}}}}"#);
    refused(
        "order",
        &script(&marks),
        &["mark 2 at 5000 ms", "power", "swap_begin comes first"],
    );
}

#[test]
fn a_mark_before_the_start_is_refused() {
    let marks = r#"{"at_s": 1, "ev": "cup", "d": {"act": "good"}}"#;
    refused(
        "early",
        &script(marks),
        &["mark 1", "arrest or compr_start comes first"],
    );
}

#[test]
fn an_unknown_kind_is_named() {
    let marks = format!(r#"{START}, {{"at_s": 5, "ev": "tourniquet", "d": {{}}}}"#);
    refused("kind", &script(&marks), &["mark 2", "tourniquet"]);
}

#[test]
fn an_unknown_value_is_named_with_what_is_allowed() {
    let marks = r#"{"at_s": 0, "ev": "compr_start", "d": {"by": "feet"}}"#;
    refused(
        "value",
        &script(marks),
        &["mark 1: d.by = \"feet\", allowed: manual, mechanical\n"],
    );
    let marks =
        format!(r#"{START}, {{"at_s": 5, "ev": "compr_stop", "d": {{"reason": "coffee"}}}}"#);
    let named = "mark 2: d.reason = \"coffee\", allowed: rhythm_check, pulse_check, shock, ";
    refused("reason", &script(&marks), &[named]);
    let marks = r#"{"at_s": 0, "ev": "compr_start", "d": {}}"#;
    refused(
        "no-value",
        &script(marks),
        &["mark 1: d.by = null, allowed: a value"],
    );
}

#[test]
fn an_unknown_field_is_named() {
    let marks = r#"{"at_s": 0, "ev": "compr_start", "d": {"by": "manual", "rate": 110}}"#;
    refused("field", &script(marks), &["mark 1", "rate"]);
}

#[test]
fn times_that_run_backwards_are_refused() {
    let marks = format!(
        r#"{START}, {{"at_s": 5, "ev": "flag", "d": {{}}}}, {{"at_s": 4, "ev": "flag", "d": {{}}}}"#
    );
    refused("backwards", &script(&marks), &["mark 3", "4"]);
}

#[test]
fn no_json_is_refused() {
    refused("json", "not a script", &["script.json"]);
}

#[test]
fn a_protocol_that_is_not_there_is_named() {
    let text = format!(r#"{{"name": "t", "protocol": "none.toml", "marks": [{START}]}}"#);
    refused("protocol", &text, &["none.toml"]);
}

#[test]
fn a_class_with_another_class_s_protocol_is_refused() {
    let text = format!(
        r#"{{"name": "t", "class": "child", "protocol": "example-adult", "marks": [{START}]}}"#
    );
    refused("class", &text, &["child", "adult"]);
}

fn check(bytes: &[u8], name: &str) -> Output {
    let folder = Folder::new(name);
    let file = folder.write("p.toml", bytes);
    Command::new(env!("CARGO_BIN_EXE_carrybeat"))
        .args(["protocol".as_ref(), "check".as_ref(), file.as_os_str()])
        .output()
        .unwrap()
}

#[test]
fn a_good_protocol_is_said_to_be_good() {
    let output = check(EXAMPLE.as_bytes(), "p-good");
    assert!(output.status.success(), "{}", said(&output));
}

#[test]
fn each_fault_of_a_protocol_has_its_own_line() {
    let text = EXAMPLE
        .replace("value = 110", "value = 170")
        .replace("value = 4\n", "value = 40\n");
    let output = check(text.as_bytes(), "p-range");
    let lines: Vec<String> = said(&output).lines().map(str::to_owned).collect();
    assert_eq!(lines.len(), 2, "{lines:?}");
    assert!(lines[0].contains("beat.rate_per_min = 170, allowed: a whole number 100 to 120"));
    assert!(lines[1].contains("breaths.window_s = 40, allowed: a whole number 3 to 10 s"));
}

#[test]
fn protocols_that_are_none_are_refused_in_words() {
    for (name, bytes, expected) in [
        ("p-empty", Vec::new(), "an empty file"),
        ("p-huge", vec![b' '; 60_000], "a file of 60000 bytes"),
        ("p-bytes", vec![0xff, 0xfe], "byte 0 is not UTF-8"),
        (
            "p-stray",
            [EXAMPLE.as_bytes(), b"\n[beat.colour]\nvalue = 1\n"].concat(),
            "beat.colour",
        ),
        (
            "p-type",
            EXAMPLE
                .replace("value = 6\n", "value = \"six\"\n")
                .into_bytes(),
            "\"six\"",
        ),
    ] {
        let output = check(&bytes, name);
        assert_eq!(output.status.code(), Some(1));
        assert!(said(&output).contains(expected), "{}", said(&output));
    }
}

#[test]
fn a_place_that_cannot_be_written_is_named() {
    let folder = Folder::new("place");
    let script = folder.write("script.json", script(START).as_bytes());
    let output = Command::new(env!("CARGO_BIN_EXE_carrybeat"))
        .args(["rehearse".as_ref(), script.as_os_str()])
        .args(["--wav", "/no/such/folder/out.wav"])
        .args([
            "--record".as_ref(),
            folder.0.join("out.rec.jsonl").as_os_str(),
        ])
        .args(["--cues".as_ref(), folder.0.join("out.json").as_os_str()])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    // The file that was asked for, and what helps.
    let named = "/no/such/folder/out.wav: No such file or directory (os error 2); allowed: a file in a folder that is there: make the folder first";
    assert!(said(&output).contains(named), "{}", said(&output));
    assert_eq!(folder.outputs(), Vec::<String>::new());
    assert!(!Path::new("/no").exists());
}

fn carrybeat(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_carrybeat"))
        .args(words)
        .output()
        .unwrap()
}

fn answer(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn each_built_in_protocol_is_checked_by_its_id() {
    for (id, line) in [
        (
            "example-adult",
            "example-adult 1 (adult), 110 a minute, 30:2",
        ),
        (
            "example-adult-b",
            "example-adult-b 1 (adult), 110 a minute, 30:2",
        ),
        (
            "example-child",
            "example-child 1 (child), 110 a minute, 15:2",
        ),
        (
            "example-infant",
            "example-infant 1 (infant), 110 a minute, 15:2",
        ),
        (
            "example-newborn",
            "example-newborn 1 (newborn), 120 a minute, 3:1",
        ),
    ] {
        let output = carrybeat(&["protocol", "check", id]);
        assert!(output.status.success(), "{}", said(&output));
        assert!(answer(&output).contains(line), "{}", answer(&output));
    }
}

#[test]
fn a_protocol_that_is_neither_file_nor_example_is_named_with_the_examples() {
    for words in [
        ["protocol", "check", "example-adlut"].as_slice(),
        &["protocol", "diff", "example-adult", "example-adlut"],
    ] {
        let output = carrybeat(words);
        assert_eq!(output.status.code(), Some(1));
        let text = said(&output);
        assert!(text.starts_with("example-adlut: "), "{text}");
        assert!(
            text.contains("example-adult, example-adult-b, example-child"),
            "{text}"
        );
    }
}

#[test]
fn a_difference_is_one_line_with_both_values() {
    let folder = Folder::new("p-diff");
    let changed = EXAMPLE.replace("value = 4\n", "value = 5\n").replace(
        "key = \"antiarrhythmic\"\nname = \"Amiodarone or lidocaine\"",
        "key = \"antiarrhythmic\"\nname = \"Lidocaine\"",
    );
    let file = folder.write("other.toml", changed.as_bytes());
    let file = file.to_string_lossy();
    let output = carrybeat(&["protocol", "diff", "example-adult", &file]);
    assert!(output.status.success(), "{}", said(&output));
    let text = answer(&output);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(
        lines[1..],
        [
            "breaths.window_s: 4 | 5",
            "drug.antiarrhythmic.name: \"Amiodarone or lidocaine\" | \"Lidocaine\"",
        ]
    );
    assert_eq!(lines[0], format!("2 fields: example-adult | {file}"));
}

#[test]
fn a_file_does_not_differ_from_itself() {
    let output = carrybeat(&["protocol", "diff", "example-child", "example-child"]);
    assert!(output.status.success(), "{}", said(&output));
    assert_eq!(
        answer(&output),
        "example-child and example-child do not differ in any field\n"
    );
}

#[test]
fn a_faulty_file_is_not_compared() {
    let folder = Folder::new("p-diff-fault");
    let faulty = EXAMPLE.replace("value = 110", "value = 170");
    let file = folder.write("faulty.toml", faulty.as_bytes());
    let file = file.to_string_lossy();
    let output = carrybeat(&["protocol", "diff", &file, "example-adult"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        said(&output).contains("beat.rate_per_min = 170"),
        "{}",
        said(&output)
    );
    assert_eq!(answer(&output), "");
}

/// Every language that is built in is without fault, and a file that is being translated is told all of its own.
#[test]
fn words_are_checked_and_every_fault_is_told_at_once() {
    let output = carrybeat(&["words", "check"]);
    assert!(output.status.success(), "{}", said(&output));
    for lang in ["en-US", "en-GB", "es-419", "es-ES"] {
        assert!(
            answer(&output).contains(&format!("{lang}: ")),
            "{}",
            answer(&output)
        );
    }
    let folder = Folder::new("words");
    let english = include_str!("../../words/text/en-US.ftl");
    let begun = english.replace("fixed-undo = Undo", "fixed-undo = Rückgängigmachen");
    let begun = begun.replace("act-co2 = CO2\n", "");
    let file = folder.write("de-DE.ftl", begun.as_bytes());
    let output = carrybeat(&["words", "check", &file.to_string_lossy()]);
    assert_eq!(output.status.code(), Some(1));
    let text = said(&output);
    assert!(
        text.contains("act-co2 is missing; add it, it says \"CO2\" in en-US"),
        "{text}"
    );
    assert!(
        text.contains("\"Rückgängigmachen\" does not fit its key"),
        "{text}"
    );
    assert!(
        text.contains("act-hands_off = \"Hands Off\" is as in en-US"),
        "{text}"
    );
    let output = carrybeat(&["words", "check", "nowhere/de-DE.ftl"]);
    assert!(
        said(&output).contains("nowhere/de-DE.ftl: "),
        "{}",
        said(&output)
    );
}

#[test]
fn help_is_of_the_command_that_it_is_asked_of_and_an_unknown_command_is_named() {
    for (words, has, has_not) in [
        (&["--help"][..], "carrybeat rehearse", "no such"),
        (
            &["drill", "--help"],
            "carrybeat drill --list",
            "carrybeat trends",
        ),
        (
            &["trends", "-h"],
            "carrybeat trends FOLDER",
            "carrybeat drill",
        ),
        (
            &["release", "--help"],
            "carrybeat hold|release|delete FOLDER ID",
            "carrybeat runs",
        ),
        (&["foo", "--help"], "carrybeat runs", "no such"),
    ] {
        let output = carrybeat(words);
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        assert!(output.status.success(), "{words:?}: {}", said(&output));
        assert!(text.starts_with("usage:\n"), "{words:?}: {text}");
        assert!(
            text.contains(has) && !text.contains(has_not),
            "{words:?}: {text}"
        );
    }
    // What goes on in a second line goes with its first.
    let text = carrybeat(&["drill", "--help"]).stdout;
    assert!(String::from_utf8_lossy(&text).contains("[--pdf OUT.pdf]"));
    let output = carrybeat(&["foo", "bar"]);
    assert_eq!(output.status.code(), Some(2));
    let text = said(&output);
    assert!(
        text.contains("\"foo bar\" is no such command") && text.contains("usage:"),
        "{text}"
    );
}

/// A folder with one run and what is none: the run alone is counted, each of the others is named with its reason.
#[test]
fn what_cannot_be_read_is_named_among_the_runs_and_at_the_hand_in() {
    const RECORD: &[u8] = include_bytes!("../../record/golden/record-1.7.0.rec.jsonl");
    let folder = Folder::new("unread");
    let runs = folder.0.to_str().unwrap().to_owned();
    assert_eq!(answer(&carrybeat(&["runs", &runs])), "none\n");
    folder.write("b.rec.jsonl", b"hello");
    folder.write("c.rec.jsonl", b"");
    let named = |text: &str, before: &str| {
        for file in [
            "b.rec.jsonl: this is not a record",
            "c.rec.jsonl: the file is empty",
        ] {
            assert!(text.contains(&format!("{before}{file}")), "{file}: {text}");
        }
    };
    let listed = answer(&carrybeat(&["runs", &runs]));
    named(&listed, "cannot be read: ");
    assert_eq!(listed.lines().count(), 2, "{listed}");
    let out = |name: &str| folder.0.join(name).to_str().unwrap().to_owned();
    let refused = carrybeat(&["hand-in", &runs, "--out", &out("one.handin")]);
    assert_eq!(refused.status.code(), Some(1));
    named(&said(&refused), "");
    folder.write("a.rec.jsonl", RECORD);
    let made = answer(&carrybeat(&["hand-in", &runs, "--out", &out("one.handin")]));
    assert!(
        made.contains("one.handin: 1 run\na: fingerprint "),
        "{made}"
    );
    named(&made, "left out: ");
    assert_eq!(made.matches("fingerprint").count(), 1, "{made}");
}

#[test]
fn of_a_command_the_argument_that_is_missing_or_too_much_is_named_with_its_usage() {
    for (words, found, usage) in [
        (
            &["protocol"][..],
            "check or diff is missing",
            "protocol diff PROTOCOL PROTOCOL",
        ),
        (
            &["protocol", "check"],
            "PROTOCOL is missing",
            "protocol check PROTOCOL",
        ),
        (
            &["protocol", "look"],
            "\"look\", allowed: check or diff",
            "protocol check PROTOCOL",
        ),
        (
            &["export"],
            "RECORD is missing",
            "export RECORD --to WHAT --out PATH",
        ),
        (
            &["export", "--to", "csv"],
            "RECORD is missing before --to",
            "export RECORD --to WHAT --out PATH",
        ),
        (
            &["rehearse"],
            "SCRIPT.json is missing",
            "rehearse SCRIPT.json --wav OUT.wav",
        ),
        (
            &["hand-in", "runs"],
            "--out is missing",
            "hand-in FOLDER --out FILE",
        ),
        (
            &["hand-in", "runs", "--out", "f", "g"],
            "\"g\" is too much",
            "hand-in FOLDER --out FILE",
        ),
        (
            &["delete", "runs"],
            "ID or --all is missing",
            "delete FOLDER --all",
        ),
        (
            &["review", "r"],
            "--list or --amend is missing",
            "review RECORD --list",
        ),
    ] {
        let output = carrybeat(words);
        let text = said(&output);
        assert_eq!(output.status.code(), Some(2), "{text}");
        let first = format!("carrybeat {}: {found}; usage:\n", words.join(" "));
        assert!(text.starts_with(&first), "{first:?}: {text}");
        assert!(text.contains(&format!("  carrybeat {usage}")), "{text}");
        assert!(
            !text.contains("no such command") && !text.contains("voices"),
            "{text}"
        );
    }
}

#[test]
fn what_is_not_there_is_named_as_it_was_asked_for_with_what_helps() {
    let folder = Folder::new("not-there");
    let at = |name: &str| folder.0.join(name).to_str().unwrap().to_owned();
    let gone = at("gone");
    let told = |words: &[&str]| {
        let output = carrybeat(words);
        assert_eq!(output.status.code(), Some(1));
        said(&output)
    };
    let text = told(&["hand-in", &gone, "--out", &at("x.handin")]);
    assert_eq!(
        text,
        format!("{gone} is not there: check the name and the folder\n")
    );
    let places = [
        "--wav",
        &at("o.wav"),
        "--record",
        &at("o.rec.jsonl"),
        "--cues",
        &at("o.json"),
    ];
    let text = told(&[&["rehearse", &gone][..], &places].concat());
    assert!(
        text.contains("gone: ") && text.contains("allowed: a script"),
        "{text}"
    );
    let text = told(&["drill", "--score", &gone]);
    assert!(
        text.contains("gone: ") && text.contains("allowed: a record"),
        "{text}"
    );
}

/// A broken chain, and a record cut in half: what is written is of the rest, which is said as `measures` says it.
#[test]
fn an_export_of_a_damaged_record_says_what_is_wrong_with_it() {
    const RECORD: &str = include_str!("../../record/golden/record-1.7.0.rec.jsonl");
    let folder = Folder::new("damaged-export");
    let at = |name: &str| folder.0.join(name).to_str().unwrap().to_owned();
    let lines: Vec<&str> = RECORD.split_inclusive('\n').collect();
    let broken = [&lines[..9], &lines[10..]].concat().concat();
    folder.write("whole.rec.jsonl", RECORD.as_bytes());
    folder.write("broken.rec.jsonl", broken.as_bytes());
    folder.write("half.rec.jsonl", &RECORD.as_bytes()[..12_000]);
    for (n, (name, what, wrong)) in [
        ("broken", "csv", "record: line 9: names "),
        ("half", "csv", "ends within a line"),
        ("half", "nemsis", "ends within a line"),
        ("half", "raw", "ends within a line"),
    ]
    .into_iter()
    .enumerate()
    {
        let record = at(&format!("{name}.rec.jsonl"));
        let out = at(&format!("out-{n}"));
        let text = answer(&carrybeat(&[
            "export", &record, "--to", what, "--out", &out,
        ]));
        assert!(text.contains(wrong), "{name} {what}: {text}");
        let measured = answer(&carrybeat(&["measures", &record]));
        for line in measured
            .lines()
            .filter(|line| line.starts_with("record: line "))
        {
            assert!(text.contains(line), "{line}: {text}");
        }
    }
    let whole = at("whole.rec.jsonl");
    let text = answer(&carrybeat(&[
        "export",
        &whole,
        "--to",
        "csv",
        "--out",
        &at("out"),
    ]));
    assert!(!text.contains("record: "), "{text}");
}

#[test]
fn who_has_read_enough_is_no_fault() {
    use std::process::Stdio;
    let mut child = Command::new(env!("CARGO_BIN_EXE_carrybeat"))
        .arg("--help")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // The reader is gone before anything is said, or while it is.
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{}", said(&output));
    assert_eq!(said(&output), "");
}
