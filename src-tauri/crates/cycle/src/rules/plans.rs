//! What is gone through before a move and before the device: words on the screen, and a tone.

use crate::{
    Ms,
    mark::By,
    prompts::Prompt,
    protocol::{FitWindows, Protocol},
    state::{Device, Line, State},
    wants::Wants,
};

const PATIENCE: Ms = Ms(10_000);
/// Without pads so long after the start they are asked for. Source: common practice, no source.
const PADS: Ms = Ms(60_000);

/// When a move was decided on that has not begun, by device: by hand there is no cup to look at.
pub(crate) fn move_due(state: &State) -> Option<Ms> {
    let by_device = state.known_line() == Line::Compressing(By::Mechanical);
    state.move_planned.filter(|_| by_device)
}

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    let by_hand = matches!(state.known_line(), Line::Compressing(By::Manual));
    let planned = state.fit_planned.filter(|_| state.device == Device::Beside);
    // Where it is fitted in the check's pause there is no pause of its own to speak of.
    if let Some(planned) = planned.filter(|_| by_hand && p.device.windows != FitWindows::InCheck) {
        wants.prompt(Prompt::FitPlan, planned, PATIENCE);
    }
    if let Some(planned) = move_due(state) {
        wants.prompt(Prompt::MovePlan, planned, PATIENCE);
    }
    let seen = state.pads.is_some() || state.checks > 0 || state.leads;
    if let Some(began) = state.began.filter(|_| !seen && p.has_cycle()) {
        wants.prompt(Prompt::PadsNow, began.plus(PADS), PATIENCE);
    }
}
