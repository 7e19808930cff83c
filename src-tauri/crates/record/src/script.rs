//! The rehearsal script: the acts of a crew at given times, in the record's own words.

mod amendments;
pub(crate) mod check;
mod fields;
mod parse;
mod retell;
mod strict;

use std::fmt;

use cycle::{
    Ms,
    fact::{AmendOp, AmendReason, Way},
    mark::{Mark, PatientClass},
};
use serde_json::{Map, Value, json};

pub use amendments::{Aim, Wanted, amendments};
pub use retell::{RetellError, from_record};

/// The longest rehearsal.
pub const LONGEST: Ms = Ms::secs(48 * 3600);
/// The longest time from finger down to acceptance: a held End, with room.
pub const MAX_AGE: Ms = Ms::secs(10);
/// How far back the true state may be told.
pub const MAX_AGE_STATE_SET: Ms = Ms::secs(300);

/// The longest age of a kind.
fn max_age(ev: &str) -> Ms {
    if ev == "state_set" {
        MAX_AGE_STATE_SET
    } else {
        MAX_AGE
    }
}

/// A script, checked.
#[derive(Clone, Debug, PartialEq)]
pub struct Script {
    /// Its name.
    pub name: String,
    /// The protocol's path, or the name of a built-in one.
    pub protocol: Option<String>,
    /// Whose numbers.
    pub class: PatientClass,
    /// The language, `en-US` if the script names none.
    pub lang: String,
    /// For whatever is drawn by chance.
    pub seed: u64,
    /// What the crew does, by time.
    pub steps: Vec<Step>,
    /// When the rehearsal ends.
    pub end: Option<Ms>,
}

/// One act.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// When it is accepted, from the beginning of the script.
    pub at: Ms,
    /// How long before that the finger went down.
    pub age: Ms,
    /// What is done.
    pub act: Act,
}

impl Step {
    /// When the finger went down.
    pub const fn down(&self) -> Ms {
        self.at.minus(self.age)
    }
}

/// What is done.
#[derive(Clone, Debug, PartialEq)]
pub enum Act {
    /// The run begins in this way. Left out, the first `arrest` or `compr_start` begins it.
    Start(Way),
    /// A mark.
    Mark(Mark),
    /// The undo key: written as `amend` of `last`, `retract`, `mis_tap`.
    Undo,
    /// Any other amendment.
    Amend(ScriptAmend),
}

/// An amendment of a mark of the same script.
#[derive(Clone, Debug, PartialEq)]
pub struct ScriptAmend {
    /// The mark's place in [`Script::steps`], from 0.
    pub target: usize,
    /// What it does.
    pub op: AmendOp,
    /// Why.
    pub reason: AmendReason,
}

/// What is wrong with a script.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ScriptError {
    /// Which of its marks, from 1; `None` for the script itself.
    pub mark: Option<usize>,
    /// Which field.
    pub field: String,
    /// What was found there, as JSON, shortened.
    pub found: String,
    /// What is allowed.
    pub allowed: String,
}

impl fmt::Display for ScriptError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("script: ")?;
        if let Some(mark) = self.mark {
            write!(f, "mark {mark}: ")?;
        }
        write!(
            f,
            "{} = {}, allowed: {}",
            self.field, self.found, self.allowed
        )
    }
}

impl std::error::Error for ScriptError {}

impl Script {
    /// Reads a script. What is not in the format is refused, never passed over.
    ///
    /// # Errors
    /// The first thing that is wrong, with the mark, the value and what is allowed.
    pub fn parse(json: &[u8]) -> Result<Self, ScriptError> {
        parse::script(json)
    }

    /// The script as JSON, readable by [`Self::parse`].
    pub fn to_json(&self) -> Value {
        let steps: Vec<Value> = self.steps.iter().map(step_json).collect();
        let mut out = json!({
            "name": self.name,
            "class": self.class.word(),
            "lang": self.lang,
            "seed": self.seed,
            "marks": steps,
        });
        if let Some(fields) = out.as_object_mut() {
            if let Some(protocol) = &self.protocol {
                fields.insert("protocol".to_owned(), json!(protocol));
            }
            if let Some(end) = self.end {
                fields.insert("end_s".to_owned(), seconds(end));
            }
        }
        out
    }
}

/// Milliseconds as a JSON number of seconds.
fn seconds(at: Ms) -> Value {
    let whole = at.0.checked_div(1000).unwrap_or(0);
    let rest = at.0.checked_rem(1000).unwrap_or(0);
    // Through decimal text, so that no digit is made up on the way.
    match format!("{whole}.{rest:03}").parse::<f64>() {
        Ok(_) if rest == 0 => json!(whole),
        Ok(number) => json!(number),
        Err(_) => Value::Null,
    }
}

fn step_json(step: &Step) -> Value {
    let (ev, d) = match &step.act {
        Act::Start(way) => ("start".to_owned(), json!({ "way": way.word() })),
        Act::Mark(mark) => {
            let fact = cycle::Fact::Mark(mark.clone());
            let (ev, d) = crate::line::kind_and_fields(&fact).unwrap_or_default();
            (ev, serde_json::from_str(&d).unwrap_or_default())
        }
        Act::Undo => amend_json("last", &AmendOp::Retract, AmendReason::MisTap),
        Act::Amend(amend) => amend_json(
            &format!("#{}", amend.target.saturating_add(1)),
            &amend.op,
            amend.reason,
        ),
    };
    let mut out = Map::new();
    out.insert("at_s".to_owned(), seconds(step.at));
    if step.age != Ms::ZERO {
        out.insert("age_ms".to_owned(), json!(step.age.0));
    }
    out.insert("ev".to_owned(), Value::String(ev));
    out.insert("d".to_owned(), d);
    Value::Object(out)
}

fn amend_json(target: &str, op: &AmendOp, reason: AmendReason) -> (String, Value) {
    let mut d = json!({ "target": target, "reason": reason.word() });
    if let (Some(d), Ok(Value::Object(op))) = (d.as_object_mut(), serde_json::to_value(op)) {
        d.extend(op);
    }
    ("amend".to_owned(), d)
}

#[cfg(test)]
mod tests;
