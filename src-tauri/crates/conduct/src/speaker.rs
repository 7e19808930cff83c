//! What the conductor asks of the sound.

use std::fmt;

use cycle::{Cue, CueId, Ms, SoundNews};
use listening::{Output, Stimulus};

/// An order to the sound. Orders are taken in order and never wait.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Order {
    /// Sound this score from its own `from_ms` on, in place of the one before.
    Score(beat::Placed),
    /// Sound a voice or a tone once.
    Play(Cue),
    /// Drop a cue that has not begun; fade one that has within 10 ms.
    Revoke(CueId),
    /// Gains in tenths of a decibel below full.
    Levels(Levels),
    /// No score any more: the run is over or none has begun.
    Rest,
}

/// Gains in tenths of a decibel below full; 0 is full.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Levels {
    /// Beats.
    pub beat_ddb: u16,
    /// Breath tones.
    pub breath_ddb: u16,
    /// Voices and tones.
    pub voice_ddb: u16,
}

impl From<cycle::Levels> for Levels {
    fn from(levels: cycle::Levels) -> Self {
        let ddb = |db: u8| u16::from(db).saturating_mul(10);
        Self {
            beat_ddb: ddb(levels.beat_db),
            breath_ddb: ddb(levels.breath_db),
            voice_ddb: ddb(levels.voice_db),
        }
    }
}

/// The sound: a device, a WAV file, or a fake.
///
/// Run time is the conductor's run clock. A sound of a score is heard a fixed output latency after
/// its run time; the latency is the same for every sound, so intervals are exact.
pub trait Speaker: fmt::Debug + Send {
    /// Takes an order. Must not block and must not allocate without bound.
    fn order(&mut self, now: Ms, order: Order);
    /// The next piece of news, if any. Called at each of the conductor's wake-ups, at least once a
    /// second in a run; also the place where a supervisor does its work.
    fn news(&mut self, now: Ms) -> Option<SoundNews>;
    /// When [`Speaker::news`] is wanted at the latest; `None` for no wish.
    fn next_wakeup(&self) -> Option<Ms>;
    /// From now on sounds the voice of this language. Asked between runs only; must not block. One that has
    /// a single voice keeps it.
    fn speak(&mut self, _lang: &str) {}
    /// Where the sound goes may have changed: play on the present default device. Must not block. One that has a
    /// single device keeps it.
    fn rerouted(&mut self) {}
    /// Makes a sound of the listening test and sounds it as soon as it is made, under this name; it is told as a
    /// cue is, and revoked as one. Asked between runs only; must not block. One that has no clips leaves it out.
    fn trial(&mut self, _now: Ms, _id: CueId, _stimulus: Stimulus) {}
    /// What the sound comes out of now; `None` where nothing is open or nothing is known of it.
    fn output(&self) -> Option<Output> {
        None
    }
}
