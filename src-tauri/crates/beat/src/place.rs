use crate::{Pattern, Score};

/// A score set on the run clock.
///
/// Beat `n` lies `lead + n` whole periods (and the breath windows before it) after the anchor.
/// `lead` lets a score take over a running grid in the middle: the anchor stays a whole millisecond
/// although the beat it goes on from is not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Placed {
    /// What sounds.
    pub score: Score,
    /// Run time of the grid's zero, ms.
    pub anchor_ms: u64,
    /// Whole periods between the anchor and beat 0.
    pub lead: u32,
    /// Nothing of this score sounds before this run time, ms.
    pub from_ms: u64,
    /// Run time that breaths by the clock are counted from, ms: breath `n` lies `n + 1` intervals
    /// after it. Unused in a ratio.
    pub breath_from_ms: u64,
}

/// One sound of a score.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sound {
    /// When, in ticks of the rate that was asked with, rounded down once.
    pub at: u64,
    /// Which sound.
    pub kind: Kind,
    /// For a beat: its place in the cycle from 0 (in a continuous pattern, beats since beat 0).
    /// For a breath in a ratio: its place in the window. For a breath by the clock: its number.
    pub n: u64,
}

/// The sounds that a score is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The first compression of a cycle.
    BeatFirst,
    /// A compression.
    Beat,
    /// The last compression of a cycle.
    BeatLast,
    /// A breath tone.
    Breath,
}

const MS_A_MINUTE: u64 = 60_000;

impl Placed {
    /// The first sound at or after tick `t`, with `hz` ticks a second; `None` if nothing comes.
    ///
    /// Beat and breath that fall on the same tick come one after the other: ask with
    /// [`Placed::after`] for what follows a sound already taken.
    pub fn first(&self, t: u64, hz: u32) -> Option<Sound> {
        self.pick(t, hz, None)
    }

    /// The sound that follows `sound`, in time and then in the order of [`Kind`].
    pub fn after(&self, sound: Sound, hz: u32) -> Option<Sound> {
        self.pick(sound.at, hz, Some((sound.at, sound.kind)))
    }

    /// Tick of beat `n` (counted over all cycles), rounded down; saturates at the end of `u64`.
    pub fn beat(&self, n: u64, hz: u32) -> u64 {
        let windows_ms = match self.score.pattern {
            Pattern::Ratio {
                beats, window_ms, ..
            } => n
                .checked_div(u64::from(beats))
                .unwrap_or(0)
                .saturating_mul(u64::from(window_ms)),
            Pattern::Silent { .. } | Pattern::Continuous { .. } => 0,
        };
        let periods = u64::from(self.lead).saturating_add(n);
        self.tick(self.anchor_ms.saturating_add(windows_ms), periods, hz)
    }

    /// Start of the breath window that follows the `k`-th phase (from 0); `None` outside a ratio.
    pub fn window(&self, k: u64, hz: u32) -> Option<u64> {
        match self.score.pattern {
            Pattern::Ratio {
                beats, window_ms, ..
            } => Some(self.in_window(k, u64::from(beats), u64::from(window_ms), 0, hz)),
            Pattern::Silent { .. } | Pattern::Continuous { .. } => None,
        }
    }

    /// Whether run time `t_ms` lies in a breath window; the number of whole cycles before it with
    /// it. `None` outside a ratio, before the anchor, and in a compression phase.
    pub fn window_at(&self, t_ms: u64) -> Option<u64> {
        let (k, beat) = self.cycle_at(t_ms)?;
        beat.is_none().then_some(k)
    }

