//! Checkpoints, special situations, the device's parts, and what must fit together.

use alloc::{format, string::ToString, vec::Vec};

use super::sheet::{ADULT, CHILD, NEWBORN, change, faults, line_of, one, with_value};
use crate::{
    Ms,
    protocol::{Overlay, Protocol, Zero},
};

#[test]
fn each_fault_of_a_checkpoint_names_its_line_and_field() {
    for (old, new, field, said) in [
        (
            "prompt = \"causes\"",
            "prompt = \"still\"",
            "minute.1.prompt",
            "\"still\", allowed: one of causes, plan_now",
        ),
        (
            "at_min = 10",
            "at_min = 4",
            "minute.1.at_min",
            "4, allowed: a whole number 5 to 60 min",
        ),
        (
            "at_min = 40",
            "at_min = 61",
            "minute.4.at_min",
            "61, allowed: a whole number 5 to 60 min",
        ),
        (
            "at_min = 40",
            "at_min = 40\nat_s = 1",
            "minute.4.at_s",
            "not known, allowed: prompt, at_min, zero, lines, source",
        ),
    ] {
        let text = change(ADULT, old, new);
        let line = line_of(&text, new.lines().last().unwrap());
        assert_eq!(one(&text), format!("line {line}: {field} = {said}"));
    }
    let text = change(
        ADULT,
        "at_min = 10\nzero = \"start\"",
        "at_min = 10\nzero = \"dispatch\"",
    );
    assert!(
        one(&text)
            .ends_with("minute.1.zero = \"dispatch\", allowed: one of arrest, start, als_arrival")
    );
    let twice = change(ADULT, "at_min = 40", "at_min = 30");
    assert!(
        one(&twice)
            .ends_with("minute.4 = plan_now twice at one minute, allowed: each checkpoint once")
    );
    let row = "\n[[minute]]\nprompt = \"causes\"\nat_min = 50\nzero = \"arrest\"\nlines = []\nsource = \"x\"\n";
    let many: Vec<_> = (0..9)
        .map(|n| row.replace("50", &(50 + n).to_string()))
        .collect();
    assert!(
        one(&[ADULT, &many.concat()].concat())
            .ends_with("minute = 13 checkpoints, allowed: at most 12")
    );
}

#[test]
fn a_checkpoint_names_its_zero() {
    let p = Protocol::parse(Protocol::example("example-adult-b").unwrap().as_bytes()).unwrap();
    let zeros: Vec<_> = p
        .minutes
        .iter()
        .map(|m| (m.prompt.word(), m.at, m.zero))
        .collect();
    assert_eq!(
        zeros,
        [
            ("causes", Ms(600_000), Zero::Arrest),
            ("plan_now", Ms(1_200_000), Zero::AlsArrival),
        ]
    );
}

#[test]
fn each_special_situation_has_its_own_numbers_and_no_others() {
    for (old, new, field, said) in [
        (
            "delivery_by_min = 5",
            "delivery_by_min = 31",
            "overlay.pregnancy.delivery_by_min",
            "31, allowed: a whole number 1 to 30 min",
        ),
        (
            "cold_shocks = 3",
            "cold_shocks = 7",
            "overlay.cold.cold_shocks",
            "7, allowed: a whole number 1 to 6 shocks",
        ),
        (
            "cold_doses_by_time = 0",
            "cold_doses_by_time = 21",
            "overlay.cold.cold_doses_by_time",
            "21, allowed: a whole number 0 to 20 doses below 30 degrees; 0: none",
        ),
        (
            "cold_doses_by_shocks = 1",
            "cold_doses_by_shocks = -1",
            "overlay.cold.cold_doses_by_shocks",
            "-1, allowed: a whole number 0 to 20 doses below 30 degrees; 0: none",
        ),
        (
            "cold_factor = 2",
            "cold_factor = 4",
            "overlay.cold.cold_factor",
            "4, allowed: a whole number 1 to 3 times",
        ),
        (
            "first_breaths = 2",
            "first_breaths = 4",
            "overlay.drowning.first_breaths",
            "4, allowed: one of 0, 2, 5",
        ),
        (
            "cold_factor = 2",
            "cold_factor = 2\ndelivery_by_min = 6",
            "overlay.cold.delivery_by_min",
            "not known, allowed: lines, source, cold_shocks, cold_factor, cold_doses_by_time, cold_doses_by_shocks",
        ),
        (
            "[overlay.opioid]",
            "[overlay.heat]",
            "overlay.heat",
            "not known, allowed: pregnancy, cold, drowning, opioid, trauma, asthma_anaphylaxis",
        ),
    ] {
        let text = change(ADULT, old, new);
        let line = line_of(&text, new.lines().last().unwrap());
        assert_eq!(one(&text), format!("line {line}: {field} = {said}"));
    }
    for (line, field) in [
        ("delivery_by_min = 5\n", "overlay.pregnancy.delivery_by_min"),
        ("first_breaths = 2\n", "overlay.drowning.first_breaths"),
        ("cold_shocks = 3\n", "overlay.cold.cold_shocks"),
        (
            "cold_doses_by_time = 0\n",
            "overlay.cold.cold_doses_by_time",
        ),
    ] {
        assert!(one(&change(ADULT, line, "")).contains(&format!("{field} = missing")));
    }
}

