//! From JSON to a checked script.

use cycle::{
    Ms,
    fact::{AmendOp, AmendReason, DEED_KINDS, Way},
    mark::{Mark, PatientClass, RunMark, kinds},
};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use serde_json::{Map, Value};

use super::{Act, LONGEST, MAX_AGE, Script, ScriptAmend, ScriptError, Step, check, strict::Strict};
use crate::{header::shown, line};

type Fields = Map<String, Value>;

fn error(mark: Option<usize>, field: &str, found: &Value, allowed: &str) -> ScriptError {
    ScriptError {
        mark,
        field: field.to_owned(),
        found: shown(found),
        allowed: allowed.to_owned(),
    }
}

pub(super) fn script(json: &[u8]) -> Result<Script, ScriptError> {
    let Strict(whole) = serde_json::from_slice(json).map_err(|e| ScriptError {
        mark: None,
        field: "file".to_owned(),
        found: e.to_string(),
        allowed: "a JSON object".to_owned(),
    })?;
    let fields = whole
        .as_object()
        .ok_or_else(|| error(None, "file", &whole, "a JSON object"))?;
    only(
        None,
        fields,
        &[
            "name", "protocol", "class", "lang", "seed", "marks", "end_s",
        ],
    )?;
    let class = match fields.get("class") {
        None => PatientClass::Adult,
        Some(value) => serde_json::from_value(value.clone())
            .map_err(|_| error(None, "class", value, &words(PatientClass::ALL)))?,
    };
    let mut reading = Reading {
        steps: Vec::new(),
        standing: Vec::new(),
        ended: false,
    };
    let marks = fields.get("marks").unwrap_or(&Value::Null);
    let given = marks
        .as_array()
        .filter(|marks| !marks.is_empty())
        .ok_or_else(|| error(None, "marks", marks, "a list of at least one mark"))?;
    for (index, mark) in given.iter().enumerate() {
        reading.step(index.saturating_add(1), mark)?;
    }
    let last = reading.steps.last().map_or(Ms::ZERO, |step| step.at);
    let end = match fields.get("end_s") {
        None => None,
        Some(value) => Some(time(None, "end_s", value, last)?),
    };
    Ok(Script {
        name: text(fields, "name")?
            .ok_or_else(|| error(None, "name", &Value::Null, "1 to 200 characters"))?,
        protocol: text(fields, "protocol")?,
        class,
        lang: text(fields, "lang")?.unwrap_or_else(|| "en-US".to_owned()),
        seed: match fields.get("seed") {
            None => 0,
            Some(value) => value
                .as_u64()
                .ok_or_else(|| error(None, "seed", value, "a whole number from 0"))?,
        },
        steps: reading.steps,
        end,
    })
}

fn words(classes: &[PatientClass]) -> String {
    let all: Vec<&str> = classes.iter().map(|class| class.word()).collect();
    all.join(", ")
}

fn text(fields: &Fields, key: &str) -> Result<Option<String>, ScriptError> {
    let Some(value) = fields.get(key) else {
        return Ok(None);
    };
    value
        .as_str()
        .filter(|text| (1..=200).contains(&text.chars().count()))
        .map(|text| Some(text.to_owned()))
        .ok_or_else(|| error(None, key, value, "1 to 200 characters"))
}

/// Refuses fields that are not in the format.
fn only(mark: Option<usize>, fields: &Fields, allowed: &[&str]) -> Result<(), ScriptError> {
    match fields
        .iter()
        .find(|(key, _)| !allowed.contains(&key.as_str()))
    {
        Some((key, value)) => Err(error(
            mark,
            key,
            value,
            &format!("no such field; the fields are {}", allowed.join(", ")),
        )),
        None => Ok(()),
    }
}

/// A time in seconds, whole milliseconds, not before `least`.
fn time(mark: Option<usize>, field: &str, value: &Value, least: Ms) -> Result<Ms, ScriptError> {
    let found = value.as_f64().map(|s| s * 1000.0);
    let whole = found.filter(|ms| ms.is_finite() && (ms - ms.round()).abs() < 0.001);
    #[expect(
        clippy::as_conversions,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a whole number; whatever does not fit saturates and is out of range below"
    )]
    let ms = whole
        .filter(|ms| *ms >= 0.0)
        .map(|ms| Ms(ms.round() as u64));
    ms.filter(|ms| *ms >= least && *ms <= LONGEST)
        .ok_or_else(|| {
            let allowed = format!(
                "seconds from {} to {}, no finer than 0.001",
                super::seconds(least),
                super::seconds(LONGEST)
            );
            error(mark, field, value, &allowed)
        })
}

/// A mark of the script that has not been taken back.
#[derive(Clone, Copy)]
struct Standing {
    index: usize,
    down: Ms,
    taken: Ms,
}

