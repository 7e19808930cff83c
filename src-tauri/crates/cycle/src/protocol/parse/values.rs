//! Values of a sheet by their kind: numbers, words of a closed list, lines of the service's own.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use toml::de::DeValue;

use super::sheet::{Cell, Place, Row, Sheet, is_words, shown};
use crate::{
    Ms,
    protocol::rule::{KEY, LINE, Rule, Whole},
};

/// `low` to `high`.
pub(super) const fn whole(low: i64, high: i64, unit: &'static str) -> Whole {
    Whole {
        low,
        high,
        unit,
        or_none: false,
    }
}

/// 0 for "not at all", else `low` to `high`.
pub(super) const fn none_or(low: i64, high: i64, unit: &'static str) -> Whole {
    Whole {
        or_none: true,
        ..whole(low, high, unit)
    }
}

/// The file's own range, which may only be narrower.
fn narrowed(rule: Whole, range: &DeValue<'_>) -> Option<Whole> {
    let (low, high) = pair(range)?;
    (rule.low <= low && low <= high && high <= rule.high).then_some(Whole { low, high, ..rule })
}

impl<'a> Sheet<'a> {
    /// A number of `[group.key]`, within the rule's range and, where the file narrows it, the file's.
    pub(super) fn number<N: TryFrom<i64>>(
        &mut self,
        (group, key): (&str, &str),
        rule: Whole,
    ) -> Option<N> {
        let Cell { place, range } = self.cell(group, key, "value", true);
        self.ask(&place, &Rule::Whole(rule));
        let mut narrow = rule;
        if let Some((range, line)) = range {
            if let Some(own) = narrowed(rule, range) {
                narrow = own;
            } else {
                let field = format!("{}.range", place.field);
                let allowed = format!("[low, high] within {} to {}", rule.low, rule.high);
                self.fault(line, &field, shown(range), &allowed);
            }
        }
        self.number_at(&place, narrow)
    }

    pub(super) fn number_at<N: TryFrom<i64>>(
        &mut self,
        place: &Place<'a>,
        rule: Whole,
    ) -> Option<N> {
        self.read(place, &Rule::Whole(rule), |v| {
            let n = integer(v).filter(|n| rule.has(*n))?;
            N::try_from(n).ok()
        })
    }

    pub(super) fn seconds(&mut self, at: (&str, &str), rule: Whole) -> Option<Ms> {
        self.number(at, rule).map(Ms::secs)
    }

    pub(super) fn seconds_at(&mut self, place: &Place<'a>, rule: Whole) -> Option<Ms> {
        self.number_at(place, rule).map(Ms::secs)
    }

    /// One of a few numbers.
    pub(super) fn one_of(&mut self, at: (&str, &str), few: &[u8]) -> Option<u8> {
        let place = self.cell(at.0, at.1, "value", false).place;
        self.one_of_at(&place, few)
    }

    pub(super) fn one_of_at(&mut self, place: &Place<'a>, few: &[u8]) -> Option<u8> {
        let rule = Rule::OneOf(few.to_vec());
        self.read(place, &rule, |v| byte(v).filter(|n| few.contains(n)))
    }

    pub(super) fn yes(&mut self, (group, key): (&str, &str)) -> Option<bool> {
        let place = self.cell(group, key, "value", false).place;
        self.read(&place, &Rule::Yes, DeValue::as_bool)
    }

    pub(super) fn word<T: Copy>(
        &mut self,
        (group, key): (&str, &str),
        all: &[T],
        word: fn(T) -> &'static str,
    ) -> Option<T> {
        let place = self.cell(group, key, "value", false).place;
        self.word_at(&place, all, word)
    }

    pub(super) fn word_at<T: Copy>(
        &mut self,
        place: &Place<'a>,
        all: &[T],
        word: fn(T) -> &'static str,
    ) -> Option<T> {
        let words = all.iter().map(|t| word(*t)).collect();
        self.read(place, &Rule::Word(words), |v| {
            let s = v.as_str()?;
            all.iter().copied().find(|t| word(*t) == s)
        })
    }

