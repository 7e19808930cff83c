//! Circulation is back: a tone at once, and one whenever the pulse is to be looked at again. Nothing
//! private is said aloud.

use crate::{
    Ms,
    prompts::Tone,
    protocol::Protocol,
    state::{Line, State},
    wants::Wants,
};

/// The pulse is to be looked at again then; the last look that fell due, once one has.
pub(crate) fn recheck(p: &Protocol, state: &State, now: Ms) -> Option<Ms> {
    if state.line != Line::Pulse {
        return None;
    }
    let passed = now
        .since(zero(state))
        .0
        .checked_div(p.rosc_recheck.0)
        .unwrap_or(0);
    Some(nth(p, state, passed.max(1)))
}

fn nth(p: &Protocol, state: &State, n: u64) -> Ms {
    zero(state).plus(Ms(n.saturating_mul(p.rosc_recheck.0)))
}

/// What the looks count from: circulation back, or the pulse felt since.
fn zero(state: &State) -> Ms {
    state.pulse_felt.unwrap_or(Ms::ZERO).max(state.since)
}

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    if state.line != Line::Pulse {
        return;
    }
    wants.tone(Tone::Attention, state.since);
    wants.tone_every(Tone::Attention, zero(state), p.rosc_recheck);
}
