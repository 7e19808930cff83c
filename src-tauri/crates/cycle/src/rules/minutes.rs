//! Checkpoints by the minute, each from its own zero.

use crate::{
    Ms,
    mark::Task,
    protocol::{MinuteRule, Protocol, Zero},
    state::{Line, State, long, short},
    wants::Wants,
};

pub(crate) const PATIENCE: Ms = Ms(120_000);

/// When a checkpoint falls due; `None` if its zero is not known, or lies so far back that the
/// checkpoint was another crew's.
pub(crate) fn due(state: &State, rule: &MinuteRule) -> Option<Ms> {
    let began = state.began?;
    let zero = match rule.zero {
        Zero::Arrest => state.arrest?,
        Zero::Start => long(began),
        Zero::AlsArrival => long(state.als?),
    };
    let at = short(zero.saturating_add(long(rule.at)));
    (at >= began).then_some(at)
}

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    if state.known_line() == Line::Pulse {
        return;
    }
    for rule in &p.minutes {
        let Some(due) = due(state, rule) else {
            continue;
        };
        wants.wake(due);
        if state.acked(Task::Minute).is_none_or(|ack| ack < due) {
            wants.prompt(rule.prompt, due, PATIENCE);
        }
    }
}
