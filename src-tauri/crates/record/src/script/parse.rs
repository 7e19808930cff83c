//! From JSON to a checked script.

use cycle::{
    Ms,
    fact::{AmendOp, AmendReason, Way},
    mark::{Mark, PatientClass, RunMark},
};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

use super::{
    Act, LONGEST, Script, ScriptAmend, ScriptError, Step,
    fields::{kind_and_fields, mark, operation, typed},
    max_age,
    strict::Strict,
};
use crate::{header::shown, line};

pub(super) type Fields = Map<String, Value>;

pub(super) fn error(mark: Option<usize>, field: &str, found: &Value, allowed: &str) -> ScriptError {
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
        ended: None,
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
pub(super) fn only(
    mark: Option<usize>,
    fields: &Fields,
    allowed: &[&str],
) -> Result<(), ScriptError> {
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

/// A mark of the script that has not been taken back, and the touch it came with. An amendment of its
/// time leaves it a mark of that touch.
#[derive(Clone, Copy)]
struct Standing {
    index: usize,
    down: Ms,
    taken: Ms,
}

struct Reading {
    steps: Vec<Step>,
    standing: Vec<Standing>,
    /// The step whose mark ended the run, while it stands.
    ended: Option<usize>,
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
        let (ev, d) = kind_and_fields(number, "", fields)?;
        let age = age(number, ev, fields.get("age_ms"), at)?;
        let act = match ev {
            "amend" => self.amend(number, &d, at)?,
            "start" => self.start(number, &d)?,
            _ => self.mark(number, ev, &d)?,
        };
        let index = self.steps.len();
        if matches!(act, Act::Mark(_)) {
            self.standing.push(Standing {
                index,
                down: at.minus(age),
                taken: at,
            });
        }
        if matches!(&act, Act::Mark(mark) if is_end(mark)) {
            self.ended = Some(index);
        }
        self.ended = self
            .ended
            .filter(|end| self.standing.iter().any(|s| s.index == *end));
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
        if self.ended.is_some() && line::mark(ev, d).is_some() {
            let found = Value::String(ev.to_owned());
            let allowed = "nothing but amend after an end that stands";
            return Err(error(Some(number), "ev", &found, allowed));
        }
        mark(number, "", ev, d).map(Act::Mark)
    }

    fn amend(&mut self, number: usize, d: &Fields, now: Ms) -> Result<Act, ScriptError> {
        let n = Some(number);
        let target = d.get("target").unwrap_or(&Value::Null);
        let mut rest = d.clone();
        rest.remove("target");
        let reason = reason_of(number, &mut rest)?;
        if rest.get("op").and_then(Value::as_str) == Some("add") {
            let found = Value::String("add".to_owned());
            let allowed =
                "retract, retime, replace, confirm; in a run a mark is added by marking it";
            return Err(error(n, "d.op", &found, allowed));
        }
        let op = operation(number, &rest)?;
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
        match &op {
            AmendOp::Retract => {
                self.standing.remove(standing);
            }
            AmendOp::Replace { new } if is_end(new) => self.ended = Some(place),
            AmendOp::Retime { .. }
            | AmendOp::Confirm
            | AmendOp::Add { .. }
            | AmendOp::Replace { .. } => {}
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

/// Takes the reason out of an amendment's fields.
pub(super) fn reason_of(number: usize, d: &mut Fields) -> Result<AmendReason, ScriptError> {
    let reason = d.remove("reason").unwrap_or(Value::Null);
    serde_json::from_value(reason.clone()).map_err(|_| {
        let all: Vec<&str> = AmendReason::ALL.iter().map(|r| r.word()).collect();
        error(Some(number), "d.reason", &reason, &all.join(", "))
    })
}

#[derive(Serialize, Deserialize)]
struct Start {
    way: Way,
}

const fn is_end(mark: &Mark) -> bool {
    matches!(mark, Mark::Run(RunMark::End { .. }))
}

/// How long before its acceptance the finger went down.
fn age(number: usize, ev: &str, found: Option<&Value>, at: Ms) -> Result<Ms, ScriptError> {
    let Some(value) = found else {
        return Ok(Ms::ZERO);
    };
    let most = max_age(ev).min(at);
    let age = value.as_u64().map(Ms).filter(|age| *age <= most);
    age.ok_or_else(|| {
        let allowed = format!("whole milliseconds, 0 to {}", most.0);
        error(Some(number), "age_ms", value, &allowed)
    })
}
