//! The compression device: how it was fitted, and what it took off the chest.

use cycle::{
    Fact, Line, Mark, Ms, Step,
    mark::{By, DeviceMark, Reason},
};
use serde::Serialize;

use crate::{flow::minute_before, pauses::Pauses, run::Run};

/// One fitting.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fitting {
    /// Its first step, or the first pause for it where no step was marked.
    pub from_ms: Ms,
    /// The device ran; `None`: it never did.
    pub running_ms: Option<Ms>,
    /// It was refused, and why.
    pub refused: Option<String>,
    /// Each stretch of hands off that it took, ms.
    pub windows_ms: Vec<Ms>,
    /// Together.
    pub total_ms: Ms,
    /// Share of the minute before the device ran in which hands were on.
    pub flow_before: Option<f64>,
}

/// The fittings of the window.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fittings {
    /// In order.
    pub rows: Vec<Fitting>,
}

/// Pauses for the device: fitting, seating, taking off, fault, power.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DevicePauses {
    /// How many.
    pub count: usize,
    /// Together.
    pub total_ms: Ms,
}

pub(crate) fn device_pauses(pauses: &Pauses) -> DevicePauses {
    let of_device = |reason: Reason| {
        matches!(
            reason,
            Reason::DeviceFit
                | Reason::DeviceReseat
                | Reason::DeviceOff
                | Reason::DeviceFault
                | Reason::Power
        )
    };
    let rows = pauses.rows.iter().filter(|row| of_device(row.reason));
    DevicePauses {
        count: rows.clone().count(),
        total_ms: rows.map(|row| row.ms).fold(Ms::ZERO, Ms::plus),
    }
}

/// What one line says of a fitting.
enum News {
    Step,
    Refused(String),
    Off,
    Running,
    /// By hand again, or out of use.
    Gone,
    Nothing,
}

fn news(step: &Step<'_>, before: Option<Line>) -> News {
    match &step.entry.fact {
        Fact::Mark(Mark::Device(DeviceMark::Fit { .. })) => return News::Step,
        Fact::Mark(Mark::Device(DeviceMark::FitRefused { reason })) => {
            return News::Refused(reason.clone());
        }
        Fact::Mark(_) | Fact::Deed(_) | Fact::Amend(_) => {}
    }
    if before == Some(step.line) {
        return News::Nothing;
    }
    match step.line {
        Line::Compressing(By::Mechanical) => News::Running,
        Line::Compressing(By::Manual) | Line::HandsOff(Reason::DeviceFault) => News::Gone,
        Line::HandsOff(Reason::DeviceFit) => News::Off,
        Line::HandsOff(_) | Line::Before | Line::Pulse | Line::Unknown | Line::Ended => {
            News::Nothing
        }
    }
}

pub(crate) fn fittings(run: &Run<'_>) -> Fittings {
    let mut rows: Vec<Fitting> = Vec::new();
    let mut open: Option<Ms> = None;
    let mut running = false;
    let mut before = None;
    for step in &run.steps {
        match news(step, before) {
            News::Step | News::Off => {
                if !running && open.is_none() {
                    open = Some(step.from);
                }
            }
            News::Refused(why) => {
                if let Some(from) = open.take() {
                    rows.push(fitting(run, (from, step.from), Close::Refused(why)));
                }
            }
            News::Running => {
                if let Some(from) = open.take() {
                    rows.push(fitting(run, (from, step.from), Close::Running));
                }
                running = true;
            }
            News::Gone => running = false,
            News::Nothing => {}
        }
        before = Some(step.line);
    }
    if let (Some(from), Some((_, end))) = (open, run.ends()) {
        rows.push(fitting(run, (from, end.max(from)), Close::Open));
    }
    rows.retain(|row| run.is_in_window(row.from_ms));
    Fittings { rows }
}

/// How a fitting came to its end.
enum Close {
    Running,
    Refused(String),
    /// Not at all.
    Open,
}

fn fitting(run: &Run<'_>, (from, to): (Ms, Ms), close: Close) -> Fitting {
    let runs = matches!(close, Close::Running);
    let took = run.offs.iter().filter(|off| {
        let for_it = off.span.reasons.contains(&Reason::DeviceFit);
        let last = runs && off.span.to == to;
        off.span.to > from && off.span.from < to && (for_it || last)
    });
    let windows: Vec<Ms> = took.map(|off| off.span.len()).collect();
    Fitting {
        from_ms: from,
        running_ms: runs.then_some(to),
        refused: match close {
            Close::Refused(why) => Some(why),
            Close::Running | Close::Open => None,
        },
        total_ms: windows.iter().copied().fold(Ms::ZERO, Ms::plus),
        windows_ms: windows,
        flow_before: runs.then(|| minute_before(run, to)).flatten(),
    }
}
