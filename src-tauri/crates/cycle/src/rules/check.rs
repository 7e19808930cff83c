//! The two-minute rhythm check: heads-up, count, due, overdue, and on to the next untended.

use crate::{
    Ms,
    mark::Task,
    prompts::Prompt,
    protocol::{FitWindows, Protocol},
    state::{CheckPause, Device, Line, State, long, short},
    wants::Wants,
};

/// From here on the check card takes the place of the plain one.
pub(crate) const NEAR: Ms = Ms(15_000);
/// A question that has waited this long is shown with emphasis.
pub(crate) const URGENT: Ms = Ms(15_000);

/// The second heads-up, where there is no charge to be asked for; in some services the only one.
const SOON: Ms = Ms(15_000);
const HEADS_UP_PATIENCE: Ms = Ms(5000);
const COUNT_PATIENCE: Ms = Ms(300);
const OVERDUE_PATIENCE: Ms = Ms(5000);

/// Rounds of a long stall that are written down one by one.
const MOST_ROUNDS: usize = 60;

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
    /// It fell due with the pads: without heads-up and count.
    pub(crate) at_once: bool,
}

/// The check that the screen speaks of: the next one, or the one that fell due and is not marked,
/// until the heads-up of the one after. None while a check runs or there is nothing to check.
pub(crate) fn current(p: &Protocol, state: &State, now: Ms) -> Option<Round> {
    let open = p.has_cycle()
        && state.is_live()
        && state.known_line() != Line::Pulse
        && state.check == CheckPause::None;
    open.then(|| round(p, state, number_at(p, state, now)))
}

/// Who stops because of a call has stopped within this. Own: the call takes two seconds, a compressor finishes the count.
const ANSWERED_WITHIN: Ms = Ms(15_000);

/// Until when a stop is taken for the check that fell due at `due`: it is called twice, and the second call is given as
/// long to be answered as the first. With the device beside, a stop long after it is as likely the one to put it on.
pub(crate) fn asked_until(p: &Protocol, state: &State, due: Ms) -> Ms {
    let called_again = due.plus(p.check_overdue);
    if state.device == Device::Beside && p.device.windows != FitWindows::InCheck {
        called_again.plus(ANSWERED_WITHIN)
    } else {
        called_again.plus(p.check_overdue)
    }
}

/// The first check after `known` that fell due, was never marked, and is the current one no more.
pub(crate) fn unmarked(p: &Protocol, state: &State, now: Ms, known: Option<Ms>) -> Option<Ms> {
    current(p, state, now)?;
    let last = number_at(p, state, now);
    let passed = known.map_or(0, |due| {
        let since = long(due).saturating_sub(state.check_base);
        count(since, p.check_every)
    });
    let next = passed.saturating_add(1);
    (next < last).then(|| round(p, state, next).due)
}

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    // A check whose round has passed unsaid is written down as missed.
    if current(p, state, wants.now).is_some() {
        let from = number_at(p, state, wants.before);
        for n in (from..number_at(p, state, wants.now)).take(MOST_ROUNDS) {
            of_round(p, round(p, state, n), wants);
        }
    }
    let Some(round) = current(p, state, wants.now) else {
        return;
    };
    if !is_acked(p, state, round.due) {
        of_round(p, round, wants);
    }
    // Asked for ahead of its moment, like every prompt by the clock.
    let Round { due, heads_up, .. } = round;
    let next_heads_up = heads_up.plus(p.check_every);
    wants.prompt(heads_up_word(p), next_heads_up, HEADS_UP_PATIENCE);
    // The screen changes with time alone: the check's card, its emphasis, the next round.
    wants.wake(due.minus(NEAR));
    wants.wake(due.plus(URGENT));
    wants.wake(asked_until(p, state, due).plus(Ms(1)));
    wants.wake(next_heads_up);
}

fn of_round(p: &Protocol, round: Round, wants: &mut Wants<'_>) {
    let Round { due, heads_up, .. } = round;
    if !round.at_once {
        wants.prompt(heads_up_word(p), heads_up, HEADS_UP_PATIENCE);
        match p.check_charge {
            Some(before) => wants.prompt(Prompt::Charge, due.minus(before), HEADS_UP_PATIENCE),
            None if heads_up < due.minus(SOON) => {
                wants.prompt(Prompt::Chk15, due.minus(SOON), HEADS_UP_PATIENCE);
            }
            None => {}
        }
        for (seconds, prompt) in COUNT {
            if seconds <= p.check_count_from {
                let at = due.minus(Ms::secs(u32::from(seconds)));
                wants.prompt(prompt, at, COUNT_PATIENCE);
            }
        }
    }
    let next_heads_up = heads_up.plus(p.check_every);
    wants.prompt(Prompt::ChkNow, due, next_heads_up.since(due).minus(Ms(1)));
    wants.prompt(Prompt::ChkOver, due.plus(p.check_overdue), OVERDUE_PATIENCE);
}

/// The heads-up in the words for its time.
pub(crate) fn heads_up_word(p: &Protocol) -> Prompt {
    if p.check_heads_up > SOON {
        Prompt::Chk30
    } else {
        Prompt::Chk15
    }
}

/// Whether the crew has said that it knows of the check that is due.
pub(crate) fn is_acked(p: &Protocol, state: &State, due: Ms) -> bool {
    state
        .acked(Task::Check)
        .is_some_and(|ack| ack >= due.minus(p.check_heads_up))
}

/// Prompts that are spoken as one: the count and its "now".
pub(crate) fn is_series(prompt: Prompt) -> bool {
    prompt == Prompt::ChkNow || COUNT.iter().any(|(_, count)| *count == prompt)
}

/// Everything that is said of the check.
pub(crate) fn is_of_check(prompt: Prompt) -> bool {
    is_series(prompt)
        || matches!(
            prompt,
            Prompt::Chk30 | Prompt::Chk15 | Prompt::Charge | Prompt::ChkOver | Prompt::NextUp
        )
}

/// Number of the current check, from 1.
fn number_at(p: &Protocol, state: &State, now: Ms) -> u64 {
    let into = long(now.plus(p.check_heads_up)).saturating_sub(state.check_base);
    count(into, p.check_every).max(1)
}

/// Whole spans in a time, none in a time before.
fn count(time: i64, span: Ms) -> u64 {
    u64::try_from(time)
        .unwrap_or(0)
        .checked_div(span.0)
        .unwrap_or(0)
}

fn round(p: &Protocol, state: &State, n: u64) -> Round {
    let span = long(Ms(n.saturating_mul(p.check_every.0)));
    let due = short(state.check_base.saturating_add(span));
    Round {
        due,
        heads_up: due.minus(p.check_heads_up),
        at_once: state.check_at_once == Some(due),
    }
}

/// The check that a word of the count, or its "now", is spoken for.
pub(crate) fn round_of(prompt: Prompt, due: Ms) -> Option<Ms> {
    if prompt == Prompt::ChkNow {
        return Some(due);
    }
    let (seconds, _) = COUNT.iter().find(|(_, word)| *word == prompt)?;
    Some(due.plus(Ms::secs(u32::from(*seconds))))
}
