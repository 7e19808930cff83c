//! One thing of a protocol file changed, and nothing else: the bytes of a value are put in its place, so that
//! comments, order and everything around it stay as the service wrote them.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};
use core::{fmt, ops::Range};

use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

use super::{
    Protocol,
    diff::places,
    form::toml_of,
    rule::{Rule, Whole},
};

/// Which part of a field is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slot {
    /// Its value, or its lines.
    Value,
    /// Where it comes from.
    Source,
    /// The narrower range of a number: two numbers, or nothing for the whole range.
    Range,
}

/// Why a file was not changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum EditFault {
    /// It is no TOML; the line, from 1.
    NoToml {
        /// Where reading it broke off.
        line: usize,
    },
    /// The file is not asked for such a field, or has none.
    NoField {
        /// The field that was asked for.
        field: String,
    },
    /// The place is written in a way that cannot be changed by itself.
    Written {
        /// The field.
        field: String,
    },
}

impl fmt::Display for EditFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoToml { line } => {
                write!(f, "line {line}: no TOML; mend that line in a text editor")
            }
            Self::NoField { field } => write!(f, "{field}: no such field; open the file anew"),
            Self::Written { field } => write!(
                f,
                "{field}: written in a form of its own; change it in a text editor, or write it as [{field}]"
            ),
        }
    }
}

impl core::error::Error for EditFault {}

impl Protocol {
    /// The text with one field written anew, in the words of [`super::FormField`]. What no rule allows is
    /// written all the same, where TOML can hold it: the check then tells it at its place.
    ///
    /// # Errors
    /// [`EditFault`]; the text is then to be kept as it is.
    pub fn with(text: &str, field: &str, slot: Slot, typed: &str) -> Result<String, EditFault> {
        let file = File::read(text)?;
        let rule = Self::form(text)
            .fields
            .into_iter()
            .find(|known| known.field == field)
            .map(|known| known.rule)
            .ok_or_else(|| EditFault::NoField {
                field: field.to_string(),
            })?;
        let is_list = matches!(rule, Rule::Lines(..));
        let key = match slot {
            Slot::Value if is_list => "lines",
            Slot::Value => "value",
            Slot::Source => "source",
            Slot::Range => "range",
        };
        let (place, value) = match slot {
            Slot::Value => (Path::value(field, key), toml_of(&rule, typed)),
            Slot::Source => (Path::beside(field, key), toml_of(&Rule::Text, typed)),
            Slot::Range => (Path::beside(field, key), range_of(typed)),
        };
        let changed = match slot {
            Slot::Range if value.is_empty() => match file.taken_out(&place) {
                // The whole range was in force already.
                Err(EditFault::NoField { .. }) => Ok(text.to_string()),
                done => done,
            },
            Slot::Value | Slot::Source | Slot::Range => file.put(&place, &value, &rule),
        };
        file.only(field, changed)
    }

    /// The text without a table or a key: a special situation, a drug, a checkpoint, a stray field.
    ///
    /// # Errors
    /// [`EditFault`]
    pub fn without(text: &str, field: &str) -> Result<String, EditFault> {
        let file = File::read(text)?;
        let changed = file.taken_out(&Path::whole(field));
        file.only(field, changed)
    }

    /// The text with one more table at its end: `minute`, `drug.` with a drug's key, or `overlay.` with a
    /// situation's name, as the adult example has it.
    ///
    /// # Errors
    /// [`EditFault`]: the example has no such table, or the text has it already.
    pub fn with_row(text: &str, row: &str) -> Result<String, EditFault> {
        let missing = || EditFault::NoField {
            field: row.to_string(),
        };
        let file = File::read(text)?;
        let example = File::read(Self::example("example-adult").unwrap_or_default())?;
        let like = example.row(row).ok_or_else(missing)?;
        let changed = format!("{}\n\n{}\n", text.trim_end(), like.trim_end());
        file.only(row, Ok(changed))
    }
}

/// Two numbers, or nothing.
fn range_of(typed: &str) -> String {
    if typed.trim().is_empty() {
        return String::new();
    }
    let whole = Whole {
        low: 0,
        high: 0,
        unit: "",
        or_none: false,
    };
    let parts = typed.split(|c: char| c == ',' || c.is_whitespace());
    let numbers: Vec<String> = parts
        .filter(|part| !part.is_empty())
        .map(|part| toml_of(&Rule::Whole(whole), part))
        .collect();
    format!("[{}]", numbers.join(", "))
}

/// The way from the root of a file to a key.
struct Path<'a> {
    /// The tables, from the root: names, or the place in a list of tables.
    tables: Vec<&'a str>,
    key: &'a str,
}

impl<'a> Path<'a> {
    /// Where a field's value stands: in a row under its own name, else in `[group.key]`.
    fn value(field: &'a str, key: &'a str) -> Self {
        if is_of_row(field) || !field.contains('.') {
            Self::whole(field)
        } else {
            Self {
                tables: field.split('.').collect(),
                key,
            }
        }
    }

