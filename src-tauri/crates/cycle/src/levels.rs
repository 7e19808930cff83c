//! How loud beats, breath tones and voice are.

use serde::{Deserialize, Serialize};

use crate::mark::Preset;

/// Levels in whole decibels below full; 0 is full. None of them is silence: that is for voice off and beat off,
/// which the screen shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Levels {
    /// Beats.
    pub beat_db: u8,
    /// Breath tones.
    pub breath_db: u8,
    /// Voice, and the tones beside it.
    pub voice_db: u8,
}

impl Levels {
    /// The lowest. Source: the project's own choice; a fifteenth of full, still heard in a quiet room.
    pub const LOWEST_DB: u8 = 24;
    /// A step of the keys. Source: common practice, no source; the least that is plainly heard as another level.
    pub const STEP_DB: u8 = 3;

    /// Whether each is in range.
    pub const fn is_allowed(self) -> bool {
        self.beat_db <= Self::LOWEST_DB
            && self.breath_db <= Self::LOWEST_DB
            && self.voice_db <= Self::LOWEST_DB
    }

    /// All so many dB louder, or softer where it is below 0: none goes further than the one that is first at
    /// an end, so that they stay as far apart as they are.
    #[must_use]
    pub fn together(self, by: i16) -> Self {
        let all = [self.beat_db, self.breath_db, self.voice_db].map(i16::from);
        let up = all.into_iter().min().unwrap_or(0);
        let down = i16::from(Self::LOWEST_DB).saturating_sub(all.into_iter().max().unwrap_or(0));
        let by = by.min(up).max(down.saturating_neg());
        let moved = |db: u8| u8::try_from(i16::from(db).saturating_sub(by)).unwrap_or(db);
        Self {
            beat_db: moved(self.beat_db),
            breath_db: moved(self.breath_db),
            voice_db: moved(self.voice_db),
        }
    }

    /// The same with each in range.
    #[must_use]
    pub fn within(self) -> Self {
        let within = |db: u8| db.min(Self::LOWEST_DB);
        Self {
            beat_db: within(self.beat_db),
            breath_db: within(self.breath_db),
            voice_db: within(self.voice_db),
        }
    }
}

impl Preset {
    /// The levels it stands for. Source: the project's own choice, to be tried on real phones: a vehicle is some
    /// 70 dB(A) and more (docs/timing.md), a quiet room some 30 below, and what is said must still be heard
    /// beside people who talk.
    pub const fn levels(self) -> Levels {
        match self {
            Self::Vehicle => Levels {
                beat_db: 0,
                breath_db: 0,
                voice_db: 0,
            },
            Self::QuietRoom => Levels {
                beat_db: 12,
                breath_db: 12,
                voice_db: 12,
            },
        }
    }
}
