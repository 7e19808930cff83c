//! The run clock: counts sleep, begins at 0 with the run, and goes on after a kill.

use std::fmt;

use cycle::Ms;
use record::{Base, Stamp, Wall};

/// Where a run's time comes from.
pub trait Clock: fmt::Debug + Send + Sync {
    /// Nanoseconds since the system's boot, counting sleep.
    fn mono_ns(&self) -> u64;
    /// The wall clock, for stamps only: it may jump.
    fn wall(&self) -> Wall;
    /// Names the boot; [`Self::mono_ns`] compares only inside one.
    fn boot(&self) -> &str;
    /// The run's zero in milliseconds of [`Self::mono_ns`]. Lies before the boot where a run has
    /// gone on across one.
    fn zero_ms(&self) -> i64;

    /// Milliseconds since the system's boot, counting sleep.
    fn mono_ms(&self) -> u64 {
        self.mono_ns().checked_div(1_000_000).unwrap_or(0)
    }

    /// Run time.
    fn now(&self) -> Ms {
        Ms(self
            .mono_ms()
            .saturating_add_signed(self.zero_ms().saturating_neg()))
    }

    /// Run time, nanoseconds.
    fn now_ns(&self) -> u64 {
        let zero = self.zero_ms().saturating_mul(1_000_000);
        self.mono_ns().saturating_add_signed(zero.saturating_neg())
    }

    /// The stamp of a line that was taken at `taken`: the same moment on the monotonic clock, so
    /// that a reader finds exactly that run time again.
    fn stamp(&self, taken: Ms, proc: u32) -> Stamp {
        Stamp {
            mono_ms: taken.0.saturating_add_signed(self.zero_ms()),
            boot: self.boot().to_owned(),
            proc,
            wall: self.wall(),
        }
    }
}

/// The system's clock.
#[derive(Clone, Debug)]
pub struct RunClock {
    boot: String,
    zero_ms: i64,
}

impl RunClock {
    /// The clock of a run that began `back` ago: the time since the finger went down.
    pub fn begin(back: Ms) -> Self {
        let zero = signed(uptime_ms()).saturating_sub(signed(back.0));
        Self {
            boot: boot_id(),
            zero_ms: zero,
        }
    }

    /// The clock of a run that began at `down` of the system's clock: exactly there, however long ago a busy machine
    /// makes it.
    pub fn begun(down: Ms) -> Self {
        Self {
            boot: boot_id(),
            zero_ms: signed(down.0.min(uptime_ms())),
        }
    }

    /// The clock of a run that goes on: by the monotonic clock within the same boot, by the wall
    /// clock across boots. `last` is the last line's stamp, `last_run` its run time.
    pub fn resume(base: &Base, last: &Stamp, last_run: Ms) -> Self {
        let boot = boot_id();
        let zero_ms = if base.boot == boot {
            signed(base.mono_ms).saturating_sub(signed(base.run.0))
        } else {
            let run = last_run.plus(Ms(wall_now().ms_since(last.wall)));
            signed(uptime_ms()).saturating_sub(signed(run.0))
        };
        Self { boot, zero_ms }
    }
}

impl Clock for RunClock {
    fn mono_ns(&self) -> u64 {
        uptime_ns()
    }

    fn wall(&self) -> Wall {
        wall_now()
    }

    fn boot(&self) -> &str {
        &self.boot
    }

    fn zero_ms(&self) -> i64 {
        self.zero_ms
    }
}

fn signed(ms: u64) -> i64 {
    i64::try_from(ms).unwrap_or(i64::MAX)
}

/// Nanoseconds since the system's boot, counting sleep. Where the system has no such clock that
/// another process can read, the wall clock: then no two processes share a boot id either.
pub fn uptime_ns() -> u64 {
    let now = read_uptime().unwrap_or_else(|| {
        u64::try_from(wall_now().unix_ms())
            .unwrap_or(0)
            .saturating_mul(1_000_000)
    });
    #[cfg(test)]
    let now = leap::since_boot(now);
    now
}

/// Milliseconds of [`uptime_ns`].
pub fn uptime_ms() -> u64 {
    uptime_ns().checked_div(1_000_000).unwrap_or(0)
}

