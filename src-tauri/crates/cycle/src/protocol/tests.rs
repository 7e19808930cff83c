//! The file as a whole; its fields, its rows and the built-in examples have files of their own.
#![expect(
    clippy::arithmetic_side_effects,
    reason = "lines of a file of a few pages, counted"
)]

mod diff;
mod drugs;
mod edits;
mod examples;
mod fields;
mod form;
mod places;
mod rows;
mod sheet;
mod table;

use alloc::{string::String, vec::Vec};

use super::{Protocol, ProtocolFault};
use crate::Ms;

fn example() -> String {
    Protocol::example("example-adult").unwrap().into()
}

fn faults(text: &str) -> Vec<ProtocolFault> {
    Protocol::parse(text.as_bytes()).unwrap_err()
}

#[test]
fn the_built_in_example_is_in_range() {
    let p = Protocol::parse(example().as_bytes()).unwrap();
    assert_eq!(p.rate.per_minute(), 110);
    assert_eq!(
        (p.window, p.breath_every, p.check_every),
        (Ms(4000), Ms(6000), Ms(120_000))
    );
    assert_eq!(p.airway_modes.len(), 5);
}

#[test]
fn a_rate_out_of_range_names_line_field_value_and_range() {
    let text = example().replace("value = 110", "value = 170");
    let line = text.lines().position(|l| l == "value = 170").unwrap() + 1;
    let found = faults(&text);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].line, line);
    assert_eq!(
        alloc::format!("{}", found[0]),
        alloc::format!(
            "line {line}: beat.rate_per_min = 170, allowed: a whole number 100 to 120 per minute"
        )
    );
}

#[test]
fn the_file_may_narrow_a_range_and_is_held_to_it() {
    let narrowed = example().replace("range = [100, 120]", "range = [100, 105]");
    assert_eq!(
        faults(&narrowed)[0].allowed,
        "a whole number 100 to 105 per minute"
    );
    for bad in [
        "[80, 110]",
        "[110, 140]",
        "[115, 105]",
        "[100]",
        "[100, 110, 120]",
        "110",
    ] {
        let text = example().replace("range = [100, 120]", &alloc::format!("range = {bad}"));
        let found = faults(&text);
        assert_eq!(found.len(), 1, "{bad}");
        assert_eq!(found[0].field, "beat.rate_per_min.range");
        assert_eq!(found[0].allowed, "[low, high] within 100 to 120");
    }
}

#[test]
fn every_fault_is_named_at_once() {
    let text = example()
        .replace("value = 110", "value = \"fast\"")
        .replace("value = \"30:2\"", "value = \"40:2\"")
        .replace("[10, 15, 20, 30, 40, 50, 60]", "[20, 10]")
        .replace("[cup.repeat_s]", "[cup.repeat_sec]");
    let fields: Vec<_> = faults(&text).into_iter().map(|f| f.field).collect();
    for field in [
        "beat.rate_per_min",
        "breaths.ratio",
        "hands_off.numbers_s",
        "cup.repeat_s",
        "cup.repeat_sec",
    ] {
        assert!(
            fields.iter().any(|f| f == field),
            "{field} not in {fields:?}"
        );
    }
}

#[test]
fn a_value_without_a_source_is_a_fault() {
    let text = example().replace(
        "source = \"2 min between rhythm checks: adult algorithm 2020\"",
        "",
    );
    assert_eq!(faults(&text)[0].field, "check.every_s.source");
}

#[test]
fn empty_huge_and_foreign_bytes_each_have_their_own_text() {
    assert_eq!(faults(" \n")[0].found, "an empty file");
    let huge = alloc::vec![b'#'; 50_000];
    assert_eq!(
        Protocol::parse(&huge).unwrap_err()[0].found,
        "a file of 50000 bytes"
    );
    let torn = Protocol::parse(b"id = \"a\"\nname = \"\xff\"").unwrap_err();
    assert_eq!(
        (torn[0].line, torn[0].found.as_str()),
        (2, "byte 17 is not UTF-8")
    );
}

#[test]
fn broken_toml_names_the_line() {
    assert_eq!(faults("format = 1\nid = \n")[0].line, 2);
}

#[test]
fn an_unknown_format_is_refused() {
    let text = example().replace("format = 1", "format = 2");
    assert_eq!(faults(&text)[0].field, "format");
}
