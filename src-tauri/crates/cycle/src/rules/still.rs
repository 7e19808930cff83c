//! Questions that nobody answered: still off, still running.

use crate::{
    Ms,
    mark::Task,
    prompts::{Prompt, Tone},
    protocol::Protocol,
    state::{Line, State},
    wants::Wants,
};

/// After the last spoken number the screen asks, and a tone follows now and then.
pub(crate) const OFF_ASKED: Ms = Ms(60_000);
const PATIENCE: Ms = Ms(5000);

/// Whether "Still off?" stands.
pub(crate) fn is_off_asked(state: &State, now: Ms) -> bool {
    state.is_off() && now.since(state.since) >= OFF_ASKED && !is_off_answered(state)
}

fn is_off_answered(state: &State) -> bool {
    state
        .acked(Task::StillOff)
        .is_some_and(|ack| ack >= state.since)
}

/// When "Still running?" is asked.
pub(crate) fn running_asked(p: &Protocol, state: &State) -> Option<Ms> {
    state
        .is_live()
        .then(|| state.last_mark.plus(p.still_running))
}

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    if matches!(state.line, Line::HandsOff(_)) && !is_off_answered(state) {
        let asked = state.since.plus(OFF_ASKED);
        wants.wake(asked);
        let every = p.still_off_every;
        let passed = wants.now.since(asked).0.checked_div(every.0).unwrap_or(0);
        for n in [passed, passed.saturating_add(1)] {
            if n > 0 {
                wants.tone(Tone::Attention, asked.plus(Ms(n.saturating_mul(every.0))));
            }
        }
    }
    if let Some(due) = running_asked(p, state) {
        wants.wake(due);
        wants.tone(Tone::Attention, due);
        wants.prompt(Prompt::Still, due.plus(Ms(500)), PATIENCE);
    }
}