    /// Where what stands beside it does.
    fn beside(field: &'a str, key: &'a str) -> Self {
        // A row's source is a field of its own.
        if is_of_row(field) {
            return Self::whole(field);
        }
        Self {
            tables: field.split('.').collect(),
            key,
        }
    }

    /// The field itself, whatever it is.
    fn whole(field: &'a str) -> Self {
        let mut parts: Vec<&str> = field.split('.').collect();
        let key = parts.pop().unwrap_or_default();
        Self { tables: parts, key }
    }
}

/// A field of `[[drug]]`, `[[minute]]` or `[overlay.name]`.
fn is_of_row(field: &str) -> bool {
    ["drug.", "minute.", "overlay."]
        .iter()
        .any(|rows| field.starts_with(rows))
        && field.matches('.').count() > 1
}

/// A table of the file: what it holds, and its header if it has one.
struct Found<'a> {
    table: &'a DeTable<'a>,
    header: Option<Range<usize>>,
}

struct File<'a> {
    text: &'a str,
    root: DeTable<'a>,
    /// Where the headers begin, in order.
    headers: Vec<usize>,
}

impl<'a> File<'a> {
    fn read(text: &'a str) -> Result<Self, EditFault> {
        let (root, errors) = DeTable::parse_recoverable(text);
        if let Some(error) = errors.first() {
            let at = error.span().map_or(0, |span| span.start);
            let before = text.get(..at).unwrap_or_default();
            let line = before.matches('\n').count().saturating_add(1);
            return Err(EditFault::NoToml { line });
        }
        let root = root.into_inner();
        let mut headers = Vec::new();
        found_headers(text, &root, &mut headers);
        headers.sort_unstable();
        Ok(Self {
            text,
            root,
            headers,
        })
    }

    /// Where the lines of the table with this header end: before the next header and what is said of it.
    fn end_of(&self, header: usize) -> usize {
        let next = self.headers.iter().find(|at| **at > header);
        next.map_or(self.text.len(), |next| self.begin_of(*next))
    }

    /// Where a table begins, with the comment right above its header.
    fn begin_of(&self, header: usize) -> usize {
        let mut begin = line_start(self.text, header);
        while begin > 0 {
            let above = self.text.get(..begin.saturating_sub(1)).unwrap_or_default();
            let line = line_start(self.text, above.len());
            if !above.get(line..).is_some_and(|line| line.starts_with('#')) {
                break;
            }
            begin = line;
        }
        begin
    }

