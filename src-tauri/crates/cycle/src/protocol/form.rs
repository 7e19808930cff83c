//! A protocol file as a form: every field that it is asked for, with what stands there, what may, and what is
//! wrong with it. What is typed into the form and what the file says are brought together here.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};
use core::fmt::Write as _;

use toml::de::{DeTable, DeValue};

use super::{Protocol, ProtocolFault, diff, parse, rule::Rule};

/// A protocol file field by field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Form {
    /// Every field of a file of this class, there or not, in the order in which they are checked.
    pub fields: Vec<FormField>,
    /// What is wrong with no field of these: strays, rows as a whole, the file itself.
    pub faults: Vec<ProtocolFault>,
}

/// A field of the form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormField {
    /// The field: `check.every_s`, `drug.1.max_s`.
    pub field: String,
    /// Its name on the page of the format: `check.every_s`, `drug.max_s`.
    pub page: String,
    /// What it may hold.
    pub rule: Rule,
    /// What stands there, as it is typed: lines one below the other, lists with commas, parts as `key = words`.
    /// `None`: it is missing.
    pub value: Option<String>,
    /// The narrower range of the file's own, as it is typed: two numbers with a comma.
    pub range: Option<String>,
    /// Where it comes from. `None` beside a field that has no source of its own, or whose source is missing.
    pub source: Option<String>,
    /// It has a source of its own.
    pub has_source: bool,
    /// What is wrong with it, with its source and with its range.
    pub faults: Vec<ProtocolFault>,
}

impl Protocol {
    /// The fields of a file, whatever is wrong with it.
    pub fn form(text: &str) -> Form {
        let (root, errors) = DeTable::parse_recoverable(text);
        let root = root.get_ref();
        let mut fields: Vec<FormField> = Vec::new();
        // Of what is no TOML nothing is known: the fault says where it breaks off.
        if errors.is_empty() {
            for asked in parse::asked_of(text) {
                if asked.rule == Rule::Rows {
                    continue;
                }
                let row = row_of(&asked.field).map(ToString::to_string);
                fields.push(field(root, asked));
                if let Some(row) = row
                    && fields.iter().all(|known| known.field != source_of(&row))
                {
                    fields.push(row_source(root, &row));
                }
            }
        }
        let mut form = Form {
            fields,
            faults: Vec::new(),
        };
        for fault in Self::parse(text.as_bytes()).err().unwrap_or_default() {
            form.tell(fault);
        }
        form
    }

    /// The rows of the adult example that a file can be given: `drug.adrenaline`, `minute`, `overlay.cold`.
    pub fn example_rows() -> Vec<String> {
        let text = Self::example("example-adult").unwrap_or_default();
        let mut rows: Vec<String> = Vec::new();
        for (place, _) in diff::leaves(text) {
            let mut parts = place.split('.');
            let row = match (parts.next(), parts.next()) {
                (Some("minute"), Some(_)) => "minute".to_string(),
                (Some(table @ ("drug" | "overlay")), Some(name)) => format!("{table}.{name}"),
                _ => continue,
            };
            if !rows.contains(&row) {
                rows.push(row);
            }
        }
        rows
    }
}

impl Form {
    /// A fault stands at the field that it names, or at the one that its source or range belongs to.
    fn tell(&mut self, fault: ProtocolFault) {
        let mut nearest: Option<&mut FormField> = None;
        for field in &mut self.fields {
            let is_its = fault.field == field.field
                || fault
                    .field
                    .strip_prefix(&field.field)
                    .is_some_and(|rest| rest.starts_with('.'));
            if is_its
                && nearest
                    .as_ref()
                    .is_none_or(|n| n.field.len() < field.field.len())
            {
                nearest = Some(field);
            }
        }
        match nearest {
            Some(field) => field.faults.push(fault),
            None => self.faults.push(fault),
        }
    }
}

/// `drug.1` of `drug.1.max_s`; `None` for a field of no row.
fn row_of(field: &str) -> Option<&str> {
    let is_row = ["drug.", "minute.", "overlay."]
        .iter()
        .any(|rows| field.starts_with(rows));
    let (row, _) = field.rsplit_once('.').filter(|_| is_row)?;
    row.contains('.').then_some(row)
}

fn source_of(row: &str) -> String {
    format!("{row}.source")
}

fn row_source(root: &DeTable<'_>, row: &str) -> FormField {
    let field = source_of(row);
    let table = row.split('.').next().unwrap_or_default();
    FormField {
        value: at(root, &field).map(|value| typed(&Rule::Source, value)),
        page: source_of(table),
        field,
        rule: Rule::Source,
        range: None,
        source: None,
        has_source: false,
        faults: Vec::new(),
    }
}

fn field(root: &DeTable<'_>, asked: parse::Asked) -> FormField {
    let parse::Asked { field, page, rule } = asked;
    let is_cell = field.contains('.') && row_of(&field).is_none();
    let slot = if matches!(rule, Rule::Lines(..)) {
        "lines"
    } else {
        "value"
    };
    let beside = |key: &str| at(root, &format!("{field}.{key}"));
    let value = if is_cell {
        beside(slot)
    } else {
        at(root, &field)
    };
    FormField {
        value: value.map(|value| typed(&rule, value)),
        range: beside("range").filter(|_| rule.has_range()).map(list),
        source: beside("source")
            .filter(|_| is_cell)
            .map(|value| typed(&Rule::Source, value)),
        has_source: is_cell,
        faults: Vec::new(),
        field,
        page,
        rule,
    }
}

