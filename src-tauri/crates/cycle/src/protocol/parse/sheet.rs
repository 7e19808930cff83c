//! A parsed file, what was asked of it so far, and what was wrong.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};
use core::ops::Range;

use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

use crate::protocol::{
    Protocol, ProtocolFault,
    diff::quoted,
    rule::{Rule, SOURCE},
};

/// A file that is being read.
pub(super) struct Sheet<'a> {
    text: &'a str,
    lines: Vec<usize>,
    table: &'a DeTable<'a>,
    asked: Vec<Asked>,
    idle: Vec<(&'static str, &'static str)>,
    faults: Vec<ProtocolFault>,
}

/// A field that the file is asked for.
pub(crate) struct Asked {
    /// The field itself: of a row by its place.
    pub(crate) field: String,
    /// The field as the page of the format names it; several rows share one.
    pub(crate) page: String,
    /// What it may hold.
    pub(crate) rule: Rule,
}

/// Where one value stands, or should.
pub(super) struct Place<'a> {
    /// The value; `None` where it is missing.
    pub(super) value: Option<&'a DeValue<'a>>,
    /// The value's line, else that of the table it is missing from, else 0.
    pub(super) line: usize,
    /// The field as a fault names it.
    pub(super) field: String,
    /// The field itself, whether its value is there or not.
    own: String,
    /// The field as the page of the format names it.
    page: String,
    /// That it is no good has been said already.
    is_told: bool,
}

/// The table `[group.key]`: its value, and the range if it has one.
pub(super) struct Cell<'a> {
    pub(super) place: Place<'a>,
    pub(super) range: Option<(&'a DeValue<'a>, usize)>,
}

/// A table with fields of its own: one of `[[drug]]`, or `[overlay.cold]`.
pub(super) struct Row<'a> {
    pub(super) table: &'a DeTable<'a>,
    pub(super) line: usize,
    pub(super) name: String,
    pub(super) page: &'static str,
}

impl<'a> Sheet<'a> {
    pub(super) fn new(text: &'a str, table: &'a DeTable<'a>) -> Self {
        let ends = text.bytes().enumerate().filter(|(_, b)| *b == b'\n');
        Self {
            text,
            lines: ends.map(|(at, _)| at).collect(),
            table,
            asked: Vec::new(),
            idle: Vec::new(),
            faults: Vec::new(),
        }
    }

