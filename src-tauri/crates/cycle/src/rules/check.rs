//! The two-minute rhythm check: heads-up, count, due, overdue, and on to the next untended.

use crate::{
    Ms,
    prompts::Prompt,
    protocol::Protocol,
    state::{Line, State},
    wants::Wants,
};

/// From here on the check card takes the place of the plain one.
pub(crate) const NEAR: Ms = Ms(15_000);
/// A question that has waited this long is shown with emphasis.
pub(crate) const URGENT: Ms = Ms(15_000);

const HEADS_UP_PATIENCE: Ms = Ms(5000);
const COUNT_PATIENCE: Ms = Ms(300);
const OVERDUE_PATIENCE: Ms = Ms(5000);

const COUNT: [(u8, Prompt); 5] = [
    (5, Prompt::ChkCd5),
    (4, Prompt::ChkCd4),
    (3, Prompt::ChkCd3),
    (2, Prompt::ChkCd2),
    (1, Prompt::ChkCd1),
];

/// A check's place in time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Round {
    /// When it falls due.
    pub(crate) due: Ms,
    /// When its heads-up comes.
    pub(crate) heads_up: Ms,
}

/// The check that the screen speaks of: the next one, or the one that fell due and is not marked,
/// until the heads-up of the one after. None while a check runs or there is nothing to check.
pub(crate) fn current(p: &Protocol, state: &State, now: Ms) -> Option<Round> {
    let open = state.is_live() && state.line != Line::Pulse && !state.checking;
    open.then(|| round(p, state, number_at(p, state, now)))
}

/// The check that fell due before the current one and was never marked.
pub(crate) fn unmarked(p: &Protocol, state: &State, now: Ms) -> Option<Ms> {
    current(p, state, now)?;
    let n = number_at(p, state, now).checked_sub(1).filter(|n| *n > 0)?;
    Some(round(p, state, n).due)
}

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    let Some(round) = current(p, state, wants.now) else {
        return;
    };
    let Round { due, heads_up } = round;
    wants.prompt(Prompt::Chk30, heads_up, HEADS_UP_PATIENCE);
    for (seconds, prompt) in COUNT {
        if seconds <= p.check_count_from {
            let at = due.minus(Ms::secs(u32::from(seconds)));
            wants.prompt(prompt, at, COUNT_PATIENCE);
        }
    }
    // Asked for ahead of its moment, like every prompt by the clock.
    let next_heads_up = heads_up.plus(p.check_every);
    wants.prompt(Prompt::Chk30, next_heads_up, HEADS_UP_PATIENCE);
    wants.prompt(Prompt::ChkNow, due, next_heads_up.since(due).minus(Ms(1)));
    wants.prompt(Prompt::ChkOver, due.plus(p.check_overdue), OVERDUE_PATIENCE);
    // The screen changes with time alone: the check's card, its emphasis, the next round.
    wants.wake(due.minus(NEAR));
    wants.wake(due.plus(URGENT));
    wants.wake(next_heads_up);
}

/// Prompts that are spoken as one: the count and its "now".
pub(crate) fn is_series(prompt: Prompt) -> bool {
    prompt == Prompt::ChkNow || COUNT.iter().any(|(_, count)| *count == prompt)
}

/// Number of the current check, from 1.
fn number_at(p: &Protocol, state: &State, now: Ms) -> u64 {
    let into = now.plus(p.check_heads_up).since(state.check_base);
    into.0.checked_div(p.check_every.0).unwrap_or(1).max(1)
}

fn round(p: &Protocol, state: &State, n: u64) -> Round {
    let due = state.check_base.plus(Ms(n.saturating_mul(p.check_every.0)));
    Round {
        due,
        heads_up: due.minus(p.check_heads_up),
    }
}

/// The count and its "now" are one prompt for the budget: all but its first word are free.
pub(crate) fn in_series_but_first(prompt: Prompt) -> bool {
    is_series(prompt) && prompt != Prompt::ChkCd5
}