    /// Where run time `t_ms` lies in a ratio: the cycle, and the beat last begun in it (`None` in
    /// its breath window). `None` before beat 0 and outside a ratio.
    pub fn cycle_at(&self, t_ms: u64) -> Option<(u64, Option<u64>)> {
        let Pattern::Ratio {
            beats, window_ms, ..
        } = self.score.pattern
        else {
            return None;
        };
        let (beats, window) = (u64::from(beats), u64::from(window_ms));
        if t_ms < self.beat(0, 1000) {
            return None;
        }
        let k = self.cycle_floor(t_ms, beats, window, 1000);
        if t_ms >= self.in_window(k, beats, window, 0, 1000) {
            return Some((k, None));
        }
        let first = k.saturating_mul(beats);
        let begun = (0..beats)
            .rev()
            .find(|i| self.beat(first.saturating_add(*i), 1000) <= t_ms);
        Some((k, begun))
    }

    /// Number of the first beat at or after run time `t_ms`, counted over all cycles.
    pub fn next_beat(&self, t_ms: u64) -> u64 {
        self.beat_from(t_ms, 1000)
    }

    fn pick(&self, t: u64, hz: u32, taken: Option<(u64, Kind)>) -> Option<Sound> {
        let t = t.max(scale(self.from_ms, hz));
        let open = |s: &Sound| taken.is_none_or(|(at, kind)| (s.at, s.kind) > (at, kind));
        // One step past what was taken is enough: two sounds of one kind never share a tick at any
        // rate of 1000 ticks a second or more.
        let later = |find: &dyn Fn(u64) -> Option<Sound>| {
            find(t).filter(open).or_else(|| find(t.saturating_add(1)))
        };
        let beat = later(&|t| self.beat_sound(t, hz));
        let breath = later(&|t| self.breath_sound(t, hz));
        match (beat, breath) {
            (Some(a), Some(b)) => Some(if (b.at, b.kind) < (a.at, a.kind) {
                b
            } else {
                a
            }),
            (a, b) => a.or(b),
        }
    }

    fn beat_sound(&self, t: u64, hz: u32) -> Option<Sound> {
        let (n, kind, place) = match self.score.pattern {
            Pattern::Silent { .. } => return None,
            Pattern::Continuous { .. } => {
                let n = self.beat_from(t, hz);
                (n, Kind::Beat, n)
            }
            Pattern::Ratio { beats, .. } => {
                let n = self.beat_from(t, hz);
                let place = n.checked_rem(u64::from(beats))?;
                let kind = if place == 0 {
                    Kind::BeatFirst
                } else if place.saturating_add(1) == u64::from(beats) {
                    Kind::BeatLast
                } else {
                    Kind::Beat
                };
                (n, kind, place)
            }
        };
        Some(Sound {
            at: self.beat(n, hz),
            kind,
            n: place,
        })
    }

    fn breath_sound(&self, t: u64, hz: u32) -> Option<Sound> {
        match self.score.pattern {
            Pattern::Silent { breath_ms: 0 } | Pattern::Continuous { breath_ms: 0 } => None,
            Pattern::Silent { breath_ms } | Pattern::Continuous { breath_ms } => {
                self.breath_by_clock(u64::from(breath_ms), t, hz)
            }
            Pattern::Ratio {
                beats,
                window_ms,
                breaths,
            } => self.breath_in_window(u64::from(beats), u64::from(window_ms), breaths, t, hz),
        }
    }

    fn breath_by_clock(&self, every: u64, t: u64, hz: u32) -> Option<Sound> {
        let at = |n: u64| {
            scale(
                self.breath_from_ms
                    .saturating_add(n.saturating_add(1).saturating_mul(every)),
                hz,
            )
        };
        let t_ms = t.saturating_mul(1000).checked_div(u64::from(hz))?;
        let mut n = t_ms
            .saturating_sub(self.breath_from_ms)
            .checked_div(every)?
            .saturating_sub(1);
        while at(n) < t {
            n = n.saturating_add(1);
        }
        Some(Sound {
            at: at(n),
            kind: Kind::Breath,
            n,
        })
    }