    pub(super) fn text(&self) -> &'a str {
        self.text
    }

    pub(super) fn is_sound(&self) -> bool {
        self.faults.is_empty()
    }

    pub(super) fn into_faults(mut self) -> Vec<ProtocolFault> {
        self.faults.sort_by_key(|f| f.line);
        self.faults
    }

    pub(super) fn into_asked(self) -> Vec<Asked> {
        self.asked
    }

    /// What was read, unless something was wrong or is left over.
    pub(super) fn finish(mut self, made: Option<Protocol>) -> Result<Protocol, Vec<ProtocolFault>> {
        self.strays();
        made.filter(|_| self.is_sound())
            .ok_or_else(|| self.into_faults())
    }

    pub(super) fn fault(&mut self, line: usize, field: &str, found: String, allowed: &str) {
        let (field, allowed) = (field.to_string(), allowed.to_string());
        self.faults.push(ProtocolFault {
            line,
            field,
            found,
            allowed,
        });
    }

    /// A value that is right by itself and wrong beside the others.
    pub(super) fn wrong(&mut self, place: &Place<'_>, allowed: &str) {
        let found = place.value.map_or_else(|| "missing".to_string(), shown);
        self.fault(place.line, &place.field, found, allowed);
    }

    /// The same of `[group.key]`.
    pub(super) fn wrong_cell(&mut self, (group, key): (&str, &str), allowed: &str) {
        let group_table = self.entry(group).and_then(|(value, _)| value.as_table());
        let cell = group_table.and_then(|t| t.iter().find(|(k, _)| *k.get_ref() == key));
        let value = cell.and_then(|(_, cell)| cell.get_ref().get("value"));
        let place = Place {
            value: value.map(Spanned::get_ref),
            line: value.map_or(0, |v| self.line(v.span().start)),
            field: format!("{group}.{key}"),
            own: String::new(),
            page: String::new(),
            is_told: false,
        };
        self.wrong(&place, allowed);
    }

    /// The line of a byte, from 1.
    pub(super) fn line(&self, at: usize) -> usize {
        self.lines
            .partition_point(|end| *end < at)
            .saturating_add(1)
    }

    /// The fields of `group` are not for this file; `why` is what a stray one is told.
    pub(super) fn set_idle(&mut self, group: &'static str, why: &'static str) {
        self.idle.push((group, why));
    }

    fn entry(&self, key: &str) -> Option<(&'a DeValue<'a>, Range<usize>)> {
        let (at, value) = self.table.iter().find(|(k, _)| *k.get_ref() == key)?;
        Some((value.get_ref(), at.span()))
    }

    /// A value at the top of the file.
    pub(super) fn top(&mut self, key: &str) -> Place<'a> {
        let found = self.entry(key);
        Place {
            line: found.as_ref().map_or(0, |(_, at)| self.line(at.start)),
            value: found.map(|(value, _)| value),
            field: key.to_string(),
            own: key.to_string(),
            page: key.to_string(),
            is_told: false,
        }
    }

    /// The table `[group.key]`, its source checked; its value stands under `slot`.
    pub(super) fn cell(&mut self, group: &str, key: &str, slot: &str, ranged: bool) -> Cell<'a> {
        let field = format!("{group}.{key}");
        let mut cell = Cell {
            place: Place {
                value: None,
                line: 0,
                field: field.clone(),
                own: field.clone(),
                page: field.clone(),
                is_told: false,
            },
            range: None,
        };
        let place = &mut cell.place;
        let group = self.entry(group).and_then(|(value, _)| value.as_table());
        let Some((at, found)) = group.and_then(|t| t.iter().find(|(k, _)| *k.get_ref() == key))
        else {
            return cell;
        };
        place.line = self.line(at.span().start);
        let Some(table) = found.get_ref().as_table() else {
            let allowed = format!("a table [{field}] with {slot} and source");
            self.fault(place.line, &field, shown(found.get_ref()), &allowed);
            place.is_told = true;
            return cell;
        };
        let row = Row {
            table,
            line: place.line,
            name: field.clone(),
            page: "",
        };
        self.source(&row);
        let range = if ranged { "range" } else { slot };
        self.close(&row, &[slot, range, "source"]);
        for (k, v) in table {
            let here = self.line(k.span().start);
            if *k.get_ref() == slot {
                (place.value, place.line) = (Some(v.get_ref()), here);
            } else if *k.get_ref() == "range" && ranged {
                cell.range = Some((v.get_ref(), here));
            }
        }
        if place.value.is_none() {
            place.field = format!("{field}.{slot}");
        }
        cell
    }

    /// The tables of `[[key]]`, or of `[key.x]` with their names, in the order of the file.
    pub(super) fn rows(&mut self, key: &'static str, listed: bool) -> Vec<(String, Row<'a>)> {
        self.asked.push(Asked {
            field: key.to_string(),
            page: key.to_string(),
            rule: Rule::Rows,
        });
        let Some((value, at)) = self.entry(key) else {
            return Vec::new();
        };
        let form = if listed { "[[" } else { "[" };
        let allowed = format!(
            "tables headed {form}{key}{}",
            if listed { "]]" } else { ".name]" }
        );
        let mut found = Vec::new();
        if let Some(list) = value.as_array().filter(|_| listed) {
            for (v, n) in list.iter().zip(1_u32..) {
                found.push((n.to_string(), v.get_ref(), v.span().start));
            }
        } else if let Some(table) = value.as_table().filter(|_| !listed) {
            for (k, v) in table {
                found.push((k.get_ref().to_string(), v.get_ref(), k.span().start));
            }
            found.sort_by_key(|(_, _, at)| *at);
        } else {
            self.fault(self.line(at.start), key, shown(value), &allowed);
        }
        let mut rows = Vec::new();
        for (name, value, at) in found {
            let line = self.line(at);
            let field = format!("{key}.{name}");
            if let Some(table) = value.as_table() {
                let row = Row {
                    table,
                    line,
                    name: field,
                    page: key,
                };
                rows.push((name, row));
            } else {
                self.fault(line, &field, shown(value), &allowed);
            }
        }
        rows
    }

    /// A field of a row.
    pub(super) fn of_row(&self, row: &Row<'a>, key: &str) -> Place<'a> {
        let found = row.table.iter().find(|(k, _)| *k.get_ref() == key);
        Place {
            value: found.map(|(_, v)| v.get_ref()),
            line: found.map_or(row.line, |(k, _)| self.line(k.span().start)),
            field: format!("{}.{key}", row.name),
            own: format!("{}.{key}", row.name),
            page: format!("{}.{key}", row.page),
            is_told: false,
        }
    }

    /// A row's source.
    pub(super) fn source(&mut self, row: &Row<'a>) {
        let place = self.of_row(row, "source");
        let good = place.value.and_then(DeValue::as_str);
        if good.is_none_or(|s| !is_words(s, SOURCE)) {
            self.wrong(&place, &Rule::Source.allowed());
        }
    }

    /// Names what a row has beside the `known` fields.
    pub(super) fn close(&mut self, row: &Row<'a>, known: &[&str]) {
        for (k, _) in row.table {
            let key = k.get_ref().as_ref();
            if !known.contains(&key) {
                let field = format!("{}.{key}", row.name);
                let mut allowed = known.to_vec();
                allowed.dedup();
                let line = self.line(k.span().start);
                self.fault(line, &field, "not known".to_string(), &allowed.join(", "));
            }
        }
    }

    /// Notes what a place may hold. The first word stands: a file's own range is not the rule's.
    pub(super) fn ask(&mut self, place: &Place<'_>, rule: &Rule) {
        if self.asked.iter().all(|asked| asked.field != place.own) {
            self.asked.push(Asked {
                field: place.own.clone(),
                page: place.page.clone(),
                rule: rule.clone(),
            });
        }
    }

    /// The value of a place as `take` understands it; everything else is a fault.
    pub(super) fn read<T>(
        &mut self,
        place: &Place<'a>,
        rule: &Rule,
        take: impl FnOnce(&'a DeValue<'a>) -> Option<T>,
    ) -> Option<T> {
        self.ask(place, rule);
        if place.is_told {
            return None;
        }
        let taken = place.value.and_then(take);
        if taken.is_none() {
            self.wrong(place, &rule.allowed());
        }
        taken
    }

    /// Every key that nothing asked for: a typing error must not pass for a setting.
    fn strays(&mut self) {
        let known = "the fields of the built-in examples";
        let mut strays = Vec::new();
        for (key, value) in self.table {
            let name = key.get_ref().as_ref();
            let at = key.span().start;
            if self.asked.iter().any(|asked| asked.page == name) {
                continue;
            }
            let prefix = format!("{name}.");
            let is_group = self
                .asked
                .iter()
                .any(|asked| asked.page.starts_with(&prefix));
            let idle = self.idle.iter().find(|(group, _)| *group == name);
            let allowed = idle.map_or(known, |(_, why)| *why);
            match value.get_ref().as_table() {
                Some(table) if is_group => {
                    for (k, _) in table {
                        let field = format!("{prefix}{}", k.get_ref());
                        if !self.asked.iter().any(|asked| asked.page == field) {
                            let found = "not known".to_string();
                            strays.push((k.span().start, field, found, allowed));
                        }
                    }
                }
                None if is_group => {
                    let found = shown(value.get_ref());
                    strays.push((
                        at,
                        name.to_string(),
                        found,
                        "tables such as [beat.rate_per_min]",
                    ));
                }
                Some(_) | None => {
                    strays.push((at, name.to_string(), "not known".to_string(), allowed));
                }
            }
        }
        for (at, field, found, allowed) in strays {
            self.fault(self.line(at), &field, found, allowed);
        }
    }
}

/// Words for the screen: not empty, not long, in one line.
pub(super) fn is_words(text: &str, most: usize) -> bool {
    !text.trim().is_empty() && text.chars().count() <= most && !text.chars().any(char::is_control)
}

/// A value as an error text shows it: one line, cut short.
pub(super) fn shown(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(s) => {
            let start: String = s.chars().take(40).collect();
            let more = if s.chars().nth(40).is_some() {
                "..."
            } else {
                ""
            };
            quoted(&[start.as_str(), more].concat())
        }
        DeValue::Integer(n) => n.as_str().to_string(),
        DeValue::Float(n) => n.as_str().to_string(),
        DeValue::Boolean(b) => b.to_string(),
        DeValue::Datetime(d) => d.to_string(),
        DeValue::Array(a) => {
            let items: Vec<_> = a.iter().take(8).map(|v| shown(v.get_ref())).collect();
            let more = if a.get(8).is_some() { ", ..." } else { "" };
            format!("[{}{more}]", items.join(", "))
        }
        DeValue::Table(_) => "a table".to_string(),
    }
}
