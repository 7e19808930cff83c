use core::fmt;

/// Compressions a minute, 1 to 300.
///
/// Parsed once at the door, so that a score can always be counted out. What a protocol allows is
/// far narrower and is the protocol's matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Rate(u16);

impl Rate {
    /// The highest rate that can be counted out.
    pub const MAX: u16 = 300;

    /// A rate of `per_minute`.
    ///
    /// # Errors
    /// [`RateError`] outside 1 to 300.
    pub const fn new(per_minute: u16) -> Result<Self, RateError> {
        if per_minute == 0 || per_minute > Self::MAX {
            Err(RateError { found: per_minute })
        } else {
            Ok(Self(per_minute))
        }
    }

    /// Beats a minute.
    pub const fn per_minute(self) -> u16 {
        self.0
    }
}

/// A rate that cannot be counted out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RateError {
    /// What was asked for, per minute.
    pub found: u16,
}

impl fmt::Display for RateError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "rate {} per minute, allowed 1 to {}",
            self.found,
            Rate::MAX
        )
    }
}

impl core::error::Error for RateError {}

/// What sounds, apart from when it began.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pattern {
    /// No beat. Breath tones every `breath_ms`, none when 0.
    Silent {
        /// Milliseconds from breath to breath.
        breath_ms: u32,
    },
    /// An unbroken beat. Breath tones every `breath_ms` by the clock, none when 0.
    Continuous {
        /// Milliseconds from breath to breath.
        breath_ms: u32,
    },
    /// `beats` whole periods, then a window for the breaths, and again.
    Ratio {
        /// Compressions in a cycle; their phase lasts this many whole periods.
        beats: u16,
        /// The breath window, milliseconds.
        window_ms: u32,
        /// Breath tones in the window: the first at its start, the others evenly after it.
        breaths: u8,
    },
}

/// Pattern, rate and level: what the audio thread holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Score {
    /// Beats a minute within a compression phase.
    pub rate: Rate,
    /// What sounds.
    pub pattern: Pattern,
    /// Beat level below full, in tenths of a decibel; 0 is full.
    pub quiet_ddb: u16,
}
