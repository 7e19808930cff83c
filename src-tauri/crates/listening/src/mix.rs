use std::f64::consts::PI;

use cycle::Prompt;

use crate::{noise::vehicle, real, sheet::Level, weight::a_level};

/// The noise begins so long before the prompt, ms.
pub const LEAD_MS: u32 = 1000;
/// And ends so long after it, ms.
pub const TAIL_MS: u32 = 500;
/// It comes and goes within this, ms: a sudden noise startles.
const EDGE_MS: u32 = 50;
/// The largest true peak, dB of full scale: below -1, where the mixer's limiter would begin to work.
const PEAK_DB: f64 = -1.5;

/// What is to be heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stimulus {
    /// The prompt.
    pub prompt: Prompt,
    /// How far it stands over the noise.
    pub level: Level,
    /// What the noise is made from.
    pub seed: u64,
}

/// How long the sound is over a clip of so many milliseconds.
pub fn length_ms(clip_ms: u32) -> u32 {
    clip_ms.saturating_add(LEAD_MS).saturating_add(TAIL_MS)
}

/// A clip in noise, at the clip's own rate: the A-weighted level of the whole clip stands `level` over that of the
/// noise of the same moment. Both together are as loud as their true peak allows. `None`: the clip is silent.
pub fn mixed(clip: &[i16], hz: u32, level: Level, seed: u64) -> Option<Vec<i16>> {
    let clip: Vec<f64> = clip.iter().map(|s| f64::from(*s) / 32_768.0).collect();
    let (lead, tail) = (frames(hz, LEAD_MS), frames(hz, TAIL_MS));
    let count = lead.saturating_add(clip.len()).saturating_add(tail);
    let mut sound = vehicle(count, hz, seed);
    let under = sound.get(lead..lead.saturating_add(clip.len()))?;
    let gain_db = a_level(&clip, hz) - f64::from(level.db()) - a_level(under, hz);
    if !gain_db.is_finite() {
        return None;
    }
    let gain = 10_f64.powf(gain_db / 20.0);
    let edge = frames(hz, EDGE_MS);
    for (n, sample) in sound.iter_mut().enumerate() {
        let from_edge = n.saturating_add(1).min(count.saturating_sub(n));
        *sample *= gain * rise(from_edge, edge);
    }
    for (sample, clip) in sound.iter_mut().skip(lead).zip(&clip) {
        *sample += clip;
    }
    let scale = 10_f64.powf(PEAK_DB / 20.0) / true_peak(&sound);
    Some(sound.iter().map(|s| whole(s * scale)).collect())
}

fn frames(hz: u32, ms: u32) -> usize {
    let frames = u64::from(hz).saturating_mul(u64::from(ms)) / 1000;
    usize::try_from(frames).unwrap_or(0)
}

/// A raised cosine over `edge` frames.
fn rise(n: usize, edge: usize) -> f64 {
    if n >= edge {
        return 1.0;
    }
    0.5 - 0.5 * (PI * real(n) / real(edge.max(1))).cos()
}

#[expect(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    reason = "rounded and below full scale"
)]
fn whole(sample: f64) -> i16 {
    (sample * 32_768.0).round() as i16
}

/// Samples on either side that a value between two is made of.
const REACH: usize = 16;
/// Places between two samples that are looked at: ITU-R BS.1770-4 annex 2 wants four times the rate.
const BETWEEN: [f64; 3] = [0.25, 0.5, 0.75];

/// The largest value of what the samples stand for, those between them included. Never 0.
fn true_peak(sound: &[f64]) -> f64 {
    let mut padded = vec![0.0; REACH];
    padded.extend(sound);
    padded.resize(padded.len().saturating_add(REACH), 0.0);
    let mut peak = sound
        .iter()
        .fold(f64::MIN_POSITIVE, |most, s| most.max(s.abs()));
    for at in BETWEEN {
        let taps: Vec<f64> = (0..REACH.saturating_mul(2))
            .map(|n| tap(at + real(REACH) - 1.0 - real(n)))
            .collect();
        for part in padded.windows(taps.len()) {
            let value: f64 = part.iter().zip(&taps).map(|(x, tap)| x * tap).sum();
            peak = peak.max(value.abs());
        }
    }
    peak
}

/// A sinc under a raised cosine.
fn tap(x: f64) -> f64 {
    let window = 0.5 + 0.5 * (PI * x / (real(REACH) + 0.5)).cos();
    window * (PI * x).sin() / (PI * x)
}

#[cfg(test)]
mod tests;
