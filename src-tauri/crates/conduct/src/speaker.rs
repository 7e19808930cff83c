//! What the conductor asks of the sound.

use std::{fmt, sync::Arc};

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
    /// Noise like a vehicle's lies under everything, or no more. In drills alone.
    Noise(bool),
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

/// Wakes the conductor, which then asks for the news. May be called on any thread but the one that fills the device's
/// buffer: it may wait for a lock.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// A sound that was made before, mono.
#[derive(Clone, PartialEq, Eq)]
pub struct Recording {
    /// Its samples, 16 bits.
    pub samples: Arc<[i16]>,
    /// Samples a second.
    pub hz: u32,
}

impl fmt::Debug for Recording {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} samples at {} Hz", self.samples.len(), self.hz)
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
    /// second in a run.
    fn news(&mut self, now: Ms) -> Option<SoundNews>;
    /// A run begins: what sounded before is in no count of it. One that has nothing before a run counts from there.
    fn count_anew(&mut self, _now: Ms) {}
    /// When [`Speaker::news`] is wanted at the latest; `None` for no wish.
    fn next_wakeup(&self) -> Option<Ms>;
    /// What to call when there is news that must not wait, as that nothing is heard. Told once, before all else. One
    /// that has its news only when it is asked keeps nothing of it.
    fn wake_by(&mut self, _wake: Wake) {}
    /// From now on sounds the voice of this language. Asked between runs only; must not block. One that has
    /// a single voice keeps it.
    fn speak(&mut self, _lang: &str) {}
    /// Where the sound goes may have changed: play on the present default device. Must not block. One that has a
    /// single device keeps it.
    fn rerouted(&mut self) {}
    /// Makes a sound of the listening test and sounds it as soon as it is made, under this name; it is told as a
    /// cue is, and revoked as one. Asked between runs only; must not block. One that has no clips leaves it out.
    fn trial(&mut self, _now: Ms, _id: CueId, _stimulus: Stimulus) {}
    /// Sounds a recording as soon as it can, under this name, in place of one of the listening test; revoked as
    /// that is. Asked between runs only; must not block. One that has no device leaves it out.
    fn recording(&mut self, _now: Ms, _id: CueId, _recording: Recording) {}
    /// Why nothing is heard, in words with what mends it; `None` while it plays, or where nothing is known of it.
    fn why_silent(&self) -> Option<String> {
        None
    }
    /// What the sound comes out of now; `None` where nothing is open or nothing is known of it.
    fn output(&self) -> Option<Output> {
        None
    }
}
