//! Drugs, checkpoints, special situations, the device's parts, and what must fit together.

use alloc::{format, string::ToString, vec::Vec};

use super::sheet::{ADULT, CHILD, NEWBORN, change, faults, line_of, one, with_value};
use crate::{
    Ms,
    protocol::{DrugDue, FirstDose, Overlay, Protocol, Zero},
};

#[test]
fn the_drugs_of_the_two_regions_differ_where_their_guidelines_do() {
    // After shock 2 and after shock 3; every 3 to 5 minutes; 300 mg after shock 3, 150 mg after 5,
    // none later. Sources stand in the files: advanced life support 2020 and 2021.
    for (id, after, name) in [
        ("example-adult", 2, "Epinephrine"),
        ("example-adult-b", 3, "Adrenaline"),
    ] {
        let p = Protocol::parse(Protocol::example(id).unwrap().as_bytes()).unwrap();
        let by_time = p.drug("adrenaline").unwrap();
        assert_eq!(by_time.name, name);
        assert_eq!(
            by_time.due,
            DrugDue::Interval {
                first: FirstDose::AtOnce,
                first_after_shocks: after,
                min: Ms(180_000),
                max: Ms(300_000),
            }
        );
        let by_shocks = p.drug("antiarrhythmic").unwrap();
        assert_eq!(by_shocks.due, DrugDue::Shocks(Vec::from([3, 5])));
        assert_eq!((by_shocks.most, by_shocks.words.len()), (2, 2));
    }
}

#[test]
fn each_fault_of_a_drug_names_its_line_and_field() {
    for (old, new, field, said) in [
        (
            "min_s = 180",
            "min_s = 59",
            "drug.1.min_s",
            "59, allowed: a whole number 60 to 900 s",
        ),
        (
            "max_s = 300",
            "max_s = 1801",
            "drug.1.max_s",
            "1801, allowed: a whole number 60 to 1800 s",
        ),
        (
            "max_s = 300",
            "max_s = 180",
            "drug.1.max_s",
            "180, allowed: more than min_s, 180 s",
        ),
        (
            "first = \"at_once\"",
            "first = \"soon\"",
            "drug.1.first",
            "\"soon\", allowed: one of at_once, never",
        ),
        (
            "first_after_shocks = 2",
            "first_after_shocks = 7",
            "drug.1.first_after_shocks",
            "7, allowed: a whole number 0 to 6 shocks; 0: from the beginning",
        ),
        (
            "most = 0",
            "most = 21",
            "drug.1.most",
            "21, allowed: a whole number 0 to 20 doses; 0: no limit",
        ),
        (
            "words = [\"1 mg IV or IO\"]",
            "words = []",
            "drug.1.words",
            "[], allowed: a list of 1 to 6 lines of 1 to 80 characters",
        ),
        (
            "name = \"Epinephrine\"",
            "name = 1",
            "drug.1.name",
            "1, allowed: a text of 1 to 80 characters in one line",
        ),
        (
            "key = \"adrenaline\"",
            "key = \"Adrenaline 1\"",
            "drug.1.key",
            "\"Adrenaline 1\", allowed: 1 to 24 characters out of a-z and _",
        ),
        (
            "key = \"adrenaline\"",
            "key = \"epinephrine\"",
            "drug.1.key",
            "\"epinephrine\", allowed: adrenaline, the record's key of a drug with such a window",
        ),
        (
            "key = \"antiarrhythmic\"",
            "key = \"amiodarone\"",
            "drug.2.key",
            "\"amiodarone\", allowed: antiarrhythmic, the record's key of a drug with such a window",
        ),
        (
            "after_shocks = [3, 5]",
            "after_shocks = [5, 3]",
            "drug.2.after_shocks",
            "[5, 3], allowed: a rising list of 1 to 6 numbers, 1 to 20",
        ),
        (
            "after_shocks = [3, 5]",
            "after_shocks = []",
            "drug.2.after_shocks",
            "[], allowed: a rising list of 1 to 6 numbers, 1 to 20",
        ),
        (
            "after_shocks = [3, 5]",
            "after_shocks = [0, 3]",
            "drug.2.after_shocks",
            "[0, 3], allowed: a rising list of 1 to 6 numbers, 1 to 20",
        ),
        (
            "after_shocks = [3, 5]",
            "after_shocks = [3, 5]\nmin_s = 181",
            "drug.2.min_s",
            "not known, allowed: key, name, words, most, source, after_shocks",
        ),
        (
            "min_s = 180",
            "min_s = 180\ndose_mg = 1",
            "drug.1.dose_mg",
            "not known, allowed: key, name, words, most, source, first, first_after_shocks, min_s, max_s",
        ),
    ] {
        let text = change(ADULT, old, new);
        let line = line_of(&text, new.lines().last().unwrap());
        assert_eq!(one(&text), format!("line {line}: {field} = {said}"));
    }
}

#[test]
fn each_field_of_a_drug_is_asked_for() {
    for (line, field) in [
        ("key = \"adrenaline\"\n", "drug.1.key"),
        ("name = \"Epinephrine\"\n", "drug.1.name"),
        ("words = [\"1 mg IV or IO\"]\n", "drug.1.words"),
        ("first = \"at_once\"\n", "drug.1.first"),
        ("first_after_shocks = 2\n", "drug.1.first_after_shocks"),
        ("min_s = 180\n", "drug.1.min_s"),
        ("max_s = 300\n", "drug.1.max_s"),
        ("most = 0\n", "drug.1.most"),
        ("most = 2\n", "drug.2.most"),
    ] {
        let found = faults(&change(ADULT, line, ""));
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(
            (found[0].field.as_str(), found[0].found.as_str()),
            (field, "missing")
        );
        // The line of its own [[drug]].
        let header = ADULT.lines().nth(found[0].line - 1).unwrap();
        assert_eq!(header, "[[drug]]");
    }
    let text = change(ADULT, "after_shocks = [3, 5]\n", "");
    let found = faults(&text);
    assert_eq!((found.len(), found[0].field.as_str()), (1, "drug.2"));
    assert_eq!(
        found[0].allowed,
        "after_shocks, or all of first, first_after_shocks, min_s, max_s"
    );
}

#[test]
fn two_drugs_of_one_kind_are_one_too_many() {
    let again = "\n[[drug]]\nkey = \"antiarrhythmic\"\nname = \"Another\"\nwords = [\"as written\"]\nafter_shocks = [4]\nmost = 1\nsource = \"common practice, no source\"\n";
    let text = [ADULT, again].concat();
    let line = text.lines().count() - 6;
    assert_eq!(
        one(&text),
        format!(
            "line {line}: drug.3 = a second drug by shocks, allowed: one drug by time and one by shocks at most: the prompts name no drug"
        )
    );
}

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
            "not known, allowed: lines, source, cold_shocks, cold_factor",
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
    let text = change(ADULT, "under = \"Back part under the shoulders\"\n", "");
    let text = change(
        &text,
        "limbs = \"Arms secured\"\n",
        "limbs = \"Arms secured\"\naback = \"Last of all\"\n",
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
    let part = "limbs = \"Arms secured\"";
    let thirteen: Vec<_> = ('a'..='h').map(|c| format!("{c} = \"x\"")).collect();
    for bad in [
        "limbs = 1",
        "limbs = \"\"",
        "LIMBS = \"x\"",
        "limbs_0 = \"x\"",
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
