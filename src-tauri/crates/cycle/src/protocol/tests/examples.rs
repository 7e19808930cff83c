//! The five built-in examples.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::sheet::{CHILD, INFANT, NEWBORN};
use crate::{
    Ms,
    mark::{AirwayDevice, BreathMode, PatientClass, Ratio},
    protocol::{Protocol, parse},
};

fn read(id: &str) -> Protocol {
    Protocol::parse(Protocol::example(id).unwrap().as_bytes()).unwrap()
}

#[test]
fn every_example_is_in_range_and_goes_by_its_own_id() {
    let classes: Vec<_> = Protocol::EXAMPLES
        .iter()
        .map(|(id, _)| {
            let p = read(id);
            assert_eq!(p.id, *id);
            assert!(p.name.starts_with("Example, "), "{}", p.name);
            p.class.word()
        })
        .collect();
    assert_eq!(classes, ["adult", "adult", "child", "infant", "newborn"]);
}

#[test]
fn ratios_and_breaths_of_each_class_are_the_published_ones() {
    // 30:2 and a breath every 6 s: adult algorithm 2020. 15:2, alone 30:2, a breath every 2 to 3 s:
    // a professional manual's CPR table and paediatric basic life support 2020. 3:1 at 120 events a
    // minute, so 90 compressions and 30 breaths: an EMS protocol.
    for (id, ratio, alone, rate, every) in [
        (
            "example-adult",
            Ratio::ThirtyTwo,
            Ratio::ThirtyTwo,
            110,
            6000,
        ),
        (
            "example-adult-b",
            Ratio::ThirtyTwo,
            Ratio::ThirtyTwo,
            110,
            6000,
        ),
        (
            "example-child",
            Ratio::FifteenTwo,
            Ratio::ThirtyTwo,
            110,
            3000,
        ),
        (
            "example-infant",
            Ratio::FifteenTwo,
            Ratio::ThirtyTwo,
            110,
            2000,
        ),
        (
            "example-newborn",
            Ratio::ThreeOne,
            Ratio::ThreeOne,
            120,
            1500,
        ),
    ] {
        let p = read(id);
        assert_eq!((p.ratio, p.ratio_alone), (ratio, alone), "{id}");
        assert_eq!(
            (p.rate.per_minute(), p.breath_every),
            (rate, Ms(every)),
            "{id}"
        );
    }
}

#[test]
fn a_newborn_s_cycle_lasts_two_seconds_and_has_no_check() {
    // One event every 0.5 s; 3 compressions and 1 breath in 2.000 s: arithmetic on 120 a minute.
    // 30 s of breaths first, the heart rate again every 60 s: newborn course of 2025, as quoted.
    let p = read("example-newborn");
    assert_eq!(p.window, Ms(500));
    assert!(!p.has_cycle() && !p.device.allowed);
    let own = p.newborn.unwrap();
    assert_eq!((own.breaths_first, own.recheck), (Ms(30_000), Ms(60_000)));
    for device in AirwayDevice::ALL {
        assert_eq!(p.mode_for(*device), BreathMode::Ratio);
    }
}

#[test]
fn the_two_adult_examples_differ_where_the_guidelines_do() {
    let (a, b) = (read("example-adult"), read("example-adult-b"));
    let fields: Vec<_> = a.diff(&b).into_iter().map(|d| d.field).collect();
    for field in [
        "drug.adrenaline.first_after_shocks",
        "drug.antiarrhythmic.words",
        "hands_off.budget_s",
        "hands_off.budget_shock_s",
        "procedure.airway_s",
        "check.charge_before_s",
        "shock.stack_most",
        "shock.refractory",
        "overlay.drowning.first_breaths",
        "rosc.list",
    ] {
        assert!(fields.iter().any(|f| f == field), "{field}");
    }
    // And not in what both regions share.
    for field in [
        "beat.rate_per_min",
        "breaths.ratio",
        "breaths.every_s",
        "check.every_s",
    ] {
        assert!(!fields.iter().any(|f| f == field), "{field}");
    }
    assert_eq!((a.budgets.any, b.budgets.any), (Ms(10_000), Ms(5000)));
    assert_eq!((a.check_charge, b.check_charge), (None, Some(Ms(15_000))));
}

