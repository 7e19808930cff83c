use beat::{Kind, Placed};

use crate::Timeline;

/// Which clip of a bank.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ClipId(pub u8);

impl ClipId {
    /// First id that belongs to no sound of a score.
    pub const CUES: u8 = 4;
    /// The noise of a drill: no pack has as many clips.
    pub const NOISE: Self = Self(u8::MAX - 1);

    /// The clip of a score's sound.
    pub const fn of(kind: Kind) -> Self {
        Self(match kind {
            Kind::BeatFirst => 0,
            Kind::Beat => 1,
            Kind::BeatLast => 2,
            Kind::Breath => 3,
        })
    }
}

/// Clips at the mixer's sample rate, mono.
pub trait Clips {
    /// The samples of a clip; empty for one that is not there. Called on the audio thread.
    fn samples(&self, clip: ClipId) -> &[i16];
}

/// What the mixer is told. Small and `Copy`: it travels through a ring.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Message {
    /// Sound this score from its own beginning on.
    Score {
        /// The score.
        placed: Placed,
        /// Run tick at which it was decided: of the score before it, only what lies earlier than
        /// this still sounds.
        given: u64,
    },
    /// Sound a clip once.
    Play(Play),
    /// Drop a cue that has not begun, fade one that has.
    Revoke(u32),
    /// Levels of what begins from now on.
    Levels(Gains),
    /// Another line from run time to frames.
    Timeline(Timeline),
    /// No score; the next one belongs to another run.
    Rest,
    /// The clip of the noise goes round and round under everything, or no more.
    Noise(bool),
}

/// A cue: a voice or a tone, sounded once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Play {
    /// Its name; comes back in the reports.
    pub id: u32,
    /// What sounds.
    pub clip: ClipId,
    /// Whether it is spoken.
    pub bus: Bus,
    /// Run tick on which it begins; `None`: with the next block.
    pub start: Option<u64>,
}

/// What a sound is mixed as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bus {
    /// A beat or a breath tone: steps back under a voice.
    Score,
    /// A voice: one at a time.
    Voice,
    /// A tone.
    Tone,
}

/// Levels, tenths of a decibel below full; 960 or more is silence.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Gains {
    /// Beats.
    pub beat_ddb: u16,
    /// Breath tones.
    pub breath_ddb: u16,
    /// Voices and tones.
    pub cue_ddb: u16,
}

/// A sound that began.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A sound of the score.
    Score(Kind),
    /// A cue.
    Cue(u32),
}

/// What the mixer did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Report {
    /// A sound began.
    Begun {
        /// Which.
        what: What,
        /// Frame of its first sample.
        frame: u64,
        /// Run tick of that frame; `None` while there is no timeline.
        tick: Option<u64>,
        /// Length in frames, if nothing breaks it off.
        frames: u32,
    },
    /// A cue was left out: too late, or too many at once.
    Late(u32),
    /// A cue that had begun was broken off.
    Cut(u32),
    /// A sound of the score was left out: a late one misleads, a missing one does not.
    LeftOut(Kind),
}

/// Takes the mixer's reports. Called on the audio thread: must neither wait nor allocate.
pub trait Sink {
    /// Takes one.
    fn report(&mut self, report: Report);
}
