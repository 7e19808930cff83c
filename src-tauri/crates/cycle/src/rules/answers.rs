//! Prompts that answer a touch at once.

use crate::{Ms, prompts::Prompt, protocol::Protocol, state::State, wants::Wants};

const PATIENCE: Ms = Ms(5000);

pub(crate) fn wants(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    if let Some(since) = state.shock_near {
        wants.wake(since.plus(p.shock_silence));
    }
    if let Some(back) = state.voice_back {
        wants.wake(back);
        wants.prompt(Prompt::VoiceOn, back, PATIENCE);
    }
    for answer in state.answers.iter().filter(|a| still_true(state, a.prompt)) {
        wants.prompt(answer.prompt, answer.due, PATIENCE);
    }
}

/// Whether an answer to a touch is still so.
#[expect(
    clippy::wildcard_enum_match_arm,
    reason = "every other prompt goes by the clock"
)]
pub(crate) fn still_true(state: &State, prompt: Prompt) -> bool {
    use crate::{
        mark::{BreathMode, By, Reason},
        state::Line,
    };
    let by_device = state.line == Line::Compressing(By::Mechanical);
    match prompt {
        Prompt::DevStop => state.line == Line::HandsOff(Reason::DeviceFault),
        Prompt::PowerOver => state.pack_out.is_some_and(|out| out.over),
        Prompt::DevCont => by_device && state.mode == BreathMode::Continuous,
        Prompt::DevRatio => by_device && state.mode == BreathMode::Ratio,
        Prompt::ArrestAgain => matches!(state.line, Line::Compressing(_)),
        Prompt::VoiceOff => state.voice_off,
        Prompt::VoiceOn => !state.voice_off,
        Prompt::BeatOff => state.beat_off,
        _ => false,
    }
}
