//! A protocol as a table for readers: each value with what is allowed there and where it comes from.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use super::{Protocol, diff::leaves, parse};

/// A value of a protocol file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProtocolRow {
    /// The field, as in the file: `check.every_s`, `drug.adrenaline.max_s`.
    pub field: String,
    /// What stands there.
    pub value: String,
    /// What may stand there: the rule's own range with its unit; the file's where it narrows it.
    pub allowed: String,
    /// Where it comes from, as the file says; one of several rows of a table shares the table's.
    pub source: Option<String>,
}

impl Protocol {
    /// Every value in the order of the file; sources and ranges stand beside them.
    pub fn rows(&self) -> Vec<ProtocolRow> {
        let leaves = leaves(&self.text);
        let asked = parse::asked(&self.text);
        let beside = |field: &str, what: &str| {
            let own = [field, ".", what].concat();
            let row = [field.rsplit_once('.').map_or("", |(row, _)| row), ".", what].concat();
            let found = |name: &str| leaves.iter().find(|(known, _)| known == name);
            found(&own).or_else(|| found(&row)).map(|(_, v)| v.clone())
        };
        leaves
            .iter()
            .filter(|(field, _)| {
                let last = field.rsplit('.').next().unwrap_or_default();
                !matches!(last, "source" | "range")
            })
            .map(|(field, value)| {
                let rule = asked
                    .iter()
                    .find(|(known, _)| *known == page_name(field))
                    .map_or_else(String::new, |(_, allowed)| allowed.clone());
                let own = [field, ".range"].concat();
                let narrowed = leaves
                    .iter()
                    .find(|(known, _)| *known == own)
                    .map(|(_, range)| range.as_str());
                ProtocolRow {
                    field: field.clone(),
                    value: plain(value),
                    allowed: match narrowed {
                        Some(range) => [rule.as_str(), ", here ", range].concat(),
                        None => rule,
                    },
                    source: beside(field, "source").map(|source| plain(&source)),
                }
            })
            .collect()
    }
}

/// The field as the page of the format names it: a row of several goes by its table's name.
fn page_name(field: &str) -> String {
    let mut parts = field.split('.');
    let (table, row, key) = (parts.next(), parts.next(), parts.next());
    match (table, row, key) {
        (Some(table @ ("drug" | "minute" | "overlay")), Some(_), Some(key)) => {
            [table, ".", key].concat()
        }
        _ => field.to_string(),
    }
}

/// A text without its quotes; anything else as it is written.
fn plain(value: &str) -> String {
    value
        .strip_prefix('"')
        .and_then(|rest| rest.strip_suffix('"'))
        .map_or_else(|| value.to_string(), |text| text.replace("\\\"", "\""))
}
