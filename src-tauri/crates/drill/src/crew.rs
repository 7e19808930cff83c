//! A scripted crew: a rehearsal's script, in which a mark may also stand so long after a cue or after another mark
//! that is expected.

use std::fmt;

use cycle::Ms;
use record::script::{Act, Script, ScriptError};
use serde_json::{Map, Number, Value};

use crate::{
    scenario::Scenario,
    walk::{Heard, walk},
};

/// The largest crew script, bytes.
const LARGEST: usize = 1 << 20;
const MOST_MARKS: usize = 500;

/// What is wrong with a crew's script.
#[derive(Clone, Debug, PartialEq)]
pub enum CrewFault {
    /// It is no JSON object with a list of marks.
    Shape {
        /// What was found.
        found: String,
    },
    /// A mark waits for something that the scenario does not have, or its time is none.
    Mark {
        /// Which, from 1.
        mark: usize,
        /// Which field.
        field: &'static str,
        /// What was found.
        found: String,
        /// What is allowed.
        allowed: String,
    },
    /// As a rehearsal's script it is wrong.
    Script(ScriptError),
}

impl fmt::Display for CrewFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Shape { found } => write!(
                f,
                "crew: {found}, allowed: a JSON object of a rehearsal's script, {MOST_MARKS} marks and {LARGEST} \
                 bytes at most"
            ),
            Self::Mark {
                mark,
                field,
                found,
                allowed,
            } => write!(
                f,
                "crew: mark {mark}: {field} = {found}, allowed: {allowed}"
            ),
            Self::Script(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for CrewFault {}

/// Reads a crew's script for a scenario and seed: `"on": ID, "s": SECONDS` in the place of `at_s` is so long after
/// that cue. Marks stand in order of time, so that what a cue waits for is above it. The script ends with the drill.
///
/// # Errors
/// The first thing that is wrong.
pub fn crew(json: &[u8], scenario: &Scenario, seed: u32) -> Result<Script, CrewFault> {
    let shape = |found: String| CrewFault::Shape { found };
    if json.len() > LARGEST {
        return Err(shape(format!("{} bytes", json.len())));
    }
    let mut whole: Value = serde_json::from_slice(json).map_err(|e| shape(e.to_string()))?;
    let given = whole.get("marks").and_then(Value::as_array).cloned();
    let given = given.ok_or_else(|| shape("no list of marks".to_owned()))?;
    if given.len() > MOST_MARKS {
        return Err(shape(format!("{} marks", given.len())));
    }
    if given.iter().all(|mark| mark.get("on").is_none()) {
        // As it stands, so that a key that stands twice is found.
        return checked(json, scenario);
    }
    let mut told: Vec<Value> = Vec::new();
    for (n, mark) in given.iter().enumerate() {
        let number = n.saturating_add(1);
        let mut fields = mark.as_object().cloned().unwrap_or_default();
        if let Some(on) = fields.remove("on") {
            let after = fields.remove("s");
            let at = on_cue(number, &on, after.as_ref(), (scenario, seed), &whole, &told)?;
            fields.insert("at_s".to_owned(), at);
        }
        told.push(Value::Object(fields));
    }
    if let Some(whole) = whole.as_object_mut() {
        whole.insert("marks".to_owned(), Value::Array(told));
    }
    checked(whole.to_string().as_bytes(), scenario)
}

fn checked(json: &[u8], scenario: &Scenario) -> Result<Script, CrewFault> {
    let mut script = Script::parse(json).map_err(CrewFault::Script)?;
    script.end = script.end.or(Some(scenario.end));
    Ok(script)
}

fn on_cue(
    mark: usize,
    on: &Value,
    after: Option<&Value>,
    (scenario, seed): (&Scenario, u32),
    whole: &Value,
    told: &[Value],
) -> Result<Value, CrewFault> {
    let wrong = |field: &'static str, found: &Value, allowed: String| CrewFault::Mark {
        mark,
        field,
        found: found.to_string(),
        allowed,
    };
    let ids = || {
        let ids: Vec<&str> = scenario.cues.iter().map(|cue| cue.id.as_str()).collect();
        format!("a cue of the scenario: {}", ids.join(", "))
    };
    let cue = scenario
        .cues
        .iter()
        .position(|cue| Some(cue.id.as_str()) == on.as_str());
    let cue = cue.ok_or_else(|| wrong("on", on, ids()))?;
    let after = after.unwrap_or(&Value::Null);
    let seconds = after.as_f64().filter(|s| (0.0..=1800.0).contains(s));
    let seconds = seconds.ok_or_else(|| wrong("s", after, "seconds from 0 to 1800".to_owned()))?;
    let marks = marks_of(whole, told)?;
    let at = walk(scenario, seed, &marks, &Heard::default())
        .cues
        .get(cue)
        .copied();
    let at = crate::measured::seconds(at.unwrap_or(scenario.end));
    // To the millisecond: the sum of two decimals may lie a hair beside one.
    let sum = ((at + seconds) * 1000.0).round() / 1000.0;
    Ok(Number::from_f64(sum).map_or(Value::Null, Value::Number))
}

/// The marks told so far, as the script's reader takes them.
fn marks_of(whole: &Value, told: &[Value]) -> Result<Vec<(Ms, cycle::Mark)>, CrewFault> {
    if told.is_empty() {
        return Ok(Vec::new());
    }
    let mut so_far: Map<String, Value> = whole.as_object().cloned().unwrap_or_default();
    so_far.remove("end_s");
    so_far.insert("marks".to_owned(), Value::Array(told.to_vec()));
    let script =
        Script::parse(Value::Object(so_far).to_string().as_bytes()).map_err(CrewFault::Script)?;
    let marks = script.steps.iter().filter_map(|step| match &step.act {
        Act::Mark(mark) => Some((step.down(), mark.clone())),
        Act::Start(_) | Act::Undo | Act::Amend(_) => None,
    });
    Ok(marks.collect())
}
