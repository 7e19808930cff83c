//! Questions that nobody answered: still off, still running.

use crate::{
    Ms,
    mark::Task,
    prompts::{Prompt, Tone},
    protocol::Protocol,
    state::State,
    wants::Wants,
};

/// After the last spoken number the screen asks, and a tone follows now and then.
pub(crate) const OFF_ASKED: Ms = Ms(60_000);
/// "Still off" holds for so long. Source: common practice, no source; a cycle between two checks.
const OFF_ANSWERED: Ms = Ms(120_000);
const PATIENCE: Ms = Ms(5000);

/// Whether "Still off?" stands.
pub(crate) fn is_off_asked(state: &State, now: Ms) -> bool {
    let is_pause = state.is_off() && state.first_breaths.is_none();
    is_pause && now.since(state.since) >= OFF_ASKED && !is_off_answered(state, now)
}

/// An answer holds for a while: nobody may forget a pause for good.
fn is_off_answered(state: &State, now: Ms) -> bool {
    state
        .acked(Task::StillOff)
        .is_some_and(|ack| ack >= state.since && now.since(ack) < OFF_ANSWERED)
}

/// When "Still running?" is asked.
pub(crate) fn running_asked(p: &Protocol, state: &State) -> Option<Ms> {
    state
        .is_live()
        .then(|| state.last_mark.plus(p.still_running))
}

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    let is_pause = state.is_off() && state.first_breaths.is_none();
    if is_pause && !is_off_answered(state, wants.now) {
        let asked = state.since.plus(OFF_ASKED);
        wants.wake(asked);
        wants.tone_every(Tone::Attention, asked, p.still_off_every);
    }
    if let Some(due) = running_asked(p, state) {
        wants.wake(due);
        wants.tone(Tone::Attention, due);
        wants.prompt(Prompt::Still, due.plus(Ms(500)), PATIENCE);
    }
}
