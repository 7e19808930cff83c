//! Every field with what it may hold, written by hand from the protocol's issue and its page.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::sheet::{
    ADULT, CHILD, INFANT, NEWBORN, faults, with_stray, with_value, without, without_source,
};
use crate::{
    Ms,
    protocol::{Protocol, parse},
};

/// Field, lowest, highest, unit as the text ends. Source: the table of docs/protocol.md; the clinical
/// ones are checked against the guidelines named in each example's sources.
const WHOLE: &[(&str, i64, i64, &str)] = &[
    ("beat.rate_per_min", 100, 120, "per minute"),
    ("start.first_breaths_wait_s", 5, 30, "s"),
    ("breaths.window_s", 3, 10, "s"),
    ("breaths.every_s", 5, 10, "s"),
    ("check.every_s", 60, 180, "s"),
    ("check.count_from_s", 3, 5, "s"),
    ("check.overdue_s", 15, 60, "s"),
    ("hands_off.budget_s", 3, 30, "s"),
    ("hands_off.budget_shock_s", 3, 30, "s"),
    ("hands_off.still_every_s", 10, 60, "s"),
    ("procedure.airway_s", 5, 60, "s"),
    ("procedure.access_s", 5, 60, "s"),
    ("procedure.ultrasound_s", 5, 60, "s"),
    ("shock.silence_s", 30, 120, "s"),
    ("shock.stack_most", 1, 3, "shocks"),
    ("shock.refractory_after", 2, 6, "shocks"),
    ("device.after_cycles", 0, 5, "cycles"),
    ("cup.repeat_s", 15, 60, "s"),
    ("power.swap_window_s", 15, 180, "s"),
    ("power.by_hand_offer_s", 5, 30, "s"),
    ("rosc.recheck_s", 60, 600, "s"),
    ("run.still_running_min", 10, 60, "min"),
];

/// The same where 0 stands for "not at all".
const NONE_OR: &[(&str, i64, i64, &str)] = &[
    ("check.charge_before_s", 10, 20, "s"),
    ("power.full_pack_min", 15, 180, "min"),
];

const LINES: &[&str] = &[
    "shock.refractory",
    "device.reasons",
    "device.not_for",
    "device.roles",
    "device.landmarks",
    "device.before_move",
    "rosc.list",
    "lists.kit",
    "lists.make_ready",
    "doses.table",
];

const YES: &[&str] = &[
    "check.through_device",
    "check.rotate",
    "device.allowed",
    "drugs.withhold_awake",
    "rosc.breath_tone",
];

/// Tables of the service's own keys, each with words.
const OWN_KEYS: &[&str] = &["device.parts", "drugs.other"];

/// Only where the change does not go with the check; it has a test of its own.
const APART: &str = "check.rotate_apart_s";

const MODES: &str = "one of ratio, continuous, none";

/// Field, a value of the right kind that is not allowed, what is.
const OTHER: &[(&str, &str, &str)] = &[
    ("start.first_breaths", "3", "one of 0, 2, 5"),
    ("check.heads_up_s", "20", "one of 15, 30"),
    ("breaths.ratio", "\"3:1\"", "one of 30:2, 15:2"),
    ("breaths.ratio_alone", "\"3:1\"", "one of 30:2, 15:2"),
    ("breaths.mask", "\"none\"", "one of ratio, continuous"),
    ("airway.opa", "\"tube\"", MODES),
    ("airway.npa", "\"tube\"", MODES),
    ("airway.sga", "\"tube\"", MODES),
    ("airway.ett", "\"tube\"", MODES),
    ("airway.cric", "\"tube\"", MODES),
    ("check.form", "\"long\"", "one of short, full"),
    ("check.led_beat", "\"loud\"", "one of on, quiet, off"),
    ("device.windows", "\"three\"", "one of two, one, in_check"),
    (
        "hands_off.numbers_s",
        "[10, 25]",
        "a rising list out of 5, 10, 15, 20, 30, 40, 50, 60 s",
    ),
    (
        "voice.also_spoken",
        "[\"chk_now\"]",
        "a list, each once, out of off05, rotate_now, chk_15, charge, next_up, drug_60, drug_next, fit_plan, power_10, move_plan, causes, plan_now, pads_now",
    ),
];

fn shown(text: &str) -> Vec<String> {
    faults(text).iter().map(ToString::to_string).collect()
}

