use cycle::{ClipLengths, Ms, Prompt, Protocol, Setup, mark::PatientClass};
use record::{Digest, EncodeError, RunKind, open};

use super::Heads;
use crate::{clock::Clock, fakes::FakeClock, resume};

fn example(id: &str) -> Protocol {
    Protocol::parse(Protocol::example(id).unwrap().as_bytes()).unwrap()
}

fn setup(others: Vec<Protocol>) -> Setup {
    Setup {
        protocol: example("example-adult"),
        clips: ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 900)).collect()).unwrap(),
        class: PatientClass::Adult,
        others,
    }
}

fn heads() -> Heads {
    Heads {
        kind: RunKind::Test,
        version: "0.1.0".to_owned(),
        pack_id: "en-US".to_owned(),
        pack_sha256: Digest::of(b"a manifest"),
        lang: "en-US".to_owned(),
        tz: "UTC".to_owned(),
        record_id: "0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1f".to_owned(),
        scenario: None,
        unit_code: None,
    }
}

#[test]
fn a_run_that_goes_on_has_the_protocols_of_all_classes_again() {
    let clock = FakeClock::new();
    let ids = ["example-child", "example-infant", "example-newborn"];
    for setup in [setup(Vec::new()), setup(ids.map(example).to_vec())] {
        let (_, bytes) = heads().open(&setup, &clock.stamp(Ms::ZERO, 0)).unwrap();
        let opened = open(&bytes).unwrap();
        assert_eq!(opened.damage, []);
        let plan = resume::plan(opened, clock.boot()).unwrap();
        assert_eq!(plan.setup(), Ok(setup));
    }
}

#[test]
fn a_protocol_that_cannot_be_read_is_told_whichever_it_is() {
    let clock = FakeClock::new();
    let (_, bytes) = heads()
        .open(&setup(Vec::new()), &clock.stamp(Ms::ZERO, 0))
        .unwrap();
    let mut plan = resume::plan(open(&bytes).unwrap(), clock.boot()).unwrap();
    plan.others = vec!["tempo = 1".to_owned()];
    let faults = plan.setup().unwrap_err();
    assert!(
        faults.iter().any(|f| f.to_string().contains("tempo")),
        "{faults:?}"
    );
}

/// An example with a long comment, which is part of the file and goes into the record with it.
fn long(id: &str) -> Protocol {
    let text = format!(
        "{}#{}\n",
        Protocol::example(id).unwrap(),
        "-".repeat(38_000)
    );
    Protocol::parse(text.as_bytes()).unwrap()
}

#[test]
fn a_run_is_kept_without_the_other_classes_where_they_are_too_long() {
    let clock = FakeClock::new();
    let mut setup = setup(vec![long("example-child"), long("example-infant")]);
    let opened = heads().open_at_least(&mut setup, &clock.stamp(Ms::ZERO, 0));
    assert_eq!(opened.faults.len(), 1);
    let (_, bytes) = opened.lines.unwrap();
    let plan = resume::plan(open(&bytes).unwrap(), clock.boot()).unwrap();
    assert_eq!(plan.setup().as_ref(), Ok(&setup));
    assert_eq!(setup.others, [], "what is not on record is not in force");
}

#[test]
fn protocols_too_long_for_their_line_are_refused_with_what_helps() {
    let setup = setup(vec![long("example-child"), long("example-infant")]);
    let clock = FakeClock::new();
    let error = heads().open(&setup, &clock.stamp(Ms::ZERO, 0)).unwrap_err();
    assert!(
        matches!(&error, EncodeError::TooLong { ev, allowed: 65_536, .. } if ev == "protocol"),
        "{error:?}"
    );
    let text = error.to_string();
    assert!(
        text.contains("allowed: up to 65536") && text.contains("leave a class out"),
        "{text}"
    );
}

#[test]
fn the_header_says_the_settings_of_the_protocol() {
    let (header, _) = heads().lines(&setup(Vec::new()));
    let settings = serde_json::to_value(&header.settings).unwrap();
    // From example-adult.toml, by hand.
    let expected = serde_json::json!({
        "rate_per_min": 110,
        "breath_mode": {"mode": "ratio", "ratio": "30:2"},
        "cycle_s": 120,
        "pause_min_ms": 1000,
        "drug_windows": [{"name": "adrenaline", "min_s": 180, "max_s": 300}],
    });
    assert_eq!(settings, expected);
    let masked = Protocol::example("example-adult").unwrap().replace(
        "[breaths.mask]\nvalue = \"ratio\"",
        "[breaths.mask]\nvalue = \"continuous\"",
    );
    let mut other = setup(Vec::new());
    other.protocol = Protocol::parse(masked.as_bytes()).unwrap();
    let (header, _) = heads().lines(&other);
    let mode = serde_json::to_value(header.settings.breath_mode).unwrap();
    assert_eq!(
        mode,
        serde_json::json!({"mode": "continuous", "every_ms": 6000})
    );
}