struct Reading {
    steps: Vec<Step>,
    standing: Vec<Standing>,
    ended: bool,
}

impl Reading {
    fn step(&mut self, number: usize, value: &Value) -> Result<(), ScriptError> {
        let n = Some(number);
        let fields = value
            .as_object()
            .ok_or_else(|| error(n, "mark", value, "an object with at_s, ev and d"))?;
        only(n, fields, &["at_s", "age_ms", "ev", "d"])?;
        let before = self.steps.last().map_or(Ms::ZERO, |step| step.at);
        let at = fields.get("at_s").unwrap_or(&Value::Null);
        let at = time(n, "at_s", at, before)?;
        let age = match fields.get("age_ms") {
            None => Ms::ZERO,
            Some(value) => {
                let most = MAX_AGE.min(at);
                value
                    .as_u64()
                    .map(Ms)
                    .filter(|age| *age <= most)
                    .ok_or_else(|| {
                        error(
                            n,
                            "age_ms",
                            value,
                            &format!("whole milliseconds, 0 to {}", most.0),
                        )
                    })?
            }
        };
        let ev = fields.get("ev").unwrap_or(&Value::Null);
        let ev = ev
            .as_str()
            .ok_or_else(|| error(n, "ev", ev, &kind_list()))?;
        let empty = Value::Object(Map::new());
        let d = fields.get("d").unwrap_or(&empty);
        let d = d
            .as_object()
            .ok_or_else(|| error(n, "d", d, "an object with the fields of the kind"))?;
        let act = match ev {
            "amend" => self.amend(number, d, at)?,
            "start" => self.start(number, d)?,
            _ => self.mark(number, ev, d)?,
        };
        let index = self.steps.len();
        if matches!(act, Act::Mark(_)) {
            self.standing.push(Standing {
                index,
                down: at.minus(age),
                taken: at,
            });
        }
        self.ended |= matches!(act, Act::Mark(Mark::Run(RunMark::End { .. })));
        self.steps.push(Step { at, age, act });
        Ok(())
    }

    fn start(&self, number: usize, d: &Fields) -> Result<Act, ScriptError> {
        if !self.steps.is_empty() {
            let found = Value::String("start".to_owned());
            return Err(error(
                Some(number),
                "ev",
                &found,
                "start only as the first mark",
            ));
        }
        let begin: Start = typed(number, d)?;
        Ok(Act::Start(begin.way))
    }

    fn mark(&self, number: usize, ev: &str, d: &Fields) -> Result<Act, ScriptError> {
        let n = Some(number);
        let found = Value::String(ev.to_owned());
        let Some(mark) = line::mark(ev, d) else {
            let allowed =
                if DEED_KINDS.contains(&ev) || ["header", "protocol", "seal"].contains(&ev) {
                    format!(
                        "what a crew does; the app writes {ev} itself: {}",
                        kind_list()
                    )
                } else {
                    kind_list()
                };
            return Err(error(n, "ev", &found, &allowed));
        };
        if self.ended {
            return Err(error(n, "ev", &found, "nothing but amend after end"));
        }
        let mark = mark.map_err(|e| wrong(number, d, &e))?;
        let written = serde_json::to_value(&mark).unwrap_or_default();
        known_keys(number, d, written.get("d"), |key| {
            let mut other = d.clone();
            other.insert(key.to_owned(), Value::Bool(true));
            let again = line::mark(ev, &other)?.ok()?;
            serde_json::to_value(again).ok()?.get("d").cloned()
        })?;
        check::mark(&mark).map_err(|(field, found, allowed)| ScriptError {
            mark: n,
            field: field.to_owned(),
            found,
            allowed,
        })?;
        Ok(Act::Mark(mark))
    }

    fn amend(&mut self, number: usize, d: &Fields, now: Ms) -> Result<Act, ScriptError> {
        let n = Some(number);
        let target = d.get("target").unwrap_or(&Value::Null);
        let mut rest = d.clone();
        rest.remove("target");
        let reason = rest.remove("reason").unwrap_or(Value::Null);
        let reason: AmendReason = serde_json::from_value(reason.clone()).map_err(|_| {
            let all: Vec<&str> = AmendReason::ALL
                .iter()
                .map(|reason| reason.word())
                .collect();
            error(n, "d.reason", &reason, &all.join(", "))
        })?;
        let op: AmendOp = typed(number, &rest)?;
        if let AmendOp::Retime { at_ms } = op
            && at_ms > now
        {
            let allowed = format!("0 to {}, when the amendment is made", now.0);
            return Err(error(n, "d.at_ms", &at_ms.0.into(), &allowed));
        }
        let last = target.as_str() == Some("last");
        if last && op == AmendOp::Retract && reason == AmendReason::MisTap {
            return self.undo(number, target);
        }
        let place = self.target(number, target)?;
        let standing = self.standing.iter().position(|s| s.index == place);
        let Some(standing) = standing else {
            return Err(error(
                n,
                "d.target",
                target,
                "a mark that stands; it was taken back",
            ));
        };
        match op {
            AmendOp::Retract => {
                self.standing.remove(standing);
            }
            AmendOp::Retime { at_ms } => {
                if let Some(mark) = self.standing.get_mut(standing) {
                    mark.down = at_ms;
                }
            }
        }
        Ok(Act::Amend(ScriptAmend {
            target: place,
            op,
            reason,
        }))
    }

