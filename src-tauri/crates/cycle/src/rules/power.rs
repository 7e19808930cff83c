//! The power swap: the window closes with a tone, not with a word.

use crate::{Ms, prompts::Tone, protocol::Protocol, state::State, wants::Wants};

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    if let Some(out) = state.pack_out.filter(|out| !out.over) {
        wants.tone(Tone::Attention, out.since.plus(p.swap_window));
        wants.wake(out.since.plus(p.swap_window).plus(Ms(1)));
        wants.wake(out.since.plus(p.by_hand_offer));
    }
}
