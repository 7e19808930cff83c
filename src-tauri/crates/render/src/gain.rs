//! Decibels without a maths library, and the step back of beats under a voice.
//!
//! The curve of the step back is reckoned once, as the mixer is made.

/// One tenth of a decibel down: 10^(-1/200).
const TENTH_DOWN: f32 = 0.988_553_1;
/// From here on nothing is heard of 16 bits.
const SILENT_DDB: u16 = 960;

/// Factor for `ddb` tenths of a decibel below full.
pub(crate) fn factor(ddb: u16) -> f32 {
    if ddb >= SILENT_DDB {
        return 0.0;
    }
    let (mut left, mut power, mut product) = (ddb, TENTH_DOWN, 1.0_f32);
    while left > 0 {
        if left & 1 == 1 {
            product *= power;
        }
        power *= power;
        left >>= 1;
    }
    product
}

/// How far beats and breaths step back under a voice. Source: the project's own choice; at 8 dB a
/// click still stands above speech in its own band.
const DUCK_DDB: u16 = 80;
/// The way down and the way up, ms. Source: the project's own choice; at most 20 and 150.
const DOWN_MS: u32 = 15;
const UP_MS: u32 = 120;
/// Steps of the curve between the two ends.
const STEPS: usize = 64;
const END: f32 = 64.0;
/// cos(pi / 64): of one step.
const TURN: f64 = 0.998_795_456_205_172_4;

/// Steps back under a voice and comes forward after it, at equal power: what the beats give up and what
/// is left of them always make one sum, whose share moves along half a wave without a corner.
#[derive(Clone, Debug)]
pub(crate) struct Duck {
    curve: [f32; STEPS + 2],
    /// How far down it is, in steps of the curve.
    at: f32,
    down: f32,
    up: f32,
}

impl Duck {
    pub(crate) fn new(hz: u32) -> Self {
        Self {
            curve: curve(factor(DUCK_DDB)),
            at: 0.0,
            down: END / span(hz, DOWN_MS),
            up: END / span(hz, UP_MS),
        }
    }

    /// The factors for the next frames.
    pub(crate) fn fill(&mut self, is_spoken: bool, out: &mut [f32]) {
        let (end, factor) = if is_spoken {
            (END, self.curve.last().copied())
        } else {
            (0.0, self.curve.first().copied())
        };
        if (self.at - end).abs() > 0.0 {
            for out in out {
                *out = self.step(is_spoken);
            }
        } else {
            out.fill(factor.unwrap_or(1.0));
        }
    }

    /// The factor for the next frame.
    fn step(&mut self, is_spoken: bool) -> f32 {
        self.at = if is_spoken {
            (self.at + self.down).min(END)
        } else {
            (self.at - self.up).max(0.0)
        };
        let (place, part) = split(self.at);
        let on = |n: usize| self.curve.get(n).copied().unwrap_or(1.0);
        let (here, next) = (on(place), on(place.saturating_add(1)));
        here + (next - here) * part
    }
}

/// Square roots of powers that fall from 1 to that of `floor` as 1 - sin^2 does. The last stands twice,
/// so that there is one after each.
fn curve(floor: f32) -> [f32; STEPS + 2] {
    let given_up = 1.0 - f64::from(floor) * f64::from(floor);
    // The cosine of n steps from those of the two before it.
    let (mut before, mut cosine) = (TURN, 1.0_f64);
    let mut curve = [floor; STEPS + 2];
    for place in curve.iter_mut().take(STEPS) {
        *place = single(root(1.0 - given_up * (1.0 - cosine) / 2.0));
        (before, cosine) = (cosine, 2.0 * TURN * cosine - before);
    }
    curve
}

/// The square root of a number between 0.1 and 1, by Newton's method.
fn root(x: f64) -> f64 {
    (0..8).fold(1.0, |root, _| 0.5 * (root + x / root))
}

