//! Pregnancy: the birth is to be over so long after the arrest. A tone, and the screen asks.

use crate::{
    Ms,
    prompts::Tone,
    protocol::{Overlay, Protocol},
    state::{Line, State, long, short},
    wants::Wants,
};

/// When the birth is to be over; `None` where nobody is pregnant, or the service has no figure.
pub(crate) fn due(p: &Protocol, state: &State) -> Option<Ms> {
    let rule = p
        .overlay(Overlay::Pregnancy)
        .filter(|_| state.has_overlay(Overlay::Pregnancy))?;
    Some(short(state.arrest?.saturating_add(long(rule.delivery_by?))))
}

/// Whether the screen asks for it.
pub(crate) fn is_asked(p: &Protocol, state: &State, now: Ms) -> bool {
    is_arrest(state) && due(p, state).is_some_and(|due| now >= due)
}

fn is_arrest(state: &State) -> bool {
    state.is_live() && state.known_line() != Line::Pulse
}

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    if let Some(due) = due(p, state).filter(|_| is_arrest(state)) {
        wants.tone(Tone::Attention, due);
    }
}
