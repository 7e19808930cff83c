//! Time off the chest: the number, and nothing else.

use crate::{
    Ms,
    prompts::Prompt,
    protocol::Protocol,
    state::{Line, State},
    wants::Wants,
};

/// A number that comes later than this is no longer true.
const PATIENCE: Ms = Ms(1500);

const NUMBERS: [(u8, Prompt); 8] = [
    (5, Prompt::Off05),
    (10, Prompt::Off10),
    (15, Prompt::Off15),
    (20, Prompt::Off20),
    (30, Prompt::Off30),
    (40, Prompt::Off40),
    (50, Prompt::Off50),
    (60, Prompt::Off60),
];

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    // Breaths that come first are no pause.
    if state.is_off() && state.first_breaths.is_none() {
        for (seconds, prompt) in NUMBERS {
            if p.off_numbers.contains(&seconds) {
                let due = state.since.plus(Ms::secs(u32::from(seconds)));
                wants.prompt(prompt, due, PATIENCE);
            }
        }
    }
}

/// Whether it is from the charge to the shock: nobody may be told to touch the patient.
pub(crate) fn near_shock(p: &Protocol, state: &State, now: Ms) -> bool {
    state
        .shock_near
        .is_some_and(|since| now.since(since) < p.shock_silence)
}

/// Whether nothing but the number is heard, no tone that can wait either: off the chest, and from the charge to the
/// shock.
pub(crate) fn only_the_number(p: &Protocol, state: &State, now: Ms) -> bool {
    near_shock(p, state, now) || matches!(state.known_line(), Line::HandsOff(_))
}

pub(crate) fn is_number(prompt: Prompt) -> bool {
    NUMBERS.iter().any(|(_, number)| *number == prompt)
}
