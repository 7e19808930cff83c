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
    let quiet = match state.known_line() {
        Line::Compressing(By::Mechanical) => {
            state.mode != BreathMode::Continuous || state.is_between_halves()
        }
        Line::Pulse | Line::Unknown => {
            state.score.score.pattern == beat::Pattern::Silent { breath_ms: 0 }
        }
        // What went on before a gap is not known to go on: the tone says that the phone lives.
        Line::HandsOff(_) => state.line == Line::Unknown,
        Line::Compressing(By::Manual) => state.is_between_halves(),
        Line::Before | Line::Ended => false,
    };
    if quiet {
        wants.tone_every(Tone::Life, state.since, EVERY);
    }
}
