//! Drugs and their windows.

use alloc::{format, vec::Vec};

use super::sheet::{ADULT, change, faults, line_of, one};
use crate::{
    Ms,
    protocol::{DrugDue, FirstDose, Protocol},
};

#[test]
fn the_drugs_of_the_two_regions_differ_where_their_guidelines_do() {
    // After shock 2 and after shock 3; every 3 to 5 minutes; 300 mg after shock 3, 150 mg after 5,
    // none later. Sources stand in the files: advanced life support 2020 and 2021.
    for (id, after, name) in [
        ("example-adult", 2, "Epinephrine"),
        ("example-adult-b", 3, "Epinephrine (adrenaline)"),
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

/// A line of the adult example, what stands in its place, the field, and what is said of it.
const FAULTS: &[(&str, &str, &str, &str)] = &[
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
        "7, allowed: a whole number 0 to 6 shocks; 0: shocks do not ask for it",
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
];

#[test]
fn each_fault_of_a_drug_names_its_line_and_field() {
    for (old, new, field, said) in FAULTS {
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