#[test]
fn a_number_outside_its_range_is_refused_and_both_ends_are_not() {
    for (field, low, high, unit) in WHOLE {
        for bad in [low - 1, high + 1, -1, i64::MAX] {
            let (text, line) = with_value(ADULT, field, &bad.to_string());
            assert_eq!(
                shown(&text)[0],
                format!(
                    "line {line}: {field} = {bad}, allowed: a whole number {low} to {high} {unit}"
                ),
            );
        }
        for good in [low, high] {
            let (text, _) = with_value(ADULT, field, &good.to_string());
            let found = Protocol::parse(text.as_bytes()).err().unwrap_or_default();
            assert!(found.iter().all(|f| f.field != *field), "{found:?}");
        }
    }
}

#[test]
fn nought_stands_for_none_only_where_the_field_says_so() {
    for (field, low, high, unit) in NONE_OR {
        for bad in [1, low - 1, high + 1, -1] {
            let (text, line) = with_value(ADULT, field, &bad.to_string());
            assert_eq!(
                shown(&text),
                [format!(
                    "line {line}: {field} = {bad}, allowed: 0, or a whole number {low} to {high} {unit}"
                )],
            );
        }
        for good in [0, *low, *high] {
            let (text, _) = with_value(ADULT, field, &good.to_string());
            assert!(Protocol::parse(text.as_bytes()).is_ok(), "{field} = {good}");
        }
    }
}

#[test]
fn the_compressor_changes_with_the_check_or_by_a_clock_of_its_own() {
    let apart = |n: i64| {
        let (text, _) = with_value(ADULT, "check.rotate", "false");
        with_value(&text, "check.rotate_apart_s", &n.to_string())
    };
    let allowed = "0, or a whole number 60 to 180 s";
    for bad in [-1, 1, 59, 181] {
        let (text, line) = apart(bad);
        let said = format!("line {line}: check.rotate_apart_s = {bad}, allowed: {allowed}");
        assert_eq!(shown(&text), [said]);
    }
    for (good, holds) in [(0, None), (60, Some(Ms(60_000))), (180, Some(Ms(180_000)))] {
        let p = Protocol::parse(apart(good).0.as_bytes()).unwrap();
        assert_eq!(p.rotate_apart, holds);
    }
    let (both, line) = with_value(ADULT, "check.rotate_apart_s", "90");
    let said = "check.rotate_apart_s = 90, allowed: 0 where check.rotate is true";
    assert_eq!(shown(&both), [format!("line {line}: {said}")]);
}

/// A key of the list must not stand for a drug with a window: its doses would not count there.
#[test]
fn other_drugs_are_others() {
    let text = ADULT.replace("calcium = \"Calcium\"", "adrenaline = \"Epinephrine\"");
    let found = faults(&text);
    assert_eq!(found.len(), 1, "{found:?}");
    let (field, allowed) = (found[0].field.as_str(), found[0].allowed.as_str());
    assert_eq!(field, "drugs.other");
    assert_eq!(allowed, "drugs that have no table of their own");
}

#[test]
fn each_class_has_its_own_breath_interval() {
    for (text, low, high) in [(ADULT, 5, 10), (CHILD, 2, 6), (INFANT, 2, 4)] {
        for bad in [low - 1, high + 1] {
            let (text, line) = with_value(text, "breaths.every_s", &bad.to_string());
            assert_eq!(
                shown(&text),
                [format!(
                    "line {line}: breaths.every_s = {bad}, allowed: a whole number {low} to {high} s"
                )],
            );
        }
    }
}

#[test]
fn a_newborn_s_fields_have_their_own_ranges() {
    for (field, low, high, unit) in [
        ("beat.rate_per_min", 120, 120, "per minute"),
        ("newborn.breaths_first_s", 15, 60, "s"),
        ("newborn.breath_every_ms", 1000, 2000, "ms"),
        ("newborn.recheck_s", 30, 60, "s"),
    ] {
        for bad in [low - 1, high + 1] {
            let (text, line) = with_value(NEWBORN, field, &bad.to_string());
            assert_eq!(
                shown(&text),
                [format!(
                    "line {line}: {field} = {bad}, allowed: a whole number {low} to {high} {unit}"
                )],
            );
        }
    }
    let (text, line) = with_value(NEWBORN, "breaths.ratio", "\"15:2\"");
    assert_eq!(
        shown(&text),
        [format!(
            "line {line}: breaths.ratio = \"15:2\", allowed: one of 3:1"
        )],
    );
    let (text, line) = with_value(NEWBORN, "device.allowed", "true");
    assert_eq!(
        shown(&text),
        [format!(
            "line {line}: device.allowed = true, allowed: false for a newborn"
        )],
    );
}