#[test]
fn a_special_situation_has_at_most_four_lines() {
    let old = "lines = [\"Bleeding, airway, tension, tamponade: as local protocol says\"]";
    let four = change(ADULT, old, "lines = [\"a\", \"b\", \"c\", \"d\"]");
    let p = Protocol::parse(four.as_bytes()).unwrap();
    assert_eq!(p.overlay(Overlay::Trauma).unwrap().lines.len(), 4);
    let five = change(ADULT, old, "lines = [\"a\", \"b\", \"c\", \"d\", \"e\"]");
    assert!(one(&five).contains("overlay.trauma.lines = [\"a\", \"b\", \"c\", \"d\", \"e\"], allowed: a list of 0 to 4 lines"));
}

#[test]
fn parts_keep_the_order_in_which_they_stand() {
    let text = change(
        ADULT,
        "under = \"The part that goes under: in place\"\n",
        "",
    );
    let text = change(
        &text,
        "limbs = \"Arms and legs lie safe\"\n",
        "limbs = \"Arms and legs lie safe\"\naback = \"Last of all\"\n",
    );
    let p = Protocol::parse(text.as_bytes()).unwrap();
    let keys: Vec<_> = p.device.parts.iter().map(|(key, _)| key.as_str()).collect();
    assert_eq!(
        keys,
        ["open_on", "over", "contact", "held", "limbs", "aback"]
    );
}

#[test]
fn parts_have_keys_and_words() {
    let allowed = "a table of 0 to 12 parts: a key of 1 to 24 characters out of a-z and _, = a text of 1 to 80 characters";
    let part = "limbs = \"Arms and legs lie safe\"";
    let thirteen: Vec<_> = ('a'..='h').map(|c| format!("{c} = \"x\"")).collect();
    let long = format!("{} = \"x\"", "k".repeat(25));
    assert!(Protocol::parse(change(ADULT, part, &long[1..]).as_bytes()).is_ok());
    for bad in [
        "limbs = 1",
        "limbs = \"\"",
        "LIMBS = \"x\"",
        "limbs_0 = \"x\"",
        &long,
        &thirteen.join("\n"),
    ] {
        let found = faults(&change(ADULT, part, bad));
        assert_eq!(found.len(), 1, "{bad}: {found:?}");
        assert_eq!(
            (found[0].field.as_str(), found[0].allowed.as_str()),
            ("device.parts", allowed)
        );
    }
    let none = ADULT.replace("[device.parts.value]", "[device.parts.worth]");
    let found: Vec<_> = faults(&none).into_iter().map(|f| f.field).collect();
    assert_eq!(found, ["device.parts.value", "device.parts.worth"]);
}

#[test]
fn times_of_a_check_must_fit_together() {
    let (text, line) = with_value(ADULT, "check.every_s", "60");
    assert_eq!(line_of(&text, "[check.every_s]") + 1, line);
    assert!(one(&text).ends_with(
        "check.heads_up_s = 30, allowed: less than check.every_s, together with check.overdue_s"
    ));
    let (text, _) = with_value(ADULT, "check.heads_up_s", "15");
    let (text, line) = with_value(&text, "check.charge_before_s", "15");
    assert_eq!(
        one(&text),
        format!("line {line}: check.charge_before_s = 15, allowed: less than check.heads_up_s")
    );
}

