//! From a file's bytes to a [`Protocol`], or to every fault of it.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use beat::Rate;
use toml::de::{DeTable, DeValue};

use super::{Protocol, ProtocolFault};
use crate::{
    Ms,
    mark::{AirwayDevice, BreathMode, PatientClass, Ratio},
};

/// The largest file: the protocol is one line of the record, which is at most 64 KiB long.
const MAX_BYTES: usize = 48 * 1024;
const NUMBERS: [u8; 7] = [10, 15, 20, 30, 40, 50, 60];
const SOURCE_RULE: &str = "a source beside each value, such as a guideline with its year, or \"common practice, no source\"";

pub(super) fn parse(bytes: &[u8]) -> Result<Protocol, Vec<ProtocolFault>> {
    let whole = |found: String, allowed: &str| {
        Vec::from([ProtocolFault {
            line: 0,
            field: String::new(),
            found,
            allowed: allowed.to_string(),
        }])
    };
    if bytes.len() > MAX_BYTES {
        return Err(whole(
            format!("a file of {} bytes", bytes.len()),
            "at most 49152 bytes",
        ));
    }
    let text = match core::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(e) => {
            let at = e.valid_up_to();
            let line = bytes
                .iter()
                .take(at)
                .filter(|b| **b == b'\n')
                .count()
                .saturating_add(1);
            let mut fault = whole(format!("byte {at} is not UTF-8"), "UTF-8 text");
            for f in &mut fault {
                f.line = line;
            }
            return Err(fault);
        }
    };
    if text.trim().is_empty() {
        return Err(whole(
            "an empty file".to_string(),
            "a protocol; copy the built-in example",
        ));
    }
    let (table, errors) = DeTable::parse_recoverable(text);
    let mut sheet = Sheet {
        text,
        table: table.get_ref(),
        used: Vec::new(),
        faults: Vec::new(),
    };
    for e in errors {
        let line = e.span().map_or(0, |span| sheet.line(span.start));
        sheet.fault(line, "", e.message().to_string(), "TOML");
    }
    if sheet.faults.is_empty() {
        fields(sheet)
    } else {
        Err(sheet.faults)
    }
}

fn fields(mut s: Sheet<'_>) -> Result<Protocol, Vec<ProtocolFault>> {
    let format = s.top_integer("format");
    if format.is_some_and(|f| f != 1) {
        let line = s.line_of("format");
        s.fault(
            line,
            "format",
            format.unwrap_or(0).to_string(),
            "1, the only format known",
        );
    }
    let id = s.top_string("id");
    let version = s.top_string("version");
    let name = s.top_string("name");
    let class = s.word("class", None, PatientClass::ALL, PatientClass::word);
    let rate = s
        .number("beat", "rate_per_min", 100, 120, "per minute")
        .and_then(|n| u16::try_from(n).ok().and_then(|n| Rate::new(n).ok()));
    let ratio = s.word("breaths", Some("ratio"), Ratio::ALL, Ratio::word);
    let window = s.seconds("breaths", "window_s", 3, 10);
    let breath_every = s.seconds("breaths", "every_s", 5, 8);
    let airway_modes: Vec<_> = AirwayDevice::ALL
        .iter()
        .filter_map(|device| {
            let mode = s.word(
                "airway",
                Some(device.word()),
                BreathMode::ALL,
                BreathMode::word,
            )?;
            Some((*device, mode))
        })
        .collect();
    let check_every = s.seconds("check", "every_s", 60, 180);
    let check_heads_up = s.seconds("check", "heads_up_s", 15, 60);
    let check_count_from = s
        .number("check", "count_from_s", 3, 5, "s")
        .and_then(|n| u8::try_from(n).ok());
    let check_overdue = s.seconds("check", "overdue_s", 15, 60);
    let off_numbers = s.numbers("hands_off", "numbers_s");
    let shock_silence = s.seconds("shock", "silence_s", 30, 120);
    let cup_repeat = s.seconds("cup", "repeat_s", 15, 60);
    let swap_window = s.seconds("power", "swap_window_s", 15, 180);
    let by_hand_offer = s.seconds("power", "by_hand_offer_s", 5, 30);
    s.unknown();
    let text = s.text.to_string();
    let made = (|| {
        Some(Protocol {
            text,
            id: id?,
            version: version?,
            name: name?,
            class: class?,
            rate: rate?,
            ratio: ratio?,
            window: window?,
            breath_every: breath_every?,
            airway_modes,
            check_every: check_every?,
            check_heads_up: check_heads_up?,
            check_count_from: check_count_from?,
            check_overdue: check_overdue?,
            off_numbers: off_numbers?,
            shock_silence: shock_silence?,
            cup_repeat: cup_repeat?,
            swap_window: swap_window?,
            by_hand_offer: by_hand_offer?,
        })
    })();
    match made {
        Some(protocol) if s.faults.is_empty() => Ok(protocol),
        _ => {
            s.faults.sort_by_key(|f| f.line);
            Err(s.faults)
        }
    }
}

