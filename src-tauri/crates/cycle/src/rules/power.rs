//! The device's power: the estimate, where there is one, and the swap. Its window closes with a tone,
//! not with a word.

use crate::{
    Ms,
    mark::Task,
    prompts::{Prompt, Tone},
    protocol::Protocol,
    state::State,
    wants::Wants,
};

/// The minutes that the two heads-ups name.
const TEN: Ms = Ms(600_000);
const TWO: Ms = Ms(120_000);
const PATIENCE: Ms = Ms(30_000);

/// The next heads-up of the estimate, or the end of the pack.
pub(crate) fn next(p: &Protocol, state: &State, now: Ms) -> Option<Ms> {
    let ends = state.power_ends()?;
    let full = p.full_pack.unwrap_or(Ms::ZERO);
    let ahead = [TEN, TWO]
        .into_iter()
        .filter(|left| full > *left)
        .map(|left| ends.minus(left))
        .find(|at| *at > now);
    Some(ahead.unwrap_or(ends))
}

/// The heads-up that was given last, while its pack lasts.
pub(crate) fn asked(p: &Protocol, state: &State, now: Ms) -> Option<Ms> {
    let ends = state.power_ends()?;
    let full = p.full_pack.unwrap_or(Ms::ZERO);
    [TWO, TEN]
        .into_iter()
        .filter(|left| full > *left)
        .map(|left| ends.minus(left))
        .find(|at| *at <= now)
}

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    if let Some(out) = state.pack_out.filter(|out| !out.over) {
        wants.tone(Tone::Attention, out.since.plus(p.swap_window));
        wants.wake(out.since.plus(p.swap_window).plus(Ms(1)));
        wants.wake(out.since.plus(p.by_hand_offer));
    }
    if let Some(ends) = state.power_ends() {
        let full = p.full_pack.unwrap_or(Ms::ZERO);
        for (left, prompt) in [(TEN, Prompt::Power10), (TWO, Prompt::Power2)] {
            let due = ends.minus(left);
            wants.wake(due);
            let acked = state.acked(Task::Power).is_some_and(|ack| ack >= due);
            if full > left && !acked {
                wants.prompt(prompt, due, PATIENCE);
            }
        }
    }
}
