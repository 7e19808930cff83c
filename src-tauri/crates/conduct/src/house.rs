//! House time: the one clock the sound keeps from the app's start to its end.
//!
//! A run's zero moves with each run; the sound's clock must not jump with it. House time counts from
//! long before the system's boot, so that a run which began before the boot has a place on it too.

use beat::Placed;
use cycle::{Cue, Ms, SoundNews, Start};

use crate::{Clock, Order};

/// 46 days: a run is not older.
const BEFORE_BOOT_MS: i64 = 4_000_000_000;

/// House time's zero on the system's clock, [`Clock::zero_ms`]: what a speaker is told once.
pub const HOUSE_ZERO_MS: i64 = -BEFORE_BOOT_MS;

/// Converts between a run's time and house time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct House {
    shift_ms: u64,
}

impl House {
    /// For the run whose clock this is.
    pub fn of(clock: &dyn Clock) -> Self {
        let shift = clock.zero_ms().saturating_add(BEFORE_BOOT_MS);
        Self {
            shift_ms: u64::try_from(shift).unwrap_or(0),
        }
    }

    /// Run time is house time: in a rehearsal.
    pub const fn same() -> Self {
        Self { shift_ms: 0 }
    }

    /// House time of a run's moment.
    pub const fn of_run(self, run: Ms) -> Ms {
        Ms(run.0.saturating_add(self.shift_ms))
    }

    /// A run's time of a moment of the house.
    pub const fn to_run(self, house: Ms) -> Ms {
        Ms(house.0.saturating_sub(self.shift_ms))
    }

    pub(crate) fn score(self, placed: Placed) -> Order {
        Order::Score(Placed {
            anchor_ms: self.of_run(Ms(placed.anchor_ms)).0,
            from_ms: self.of_run(Ms(placed.from_ms)).0,
            breath_from_ms: self.of_run(Ms(placed.breath_from_ms)).0,
            ..placed
        })
    }

    pub(crate) fn play(self, cue: Cue) -> Order {
        let start = match cue.start {
            Start::Now => Start::Now,
            Start::At(at) => Start::At(self.of_run(at)),
        };
        Order::Play(Cue { start, ..cue })
    }

    pub(crate) fn news(self, news: SoundNews) -> SoundNews {
        match news {
            SoundNews::Started { id, at } => SoundNews::Started {
                id,
                at: self.to_run(at),
            },
            SoundNews::Late { .. }
            | SoundNews::Cut { .. }
            | SoundNews::Lost
            | SoundNews::Back
            | SoundNews::Count { .. } => news,
        }
    }
}

/// House time now, for an owner without a run.
pub(crate) fn house_now(mono_ms: u64) -> Ms {
    Ms(mono_ms.saturating_add_signed(BEFORE_BOOT_MS))
}
