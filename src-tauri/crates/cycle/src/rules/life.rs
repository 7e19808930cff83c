//! Silent by design: one faint tone each ten seconds tells it apart from sound lost.

use crate::{
    Ms,
    mark::{BreathMode, By},
    prompts::Tone,
    state::{Line, State},
    wants::Wants,
};

const EVERY: Ms = Ms(10_000);

pub(crate) fn wants(state: &State, wants: &mut Wants<'_>) {
    let quiet = match state.line {
        Line::Compressing(By::Mechanical) => state.mode != BreathMode::Continuous,
        Line::Pulse => true,
        Line::Compressing(By::Manual)
        | Line::Before
        | Line::HandsOff(_)
        | Line::Unknown
        | Line::Ended => false,
    };
    if quiet {
        let passed = wants
            .now
            .since(state.since)
            .0
            .checked_div(EVERY.0)
            .unwrap_or(0);
        for n in [passed, passed.saturating_add(1)] {
            if n > 0 {
                wants.tone(Tone::Life, state.since.plus(Ms(n.saturating_mul(EVERY.0))));
            }
        }
    }
}