/// The values of a file: what a crew meets, without the sources.
fn values(text: &str) -> String {
    let kept: Vec<_> = text
        .lines()
        .filter(|l| !l.starts_with(['#', 's']))
        .collect();
    kept.join("\n")
}

#[test]
fn no_adult_s_words_or_intervals_stand_in_another_class() {
    for (class, text) in [("child", CHILD), ("infant", INFANT), ("newborn", NEWBORN)] {
        let values = values(text);
        for word in [
            "1 mg",
            "300 mg",
            "150 mg",
            "100 mg",
            "mg/kg",
            "Lidocaine",
            "adult",
            "Adult",
        ] {
            assert!(!values.contains(word), "{word} in {class}");
        }
        for own in ["breaths.every_s", "newborn.breath_every_ms"] {
            for six in ["value = 6\n", "value = 6000\n"] {
                assert!(!text.contains(&format!("[{own}]\n{six}")), "{class}");
            }
        }
        let p = Protocol::parse(text.as_bytes()).unwrap();
        assert!(p.breath_every <= Ms(3000) && !p.device.allowed, "{class}");
        for drug in &p.drugs {
            assert_eq!(drug.words, ["See the service's own table"], "{class}");
        }
    }
}

#[test]
fn a_newborn_s_file_knows_no_two_minutes() {
    assert!(!NEWBORN.contains("[check."));
    for word in ["2 min", "two minutes", "two-minute", "value = 120\nrange"] {
        assert!(!NEWBORN.contains(word), "{word}");
    }
    let twos: Vec<_> = NEWBORN.match_indices("value = 120\n").collect();
    assert_eq!(twos.len(), 1, "the rate alone");
    for text in [CHILD, INFANT] {
        assert!(text.contains("[check.every_s]\nvalue = 120\n"));
    }
}

#[test]
fn a_source_that_was_only_quoted_or_remembered_says_so() {
    // No publisher's page of a 2025 guideline was read, so none stands as a bare source.
    for (id, text) in Protocol::EXAMPLES {
        let mut sources = 0;
        for line in text.lines().filter(|l| l.starts_with("source = ")) {
            sources += 1;
            let quoted = line.contains("as quoted, check against the publisher");
            assert!(!line.contains("2025") || quoted, "{id}: {line}");
            for label in ["per ERC", "per AHA", "ERC 2025", "AHA 2025"] {
                assert!(!line.contains(label), "{id}: {line}");
            }
        }
        assert!(sources > 25, "{id}: {sources}");
    }
}

#[test]
fn every_example_says_that_it_is_one_and_is_plain_text() {
    for (id, text) in Protocol::EXAMPLES {
        assert!(text.starts_with("# An example, not a guideline"), "{id}");
        assert!(text.is_ascii(), "{id}");
    }
}

#[test]
fn every_field_and_what_it_may_hold_stands_in_the_page() {
    let page = include_str!("../../../../../../docs/protocol.md");
    for (id, text) in Protocol::EXAMPLES {
        let class = Protocol::parse(text.as_bytes()).unwrap().class;
        let mut asked = parse::asked(text);
        // The names of tables that may be left out hold nothing themselves.
        asked.retain(|(_, allowed)| !allowed.is_empty());
        assert!(asked.len() > 40, "{id}");
        for (field, allowed) in asked {
            let group = field.split('.').next().unwrap_or_default().to_string();
            let head = if group == "airway" {
                "`airway.opa`, `.npa`, `.sga`, `.ett`, `.cric`".to_string()
            } else {
                format!("`{field}`")
            };
            let row = page.lines().find(|l| l.starts_with(&format!("| {head} |")));
            let row = row.unwrap_or_else(|| panic!("{id}: no row for {field}"));
            // What another class may have stands in the same row.
            let plain = row.replace('`', "");
            let same = plain.contains(&allowed);
            assert!(
                same,
                "{id} ({}): {field} may be {allowed:?}, the page has {row:?}",
                PatientClass::word(class)
            );
        }
    }
}
