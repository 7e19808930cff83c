//! The file of amendments that a review takes from a desk: written as in a script, but that a target is a
//! line's number, and a time a run time.

use cycle::{
    Seq,
    fact::{AmendOp, AmendReason},
};
use serde_json::Value;

use super::{
    ScriptError,
    fields::operation,
    parse::{Fields, error, only, reason_of},
    strict::Strict,
};

/// What an amendment of the file points at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Aim {
    /// A line of the record.
    Line(Seq),
    /// The amendment of the same file, from 0: `#1` is the first.
    Here(usize),
    /// Nothing: a mark is added.
    Nothing,
}

/// An amendment as it was asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// What it points at.
    pub aim: Aim,
    /// What it does.
    pub op: AmendOp,
    /// Why.
    pub reason: AmendReason,
}

/// Reads `{"amendments": [{"target", "op", ..., "reason"}, ...]}`.
///
/// # Errors
/// The first thing that is wrong, with the amendment's number, the value and what is allowed.
pub fn amendments(json: &[u8]) -> Result<Vec<Wanted>, ScriptError> {
    let whole: Strict = serde_json::from_slice(json).map_err(|e| ScriptError {
        mark: None,
        field: "file".to_owned(),
        found: e.to_string(),
        allowed: "a JSON object".to_owned(),
    })?;
    let Strict(whole) = whole;
    let fields = whole
        .as_object()
        .ok_or_else(|| error(None, "file", &whole, "a JSON object"))?;
    only(None, fields, &["amendments"])?;
    let list = fields.get("amendments").unwrap_or(&Value::Null);
    let given = list
        .as_array()
        .filter(|given| !given.is_empty())
        .ok_or_else(|| error(None, "amendments", list, "a list of at least one amendment"))?;
    let read = given.iter().enumerate();
    read.map(|(index, one)| wanted(index.saturating_add(1), one))
        .collect()
}

fn wanted(number: usize, value: &Value) -> Result<Wanted, ScriptError> {
    let n = Some(number);
    let mut d: Fields = value
        .as_object()
        .ok_or_else(|| error(n, "d", value, "an object with target, op and reason"))?
        .clone();
    let target = d.remove("target");
    let reason = reason_of(number, &mut d)?;
    let op = operation(number, &d)?;
    let adds = matches!(op, AmendOp::Add { .. });
    let aim = match &target {
        None if adds => Aim::Nothing,
        Some(target) if adds => {
            return Err(error(n, "d.target", target, "none where a mark is added"));
        }
        None => Aim::Line(Seq(0)),
        Some(target) => aim(number, target)?,
    };
    if aim == Aim::Line(Seq(0)) {
        let found = target.unwrap_or(Value::Null);
        return Err(error(n, "d.target", &found, "the seq of a line from 2"));
    }
    Ok(Wanted { aim, op, reason })
}

fn aim(number: usize, target: &Value) -> Result<Aim, ScriptError> {
    if let Some(seq) = target.as_u64() {
        return Ok(Aim::Line(Seq(seq)));
    }
    let place = target
        .as_str()
        .and_then(|text| text.strip_prefix('#'))
        .filter(|k| !k.starts_with(['0', '+']))
        .and_then(|k| k.parse::<usize>().ok())
        .filter(|k| *k < number)
        .and_then(|k| k.checked_sub(1));
    place.map(Aim::Here).ok_or_else(|| {
        let allowed = "the seq of a line, or \"#1\", \"#2\" ...: an amendment before this one";
        error(Some(number), "d.target", target, allowed)
    })
}
