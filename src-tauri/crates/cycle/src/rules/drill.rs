//! A drill is heard to be one: the rising tone, which a run has only when its sound comes back, as it begins and
//! then every half minute. Five cues are as many as can be told apart, so it has none of its own.

use crate::{Ms, prompts::Tone, protocol::Protocol, rules::hands_off, state::State, wants::Wants};

/// Own: often enough for whoever comes in, and apart from the ten seconds of the tone of life.
const EVERY: Ms = Ms(30_000);

pub(crate) fn wants(p: &Protocol, state: &State, begun: Ms, wants: &mut Wants<'_>) {
    if hands_off::only_the_number(p, state, wants.now) {
        return;
    }
    wants.tone(Tone::SoundBack, begun);
    wants.tone_every(Tone::SoundBack, begun, EVERY);
}