#[test]
fn fields_that_a_class_does_not_have_are_told_so() {
    let extra = |text: &str, field: &str| {
        let cell = format!("\n[{field}]\nvalue = 1\nsource = \"x\"\n");
        one(&[text, &cell].concat())
    };
    let newborn = "allowed: nothing of this in a file with class = \"newborn\"";
    for group in ["check", "cup", "power", "start"] {
        let said = extra(NEWBORN, &format!("{group}.every_s"));
        assert!(
            said.contains(&format!("{group} = not known")) && said.ends_with(newborn),
            "{said}"
        );
    }
    let said = extra(ADULT, "newborn.recheck_s");
    assert!(
        said.ends_with("nothing of this but in a file with class = \"newborn\""),
        "{said}"
    );
    for text in [CHILD, NEWBORN] {
        let said = extra(text, "device.after_cycles");
        assert!(
            said.ends_with(
                "device.after_cycles = not known, allowed: only device.allowed where that is false"
            ),
            "{said}"
        );
    }
}

#[test]
fn strange_shapes_are_named() {
    for (extra, field) in [
        ("\n[heart.rate]\nvalue = 1\n", "heart"),
        ("\n[cup.colour]\nvalue = 1\n", "cup.colour"),
        ("\n[[minute]]\n", "minute.5.prompt"),
    ] {
        let found = faults(&[ADULT, extra].concat());
        assert!(
            found.iter().any(|f| f.field == field && f.line > 0),
            "{found:?}"
        );
    }
    let flat = "format = 1\nid = \"a\"\nversion = \"1\"\nname = \"a\"\nclass = \"adult\"\nbeat = 3\ndrug = 4\noverlay = [1]\nminute = [1]\n";
    let found = faults(flat);
    for (field, line, allowed) in [
        ("beat", 6, "tables such as [beat.rate_per_min]"),
        ("drug", 7, "tables headed [[drug]]"),
        ("overlay", 8, "tables headed [overlay.name]"),
        ("minute.1", 9, "tables headed [[minute]]"),
    ] {
        let hit = found.iter().find(|f| f.field == field && f.line == line);
        assert_eq!(hit.map(|f| f.allowed.as_str()), Some(allowed), "{field}");
    }
    let inline = change(
        ADULT,
        "[cup.repeat_s]\nvalue = 30\nrange = [15, 60]\n",
        "[cup]\nrepeat_s = 30\n",
    );
    assert!(
        faults(&inline)[0]
            .to_string()
            .contains("cup.repeat_s = 30, allowed: a table [cup.repeat_s] with value and source")
    );
}

#[test]
fn a_source_is_words_of_up_to_three_hundred_characters() {
    let good = "x".repeat(300);
    let text = change(
        ADULT,
        "source = \"the charge follows the check: common practice, no source\"",
        &format!("source = \"{good}\""),
    );
    assert!(Protocol::parse(text.as_bytes()).is_ok());
    for bad in [
        "\"\"",
        "\" \"",
        "\"two\\nlines\"",
        "7",
        &format!("\"{good}x\""),
    ] {
        let text = change(&text, &format!("\"{good}\""), bad);
        let line = line_of(&text, &format!("source = {bad}"));
        let found = faults(&text);
        assert_eq!(found.len(), 1, "{bad}");
        assert_eq!(
            (found[0].field.as_str(), found[0].line),
            ("check.charge_before_s.source", line)
        );
    }
}

#[test]
fn a_drug_a_checkpoint_and_a_special_situation_have_sources_too() {
    for (header, field) in [
        ("[[drug]]", "drug.1.source"),
        ("[overlay.cold]", "overlay.cold.source"),
        ("[overlay.trauma]", "overlay.trauma.source"),
        ("[[minute]]", "minute.1.source"),
    ] {
        let from = ADULT.find(header).unwrap();
        let source = from + ADULT[from..].find("\nsource = ").unwrap() + 1;
        let end = source + ADULT[source..].find('\n').unwrap() + 1;
        let found = faults(&[&ADULT[..source], &ADULT[end..]].concat());
        let said: Vec<_> = found
            .iter()
            .map(|f| (f.field.as_str(), f.found.as_str()))
            .collect();
        assert_eq!(said, [(field, "missing")]);
        assert_eq!(found[0].line, line_of(ADULT, header));
    }
}
