//! The cup check: asked after every move and start, once more, and shown until it is answered.

use crate::{Ms, mark::Task, prompts::Prompt, protocol::Protocol, state::State, wants::Wants};

/// The first question waits until it is answered, however late a mark set right brings it up.
const UNTIL_ANSWERED: Ms = Ms(86_400_000);
/// Its repetition is worth saying for as long as a move may hold it. Of a cup that a mark set right brings
/// up later than that the first question is all.
const PATIENCE: Ms = Ms(600_000);

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    if let Some(asked) = state.cup {
        wants.wake(asked.due.plus(super::check::URGENT));
        if state.acked(Task::Cup).is_none_or(|ack| ack < asked.due) {
            wants.prompt(asked.prompt, asked.due, UNTIL_ANSWERED);
            wants.prompt(Prompt::CupNow, asked.due.plus(p.cup_repeat), PATIENCE);
        }
    }
}