/// A parsed file, what was asked of it so far, and what was wrong.
struct Sheet<'a> {
    text: &'a str,
    table: &'a DeTable<'a>,
    used: Vec<String>,
    faults: Vec<ProtocolFault>,
}

/// A value with its place.
struct Found<'a> {
    value: &'a DeValue<'a>,
    range: Option<&'a DeValue<'a>>,
    line: usize,
    field: String,
}

impl<'a> Sheet<'a> {
    fn fault(&mut self, line: usize, field: &str, found: String, allowed: &str) {
        let (field, allowed) = (field.to_string(), allowed.to_string());
        self.faults.push(ProtocolFault {
            line,
            field,
            found,
            allowed,
        });
    }

    fn line(&self, at: usize) -> usize {
        self.text
            .bytes()
            .take(at)
            .filter(|b| *b == b'\n')
            .count()
            .saturating_add(1)
    }

    fn line_of(&self, key: &str) -> usize {
        self.table
            .iter()
            .find(|(k, _)| *k.get_ref() == key)
            .map_or(0, |(k, _)| self.line(k.span().start))
    }

    fn top(&mut self, key: &str) -> Option<(&'a DeValue<'a>, usize)> {
        self.used.push(key.to_string());
        let found = self.table.iter().find(|(k, _)| *k.get_ref() == key);
        if let Some((_, value)) = found {
            return Some((value.get_ref(), self.line(value.span().start)));
        }
        self.fault(
            0,
            key,
            "missing".to_string(),
            "a value; see the built-in example",
        );
        None
    }

    fn top_integer(&mut self, key: &str) -> Option<i64> {
        let (value, line) = self.top(key)?;
        let n = integer(value);
        if n.is_none() {
            self.fault(line, key, kind(value), "a whole number");
        }
        n
    }

    fn top_string(&mut self, key: &str) -> Option<String> {
        let (value, line) = self.top(key)?;
        match value.as_str() {
            Some(s) if !s.trim().is_empty() && s.len() <= 80 => Some(s.to_string()),
            _ => {
                self.fault(line, key, kind(value), "a text of 1 to 80 characters");
                None
            }
        }
    }

