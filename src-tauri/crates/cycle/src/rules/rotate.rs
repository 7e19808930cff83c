//! Who compresses: the next one steps in before the check, or by a clock of its own; by hand only.

use crate::{
    Ms,
    mark::{By, Task},
    prompts::Prompt,
    protocol::Protocol,
    rules::check,
    state::{Line, State},
    wants::Wants,
};

/// The next compressor is asked for so long before the change. Source: common practice, no source.
const STEP_IN: Ms = Ms(20_000);
const PATIENCE: Ms = Ms(5000);
/// A change that is called later than this is near the next one. Source: common practice, no source.
const CHANGE_PATIENCE: Ms = Ms(30_000);
/// Changes that a long stall skipped are written down one by one, up to so many.
const MOST: usize = 60;

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    let by_hand = state.known_line() == Line::Compressing(By::Manual);
    if !by_hand || !p.has_cycle() {
        return;
    }
    if let Some(every) = p.rotate_apart {
        apart(state, every, wants);
    } else if p.rotate_with_check
        && let Some(round) = check::current(p, state, wants.now).filter(|r| !r.at_once)
    {
        wants.prompt(Prompt::NextUp, round.due.minus(STEP_IN), PATIENCE);
    }
}

/// The change that fell due last by its own clock, and is not marked.
pub(crate) fn due(p: &Protocol, state: &State, now: Ms) -> Option<Ms> {
    let every = p.rotate_apart?;
    let by_hand = state.known_line() == Line::Compressing(By::Manual);
    let n = Some(number(state, every, now)).filter(|n| by_hand && *n > 0)?;
    let due = nth(state, every, n);
    let acked = state.acked(Task::Rotate).is_some_and(|ack| ack >= due);
    (!acked).then_some(due)
}

fn number(state: &State, every: Ms, now: Ms) -> u64 {
    now.since(state.chest_since)
        .0
        .checked_div(every.0)
        .unwrap_or(0)
}

fn nth(state: &State, every: Ms, n: u64) -> Ms {
    state.chest_since.plus(Ms(n.saturating_mul(every.0)))
}

/// Unmarked, it comes again: an untended run goes on.
fn apart(state: &State, every: Ms, wants: &mut Wants<'_>) {
    let from = number(state, every, wants.before).max(1);
    let to = number(state, every, wants.now.plus(STEP_IN)).saturating_add(1);
    for due in (from..=to).map(|n| nth(state, every, n)).take(MOST) {
        wants.wake(due);
        wants.prompt(Prompt::NextUp, due.minus(STEP_IN), PATIENCE);
        if state.acked(Task::Rotate).is_none_or(|ack| ack < due) {
            wants.prompt(Prompt::RotateNow, due, CHANGE_PATIENCE);
        }
    }
}
