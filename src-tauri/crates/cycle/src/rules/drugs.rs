//! Drug windows: when a drug is due, late, withheld, given twice. A timer, never an order, never a dose.

use crate::{
    Ms,
    mark::{Task, TempBand},
    prompts::Prompt,
    protocol::{DRUG_BY_CLOCK, DrugDue, DrugRule, FirstDose, Overlay, Protocol},
    state::{Line, Long, State, long, short},
    wants::Wants,
};

/// The heads-up comes so long before.
const HEADS_UP: Ms = Ms(60_000);
/// A drug that is due and unmarked is called once more after this.
const AGAIN: Ms = Ms(30_000);
/// The words for a late drug name a time; so long they are near enough to true.
const PATIENCE: Ms = Ms(60_000);
/// What is due stays due: a move, a pulse or signs of life may be longer than any patience.
const UNTIL_GIVEN: Ms = Ms(u64::MAX);
const HEADS_UP_PATIENCE: Ms = Ms(15_000);
/// A dose given before its window opened is told as given twice for so long.
const TOLD_TWICE: Long = 60_000;

/// Where a drug stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Window {
    /// Nothing has asked for it yet.
    NotAsked,
    /// Not to be given: cold, signs of life, circulation, enough given.
    Withheld,
    /// Given again before its window opened.
    Doubled { since: Long },
    /// Not due before.
    NotDue { from: Ms },
    /// Due since, late from.
    Due { since: Ms, late: Option<Ms> },
    /// Late since.
    Late { since: Ms },
}

/// An interval as the cold makes it.
pub(crate) fn stretched(p: &Protocol, state: &State, interval: Ms) -> Ms {
    let factor = match state.cold() {
        Some(TempBand::From30To35) => p.overlay(Overlay::Cold).and_then(|o| o.cold_factor),
        Some(TempBand::Below30 | TempBand::Above35) | None => None,
    };
    Ms(interval.0.saturating_mul(u64::from(factor.unwrap_or(1))))
}

fn is_deep_cold(state: &State) -> bool {
    state.cold() == Some(TempBand::Below30)
}

/// When a drug that has not been given falls due, and when one that has been given does.
fn asked(p: &Protocol, state: &State, drug: &DrugRule) -> Option<(Ms, Option<Ms>)> {
    let doses = state.doses_of(&drug.key);
    match &drug.due {
        DrugDue::Interval {
            first,
            first_after_shocks,
            min,
            max,
        } => {
            if let Some(last) = doses.filter(|d| d.n > 0) {
                // Given, but nobody knows when: the window cannot be told.
                let last = last.last?;
                let at = |span: Ms| short(last.saturating_add(long(stretched(p, state, span))));
                return Some((at(*min), Some(at(*max))));
            }
            let after = u16::from(*first_after_shocks);
            // Reached before us: due from our beginning.
            let shocked = (after > 0 && state.total_drug_shocks() >= after)
                .then(|| state.drug_shock(after).or(state.began))
                .flatten();
            let other = state
                .first_not_shocked
                .filter(|_| *first == FirstDose::AtOnce);
            let due = [shocked, other].into_iter().flatten().min()?;
            Some((due, None))
        }
        DrugDue::Shocks(numbers) => {
            let given = usize::from(doses.map_or(0, |d| d.n));
            let number = u16::from(*numbers.get(given)?);
            if state.total_drug_shocks() < number {
                return None;
            }
            Some((state.drug_shock(number).or(state.began)?, None))
        }
    }
}

/// Where a drug stands at `now`.
pub(crate) fn window(p: &Protocol, state: &State, drug: &DrugRule, now: Ms) -> Window {
    let doses = state.doses_of(&drug.key);
    if let Some(last) = doses.filter(|d| d.doubled).and_then(|d| d.last)
        && long(now).saturating_sub(last) < TOLD_TWICE
    {
        return Window::Doubled { since: last };
    }
    if is_withheld(p, state, drug) {
        return Window::Withheld;
    }
    match asked(p, state, drug) {
        None => Window::NotAsked,
        Some((from, _)) if now < from => Window::NotDue { from },
        Some((_, Some(late))) if now >= late => Window::Late { since: late },
        Some((since, late)) => Window::Due { since, late },
    }
}

fn is_withheld(p: &Protocol, state: &State, drug: &DrugRule) -> bool {
    !state.is_live() || is_held_back(p, state, drug) || is_enough(state, drug)
}