/// Frames of `ms`, as a number to reckon with.
fn span(hz: u32, ms: u32) -> f32 {
    let frames = hz.saturating_mul(ms).checked_div(1000).unwrap_or(0);
    f32::from(u16::try_from(frames.max(1)).unwrap_or(u16::MAX))
}

#[expect(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    reason = "a factor: what is lost is below one step of the sample"
)]
fn single(x: f64) -> f32 {
    x as f32
}

/// The whole number below a number from 0 to 255, and the rest.
#[expect(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "between 0 and 64; `as` rounds down and saturates"
)]
fn split(x: f32) -> (usize, f32) {
    let whole = x as u8;
    (usize::from(whole), x - f32::from(whole))
}

#[cfg(test)]
mod tests {
    use std::vec::Vec;

    use super::*;

    /// Source: 20 dB is a factor of ten, 6.0 dB of 1.9953 (definition of the decibel).
    #[test]
    fn factors_are_decibels() {
        for (ddb, wanted) in [(0, 1.0), (60, 0.501_187), (200, 0.1), (600, 0.001)] {
            let found = factor(ddb);
            assert!((found / wanted - 1.0).abs() < 1e-4, "{ddb}: {found}");
        }
        assert!(factor(960) <= 0.0);
    }

    const RATES: [u32; 5] = [8000, 44_100, 48_000, 96_000, 192_000];
    /// Source: 8 dB is a factor of 0.398107 (definition of the decibel).
    const FLOOR: f64 = 0.398_107;

    /// The factors on the way down, then on the way up.
    fn ways(hz: u32) -> [Vec<f64>; 2] {
        let mut duck = Duck::new(hz);
        let mut way = |is_spoken| {
            let frames = if is_spoken { hz / 50 } else { hz / 6 };
            (0..frames)
                .map(|_| f64::from(duck.step(is_spoken)))
                .collect::<Vec<f64>>()
        };
        [way(true), way(false)]
    }

    #[test]
    fn duck_is_down_within_20_ms_and_up_within_150_ms() {
        for hz in RATES {
            let [down, up] = ways(hz);
            let last = down.last().unwrap();
            assert!((last - FLOOR).abs() < 1e-5, "{hz}: {last}");
            let after = usize::try_from(hz * 150 / 1000).unwrap();
            assert!(up[after..].iter().all(|f| (f - 1.0).abs() < 1e-9), "{hz}");
            assert!(down.is_sorted_by(|a, b| a >= b) && up.is_sorted(), "{hz}");
        }
    }

    /// Equal power: the mean power of either way is the mean of its ends' powers, and two moments as far from
    /// the two ends make one sum. A ramp even in decibels has a fifth less.
    #[test]
    fn power_moves_from_one_end_to_the_other_in_equal_shares() {
        let sum = 1.0 + FLOOR * FLOOR;
        for hz in RATES {
            for way in ways(hz) {
                let moving: Vec<f64> = way
                    .iter()
                    .copied()
                    .filter(|f| *f > FLOOR + 1e-5 && *f < 1.0 - 1e-6)
                    .collect();
                let n = f64::from(u32::try_from(moving.len()).unwrap());
                let mean = moving.iter().map(|f| f * f).sum::<f64>() / n;
                assert!((mean - sum / 2.0).abs() < 0.01, "{hz}: {mean}");
                for (here, there) in moving.iter().zip(moving.iter().rev()) {
                    let both = here * here + there * there;
                    assert!((both - sum).abs() < 0.035, "{hz}: {here} and {there}");
                }
            }
        }
    }

    /// A corner would be heard as a soft click: the pace itself changes by small steps.
    #[test]
    fn duck_has_no_corner() {
        for hz in RATES {
            let [down, up] = ways(hz);
            for (way, ms) in [(down, 15.0), (up, 120.0)] {
                let frames = f64::from(hz) * ms / 1000.0;
                let bends = way.windows(3).map(|w| (w[2] - 2.0 * w[1] + w[0]).abs());
                let most = bends.fold(0.0, f64::max) * frames;
                assert!(most < 0.2, "{hz}, {ms} ms: {most}");
            }
        }
    }
}