    /// Several words of a closed list, each once.
    pub(super) fn words_of<T: Copy + PartialEq>(
        &mut self,
        (group, key): (&str, &str),
        all: &[T],
        word: fn(T) -> &'static str,
    ) -> Option<Vec<T>> {
        let place = self.cell(group, key, "value", false).place;
        let words = all.iter().map(|t| word(*t)).collect();
        self.read(&place, &Rule::Words(words), |v| {
            let mut found = Vec::new();
            for item in v.as_array()? {
                let s = item.get_ref().as_str()?;
                let hit = all.iter().copied().find(|t| word(*t) == s)?;
                if found.contains(&hit) {
                    return None;
                }
                found.push(hit);
            }
            Some(found)
        })
    }

    pub(super) fn text_at(&mut self, place: &Place<'a>) -> Option<String> {
        self.read(place, &Rule::Text, line_of)
    }

    /// A key in the record.
    pub(super) fn key_at(&mut self, place: &Place<'a>) -> Option<String> {
        self.read(place, &Rule::Key, |v| {
            let s = v.as_str()?;
            is_key(s).then(|| s.to_string())
        })
    }

    /// The lines of `[group.key]`; a service that has none writes an empty list.
    pub(super) fn lines(&mut self, (group, key): (&str, &str)) -> Option<Vec<String>> {
        let place = self.cell(group, key, "lines", false).place;
        self.lines_at(&place, 0, 12)
    }

    pub(super) fn lines_at(
        &mut self,
        place: &Place<'a>,
        least: usize,
        most: usize,
    ) -> Option<Vec<String>> {
        self.read(place, &Rule::Lines(least, most), |v| {
            let lines: Option<Vec<_>> =
                v.as_array()?.iter().map(|l| line_of(l.get_ref())).collect();
            lines.filter(|lines| (least..=most).contains(&lines.len()))
        })
    }

    /// Numbers out of a few, rising.
    pub(super) fn rising(&mut self, (group, key): (&str, &str), few: &[u8]) -> Option<Vec<u8>> {
        let place = self.cell(group, key, "value", false).place;
        self.read(&place, &Rule::Rising(few.to_vec()), |v| {
            rising(v).filter(|list| list.iter().all(|n| few.contains(n)))
        })
    }

    pub(super) fn rising_at(&mut self, place: &Place<'a>, high: u8) -> Option<Vec<u8>> {
        self.read(place, &Rule::RisingTo(high), |v| {
            let good = |list: &Vec<u8>| list.iter().all(|n| (1..=high).contains(n));
            rising(v).filter(|list| (1..=6).contains(&list.len()) && good(list))
        })
    }

    /// Keys with their words, in the order in which they stand.
    pub(super) fn parts(&mut self, (group, key): (&str, &str)) -> Option<Vec<(String, String)>> {
        let place = self.cell(group, key, "value", false).place;
        self.read(&place, &Rule::Parts, |v| {
            let table = v.as_table()?;
            let mut parts = Vec::new();
            for (k, v) in table {
                let key = k.get_ref().as_ref();
                let words = line_of(v.get_ref()).filter(|_| is_key(key))?;
                parts.push((k.span().start, key.to_string(), words));
            }
            parts.sort();
            let parts: Vec<_> = parts
                .into_iter()
                .map(|(_, key, words)| (key, words))
                .collect();
            (parts.len() <= 12).then_some(parts)
        })
    }

    /// Whether a row has a field at all.
    pub(super) fn has(&self, row: &Row<'a>, key: &str) -> bool {
        self.of_row(row, key).value.is_some()
    }
}

fn integer(value: &DeValue<'_>) -> Option<i64> {
    let n = value.as_integer()?;
    i64::from_str_radix(n.as_str(), n.radix()).ok()
}

fn byte(value: &DeValue<'_>) -> Option<u8> {
    integer(value).and_then(|n| u8::try_from(n).ok())
}

fn rising(value: &DeValue<'_>) -> Option<Vec<u8>> {
    let list: Option<Vec<u8>> = value
        .as_array()?
        .iter()
        .map(|v| byte(v.get_ref()))
        .collect();
    list.filter(|list| list.is_sorted_by(|a, b| a < b))
}

fn line_of(value: &DeValue<'_>) -> Option<String> {
    let s = value.as_str()?;
    is_words(s, LINE).then(|| s.to_string())
}

fn is_key(s: &str) -> bool {
    (1..=KEY).contains(&s.len()) && s.bytes().all(|b| b.is_ascii_lowercase() || b == b'_')
}

fn pair(value: &DeValue<'_>) -> Option<(i64, i64)> {
    let [a, b] = value.as_array()?.get(..)? else {
        return None;
    };
    Some((integer(a.get_ref())?, integer(b.get_ref())?))
}
