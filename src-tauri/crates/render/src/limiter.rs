//! Look-ahead limiter of the true peak: the gain is down before the peak comes, so nothing is clipped and
//! nothing crackles. Its delay is the same for every sample and is taken out by whoever counts frames.

use crate::true_peak::{TAPS, TruePeak};

/// -1 dB, the ceiling of true peaks. Source: EBU R 128 (2020), maximum true peak level -1 dBTP.
pub(crate) const CEILING: f32 = 0.891_251;
/// Where it must be taken down at all it is taken so much further down, 0.4 dB: room for the gain's own
/// movement, and for what a finer or another meter reads beside this one.
const ROOM: f32 = 0.95;
/// A gain of one, in whole steps: sums of whole steps are exact, so that a signal that needs no
/// limiting passes unchanged.
const ONE: u32 = 1 << 24;

/// Frames over which the gain moves, a power of two: 2.7 ms at 48 kHz.
const MEAN: usize = 128;
/// Longer than the delay.
const RING: usize = 256;

/// Its gain is the mean of the last [`MEAN`] that were needed, so that it moves in even steps.
#[derive(Clone, Debug)]
pub(crate) struct Limiter {
    meter: TruePeak,
    samples: [f32; RING],
    at: usize,
    least: Least,
    held: u32,
    recover: u32,
    used: [u32; MEAN],
    sum: u64,
}

impl Limiter {
    /// Frames by which the output lies behind the input. A peak is known half of its [`TAPS`] samples late; all
    /// of them pass once the mean holds nothing from before the peak was known.
    pub(crate) const DELAY: usize = MEAN + TAPS - 2;
    /// The least gain holds until the last of those samples has passed.
    const HOLD: u32 = whole(Self::DELAY + 1);
    const FULL: u64 = product(whole(MEAN), ONE);

    pub(crate) fn new(hz: u32) -> Self {
        Self {
            meter: TruePeak::new(CEILING),
            samples: [0.0; RING],
            at: 0,
            least: Least::new(Self::HOLD),
            held: ONE,
            // From silence to full in 100 ms.
            recover: ONE
                .checked_div(hz.checked_div(10).unwrap_or(0))
                .unwrap_or(ONE),
            used: [ONE; MEAN],
            sum: Self::FULL,
        }
    }

    /// Takes one sample and gives the one taken [`Self::DELAY`] before.
    pub(crate) fn step(&mut self, sample: f32) -> f32 {
        put(&mut self.samples, self.at, sample);
        let late = self.at.wrapping_sub(Self::DELAY) & (RING - 1);
        let delayed = self.samples.get(late).copied().unwrap_or(0.0);
        let peak = self.meter.step(sample);
        let gain = if peak <= CEILING && self.is_at_rest() {
            1.0
        } else {
            self.gain(peak)
        };
        self.at = self.at.saturating_add(1) & (RING - 1);
        // Rounding in the mean can leave one step too much.
        (delayed * gain).clamp(-CEILING, CEILING)
    }

    /// Whether the gain is one and nothing is held: then nothing needs to be counted.
    fn is_at_rest(&self) -> bool {
        self.sum == Self::FULL && self.least.is_empty()
    }

    fn gain(&mut self, peak: f32) -> f32 {
        let need = if peak > CEILING {
            steps(CEILING * ROOM / peak)
        } else {
            ONE
        };
        let least = self.least.step(need);
        self.held = self.held.saturating_add(self.recover).min(ONE).min(least);
        let gone = put(&mut self.used, self.at & (MEAN - 1), self.held);
        self.sum = self
            .sum
            .saturating_add(u64::from(self.held))
            .saturating_sub(u64::from(gone));
        share(self.sum, Self::FULL)
    }
}

/// The least of the last so many gains. Gains of one are left out.
#[derive(Clone, Debug)]
struct Least {
    /// Ever larger gains, each with the step that it came in: none before a smaller one matters.
    gains: [(u32, u32); RING],
    first: usize,
    count: usize,
    now: u32,
    hold: u32,
}

impl Least {
    fn new(hold: u32) -> Self {
        Self {
            gains: [(ONE, 0); RING],
            first: 0,
            count: 0,
            now: 0,
            hold,
        }
    }

    fn is_empty(&self) -> bool {
        self.count == 0
    }

    fn step(&mut self, gain: u32) -> u32 {
        self.now = self.now.wrapping_add(1);
        if gain < ONE {
            while self.count > 0 && self.place(self.count.saturating_sub(1)).0 >= gain {
                self.count = self.count.saturating_sub(1);
            }
            let end = self.first.wrapping_add(self.count) & (RING - 1);
            put(&mut self.gains, end, (gain, self.now));
            self.count = self.count.saturating_add(1).min(RING);
        }
        while self.count > 0 && self.now.wrapping_sub(self.place(0).1) >= self.hold {
            self.first = self.first.wrapping_add(1) & (RING - 1);
            self.count = self.count.saturating_sub(1);
        }
        if self.count == 0 {
            ONE
        } else {
            self.place(0).0
        }
    }

    fn place(&self, nth: usize) -> (u32, u32) {
        let at = self.first.wrapping_add(nth) & (RING - 1);
        self.gains.get(at).copied().unwrap_or((ONE, 0))
    }
}

/// Puts `new` in its place and gives what was there.
fn put<T: Copy, const N: usize>(ring: &mut [T; N], at: usize, new: T) -> T {
    ring.get_mut(at)
        .map_or(new, |place| core::mem::replace(place, new))
}

#[expect(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    reason = "a count below 256, at compile time"
)]
const fn whole(n: usize) -> u32 {
    n as u32
}

#[expect(clippy::as_conversions, reason = "wider; `From` is not const")]
const fn product(a: u32, b: u32) -> u64 {
    (a as u64).saturating_mul(b as u64)
}

#[expect(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a gain between 0 and 1 in steps of 2^-24, rounded down"
)]
fn steps(gain: f32) -> u32 {
    (gain * ONE as f32) as u32
}

/// The mean of a window's gains.
#[expect(
    clippy::as_conversions,
    clippy::cast_precision_loss,
    reason = "at most 2^31; what is lost is below one step of the sample"
)]
fn share(sum: u64, full: u64) -> f32 {
    sum as f32 / full as f32
}

#[cfg(test)]
mod tests;
