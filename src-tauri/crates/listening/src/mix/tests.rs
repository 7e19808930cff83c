#![expect(
    clippy::arithmetic_side_effects,
    reason = "expected values are plain arithmetic; a test may overflow"
)]

use std::f64::consts::{SQRT_2, TAU};

use super::*;

/// A clip of the built-in voice: one channel, 16 bits, 24 kHz, after a header of 44 bytes.
fn clip(name: &str) -> Vec<i16> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../sounds/en-US/");
    let bytes = std::fs::read(format!("{folder}{name}.wav")).expect("the built-in voice");
    let samples = bytes[44..].chunks_exact(2);
    samples
        .map(|two| i16::from_le_bytes(two.try_into().expect("two")))
        .collect()
}

const HZ: u32 = 24_000;

/// A-weighting by filters in time, as `sounds/build/noise.py` has it: poles of IEC 61672-1 annex E, one after the
/// other, each by the bilinear transform. The squares' sum, not brought to any level.
fn weighted(samples: &[i16]) -> f64 {
    let mut signal: Vec<f64> = samples.iter().map(|s| f64::from(*s) / 32_768.0).collect();
    let rate = f64::from(HZ);
    for (hz, is_high_pass) in [
        (20.599, true),
        (20.599, true),
        (107.653, true),
        (737.862, true),
        (12_194.217, false),
        (12_194.217, false),
    ] {
        let k = TAU * hz / (2.0 * rate);
        let (b0, b1) = if is_high_pass { (1.0, -1.0) } else { (k, k) };
        let (mut x1, mut y1) = (0.0, 0.0);
        for sample in &mut signal {
            let x = *sample;
            let y = (b0 * x + b1 * x1 - (k - 1.0) * y1) / (k + 1.0);
            (x1, y1) = (x, y);
            *sample = y;
        }
    }
    signal.iter().map(|x| x * x).sum()
}

fn per_sample(samples: &[i16]) -> f64 {
    weighted(samples) / real(samples.len())
}

/// The noise under the prompt is not heard alone: what is added to it by the prompt is. Of noise before and after
/// the prompt the mean is known to about 0.2 dB; over seeds it evens out.
#[test]
fn the_prompt_stands_over_the_noise_by_what_was_asked_for() {
    for name in ["off15", "dev_stop", "chk_now"] {
        let clip = clip(name);
        for level in Level::ALL {
            let (mut noise, mut both) = (0.0, 0.0);
            let seeds = 0..8;
            for seed in seeds {
                let sound = mixed(&clip, HZ, *level, seed).expect("a clip that sounds");
                let lead = frames(HZ, LEAD_MS);
                let end = lead + clip.len();
                // Each sound has a loudness of its own.
                let whole = per_sample(&sound);
                let (before, after) = (&sound[1200..lead], &sound[end..sound.len() - 1200]);
                let quiet = (weighted(before) + weighted(after)) / real(before.len() + after.len());
                noise += quiet / whole;
                both += per_sample(&sound[lead..end]) / whole;
            }
            let found = 10.0 * (both / noise - 1.0).log10();
            let asked = f64::from(level.db());
            assert!((found - asked).abs() < 0.7, "{name} {asked}: {found}");
        }
    }
}

#[test]
fn it_begins_a_second_before_the_prompt_and_ends_half_a_second_after() {
    let clip = clip("off10");
    let quiet = mixed(&clip, HZ, Level::ALL[0], 3).expect("a clip that sounds");
    assert_eq!(quiet.len(), clip.len() + 24_000 + 12_000);
    let ms = u32::try_from(clip.len() / 24).expect("short");
    assert_eq!(
        usize::try_from(length_ms(ms)).expect("short"),
        quiet.len() / 24
    );
    // It comes and goes softly, and is there in between.
    let loud = |part: &[i16]| part.iter().map(|s| s.unsigned_abs()).max().unwrap_or(0);
    let most = loud(&quiet);
    assert!(loud(&quiet[..24]) < most / 50 && loud(&quiet[quiet.len() - 24..]) < most / 50);
    assert!(loud(&quiet[2400..12_000]) > most / 8 && loud(&quiet[quiet.len() - 9000..]) > most / 8);
    // The prompt itself is the clip: noise of the same seed goes with one and without it.
    let other = mixed(&clip, HZ, Level::ALL[2], 3).expect("a clip that sounds");
    assert_ne!(quiet, other);
}

/// Another interpolation than the one that sets the peak: a Blackman window twice as long, eight places.
#[test]
fn no_true_peak_reaches_a_decibel_below_full_scale() {
    for (name, seed) in [("off15", 1), ("dev_stop", 2), ("chk_cd1", 3), ("undo", 4)] {
        for level in Level::ALL {
            let sound = mixed(&clip(name), HZ, *level, seed).expect("a clip that sounds");
            let most = sound.iter().map(|s| s.unsigned_abs()).max().unwrap_or(0);
            let peak_db = 20.0 * (peak_of(&sound) / 32_768.0).log10();
            assert!(
                peak_db < -1.3 && peak_db > -1.7,
                "{name}: {peak_db}, {most}"
            );
        }
    }
}

fn peak_of(sound: &[i16]) -> f64 {
    let reach = 32_i32;
    let near = |n: i32| {
        let n = usize::try_from(n).ok();
        n.and_then(|n| sound.get(n)).map_or(0.0, |s| f64::from(*s))
    };
    // Only where it is loud a peak can be.
    let loud = sound.iter().map(|s| s.unsigned_abs()).max().unwrap_or(0) / 2;
    let mut peak = 0.0_f64;
    for n in (0..sound.len()).filter(|n| sound[*n].unsigned_abs() > loud) {
        let n = i32::try_from(n).expect("short");
        for eighth in -7..8 {
            let at = f64::from(eighth) / 8.0;
            let value: f64 = (-reach..=reach)
                .map(|k| {
                    let x = f64::from(k) - at;
                    let turn = PI * x;
                    let sinc = if turn.abs() < 1e-9 {
                        1.0
                    } else {
                        turn.sin() / turn
                    };
                    let window = turn / (f64::from(reach) + 1.0);
                    near(n + k) * sinc * (0.42 + 0.5 * window.cos() + 0.08 * (2.0 * window).cos())
                })
                .sum();
            peak = peak.max(value.abs());
        }
    }
    peak
}

/// Source: a sine at a quarter of the rate whose samples all lie 45 degrees off its crests reads 3.01 dB too low.
#[test]
fn a_peak_between_two_samples_is_found() {
    let sound: Vec<f64> = (0..400)
        .map(|n| (TAU * f64::from(n) / 4.0 + TAU / 8.0).sin())
        .collect();
    let read = sound.iter().fold(0.0_f64, |most, s| most.max(s.abs()));
    assert!((read * SQRT_2 - 1.0).abs() < 1e-6);
    let found = true_peak(&sound);
    assert!((found - 1.0).abs() < 0.02, "{found}");
}

#[test]
fn a_silent_clip_makes_no_sound_and_no_fault() {
    assert_eq!(mixed(&[0; 1000], HZ, Level::ALL[0], 1), None);
    assert_eq!(mixed(&[], HZ, Level::ALL[0], 1), None);
}
