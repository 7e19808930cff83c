//! Changes of the device's power pack.

use cycle::{
    Fact, Mark, Ms,
    mark::{DeviceMark, PowerAct},
};
use serde::Serialize;

use crate::run::Run;

/// One change of packs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PowerSwap {
    /// The pack came out.
    pub from_ms: Ms,
    /// The new one was in; `None`: that was not marked.
    pub swapped_ms: Option<Ms>,
    /// From one to the other, ms.
    pub ms: Option<Ms>,
    /// Whether that lay inside the protocol's window.
    pub inside_window: Option<bool>,
    /// The whole stretch of hands off around it, ms; `None`: hands were not off, or it is not known for
    /// how long.
    pub hands_off_ms: Option<Ms>,
}

/// The changes of packs in a run.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Power {
    /// In order.
    pub rows: Vec<PowerSwap>,
}

pub(crate) fn power(run: &Run<'_>) -> Power {
    let mut rows: Vec<PowerSwap> = Vec::new();
    for step in &run.steps {
        let Fact::Mark(Mark::Device(DeviceMark::Power { act, .. })) = &step.entry.fact else {
            continue;
        };
        let at = step.entry.at;
        match act {
            PowerAct::SwapBegin => rows.push(PowerSwap {
                from_ms: at,
                swapped_ms: None,
                ms: None,
                inside_window: None,
                hands_off_ms: run
                    .off_at(at)
                    .filter(|off| off.ended_by != crate::EndedBy::Unknown)
                    .map(|off| off.span.len()),
            }),
            PowerAct::SwapEnd => {
                if let Some(row) = rows.last_mut().filter(|row| row.swapped_ms.is_none()) {
                    let ms = at.since(row.from_ms);
                    row.swapped_ms = Some(at);
                    row.ms = Some(ms);
                    row.inside_window = run.protocol(step.class).map(|p| ms <= p.swap_window);
                }
            }
            PowerAct::Full | PowerAct::MainsOn | PowerAct::MainsOff => {}
        }
    }
    rows.retain(|row| run.is_in_window(row.from_ms));
    Power { rows }
}
