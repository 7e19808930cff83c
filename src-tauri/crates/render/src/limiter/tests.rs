#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::as_conversions,
    reason = "places in a short signal as numbers"
)]

use core::f64::consts::PI;
use std::{vec, vec::Vec};

use super::*;

fn run(input: &[f32]) -> Vec<f32> {
    let mut limiter = Limiter::new(48_000);
    let padded = input.iter().copied().chain([0.0; Limiter::DELAY]);
    let all: Vec<f32> = padded.map(|s| limiter.step(s)).collect();
    all[Limiter::DELAY..].to_vec()
}

/// Source: ITU-R BS.1770-5 annex 2: the four phases of its filter, of which the last two mirror the first
/// two.
#[rustfmt::skip]
const METER: [[f64; 12]; 2] = [
    [0.001_708_984_375, 0.010_986_328_125, -0.019_653_320_312_5, 0.033_203_125, -0.059_448_242_187_5,
     0.137_329_101_562_5, 0.972_167_968_75, -0.102_294_921_875, 0.047_607_421_875, -0.026_611_328_125,
     0.014_892_578_125, -0.008_300_781_25],
    [-0.029_174_804_687_5, 0.029_296_875, -0.051_757_812_5, 0.089_111_328_125, -0.166_503_906_25,
     0.465_087_890_625, 0.779_785_156_25, -0.200_317_382_812_5, 0.101_562_5, -0.058_227_539_062_5,
     0.033_081_054_687_5, -0.018_920_898_437_5],
];

/// True peak by the standard's meter.
fn true_peak(signal: &[f32]) -> f64 {
    let point = |row: &[f32], weights: &mut dyn Iterator<Item = &f64>| -> f64 {
        row.iter()
            .zip(weights)
            .map(|(s, w)| f64::from(*s) * w)
            .sum()
    };
    let mut most = 0.0_f64;
    for row in signal.windows(12) {
        for phase in &METER {
            most = most
                .max(point(row, &mut phase.iter()).abs())
                .max(point(row, &mut phase.iter().rev()).abs());
        }
    }
    signal.iter().fold(most, |m, s| m.max(f64::from(s.abs())))
}

/// The largest of sixteen points a sample, by a series of 128 terms: much finer than any meter.
fn finest_peak(signal: &[f32]) -> f64 {
    let mut most = 0.0_f64;
    for part in 0..16 {
        let part = f64::from(part) / 16.0;
        let weights: Vec<f64> = (0..128)
            .map(|k| {
                let t = 63.0 + part - f64::from(k);
                let window = 0.5 + 0.5 * (PI * t / 64.0).cos();
                if t.abs() < 1e-9 {
                    1.0
                } else {
                    (PI * t).sin() / (PI * t) * window
                }
            })
            .collect();
        for row in signal.windows(128) {
            let point: f64 = row
                .iter()
                .zip(&weights)
                .map(|(s, w)| f64::from(*s) * w)
                .sum();
            most = most.max(point.abs());
        }
    }
    most
}

fn db(size: f64) -> f64 {
    20.0 * size.log10()
}

/// Noise between -1 and 1.
fn noise(n: usize, mut seed: u32) -> Vec<f32> {
    (0..n)
        .map(|_| {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (f64::from(seed >> 8) / f64::from(1_u32 << 23) - 1.0) as f32
        })
        .collect()
}

fn sine(n: usize, of_rate: f64, phase: f64, size: f64) -> Vec<f32> {
    (0..n)
        .map(|k| ((2.0 * PI * of_rate * k as f64 + phase).sin() * size) as f32)
        .collect()
}

