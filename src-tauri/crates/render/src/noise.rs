use crate::{ClipId, Clips};

/// Noise comes and goes within this, ms: a sudden one startles.
const EDGE_MS: u32 = 50;

/// A clip that goes round and round under everything else, as loud as a beat is set. It reports nothing: it is no cue
/// and no sound of a score.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Noise {
    is_on: bool,
    at: usize,
    /// How far it has come, 0 to 1.
    risen: f32,
    step: f32,
}

impl Noise {
    pub(crate) fn new(hz: u32) -> Self {
        let edge = hz.saturating_mul(EDGE_MS).checked_div(1000).unwrap_or(0);
        let edge = u16::try_from(edge.max(1)).unwrap_or(u16::MAX);
        Self {
            is_on: false,
            at: 0,
            risen: 0.0,
            step: 1.0 / f32::from(edge),
        }
    }

    pub(crate) fn set(&mut self, is_on: bool) {
        self.is_on = is_on;
    }

    /// Adds the next frames to `out`.
    pub(crate) fn add(&mut self, clips: &impl Clips, out: &mut [f32], gain: f32) {
        if !self.is_on && self.risen <= 0.0 {
            return;
        }
        let clip = clips.samples(ClipId::NOISE);
        if clip.is_empty() {
            // It is still being made.
            return;
        }
        let gain = gain / 32_768.0;
        for out in out {
            let sample = clip.get(self.at).copied().unwrap_or(0);
            *out += f32::from(sample) * (gain * self.risen);
            let next = self.at.saturating_add(1);
            self.at = if next < clip.len() { next } else { 0 };
            self.risen = if self.is_on {
                (self.risen + self.step).min(1.0)
            } else {
                (self.risen - self.step).max(0.0)
            };
        }
    }
}
