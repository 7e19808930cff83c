//! The fields of a script's marks: read strictly, so that nothing is passed over.

use std::borrow::Cow;

use cycle::{
    Ms,
    fact::{AmendOp, DEED_KINDS},
    mark::{Mark, kinds},
};
use serde::{Serialize, de::DeserializeOwned};
use serde_json::{Map, Value};

use super::{
    ScriptError, check,
    parse::{Fields, error},
};
use crate::line;

/// Kind and fields of a mark; `place` stands before their names in an error.
pub(super) fn kind_and_fields<'a>(
    number: usize,
    place: &str,
    fields: &'a Fields,
) -> Result<(&'a str, Cow<'a, Fields>), ScriptError> {
    let n = Some(number);
    let ev = fields.get("ev").unwrap_or(&Value::Null);
    let ev = ev
        .as_str()
        .ok_or_else(|| error(n, &format!("{place}ev"), ev, &kind_list()))?;
    let d = match fields.get("d") {
        None => Cow::Owned(Map::new()),
        Some(Value::Object(d)) => Cow::Borrowed(d),
        Some(d) => {
            let allowed = "an object with the fields of the kind";
            return Err(error(n, &format!("{place}d"), d, allowed));
        }
    };
    Ok((ev, d))
}

/// A mark, with every field and value looked at.
pub(super) fn mark(number: usize, place: &str, ev: &str, d: &Fields) -> Result<Mark, ScriptError> {
    let n = Some(number);
    let Some(mark) = line::mark(ev, d) else {
        let allowed = if DEED_KINDS.contains(&ev) || ["header", "protocol", "seal"].contains(&ev) {
            format!(
                "what a crew does; the app writes {ev} itself: {}",
                kind_list()
            )
        } else {
            kind_list()
        };
        let found = Value::String(ev.to_owned());
        return Err(error(n, &format!("{place}ev"), &found, &allowed));
    };
    let field = format!("{place}d");
    let mark = mark.map_err(|e| wrong(number, &field, d, &e))?;
    let written = serde_json::to_value(&mark).unwrap_or_default();
    known_keys(number, &field, d, written.get("d"), &|key| {
        let mut other = d.clone();
        other.insert(key.to_owned(), Value::Bool(true));
        let again = line::mark(ev, &other)?.ok()?;
        serde_json::to_value(again).ok()?.get("d").cloned()
    })?;
    check::mark(&mark).map_err(|(field, found, allowed)| ScriptError {
        mark: n,
        field: format!("{place}{field}"),
        found,
        allowed,
    })?;
    Ok(mark)
}

/// What an amendment does.
pub(super) fn operation(number: usize, d: &Fields) -> Result<AmendOp, ScriptError> {
    let with_new = match d.get("op").and_then(Value::as_str) {
        Some("replace") => ["op", "new", "new"],
        Some("add") => ["op", "at_ms", "new"],
        _ => return typed(number, d),
    };
    let n = Some(number);
    if let Some((key, value)) = d.iter().find(|(key, _)| !with_new.contains(&key.as_str())) {
        let allowed = if with_new.contains(&"at_ms") {
            "no such field in an add beside: op, at_ms, new, reason"
        } else {
            "no such field in a replace beside: target, op, new, reason"
        };
        return Err(error(n, &format!("d.{key}"), value, allowed));
    }
    let new = d.get("new").unwrap_or(&Value::Null);
    let fields = new
        .as_object()
        .ok_or_else(|| error(n, "d.new", new, "an object with ev and d: another mark"))?;
    if let Some((key, value)) = fields
        .iter()
        .find(|(key, _)| !["ev", "d"].contains(&key.as_str()))
    {
        let allowed = "no such field; the fields are ev, d";
        return Err(error(n, &format!("d.new.{key}"), value, allowed));
    }
    let (ev, new) = kind_and_fields(number, "d.new.", fields)?;
    if ["start", "amend"].contains(&ev) {
        let found = Value::String(ev.to_owned());
        return Err(error(
            n,
            "d.new.ev",
            &found,
            "a mark, not a start or an amendment",
        ));
    }
    let new = mark(number, "d.new.", ev, &new)?;
    if !with_new.contains(&"at_ms") {
        return Ok(AmendOp::Replace { new });
    }
    let at = d.get("at_ms").unwrap_or(&Value::Null);
    let at_ms = at.as_u64().map(Ms);
    let at_ms =
        at_ms.ok_or_else(|| error(n, "d.at_ms", at, "a run time: whole milliseconds from 0"))?;
    Ok(AmendOp::Add { at_ms, new })
}

