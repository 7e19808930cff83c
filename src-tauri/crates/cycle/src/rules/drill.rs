//! A drill is heard to be one: the rising tone, which a run has only when its sound comes back, as it begins and
//! then every half minute. Five cues are as many as can be told apart, so it has none of its own.

use crate::{
    Ms,
    prompts::Tone,
    protocol::Protocol,
    state::{Line, State},
    wants::Wants,
};

/// Own: often enough for whoever comes in, and apart from the ten seconds of the tone of life.
const EVERY: Ms = Ms(30_000);

pub(crate) fn wants(p: &Protocol, state: &State, begun: Ms, wants: &mut Wants<'_>) {
    let near = state
        .shock_near
        .is_some_and(|since| wants.now.since(since) < p.shock_silence);
    // Off the chest, and from the charge to the shock, nothing but the number is heard.
    if near || matches!(state.known_line(), Line::HandsOff(_)) {
        return;
    }
    wants.tone(Tone::SoundBack, begun);
    wants.tone_every(Tone::SoundBack, begun, EVERY);
}
