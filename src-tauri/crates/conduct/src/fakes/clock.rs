use std::sync::{Arc, Mutex, PoisonError};

use cycle::Ms;
use record::{Base, Stamp, Wall};
use tokio::time::Instant;

use crate::clock::Clock;

/// A clock that a test sets; its clones are the same clock, seen by runs of their own zero.
#[derive(Clone, Debug)]
pub struct FakeClock {
    system: Arc<Mutex<System>>,
    boot: String,
    zero_ms: i64,
}

#[derive(Debug)]
struct System {
    mono_ns: u64,
    wall: Wall,
    /// With tokio's paused time: when that time stood at `mono_ns`.
    since: Option<Instant>,
}

impl System {
    fn passed_ns(&self) -> u64 {
        self.since.map_or(0, |since| {
            u64::try_from(since.elapsed().as_nanos()).unwrap_or(u64::MAX)
        })
    }
}

impl FakeClock {
    /// At 1 h of uptime, at 2026-11-25T08:00:00.000-05:00; a run begins now.
    pub fn new() -> Self {
        let mono_ms = 3_600_000;
        Self {
            system: Arc::new(Mutex::new(System {
                mono_ns: 3_600_000_000_000,
                wall: "2026-11-25T08:00:00.000-05:00"
                    .parse()
                    .unwrap_or(Wall::UNKNOWN),
                since: None,
            })),
            boot: "boot-0".to_owned(),
            zero_ms: mono_ms,
        }
    }

    /// The same, going on with tokio's (paused) time.
    pub fn with_tokio() -> Self {
        let clock = Self::new();
        clock.lock().since = Some(Instant::now());
        clock
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, System> {
        self.system.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Lets time pass, on both clocks.
    pub fn advance(&self, by: Ms) {
        let mut system = self.lock();
        system.mono_ns = system
            .mono_ns
            .saturating_add(by.0.saturating_mul(1_000_000));
        system.wall = moved(system.wall, by.0);
    }

    /// Sets the run time; time does not go back.
    pub fn set(&self, run: Ms) {
        self.advance(run.since(self.now()));
    }

    /// Somebody sets the wall clock.
    pub fn set_wall(&self, wall: Wall) {
        self.lock().wall = wall;
    }

    /// The machine is started again `off` later: a new boot whose monotonic clock begins at 0.
    #[must_use]
    pub fn reboot(&self, boot: &str, off: Ms) -> Self {
        self.advance(off);
        self.lock().mono_ns = 0;
        Self {
            boot: boot.to_owned(),
            zero_ms: 0,
            ..self.clone()
        }
    }

    /// This clock for a run that begins now.
    #[must_use]
    pub fn begin(&self, back: Ms) -> Self {
        let now = i64::try_from(self.mono_ms()).unwrap_or(i64::MAX);
        let back = i64::try_from(back.0).unwrap_or(i64::MAX);
        Self {
            zero_ms: now.saturating_sub(back),
            ..self.clone()
        }
    }

    /// This clock for a run that goes on, as [`crate::clock::RunClock::resume`].
    #[must_use]
    pub fn resume(&self, base: &Base, last: &Stamp, last_run: Ms) -> Self {
        if base.boot == self.boot {
            let zero = i64::try_from(base.mono_ms).unwrap_or(i64::MAX);
            let run = i64::try_from(base.run.0).unwrap_or(i64::MAX);
            return Self {
                zero_ms: zero.saturating_sub(run),
                ..self.clone()
            };
        }
        self.begin(last_run.plus(Ms(self.wall().ms_since(last.wall))))
    }
}

impl Default for FakeClock {
    fn default() -> Self {
        Self::new()
    }
}

fn moved(wall: Wall, by_ms: u64) -> Wall {
    let to = wall.unix_ms().saturating_add_unsigned(by_ms);
    Wall::new(to, wall.offset_min()).unwrap_or(wall)
}

impl Clock for FakeClock {
    fn mono_ns(&self) -> u64 {
        let system = self.lock();
        system.mono_ns.saturating_add(system.passed_ns())
    }

    fn wall(&self) -> Wall {
        let system = self.lock();
        let passed_ms = system.passed_ns().checked_div(1_000_000).unwrap_or(0);
        moved(system.wall, passed_ms)
    }

    fn boot(&self) -> &str {
        &self.boot
    }

    fn zero_ms(&self) -> i64 {
        self.zero_ms
    }
}