/// Not to be given for now. What falls due meanwhile is called when that is over.
fn is_held_back(p: &Protocol, state: &State, drug: &DrugRule) -> bool {
    let n = state.doses_of(&drug.key).map_or(0, |d| d.n);
    let cold = is_deep_cold(state) && cold_most(p, drug).is_some_and(|most| n >= u16::from(most));
    let awake = p.withhold_awake && state.awake.is_some();
    state.known_line() == Line::Pulse || cold || awake
}

fn is_enough(state: &State, drug: &DrugRule) -> bool {
    let n = state.doses_of(&drug.key).map_or(0, |d| d.n);
    drug.most > 0 && n >= u16::from(drug.most)
}

fn is_by_clock(drug: &DrugRule) -> bool {
    matches!(drug.due, DrugDue::Interval { .. })
}

/// Whether a prompt speaks of a drug that is not to be given for now.
pub(crate) fn is_of_withheld(p: &Protocol, state: &State, prompt: Prompt) -> bool {
    let by_clock = matches!(prompt, Prompt::Drug60 | Prompt::DrugDue | Prompt::DrugLate);
    (by_clock || prompt == Prompt::DrugNext)
        && p.drugs
            .iter()
            .any(|drug| is_by_clock(drug) == by_clock && is_held_back(p, state, drug))
}

/// Doses that the service still gives below 30 degrees.
fn cold_most(p: &Protocol, drug: &DrugRule) -> Option<u8> {
    let rule = p.overlay(Overlay::Cold)?;
    match drug.due {
        DrugDue::Interval { .. } => rule.cold_doses_by_time,
        DrugDue::Shocks(_) => rule.cold_doses_by_shocks,
    }
}

/// Whether shocks are flagged: in deep cold no more are given for now.
pub(crate) fn cold_shocks_reached(p: &Protocol, state: &State) -> bool {
    let most = p.overlay(Overlay::Cold).and_then(|o| o.cold_shocks);
    is_deep_cold(state) && most.is_some_and(|most| state.shocks >= u16::from(most))
}

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    for drug in &p.drugs {
        if is_enough(state, drug) {
            continue;
        }
        let Some((due, late)) = asked(p, state, drug) else {
            continue;
        };
        let acked = |at: Ms| state.acked(Task::Drug).is_some_and(|ack| ack >= at);
        match drug.due {
            DrugDue::Interval { .. } => {
                // The first dose has no heads-up: what asks for it has only now been seen.
                if late.is_some() {
                    wants.prompt(Prompt::Drug60, due.minus(HEADS_UP), HEADS_UP_PATIENCE);
                }
                wants.wake(due);
                // While the words for a late drug are true, they are the ones to say.
                let named =
                    late.is_some_and(|late| late <= wants.now && wants.now <= late.plus(PATIENCE));
                if !acked(due) {
                    // Of two calls that were held back together only the second is made.
                    wants.prompt(Prompt::DrugDue, due, AGAIN.minus(Ms(1)));
                    if !named {
                        wants.prompt(Prompt::DrugDue, due.plus(AGAIN), UNTIL_GIVEN);
                    }
                }
                if let Some(late) = late {
                    wants.wake(late);
                    if !acked(late) {
                        wants.prompt(Prompt::DrugLate, late, PATIENCE);
                    }
                }
            }
            DrugDue::Shocks(_) => {
                if !acked(due) {
                    wants.prompt(Prompt::DrugNext, due, UNTIL_GIVEN);
                }
            }
        }
    }
}

/// Whether the drug by the clock is due and the crew has neither given it nor said that it knows.
pub(crate) fn is_called_by_clock(p: &Protocol, state: &State, now: Ms) -> bool {
    let Some(drug) = p.drug(DRUG_BY_CLOCK) else {
        return false;
    };
    match window(p, state, drug, now) {
        Window::Due { since, .. } | Window::Late { since } => {
            state.acked(Task::Drug).is_none_or(|ack| ack < since)
        }
        Window::NotAsked | Window::Withheld | Window::Doubled { .. } | Window::NotDue { .. } => {
            false
        }
    }
}

/// Whether what a prompt asks for has been done, or is not to be done.
pub(crate) fn is_answered(p: &Protocol, state: &State, prompt: Prompt, now: Ms) -> bool {
    let of_clock = |drug: &&DrugRule| is_by_clock(drug) == (prompt != Prompt::DrugNext);
    p.drugs.iter().filter(of_clock).all(|drug| {
        let due = matches!(
            window(p, state, drug, now),
            Window::Due { .. } | Window::Late { .. }
        );
        !due || state.acked(Task::Drug).is_some_and(|ack| ack >= now)
    })
}
