use beat::Placed;
use conduct::{Levels, Order};
use cycle::{Cue, CueSound, Ms, Start};
use render::{Bus, Gains, Message, Play};

use crate::pack::clip_of;

/// An order of the conductor as the mixer takes it, at `hz` ticks a second.
pub(crate) fn message(now: Ms, order: Order, hz: u32) -> Message {
    match order {
        Order::Score(placed) => score(now, placed, hz),
        Order::Play(cue) => Message::Play(play(&cue, hz)),
        Order::Revoke(id) => Message::Revoke(id.0),
        Order::Levels(levels) => Message::Levels(gains(levels)),
        Order::Rest => Message::Rest,
        Order::Noise(is_on) => Message::Noise(is_on),
    }
}

fn score(now: Ms, placed: Placed, hz: u32) -> Message {
    Message::Score {
        placed,
        given: ticks(now, hz),
    }
}

fn play(cue: &Cue, hz: u32) -> Play {
    Play {
        id: cue.id.0,
        clip: clip_of(cue.sound),
        bus: match cue.sound {
            CueSound::Voice(_) => Bus::Voice,
            CueSound::Tone(_) => Bus::Tone,
        },
        start: match cue.start {
            Start::Now => None,
            Start::At(at) => Some(ticks(at, hz)),
        },
    }
}

fn gains(levels: Levels) -> Gains {
    Gains {
        beat_ddb: levels.beat_ddb,
        breath_ddb: levels.breath_ddb,
        cue_ddb: levels.voice_ddb,
    }
}

/// A run time in ticks, rounded down as the score's own times are.
pub(crate) fn ticks(at: Ms, hz: u32) -> u64 {
    let ticks = u128::from(at.0).saturating_mul(u128::from(hz)) / 1000;
    u64::try_from(ticks).unwrap_or(u64::MAX)
}