    /// The last act that stands goes with all marks of its touch; the touch that began the run
    /// stays.
    fn undo(&mut self, number: usize, target: &Value) -> Result<Act, ScriptError> {
        let touch = |s: &Standing| (s.down, s.taken);
        let first = self.standing.first().map(touch);
        let last = self.standing.last().map(touch);
        match last {
            Some(last) if Some(last) != first => {
                self.standing.retain(|s| touch(s) != last);
                Ok(Act::Undo)
            }
            Some(_) | None => Err(error(
                Some(number),
                "d.target",
                target,
                "a mark after the touch that began the run, and not taken back",
            )),
        }
    }

    fn target(&self, number: usize, target: &Value) -> Result<usize, ScriptError> {
        let n = Some(number);
        let text = target.as_str().unwrap_or_default();
        if text == "last" {
            return self.standing.last().map(|s| s.index).ok_or_else(|| {
                error(
                    n,
                    "d.target",
                    target,
                    "last needs a mark before it that stands",
                )
            });
        }
        let before = number.saturating_sub(1);
        let place = text
            .strip_prefix('#')
            .filter(|k| !k.starts_with(['0', '+']))
            .and_then(|k| k.parse::<usize>().ok())
            .filter(|k| *k <= before)
            .and_then(|k| k.checked_sub(1));
        let Some(place) = place else {
            let allowed = format!("\"last\", or \"#1\" to \"#{before}\": a mark before this one");
            return Err(error(n, "d.target", target, &allowed));
        };
        match self.steps.get(place).map(|step| &step.act) {
            Some(Act::Mark(_)) => Ok(place),
            Some(Act::Start(_) | Act::Undo | Act::Amend(_)) | None => Err(error(
                n,
                "d.target",
                target,
                "a mark, not a start or an amendment",
            )),
        }
    }
}

#[derive(Serialize, Deserialize)]
struct Start {
    way: Way,
}

/// Reads fields that have to come out again as they went in.
fn typed<T: DeserializeOwned + Serialize>(number: usize, d: &Fields) -> Result<T, ScriptError> {
    let read: T =
        serde_json::from_value(Value::Object(d.clone())).map_err(|e| wrong(number, d, &e))?;
    let written = serde_json::to_value(&read).unwrap_or_default();
    known_keys(number, d, Some(&written), |_| None)?;
    Ok(read)
}

/// Every key that was given must be a key of the kind: after reading it is written again.
///
/// A `false` that is left out in writing is known by what `true` does to it.
fn known_keys(
    number: usize,
    d: &Fields,
    written: Option<&Value>,
    with_true: impl Fn(&str) -> Option<Value>,
) -> Result<(), ScriptError> {
    let has = |fields: Option<&Value>, key: &str| fields.is_some_and(|f| f.get(key).is_some());
    for (key, value) in d {
        let hidden = || *value == Value::Bool(false) && has(with_true(key).as_ref(), key);
        if !has(written, key) && !hidden() {
            let keys: Vec<&str> = written
                .and_then(Value::as_object)
                .map(|fields| fields.keys().map(String::as_str).collect())
                .unwrap_or_default();
            let allowed = if value.is_null() {
                "a value, or leave the field out".to_owned()
            } else {
                format!("no such field in this kind beside: {}", keys.join(", "))
            };
            return Err(error(Some(number), &format!("d.{key}"), value, &allowed));
        }
    }
    Ok(())
}

/// The field that serde's message is about cannot be had from it; the fields are few, so all stand
/// in the error.
fn wrong(number: usize, d: &Fields, e: &serde_json::Error) -> ScriptError {
    ScriptError {
        mark: Some(number),
        field: "d".to_owned(),
        found: shown(&Value::Object(d.clone())),
        allowed: e.to_string(),
    }
}

fn kind_list() -> String {
    let groups = [
        kinds::RUN,
        kinds::FLOW,
        kinds::AIR,
        kinds::CHECK,
        kinds::DEVICE,
        kinds::CARE,
        &["start", "amend"],
    ];
    groups.concat().join(", ")
}
