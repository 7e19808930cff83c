//! Time off the chest: the number, and nothing else.

use crate::{Ms, prompts::Prompt, protocol::Protocol, state::State, wants::Wants};

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

pub(crate) fn is_number(prompt: Prompt) -> bool {
    NUMBERS.iter().any(|(_, number)| *number == prompt)
}