#[test]
fn a_word_or_a_list_that_is_not_known_is_refused_with_those_that_are() {
    for (field, bad, allowed) in OTHER {
        let (text, line) = with_value(ADULT, field, bad);
        assert_eq!(
            shown(&text),
            [format!("line {line}: {field} = {bad}, allowed: {allowed}")]
        );
    }
    for bad in ["[20, 10]", "[10, 10]", "[10, \"15\"]"] {
        let (text, _) = with_value(ADULT, "hands_off.numbers_s", bad);
        assert_eq!(faults(&text)[0].found, bad);
    }
    let (text, _) = with_value(ADULT, "voice.also_spoken", "[\"charge\", \"charge\"]");
    assert_eq!(faults(&text)[0].field, "voice.also_spoken");
}

#[test]
fn yes_and_no_are_true_and_false() {
    for field in YES {
        for bad in ["1", "\"yes\""] {
            let (text, line) = with_value(ADULT, field, bad);
            assert_eq!(
                shown(&text)[0],
                format!("line {line}: {field} = {bad}, allowed: true or false"),
            );
        }
    }
}

#[test]
fn a_list_holds_up_to_twelve_lines_of_up_to_eighty_characters() {
    let long = "x".repeat(80);
    let twelve = ["\"a\""; 12].join(", ");
    for field in LINES {
        for good in [
            "[]".to_string(),
            format!("[\"{long}\"]"),
            format!("[{twelve}]"),
        ] {
            let (text, _) = with_value(ADULT, field, &good);
            assert!(Protocol::parse(text.as_bytes()).is_ok(), "{field} = {good}");
        }
        for bad in [
            format!("[\"{long}x\"]"),
            format!("[{twelve}, \"a\"]"),
            "[\"\"]".to_string(),
            "[\" \"]".to_string(),
            "[\"two\\nlines\"]".to_string(),
            "[1]".to_string(),
            "\"a\"".to_string(),
        ] {
            let (text, line) = with_value(ADULT, field, &bad);
            let found = faults(&text);
            assert_eq!((found.len(), found[0].line), (1, line), "{bad}");
            assert_eq!(found[0].field, *field);
            assert_eq!(
                found[0].allowed,
                "a list of 0 to 12 lines of 1 to 80 characters"
            );
        }
    }
}

/// Fields of every class, as the parser asks for them, that are tables of their own.
fn cells(text: &str) -> Vec<(String, String)> {
    let mut all = parse::asked(text);
    all.retain(|(field, _)| text.contains(&format!("\n[{field}]\n")));
    assert!(all.len() > 20);
    all
}

#[test]
fn the_tables_above_leave_no_field_out() {
    let known: Vec<&str> = WHOLE
        .iter()
        .chain(NONE_OR)
        .map(|(field, ..)| *field)
        .chain(OTHER.iter().map(|(field, ..)| *field))
        .chain(YES.iter().chain(LINES).chain(OWN_KEYS).copied())
        .chain([APART])
        .collect();
    for (field, _) in cells(ADULT) {
        assert!(known.contains(&field.as_str()), "{field}");
    }
    assert_eq!(cells(ADULT).len(), known.len());
}

#[test]
fn of_every_field_of_every_class_a_date_is_refused_at_its_line() {
    for (id, text) in Protocol::EXAMPLES {
        for (field, allowed) in cells(text) {
            if OWN_KEYS.contains(&field.as_str()) {
                continue;
            }
            let (text, line) = with_value(text, &field, "2026-11-25");
            let expected = format!("line {line}: {field} = 2026-11-25, allowed: {allowed}");
            assert!(shown(&text).contains(&expected), "{id}: {expected}");
        }
    }
}

#[test]
fn of_every_field_of_every_class_a_value_is_asked_for() {
    for (id, text) in Protocol::EXAMPLES {
        for (field, allowed) in cells(text) {
            let text = without(text, &field);
            // Their words stand in a table after theirs, which would stay behind.
            if OWN_KEYS.contains(&field.as_str()) {
                continue;
            }
            let expected = format!("{field} = missing, allowed: {allowed}");
            assert_eq!(shown(&text)[0], expected, "{id}");
        }
    }
}

#[test]
fn of_every_field_of_every_class_a_source_is_asked_for_and_nothing_strange() {
    for (id, text) in Protocol::EXAMPLES {
        for (field, _) in cells(text) {
            let found = faults(&without_source(text, &field));
            assert_eq!(found.len(), 1, "{id} {field}");
            assert_eq!(found[0].field, format!("{field}.source"));
            assert_eq!(found[0].found, "missing");
            assert!(found[0].line > 0 && found[0].allowed.starts_with("a source beside"));

            let found = faults(&with_stray(text, &field));
            assert_eq!(found.len(), 1, "{id} {field}");
            assert_eq!(found[0].field, format!("{field}.colour"));
            assert_eq!(found[0].found, "not known");
        }
    }
}
