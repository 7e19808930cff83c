//! Cup checks: when they were asked for, and how long the answer took.

use cycle::{
    Fact, Mark, Ms,
    mark::{CupAct, DeviceMark},
};
use serde::Serialize;

use crate::run::Run;

/// One question about the cup.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CupCheck {
    /// Asked.
    pub asked_ms: Ms,
    /// Answered; `None`: it was not.
    pub answered_ms: Option<Ms>,
    /// From question to answer, ms; `None` also where the answer was dated before the question.
    pub ms: Option<Ms>,
    /// What was found.
    pub answer: Option<CupAct>,
}

/// The cup checks of a run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Cup {
    /// How many were asked for.
    pub asked: usize,
    /// How many of them were answered.
    pub answered: usize,
    /// In order.
    pub rows: Vec<CupCheck>,
}

pub(crate) fn cup(run: &Run<'_>) -> Cup {
    let mut rows: Vec<CupCheck> = Vec::new();
    let mut open: Option<Ms> = None;
    for step in &run.steps {
        if let (Some(asked), Fact::Mark(Mark::Device(DeviceMark::Cup { act, .. }))) =
            (open, &step.entry.fact)
        {
            let at = step.entry.at;
            if let Some(row) = rows.last_mut() {
                row.answered_ms = Some(at);
                row.ms = (at >= asked).then(|| at.since(asked));
                row.answer = Some(*act);
            }
        }
        if let Some(asked) = step.cup.filter(|asked| open != Some(*asked)) {
            rows.push(CupCheck {
                asked_ms: asked,
                answered_ms: None,
                ms: None,
                answer: None,
            });
        }
        open = step.cup;
    }
    rows.retain(|row| run.is_in_window(row.asked_ms));
    Cup {
        asked: rows.len(),
        answered: rows.iter().filter(|row| row.answered_ms.is_some()).count(),
        rows,
    }
}
