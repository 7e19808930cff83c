//! What differs between two files.

use alloc::{string::String, vec::Vec};

use super::sheet::{ADULT, change, with_value};
use crate::protocol::{Difference, Protocol};

fn diff(here: &str, there: &str) -> Vec<(String, Option<String>, Option<String>)> {
    let read = |text: &str| Protocol::parse(text.as_bytes()).unwrap();
    let tell = |d: Difference| (d.field, d.here, d.there);
    read(here)
        .diff(&read(there))
        .into_iter()
        .map(tell)
        .collect()
}

#[test]
fn a_file_does_not_differ_from_itself_nor_from_its_tables_in_another_order() {
    for (_, text) in Protocol::EXAMPLES {
        assert_eq!(diff(text, text), []);
    }
    let cell = "[cup.repeat_s]\nvalue = 30\nrange = [15, 60]\n";
    let from = ADULT.find(cell).unwrap();
    let (before, rest) = ADULT.split_at(from);
    let end = rest.find("\n\n[").unwrap() + 2;
    let moved = [before, &rest[end..], "\n", &rest[..end]].concat();
    assert_eq!(diff(ADULT, &moved), []);
}

#[test]
fn values_lines_and_sources_are_compared_by_field_in_the_order_of_the_file() {
    let (other, _) = with_value(ADULT, "rosc.list", "[\"Pads stay on\"]");
    let other = change(&other, "max_s = 300", "max_s = 240");
    let other = change(&other, "name = \"Example, adult\"", "name = \"Ours\"");
    let found = diff(ADULT, &other);
    assert_eq!(found.len(), 3);
    assert_eq!(
        found[0],
        (
            "name".into(),
            Some("\"Example, adult\"".into()),
            Some("\"Ours\"".into())
        )
    );
    assert_eq!(
        found[1],
        (
            "drug.adrenaline.max_s".into(),
            Some("300".into()),
            Some("240".into())
        )
    );
    assert_eq!(found[2].0, "rosc.list");
    assert_eq!(found[2].2, Some("[\"Pads stay on\"]".into()));

    let source = "source = \"no estimate: no product-neutral figure is published; enter your own device's figure\"";
    let other = change(ADULT, source, "source = \"ours\"");
    let found = diff(ADULT, &other);
    assert_eq!(found.len(), 1);
    assert_eq!(
        (found[0].0.as_str(), found[0].2.as_deref()),
        ("power.full_pack_min.source", Some("\"ours\""))
    );
}

#[test]
fn what_only_one_file_has_is_told_from_both_sides() {
    let from = ADULT.find("\n[overlay.trauma]").unwrap();
    let end = from + ADULT[from + 1..].find("\n[").unwrap() + 1;
    let without = [&ADULT[..from], &ADULT[end..]].concat();
    let fields = ["overlay.trauma.lines", "overlay.trauma.source"];
    for (found, is_here) in [
        (diff(ADULT, &without), true),
        (diff(&without, ADULT), false),
    ] {
        assert_eq!(
            found.iter().map(|d| d.0.as_str()).collect::<Vec<_>>(),
            fields
        );
        for (_, here, there) in found {
            assert_eq!((here.is_some(), there.is_some()), (is_here, !is_here));
        }
    }
}