#[cfg(unix)]
fn read_uptime() -> Option<u64> {
    #[cfg(any(target_os = "linux", target_os = "android"))]
    let clock = nix::time::ClockId::CLOCK_BOOTTIME;
    // On Apple's systems this clock counts sleep (their clock_gettime manual page).
    #[cfg(target_vendor = "apple")]
    let clock = nix::time::ClockId::from_raw(nix::libc::CLOCK_MONOTONIC_RAW);
    #[cfg(not(any(target_os = "linux", target_os = "android", target_vendor = "apple")))]
    let clock = nix::time::ClockId::CLOCK_MONOTONIC;
    let now = clock.now().ok()?;
    u64::try_from(now.tv_sec())
        .ok()?
        .checked_mul(1_000_000_000)?
        .checked_add(u64::try_from(now.tv_nsec()).ok()?)
}

#[cfg(not(unix))]
fn read_uptime() -> Option<u64> {
    None
}

/// The system's boot id; where it cannot be read, one of this process alone, so that nothing
/// compares with it.
fn boot_id() -> String {
    let kept = std::fs::read_to_string("/proc/sys/kernel/random/boot_id");
    #[cfg(test)]
    let kept = kept.map(leap::boot);
    match kept.as_deref().map(str::trim) {
        Ok(id) if (1..=64).contains(&id.len()) => id.to_owned(),
        Ok(_) | Err(_) => format!("process-{}", uuid::Uuid::new_v4()),
    }
}

/// The device's wall clock with its present offset.
pub fn wall_now() -> Wall {
    let now = jiff::ZonedDateTime::now();
    let minutes = now.offset().seconds().checked_div(60).unwrap_or(0);
    let ms = now.timestamp().as_millisecond();
    #[cfg(test)]
    let ms = ms.saturating_add(leap::wall_ms());
    Wall::new(ms, i16::try_from(minutes).unwrap_or(0)).unwrap_or(Wall::UNKNOWN)
}

/// A wall time as a person reads it: date, then hours and minutes, by the clock that it was taken from.
pub fn shown(wall: Wall) -> String {
    let text = wall.to_string();
    let minutes = text.get(..16).unwrap_or(&text);
    minutes.replacen('T', " ", 1)
}

/// The time zone's name, for the header.
pub fn time_zone() -> String {
    let zone = jiff::tz::TimeZone::system();
    zone.iana_name().unwrap_or("unknown").to_owned()
}

/// Notices that the wall clock was set.
#[derive(Clone, Copy, Debug, Default)]
pub struct WallWatch {
    apart_ms: Option<i64>,
}

impl WallWatch {
    /// A change of (wall - monotonic) up to this is drift or a slow read.
    const MOST_MS: u64 = 500;

    /// By how much the wall clock has jumped since the last jump; `None` if it has not.
    pub fn look(&mut self, clock: &dyn Clock) -> Option<i64> {
        let apart = clock
            .wall()
            .unix_ms()
            .saturating_sub(signed(clock.mono_ms()));
        let before = *self.apart_ms.get_or_insert(apart);
        let jump = apart.saturating_sub(before);
        (jump.unsigned_abs() > Self::MOST_MS).then(|| {
            self.apart_ms = Some(apart);
            jump
        })
    }
}

/// Lets time leap for the thread of a test: a phone that froze every timer or was off, a wall clock
/// that was set.
#[cfg(test)]
pub(crate) mod leap {
    use std::cell::Cell;

    thread_local! {
        static PASSED_MS: Cell<u64> = const { Cell::new(0) };
        static SET_MS: Cell<i64> = const { Cell::new(0) };
        static BOOTED_NS: Cell<u64> = const { Cell::new(0) };
    }

    /// So much time passes at once, on both clocks.
    pub(crate) fn pass(ms: u64) {
        PASSED_MS.set(PASSED_MS.get().saturating_add(ms));
    }

    /// Somebody sets the wall clock on by so much, or back.
    pub(crate) fn set_wall(by_ms: i64) {
        SET_MS.set(SET_MS.get().saturating_add(by_ms));
    }

    /// The phone starts again: its clock begins anew, under another name.
    pub(crate) fn reboot() {
        BOOTED_NS.set(BOOTED_NS.get().saturating_add(super::uptime_ns()));
    }

    pub(super) fn since_boot(ns: u64) -> u64 {
        let passed = PASSED_MS.get().saturating_mul(1_000_000);
        ns.saturating_add(passed).saturating_sub(BOOTED_NS.get())
    }

    pub(super) fn boot(id: String) -> String {
        match BOOTED_NS.get() {
            0 => id,
            booted => format!("boot-{booted}"),
        }
    }

    pub(super) fn wall_ms() -> i64 {
        SET_MS.get().saturating_add_unsigned(PASSED_MS.get())
    }
}

#[cfg(test)]
mod tests;