/// Signals that a meter of samples does not see through, or that come at once.
fn nasty() -> Vec<(&'static str, Vec<f32>)> {
    let n = 6000;
    let telegraph: Vec<f32> = noise(n, 7).iter().map(|s| s.signum() * 2.0).collect();
    let bursts: Vec<f32> = sine(n, 0.24, 1.0, 3.0)
        .into_iter()
        .enumerate()
        .map(|(k, s)| if k % 700 < 90 { s } else { s * 0.1 })
        .collect();
    let chirp: Vec<f32> = (0..n)
        .map(|k| {
            let t = k as f64 / n as f64;
            ((PI * 0.45 * t * k as f64).sin() * 4.0) as f32
        })
        .collect();
    let square: Vec<f32> = sine(n, 0.037, 0.3, 1.0)
        .iter()
        .map(|s| s.signum() * 1.5)
        .collect();
    let pairs: Vec<f32> = (0..n)
        .map(|k| if k % 500 < 2 { 1.7 } else { 0.0 })
        .collect();
    let steps: Vec<f32> = (0..n)
        .map(|k| if k / 400 % 2 == 0 { 0.2 } else { -8.0 })
        .collect();
    let full = sine(n, 0.25, PI / 4.0, 1.2);
    let loud: Vec<f32> = noise(n, 3).iter().map(|s| s * 24.0).collect();
    let mut all: Vec<(&'static str, Vec<f32>)> = [0.01, 0.03, 0.1, 0.2, 0.3, 0.35, 0.4, 0.45]
        .into_iter()
        .map(|of_rate| ("sine", sine(n, of_rate, 0.7, 2.0)))
        .collect();
    all.extend([
        ("telegraph", telegraph),
        ("bursts", bursts),
        ("chirp", chirp),
        ("square", square),
        ("pairs", pairs),
        ("steps", steps),
        ("a quarter of the rate", full),
        ("noise", noise(n, 1)),
        ("loud noise", loud),
    ]);
    all
}

#[test]
fn what_needs_no_limiting_passes_unchanged() {
    let input: Vec<f32> = (0_u16..2000).map(|n| f32::from(n % 97) / 200.0).collect();
    assert_eq!(run(&input), input);
    // Up to the ceiling itself.
    let near = sine(4000, 0.02, 0.0, f64::from(CEILING) - 3e-3);
    assert_eq!(run(&near), near);
}

#[test]
fn no_true_peak_is_above_the_ceiling() {
    for (name, input) in nasty() {
        let before = true_peak(&input);
        assert!(before > f64::from(CEILING), "{name} is no trial: {before}");
        let after = true_peak(&run(&input));
        assert!(
            after <= f64::from(CEILING) + 1e-6,
            "{name}: {:.3} dB",
            db(after)
        );
    }
}

/// What four points a sample miss is less than the room that is left; but of noise that fills the whole band,
/// which no clip is, they miss more.
#[test]
fn nor_is_anything_between_the_points_that_are_looked_at() {
    for (name, input) in nasty() {
        let after = db(finest_peak(&run(&input)));
        let fills_the_band = name.contains("noise") || name == "telegraph";
        let most = if fills_the_band {
            0.5
        } else {
            db(f64::from(CEILING))
        };
        assert!(after <= most, "{name}: {after:.3} dB");
    }
}

#[test]
fn no_peak_passes_and_each_stays_where_it_was() {
    let mut input = vec![0.0_f32; 4000];
    let peaks = [
        (500, 1.4),
        (560, 3.0),
        (640, 1.2),
        (2000, -1.9),
        (2127, 1.0),
    ];
    for (n, size) in peaks {
        input[n] = size;
    }
    let output = run(&input);
    assert!(output.iter().all(|s| s.abs() <= CEILING));
    for (n, _) in peaks {
        assert!(output[n].abs() > 0.2, "peak {n} is {}", output[n]);
        assert!(output[n - 1].abs() < 1e-9 && output[n + 1].abs() < 1e-9);
    }
}

/// The clamp must have nothing to do: a gain that only fell at the peak would crackle.
#[test]
fn gain_is_down_before_a_peak_and_moves_by_small_steps() {
    let mut input = vec![0.5_f32; 6000];
    input[3000] = 2.0;
    let output = run(&input);
    let largest = output
        .windows(2)
        .enumerate()
        .filter(|(n, _)| !(2999..=3000).contains(n))
        .map(|(_, w)| (w[1] - w[0]).abs())
        .fold(0.0, f32::max);
    assert!(largest < 0.01, "step of {largest}");
    assert!(
        (output[3000] / CEILING - ROOM).abs() < 2e-3,
        "{}",
        output[3000]
    );
    assert!(output[2985] < 0.3 && output[2800] > 0.499);
}

/// Source: what is searched through anew for every step.
#[test]
fn the_least_gain_is_that_of_the_last_so_many() {
    let gains: Vec<u32> = noise(3000, 5)
        .iter()
        .map(|s| if *s > 0.3 { ONE } else { steps(s.abs()) })
        .collect();
    let mut least = Least::new(143);
    for (n, gain) in gains.iter().enumerate() {
        let window = &gains[n.saturating_sub(142)..=n];
        assert_eq!(Some(&least.step(*gain)), window.iter().min(), "step {n}");
    }
}