/// Reads fields that have to come out again as they went in.
pub(super) fn typed<T: DeserializeOwned + Serialize>(
    number: usize,
    d: &Fields,
) -> Result<T, ScriptError> {
    let read: T =
        serde_json::from_value(Value::Object(d.clone())).map_err(|e| wrong(number, "d", d, &e))?;
    let written = serde_json::to_value(&read).unwrap_or_default();
    known_keys(number, "d", d, Some(&written), &|_| None)?;
    Ok(read)
}

/// Every key that was given must be a key of the kind: after reading it is written again.
///
/// A `false` that is left out in writing is known by what `true` does to it.
fn known_keys(
    number: usize,
    place: &str,
    d: &Fields,
    written: Option<&Value>,
    with_true: &dyn Fn(&str) -> Option<Value>,
) -> Result<(), ScriptError> {
    let has = |fields: Option<&Value>, key: &str| fields.is_some_and(|f| f.get(key).is_some());
    for (key, value) in d {
        let hidden = || *value == Value::Bool(false) && has(with_true(key).as_ref(), key);
        if !has(written, key) && !hidden() {
            let keys: Vec<&str> = written
                .and_then(Value::as_object)
                .map(|fields| fields.keys().map(String::as_str).collect())
                .unwrap_or_default();
            let allowed = match value {
                Value::Null => "a value, or leave the field out".to_owned(),
                Value::Array(list) if list.is_empty() => {
                    "a list of at least one, or leave the field out".to_owned()
                }
                Value::Bool(_)
                | Value::Number(_)
                | Value::String(_)
                | Value::Array(_)
                | Value::Object(_) => {
                    format!("no such field in this kind beside: {}", keys.join(", "))
                }
            };
            return Err(error(
                Some(number),
                &format!("{place}.{key}"),
                value,
                &allowed,
            ));
        }
        let again = written.and_then(|fields| fields.get(key));
        if let (Value::Array(given), Some(Value::Array(again))) = (value, again) {
            for (index, (one, again)) in given.iter().zip(again).enumerate() {
                if let Value::Object(fields) = one {
                    let place = format!("{place}.{key}[{}]", index.saturating_add(1));
                    known_keys(number, &place, fields, Some(again), &|_| None)?;
                }
            }
        }
    }
    Ok(())
}

/// Place, value and what is allowed, as far as serde's message has them: it names a word that is none of a list and a field
/// that is missing. Else it does not say of which field it is; they are few, so all stand in the error.
fn wrong(number: usize, field: &str, d: &Fields, e: &serde_json::Error) -> ScriptError {
    let said = e.to_string();
    let n = Some(number);
    let mut quoted = said.split('`').skip(1).step_by(2);
    if said.starts_with("unknown variant `")
        && let Some(word) = quoted.next()
        && let Some((key, value)) = d.iter().find(|(_, value)| value.as_str() == Some(word))
    {
        let known: Vec<&str> = quoted.collect();
        return error(n, &format!("{field}.{key}"), value, &known.join(", "));
    }
    if said.starts_with("missing field `")
        && let Some(key) = quoted.next()
    {
        return error(n, &format!("{field}.{key}"), &Value::Null, "a value");
    }
    let allowed = said
        .split_once(", expected ")
        .map_or(&*said, |(_, what)| what);
    error(n, field, &Value::Object(d.clone()), allowed)
}

pub(super) fn kind_list() -> String {
    let kinds: Vec<&str> = kinds::all().chain(["start", "amend"]).collect();
    kinds.join(", ")
}
