//! A file with one thing changed, for the other tests.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use crate::protocol::{Protocol, ProtocolFault};

pub(super) const ADULT: &str = include_str!("../../../protocols/example-adult.toml");
pub(super) const CHILD: &str = include_str!("../../../protocols/example-child.toml");
pub(super) const INFANT: &str = include_str!("../../../protocols/example-infant.toml");
pub(super) const NEWBORN: &str = include_str!("../../../protocols/example-newborn.toml");

pub(super) fn faults(text: &str) -> Vec<ProtocolFault> {
    Protocol::parse(text.as_bytes()).unwrap_err()
}

/// The lines of `[field]`: from its header to the next one.
fn block<'a>(text: &'a str, field: &str) -> (usize, &'a str) {
    let header = format!("\n[{field}]\n");
    let from = text.find(&header).unwrap_or_else(|| panic!("no [{field}]")) + 1;
    let rest = &text[from..];
    let end = rest.find("\n[").map_or(rest.len(), |at| at + 1);
    (from, &rest[..end])
}

fn with_block(text: &str, field: &str, edit: impl Fn(&str) -> String) -> String {
    let (from, old) = block(text, field);
    [&text[..from], &edit(old), &text[from + old.len()..]].concat()
}

/// The value or the lines of `[field]` as `new`, without a range; and the line it stands in, from 1.
pub(super) fn with_value(text: &str, field: &str, new: &str) -> (String, usize) {
    let changed = with_block(text, field, |old| {
        let at = old.find("\nvalue = ").or_else(|| old.find("\nlines = "));
        let at = at.unwrap_or_else(|| panic!("no value in [{field}]")) + 1;
        let slot = &old[at..at + "value".len()];
        let source = old.find("\nsource = ").unwrap() + 1;
        format!("{}{slot} = {new}\n{}", &old[..at], &old[source..])
    });
    let header = format!("[{field}]");
    let line = changed.lines().position(|l| l == header).unwrap() + 2;
    (changed, line)
}

pub(super) fn without(text: &str, field: &str) -> String {
    with_block(text, field, |_| String::new())
}

pub(super) fn without_source(text: &str, field: &str) -> String {
    with_block(text, field, |old| {
        let kept: Vec<_> = old
            .lines()
            .filter(|l| !l.starts_with("source = "))
            .collect();
        kept.join("\n") + "\n"
    })
}

pub(super) fn with_stray(text: &str, field: &str) -> String {
    with_block(text, field, |old| {
        old.replace("source = ", "colour = \"red\"\nsource = ")
    })
}

/// Exactly one fault; as it is shown.
pub(super) fn one(text: &str) -> String {
    let found = faults(text);
    assert_eq!(found.len(), 1, "{found:?}");
    found[0].to_string()
}

/// Replaces what must stand in the text once.
pub(super) fn change(text: &str, old: &str, new: &str) -> String {
    assert_eq!(text.matches(old).count(), 1, "{old:?}");
    text.replace(old, new)
}

pub(super) fn line_of(text: &str, line: &str) -> usize {
    let at = text.lines().position(|l| l == line);
    at.unwrap_or_else(|| panic!("no line {line:?}")) + 1
}
