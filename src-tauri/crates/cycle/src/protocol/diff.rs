//! What differs between two protocol files, field by field, as the files say it.

use alloc::{
    collections::BTreeSet,
    format,
    string::{String, ToString},
    vec::Vec,
};

use toml::de::{DeTable, DeValue};

use super::Protocol;

/// A field that two protocols do not share, or in which they differ.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Difference {
    /// The field, as in the file: `check.every_s`, `check.every_s.source`, `drug.adrenaline.max_s`.
    pub field: String,
    /// What stands here; `None`: no such field.
    pub here: Option<String>,
    /// What stands there.
    pub there: Option<String>,
}

impl Protocol {
    /// Every field in which `other` differs, sources and lines too, in the order of this file; then
    /// what only the other one has. Values that are written differently and mean the same (an
    /// integer in another base, say) count as different.
    pub fn diff(&self, other: &Self) -> Vec<Difference> {
        let (here, there) = (leaves(&self.text), leaves(&other.text));
        let value_in = |all: &[(String, String)], field: &str| {
            let found = all.iter().find(|(known, _)| known == field);
            found.map(|(_, value)| value.clone())
        };
        let mut seen = BTreeSet::new();
        let mut differences = Vec::new();
        for (field, _) in here.iter().chain(&there) {
            if !seen.insert(field) {
                continue;
            }
            let (here, there) = (value_in(&here, field), value_in(&there, field));
            if here != there {
                differences.push(Difference {
                    field: field.clone(),
                    here,
                    there,
                });
            }
        }
        differences
    }
}

/// Tables with fields of their own, which keep all their names.
const ROWS: [&str; 3] = ["drug.", "minute.", "overlay."];

/// Every value of a file with its field, in the order of the file.
pub(super) fn leaves(text: &str) -> Vec<(String, String)> {
    named(text, true)
}

/// The same where a row of a list goes by its place alone.
pub(super) fn places(text: &str) -> Vec<(String, String)> {
    named(text, false)
}

fn named(text: &str, by_key: bool) -> Vec<(String, String)> {
    let (table, _) = DeTable::parse_recoverable(text);
    let mut found = Vec::new();
    walk("", table.get_ref(), by_key, &mut found);
    found.sort_by_key(|(at, _, _)| *at);
    let named = found.into_iter().map(|(_, field, value)| (field, value));
    named.collect()
}

fn walk(path: &str, table: &DeTable<'_>, by_key: bool, found: &mut Vec<(usize, String, String)>) {
    for (key, value) in table {
        let key = key.get_ref().as_ref();
        // A cell's own value goes by the cell's name, as in the faults.
        let is_cell = !ROWS.iter().any(|rows| path.starts_with(rows));
        let is_value = is_cell && matches!(key, "value" | "lines");
        let field = match (path.is_empty(), is_value) {
            (true, _) => key.to_string(),
            (false, true) => path.to_string(),
            (false, false) => format!("{path}.{key}"),
        };
        match value.get_ref() {
            DeValue::Table(inner) => walk(&field, inner, by_key, found),
            DeValue::Array(rows) if rows.iter().any(|row| row.get_ref().is_table()) => {
                for (row, n) in rows.iter().zip(1_u32..) {
                    let row = row.get_ref();
                    let own = row.get("key").and_then(|key| key.get_ref().as_str());
                    let own = own.filter(|_| by_key);
                    let name = own.map_or_else(|| n.to_string(), ToString::to_string);
                    if let Some(inner) = row.as_table() {
                        walk(&format!("{field}.{name}"), inner, by_key, found);
                    }
                }
            }
            leaf @ (DeValue::String(_)
            | DeValue::Integer(_)
            | DeValue::Float(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_)
            | DeValue::Array(_)) => found.push((value.span().start, field, written(leaf))),
        }
    }
}

pub(super) fn written(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(s) => quoted(s),
        DeValue::Integer(n) => n.as_str().to_string(),
        DeValue::Float(n) => n.as_str().to_string(),
        DeValue::Boolean(b) => b.to_string(),
        DeValue::Datetime(d) => d.to_string(),
        DeValue::Array(items) => {
            let items: Vec<_> = items.iter().map(|item| written(item.get_ref())).collect();
            format!("[{}]", items.join(", "))
        }
        DeValue::Table(_) => "a table".to_string(),
    }
}

/// A text as one line in quotes.
pub(super) fn quoted(text: &str) -> String {
    let mut line = String::from("\"");
    for c in text.chars() {
        if c.is_control() || matches!(c, '"' | '\\') {
            line.extend(c.escape_default());
        } else {
            line.push(c);
        }
    }
    line.push('"');
    line
}
