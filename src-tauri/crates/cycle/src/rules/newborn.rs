//! A newborn: breaths first, then compressions with breaths; the heart rate is looked at again and
//! again, and there is no two-minute cycle.

use crate::{
    Ms,
    mark::Task,
    prompts::Prompt,
    protocol::Protocol,
    state::{Line, State, long},
    wants::Wants,
};

const PATIENCE: Ms = Ms(15_000);
/// Looks that a long stall skipped are written down one by one, up to so many.
const MOST: u64 = 60;

/// The look at the heart rate that is next, or was due last and not marked.
pub(crate) fn next(p: &Protocol, state: &State, now: Ms) -> Option<Ms> {
    let own = p.newborn?;
    if !state.is_live() || state.known_line() == Line::Pulse {
        return None;
    }
    let every = long(own.recheck).max(1);
    // The first one falls due as the breaths alone are over.
    Some(at(state, every, number(state, every, now)))
}

/// Looks that have fallen due by then, from the clock's zero.
fn number(state: &State, every: i64, now: Ms) -> i64 {
    let into = long(now).saturating_sub(state.heart_base);
    into.checked_div(every).unwrap_or(0).max(0)
}

fn at(state: &State, every: i64, n: i64) -> Ms {
    crate::state::short(state.heart_base.saturating_add(n.saturating_mul(every)))
}

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    let Some(own) = p.newborn else {
        return;
    };
    if state.known_line() == Line::Pulse {
        return;
    }
    let every = long(own.recheck).max(1);
    let first = i64::from(!is_after_first_breaths(state));
    let from = number(state, every, wants.before).max(first);
    let to = number(state, every, wants.now.plus(Ms(1000))).saturating_add(1);
    for n in (from..=to).take(usize::try_from(MOST).unwrap_or(60)) {
        let due = at(state, every, n);
        wants.wake(due);
        if state.acked(Task::HeartRate).is_none_or(|ack| ack < due) {
            wants.prompt(Prompt::HrNow, due, PATIENCE);
        }
    }
}

/// Whether the clock counts from the end of the breaths alone, so that its zero is a look itself.
fn is_after_first_breaths(state: &State) -> bool {
    state
        .first_breaths
        .is_some_and(|first| long(first.until) == state.heart_base)
}