    fn find(&self, tables: &[&str]) -> Option<Found<'_>> {
        let mut here = Found {
            table: &self.root,
            header: None,
        };
        let mut left = tables.iter();
        while let Some(name) = left.next() {
            let (_, value) = entry(here.table, name)?;
            let value = match value.get_ref().as_array() {
                Some(rows) => {
                    let place = left.next()?.parse::<usize>().ok()?.checked_sub(1)?;
                    rows.get(place)?
                }
                None => value,
            };
            here = Found {
                table: value.get_ref().as_table()?,
                header: self.is_headed(value).then(|| value.span()),
            };
        }
        Some(here)
    }

    fn is_headed(&self, value: &Spanned<DeValue<'_>>) -> bool {
        let start = value.span().start;
        value.get_ref().is_table() && self.headers.binary_search(&start).is_ok()
    }

    /// The text with a value in this place, new or in place of another.
    fn put(&self, path: &Path<'_>, value: &str, rule: &Rule) -> Result<String, EditFault> {
        let written = || EditFault::Written {
            field: path.tables.join("."),
        };
        let Some(found) = self.find(&path.tables) else {
            return self.put_new(path, value, rule);
        };
        let is_block = matches!(rule, Rule::Parts) && path.key == "value";
        if let Some((_, old)) = entry(found.table, path.key) {
            let span = old.span();
            if self.is_headed(old) {
                let end = self.end_of(span.start);
                let rest = self.text.get(end..).unwrap_or_default();
                let gap = if rest.is_empty() { "" } else { "\n" };
                let header = self.text.get(span.clone()).unwrap_or_default();
                let block = format!("{header}\n{value}{gap}");
                return self.splice(span.start..end, &block).ok_or_else(written);
            }
            return self
                .splice(span, &inline(value, is_block))
                .ok_or_else(written);
        }
        let line = format!("{} = {}\n", path.key, inline(value, is_block));
        match (&found.header, path.tables.is_empty()) {
            (Some(header), _) => {
                let at = after_line(self.text, header.end);
                let before = self.text.get(..at).unwrap_or_default();
                let line = if before.ends_with('\n') {
                    line
                } else {
                    ["\n", &line].concat()
                };
                self.splice(at..at, &line).ok_or_else(written)
            }
            (None, true) => {
                let first = self.headers.first();
                let at = first.map_or(0, |first| self.begin_of(*first));
                self.splice(at..at, &line).ok_or_else(written)
            }
            (None, false) => Err(written()),
        }
    }

    /// A table that is not there yet stands at the end.
    fn put_new(&self, path: &Path<'_>, value: &str, rule: &Rule) -> Result<String, EditFault> {
        let name = path.tables.join(".");
        if is_of_row(&format!("{name}.")) {
            return Err(EditFault::NoField { field: name });
        }
        let is_block = matches!(rule, Rule::Parts) && path.key == "value";
        let body = format!("[{name}]\n{} = {}\n", path.key, inline(value, is_block));
        Ok(format!("{}\n\n{body}", self.text.trim_end()))
    }

    fn taken_out(&self, path: &Path<'_>) -> Result<String, EditFault> {
        let missing = || EditFault::NoField {
            field: [path.tables.join("."), path.key.to_string()].join("."),
        };
        // A row goes by its place in the list.
        if let Some(row) = self.find(&[path.tables.as_slice(), &[path.key]].concat())
            && let Some(header) = row.header
        {
            let end = self.end_of(header.start);
            return self.splice(header.start..end, "").ok_or_else(missing);
        }
        let found = self.find(&path.tables).ok_or_else(missing)?;
        let (key, value) = entry(found.table, path.key).ok_or_else(missing)?;
        let start = line_start(self.text, key.start);
        let end = after_line(self.text, value.span().end);
        self.splice(start..end, "").ok_or_else(missing)
    }

    /// A row of an example, to be copied.
    fn row(&self, name: &str) -> Option<&'a str> {
        let (table, key) = name.split_once('.').unwrap_or((name, ""));
        let (_, value) = entry(&self.root, table)?;
        let row = match value.get_ref().as_array() {
            Some(rows) => rows.iter().find(|row| {
                let own = row
                    .get_ref()
                    .get("key")
                    .and_then(|own| own.get_ref().as_str());
                key.is_empty() || own == Some(key)
            })?,
            None => value.get_ref().get(key)?,
        };
        let start = row.span().start;
        self.text.get(start..self.end_of(start))
    }

    fn splice(&self, at: Range<usize>, with: &str) -> Option<String> {
        let (before, after) = (self.text.get(..at.start)?, self.text.get(at.end..)?);
        Some([before, with, after].concat())
    }

    /// The change, if it is one of this field alone and still TOML: else the file is written in a way of its own.
    fn only(&self, field: &str, changed: Result<String, EditFault>) -> Result<String, EditFault> {
        let written = EditFault::Written {
            field: field.to_string(),
        };
        let changed = changed?;
        if File::read(&changed).is_err() {
            return Err(written);
        }
        // The places of rows behind one that went move up.
        let rows = ["drug", "minute"].into_iter().find(|rows| {
            field == *rows || field.strip_prefix(rows).is_some_and(|n| n.starts_with('.'))
        });
        let moves = rows.filter(|_| !is_of_row(field));
        let own = moves.unwrap_or(field);
        let is_own = |place: &str| {
            place == own
                || place
                    .strip_prefix(own)
                    .is_some_and(|rest| rest.starts_with('.'))
        };
        let others = |text: &str| -> Vec<(String, String)> {
            let mut all = places(text);
            all.retain(|(place, _)| !is_own(place));
            all.sort();
            all
        };
        if others(self.text) == others(&changed) {
            Ok(changed)
        } else {
            Err(written)
        }
    }
}

fn found_headers(text: &str, table: &DeTable<'_>, found: &mut Vec<usize>) {
    for (_, value) in table {
        let values: Vec<_> = match value.get_ref().as_array() {
            Some(rows) => rows.iter().collect(),
            None => Vec::from([value]),
        };
        for value in values {
            let Some(inner) = value.get_ref().as_table() else {
                continue;
            };
            let start = value.span().start;
            if text.get(start..).is_some_and(|rest| rest.starts_with('[')) {
                found.push(start);
            }
            found_headers(text, inner, found);
        }
    }
}

/// A key of a table: where it stands, and its value.
fn entry<'b>(
    table: &'b DeTable<'_>,
    key: &str,
) -> Option<(Range<usize>, &'b Spanned<DeValue<'b>>)> {
    let mut all = table.iter();
    let (at, value) = all.find(|(known, _)| *known.get_ref() == key)?;
    Some((at.span(), value))
}

/// Parts as they stand behind a key.
fn inline(value: &str, is_block: bool) -> String {
    if !is_block {
        return value.to_string();
    }
    let lines: Vec<&str> = value.lines().filter(|line| !line.is_empty()).collect();
    if lines.is_empty() {
        return "{}".to_string();
    }
    format!("{{ {} }}", lines.join(", "))
}

fn line_start(text: &str, at: usize) -> usize {
    let before = text.get(..at).unwrap_or_default();
    before.rfind('\n').map_or(0, |n| n.saturating_add(1))
}

fn after_line(text: &str, at: usize) -> usize {
    let rest = text.get(at..).unwrap_or_default();
    rest.find('\n')
        .map_or(text.len(), |n| at.saturating_add(n).saturating_add(1))
}