    /// The table `[group.key]` with its `value`, its `source` checked.
    fn cell(&mut self, group: &str, key: &str) -> Option<Found<'a>> {
        let field = format!("{group}.{key}");
        self.used.push(field.clone());
        let inner = |v: &'a DeValue<'a>| v.as_table();
        let group_value = self
            .table
            .iter()
            .find(|(k, _)| *k.get_ref() == group)
            .map(|(_, v)| v);
        let table = group_value.and_then(|v| inner(v.get_ref()));
        let Some((at, cell)) = table.and_then(|t| t.iter().find(|(k, _)| *k.get_ref() == key))
        else {
            self.fault(
                0,
                &field,
                "missing".to_string(),
                "a table with value and source",
            );
            return None;
        };
        let line = self.line(at.span().start);
        let Some(cell) = inner(cell.get_ref()) else {
            self.fault(
                line,
                &field,
                kind(cell.get_ref()),
                "a table with value and source",
            );
            return None;
        };
        let mut value = None;
        let mut source = None;
        let mut range = None;
        let mut found_line = line;
        for (k, v) in cell {
            let here = self.line(v.span().start);
            match k.get_ref().as_ref() {
                "value" => {
                    value = Some(v.get_ref());
                    found_line = here;
                }
                "source" => source = Some((v.get_ref(), here)),
                "range" => range = Some(v.get_ref()),
                other => {
                    let name = format!("{field}.{other}");
                    self.fault(here, &name, "not known".to_string(), "value, range, source");
                }
            }
        }
        match source {
            Some((v, _)) if v.as_str().is_some_and(|s| !s.trim().is_empty()) => {}
            Some((v, here)) => self.fault(here, &format!("{field}.source"), kind(v), SOURCE_RULE),
            None => self.fault(
                line,
                &format!("{field}.source"),
                "missing".to_string(),
                SOURCE_RULE,
            ),
        }
        if value.is_none() {
            self.fault(
                line,
                &format!("{field}.value"),
                "missing".to_string(),
                "a value",
            );
        }
        Some(Found {
            value: value?,
            range,
            line: found_line,
            field,
        })
    }

    /// A whole number within the rule's range and, where the file narrows it, within the file's.
    fn number(&mut self, group: &str, key: &str, low: i64, high: i64, unit: &str) -> Option<i64> {
        let found = self.cell(group, key)?;
        let (mut low, mut high) = (low, high);
        if let Some(range) = found.range {
            match pair(range) {
                Some((a, b)) if low <= a && a <= b && b <= high => (low, high) = (a, b),
                _ => {
                    let name = format!("{}.range", found.field);
                    let allowed = format!("[low, high] within {low} to {high}");
                    self.fault(found.line, &name, kind(range), &allowed);
                }
            }
        }
        let allowed = format!("a whole number {low} to {high} {unit}");
        match integer(found.value) {
            Some(n) if (low..=high).contains(&n) => Some(n),
            _ => {
                self.fault(found.line, &found.field, kind(found.value), &allowed);
                None
            }
        }
    }

    fn seconds(&mut self, group: &str, key: &str, low: i64, high: i64) -> Option<Ms> {
        let n = self.number(group, key, low, high, "s")?;
        u32::try_from(n).ok().map(Ms::secs)
    }

    fn word<T: Copy>(
        &mut self,
        group: &str,
        key: Option<&str>,
        all: &[T],
        word: fn(T) -> &'static str,
    ) -> Option<T> {
        let (value, line, field) = if let Some(key) = key {
            let found = self.cell(group, key)?;
            (found.value, found.line, found.field)
        } else {
            let (value, line) = self.top(group)?;
            (value, line, group.to_string())
        };
        let hit = value
            .as_str()
            .and_then(|s| all.iter().copied().find(|t| word(*t) == s));
        if hit.is_none() {
            let words: Vec<_> = all.iter().map(|t| word(*t)).collect();
            self.fault(
                line,
                &field,
                kind(value),
                &format!("one of {}", words.join(", ")),
            );
        }
        hit
    }

    fn numbers(&mut self, group: &str, key: &str) -> Option<Vec<u8>> {
        let found = self.cell(group, key)?;
        let list = found.value.as_array().and_then(|array| {
            array
                .iter()
                .map(|v| integer(v.get_ref()).and_then(|n| u8::try_from(n).ok()))
                .collect::<Option<Vec<u8>>>()
        });
        let good = list.filter(|list| {
            list.iter().all(|n| NUMBERS.contains(n)) && list.is_sorted_by(|a, b| a < b)
        });
        if good.is_none() {
            let allowed = "a rising list out of 10, 15, 20, 30, 40, 50, 60 s";
            self.fault(found.line, &found.field, kind(found.value), allowed);
        }
        good
    }

    /// Every key that nothing asked for: a typing error must not pass for a setting.
    fn unknown(&mut self) {
        let mut strays = Vec::new();
        for (key, value) in self.table {
            let name = key.get_ref().as_ref();
            if self.used.iter().any(|u| u == name) {
                continue;
            }
            let prefix = format!("{name}.");
            let group = value.get_ref().as_table();
            let known = self.used.iter().any(|u| u.starts_with(&prefix));
            if let Some(t) = group.filter(|_| known) {
                for (k, _) in t {
                    let field = format!("{name}.{}", k.get_ref());
                    if !self.used.contains(&field) {
                        strays.push((self.line(k.span().start), field));
                    }
                }
            } else {
                strays.push((self.line(key.span().start), name.to_string()));
            }
        }
        for (line, field) in strays {
            self.fault(
                line,
                &field,
                "not known".to_string(),
                "the fields of the built-in example",
            );
        }
    }
}

fn integer(value: &DeValue<'_>) -> Option<i64> {
    let n = value.as_integer()?;
    i64::from_str_radix(n.as_str(), n.radix()).ok()
}

fn pair(value: &DeValue<'_>) -> Option<(i64, i64)> {
    let [a, b] = value.as_array()?.get(..)? else {
        return None;
    };
    Some((integer(a.get_ref())?, integer(b.get_ref())?))
}

/// A value as an error text shows it.
fn kind(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(s) => format!("\"{}\"", s.chars().take(40).collect::<String>()),
        DeValue::Integer(n) => n.as_str().to_string(),
        DeValue::Float(n) => n.as_str().to_string(),
        DeValue::Boolean(b) => b.to_string(),
        DeValue::Datetime(d) => d.to_string(),
        DeValue::Array(a) => {
            let items: Vec<_> = a.iter().take(8).map(|v| kind(v.get_ref())).collect();
            format!("[{}]", items.join(", "))
        }
        DeValue::Table(_) => "a table".to_string(),
    }
}
