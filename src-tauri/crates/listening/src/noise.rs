//! Noise like that of a vehicle: falls 6 dB an octave from about 100 Hz on, and has little below; what
//! `sounds/build/noise.py` makes falls from 40 Hz on. A model, not a recording.

use std::f64::consts::{PI, SQRT_2, TAU};

use crate::dice::Dice;

/// Where the fall begins, and below which nothing is wanted, Hz.
const CORNER_HZ: f64 = 100.0;

/// So many samples of it, at a level of its own.
pub(crate) fn vehicle(count: usize, hz: u32, seed: u64) -> Vec<f64> {
    let mut dice = Dice::new(seed);
    let rate = f64::from(hz.max(1));
    let kept = (-TAU * CORNER_HZ / rate).exp();
    let mut fall = 0.0;
    let mut floor = Floor::new(rate);
    let pairs = std::iter::repeat_with(move || dice.normal());
    // The filters settle first.
    let settle = usize::try_from(hz / 10).unwrap_or(0);
    pairs
        .flatten()
        .map(|white| {
            fall = kept * fall + white;
            floor.step(fall)
        })
        .skip(settle)
        .take(count)
        .collect()
}

/// So many samples of it that go round without a click, with peaks at `peak` of 32,767.
pub fn round_noise(count: usize, hz: u32, seed: u64, peak: f64) -> Vec<i16> {
    let seam = usize::try_from(hz / 10).unwrap_or(0).min(count);
    let mut noise = vehicle(count.saturating_add(seam), hz, seed);
    let after = noise.split_off(count);
    // What would follow its end fades into its beginning, at equal power.
    for (n, (head, after)) in noise.iter_mut().zip(after).enumerate() {
        let part = crate::real(n) / crate::real(seam.max(1));
        *head = *head * part.sqrt() + after * (1.0 - part).sqrt();
    }
    let most = noise
        .iter()
        .fold(f64::MIN_POSITIVE, |most, s| most.max(s.abs()));
    noise.iter().map(|s| whole(s / most * peak)).collect()
}

#[expect(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    reason = "rounded and cut to what a sample holds"
)]
fn whole(sample: f64) -> i16 {
    sample.round().clamp(-32_767.0, 32_767.0) as i16
}

/// A second-order Butterworth high-pass, by the bilinear transform.
struct Floor {
    b: f64,
    a1: f64,
    a2: f64,
    x: [f64; 2],
    y: [f64; 2],
}

impl Floor {
    fn new(rate: f64) -> Self {
        let k = (PI * CORNER_HZ / rate).tan();
        let norm = 1.0 / (1.0 + SQRT_2 * k + k * k);
        Self {
            b: norm,
            a1: 2.0 * (k * k - 1.0) * norm,
            a2: (1.0 - SQRT_2 * k + k * k) * norm,
            x: [0.0; 2],
            y: [0.0; 2],
        }
    }

    fn step(&mut self, x: f64) -> f64 {
        let [x1, x2] = self.x;
        let [y1, y2] = self.y;
        let y = self.b * (x - 2.0 * x1 + x2) - self.a1 * y1 - self.a2 * y2;
        self.x = [x, x1];
        self.y = [y, y1];
        y
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Power around a frequency, from a plain Fourier sum over many frequencies of an octave.
    fn octave_db(noise: &[f64], rate: f64, hz: f64) -> f64 {
        let power = (0..24).map(|n| {
            let at = hz * 2_f64.powf(-0.5 + (f64::from(n) + 0.5) / 24.0);
            let (mut re, mut im) = (0.0, 0.0);
            for (k, x) in noise.iter().enumerate() {
                let (sin, cos) = (TAU * at * crate::real(k) / rate).sin_cos();
                re += x * cos;
                im += x * sin;
            }
            re * re + im * im
        });
        10.0 * (power.sum::<f64>() / 24.0).log10()
    }

    #[test]
    fn it_falls_six_decibels_an_octave_and_has_little_below() {
        let mut found = [0.0; 6];
        let octaves = [31.25, 250.0, 500.0, 1000.0, 2000.0, 4000.0];
        for seed in 0..6 {
            let noise = vehicle(24_000, 24_000, seed);
            for (sum, hz) in found.iter_mut().zip(octaves) {
                *sum += octave_db(&noise, 24_000.0, hz) / 6.0;
            }
        }
        for two in found[1..].windows(2) {
            let fall = two[0] - two[1];
            assert!((fall - 6.0).abs() < 1.2, "{found:?}");
        }
        assert!(found[0] < found[1] - 3.0, "{found:?}");
    }

    #[test]
    fn a_seed_makes_the_same_noise_and_another_one_another() {
        assert_eq!(vehicle(100, 24_000, 1), vehicle(100, 24_000, 1));
        assert_ne!(vehicle(100, 24_000, 1), vehicle(100, 24_000, 2));
    }

    /// Where it goes round, one sample follows the other as anywhere else.
    #[test]
    fn round_it_has_no_click_and_its_peaks_are_as_asked() {
        for hz in [24_000, 48_000] {
            let count = usize::try_from(hz).unwrap() * 2;
            let noise = round_noise(count, hz, 7, 5000.0);
            assert_eq!(noise.len(), count);
            assert_eq!(noise.iter().map(|s| s.unsigned_abs()).max(), Some(5000));
            let steps = noise.windows(2).map(|two| two[0].abs_diff(two[1]));
            let most = steps.max().unwrap();
            let seam = noise[count - 1].abs_diff(noise[0]);
            assert!(seam <= most, "{seam} of {most} at {hz}");
        }
    }
}
