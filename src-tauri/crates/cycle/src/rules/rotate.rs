//! Who compresses: the next one steps in before the check, by hand only.

use crate::{
    Ms,
    mark::By,
    prompts::Prompt,
    protocol::Protocol,
    rules::check,
    state::{Line, State},
    wants::Wants,
};

/// The next compressor is asked for so long before the check. Source: common practice, no source.
const STEP_IN: Ms = Ms(20_000);
const PATIENCE: Ms = Ms(5000);

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    let by_hand = state.known_line() == Line::Compressing(By::Manual);
    if !by_hand || !p.rotate_with_check || !p.has_cycle() {
        return;
    }
    if let Some(round) = check::current(p, state, wants.now).filter(|r| !r.at_once) {
        wants.prompt(Prompt::NextUp, round.due.minus(STEP_IN), PATIENCE);
    }
}