    fn breath_in_window(
        &self,
        beats: u64,
        window: u64,
        breaths: u8,
        t: u64,
        hz: u32,
    ) -> Option<Sound> {
        let mut k = self.cycle_floor(t, beats, window, hz);
        // The cycle of `t` may have no breath left; the next one has.
        for _ in 0..2 {
            for j in 0..breaths {
                let into = u64::from(j)
                    .saturating_mul(window)
                    .checked_div(u64::from(breaths))?;
                let at = self.in_window(k, beats, window, into, hz);
                if at >= t {
                    return Some(Sound {
                        at,
                        kind: Kind::Breath,
                        n: u64::from(j),
                    });
                }
            }
            k = k.saturating_add(1);
        }
        None
    }

    /// The last cycle that begins at or before tick `t`; 0 before the first.
    fn cycle_floor(&self, t: u64, beats: u64, window: u64, hz: u32) -> u64 {
        let rate = u64::from(self.score.rate.per_minute());
        let t_ms = t
            .saturating_mul(1000)
            .checked_div(u64::from(hz))
            .unwrap_or(0);
        // A cycle in units of 1/rate ms, so that the division is exact.
        let cycle = beats
            .saturating_mul(MS_A_MINUTE)
            .saturating_add(window.saturating_mul(rate));
        let zero = self.beat(0, 1000);
        let mut k = t_ms
            .saturating_sub(zero)
            .saturating_mul(rate)
            .checked_div(cycle)
            .unwrap_or(0)
            .saturating_add(1);
        while k > 0 && self.beat(k.saturating_mul(beats), hz) > t {
            k = k.saturating_sub(1);
        }
        k
    }

    /// The first beat at or after tick `t`, counted over all cycles.
    fn beat_from(&self, t: u64, hz: u32) -> u64 {
        let (beats, window) = match self.score.pattern {
            Pattern::Ratio {
                beats, window_ms, ..
            } => (u64::from(beats), u64::from(window_ms)),
            Pattern::Silent { .. } | Pattern::Continuous { .. } => (0, 0),
        };
        let mut n = if beats == 0 {
            let t_ms = t
                .saturating_mul(1000)
                .checked_div(u64::from(hz))
                .unwrap_or(0);
            let rate = u64::from(self.score.rate.per_minute());
            t_ms.saturating_sub(self.anchor_ms)
                .saturating_mul(rate)
                .checked_div(MS_A_MINUTE)
                .unwrap_or(0)
                .saturating_sub(u64::from(self.lead))
                .saturating_sub(1)
        } else {
            self.cycle_floor(t, beats, window, hz).saturating_mul(beats)
        };
        while self.beat(n, hz) < t {
            n = n.saturating_add(1);
        }
        n
    }

    fn in_window(&self, k: u64, beats: u64, window: u64, into: u64, hz: u32) -> u64 {
        let before = k.saturating_mul(window).saturating_add(into);
        let periods =
            u64::from(self.lead).saturating_add(k.saturating_add(1).saturating_mul(beats));
        self.tick(self.anchor_ms.saturating_add(before), periods, hz)
    }

    /// `ms` and `periods` as ticks: one fraction, rounded down once.
    fn tick(&self, ms: u64, periods: u64, hz: u32) -> u64 {
        let rate = u128::from(self.score.rate.per_minute());
        let sum = u128::from(ms)
            .saturating_mul(rate)
            .saturating_add(u128::from(periods).saturating_mul(u128::from(MS_A_MINUTE)));
        let ticks = sum
            .saturating_mul(u128::from(hz))
            .checked_div(rate.saturating_mul(1000))
            .unwrap_or(0);
        u64::try_from(ticks).unwrap_or(u64::MAX)
    }
}

fn scale(ms: u64, hz: u32) -> u64 {
    let ticks = u128::from(ms)
        .saturating_mul(u128::from(hz))
        .checked_div(1000)
        .unwrap_or(0);
    u64::try_from(ticks).unwrap_or(u64::MAX)
}