/// The value in a place; a row of a list goes by its number.
fn at<'a>(root: &'a DeTable<'_>, place: &str) -> Option<&'a DeValue<'a>> {
    let mut parts = place.split('.');
    let mut here = named(root, parts.next()?)?;
    for part in parts {
        here = match here.as_array() {
            Some(rows) => {
                let n = part.parse::<usize>().ok()?.checked_sub(1)?;
                rows.get(n)?.get_ref()
            }
            None => named(here.as_table()?, part)?,
        };
    }
    Some(here)
}

fn named<'a>(table: &'a DeTable<'_>, key: &str) -> Option<&'a DeValue<'a>> {
    let mut all = table.iter();
    let (_, value) = all.find(|(known, _)| *known.get_ref() == key)?;
    Some(value.get_ref())
}

/// A value as it is typed. What is of another kind than the rule's stands as it is written.
fn typed(rule: &Rule, value: &DeValue<'_>) -> String {
    if let Some(text) = value.as_str() {
        return text.to_string();
    }
    match rule {
        Rule::Lines(..) => value.as_array().map(|lines| {
            let lines: Vec<String> = lines
                .iter()
                .map(|line| typed(&Rule::Text, line.get_ref()))
                .collect();
            lines.join("\n")
        }),
        Rule::Words(_) | Rule::Rising(_) | Rule::RisingTo(_) => {
            value.as_array().map(|_| list(value))
        }
        Rule::Parts => value.as_table().map(|table| {
            let mut parts: Vec<(usize, String)> = table
                .iter()
                .map(|(key, words)| {
                    let words = typed(&Rule::Text, words.get_ref());
                    (key.span().start, format!("{} = {words}", key.get_ref()))
                })
                .collect();
            parts.sort();
            let parts: Vec<String> = parts.into_iter().map(|(_, part)| part).collect();
            parts.join("\n")
        }),
        Rule::Only(_)
        | Rule::Whole(_)
        | Rule::OneOf(_)
        | Rule::Yes
        | Rule::Word(_)
        | Rule::Text
        | Rule::Key
        | Rule::Source
        | Rule::Rows => None,
    }
    .unwrap_or_else(|| diff::written(value))
}

/// A list with commas.
fn list(value: &DeValue<'_>) -> String {
    let Some(items) = value.as_array() else {
        return diff::written(value);
    };
    let items: Vec<String> = items
        .iter()
        .map(|item| typed(&Rule::Text, item.get_ref()))
        .collect();
    items.join(", ")
}

/// What was typed, as TOML. A word where a number belongs becomes a text, so that the check names it.
pub(super) fn toml_of(rule: &Rule, typed: &str) -> String {
    let lines = || {
        let lines = typed.lines().map(str::trim);
        lines.filter(|line| !line.is_empty())
    };
    let items = || {
        let items = typed.split(',').map(str::trim);
        items.filter(|item| !item.is_empty())
    };
    match rule {
        Rule::Whole(_) | Rule::OneOf(_) => number(typed.trim()),
        Rule::Yes | Rule::Only(_) => match typed.trim() {
            word @ ("true" | "false") => word.to_string(),
            other => number(other),
        },
        Rule::Word(_) | Rule::Text | Rule::Key | Rule::Source | Rule::Rows => quoted(typed.trim()),
        Rule::Words(_) => listed(&items().map(quoted).collect::<Vec<_>>()),
        Rule::Rising(_) | Rule::RisingTo(_) => listed(&items().map(number).collect::<Vec<_>>()),
        Rule::Lines(..) => {
            let lines: Vec<String> = lines().map(quoted).collect();
            if lines.len() > 1 {
                format!("[\n    {},\n]", lines.join(",\n    "))
            } else {
                listed(&lines)
            }
        }
        Rule::Parts => {
            let parts: Vec<String> = lines().map(part).collect();
            parts.concat()
        }
    }
}

/// A part on a line of its own.
fn part(line: &str) -> String {
    let (key, words) = line.split_once('=').unwrap_or((line, ""));
    let key = key.trim();
    let is_bare = !key.is_empty()
        && key
            .bytes()
            .all(|b| b.is_ascii_alphanumeric() || matches!(b, b'_' | b'-'));
    let key = if is_bare {
        key.to_string()
    } else {
        quoted(key)
    };
    format!("{key} = {}\n", quoted(words.trim()))
}

fn listed(items: &[String]) -> String {
    format!("[{}]", items.join(", "))
}

/// A number as it is; anything else as a text.
fn number(typed: &str) -> String {
    typed
        .parse::<i64>()
        .map_or_else(|_| quoted(typed), |n| n.to_string())
}

/// A text as TOML's basic string. Source: TOML 1.0.0, Basic strings.
fn quoted(text: &str) -> String {
    let mut line = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                line.push('\\');
                line.push(c);
            }
            c if c.is_control() => {
                // Writing to a text does not fail.
                let _never = write!(line, "\\u{:04X}", u32::from(c));
            }
            c => line.push(c),
        }
    }
    line.push('"');
    line
}
