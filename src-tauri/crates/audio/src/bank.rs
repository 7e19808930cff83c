use std::{fmt, sync::OnceLock};

use beat::Kind;
use render::{ClipId, Clips};
use resample::resample;

use crate::pack::{Clip, Pack};

/// The clips at one sample rate, ready for the mixer.
#[derive(Clone, Debug)]
pub struct Bank {
    hz: u32,
    clips: Vec<Vec<i16>>,
    /// Made when a drill first wants it; the audio thread takes what is there and never waits for it.
    noise: OnceLock<Vec<i16>>,
}

/// The noise of a drill goes round after this long, s: longer than one listens for a repeat.
const NOISE_S: u32 = 10;
/// Its peaks lie so far under a beat's, dB. Own: a beat still stands out of it, and what sounds together stays below
/// where the limiter would begin to work.
const UNDER_DB: f64 = 10.0;
const SEED: u64 = 0x0D51_1100;

/// A sample rate that the clips cannot be brought to.
#[derive(Debug)]
pub struct BankError {
    /// The rate asked for.
    pub hz: u32,
    what: String,
}

impl fmt::Display for BankError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "clips cannot be brought to {} Hz, allowed 8000 to 192000: {}",
            self.hz, self.what
        )
    }
}

impl std::error::Error for BankError {}

impl Bank {
    /// The clips of a pack at `hz` samples a second.
    ///
    /// # Errors
    /// [`BankError`] for a rate outside 8,000 to 192,000.
    pub fn new(pack: &Pack, hz: u32) -> Result<Self, BankError> {
        if !(8000..=192_000).contains(&hz) {
            let what = "outside that range".to_owned();
            return Err(BankError { hz, what });
        }
        let clips = pack
            .clips()
            .iter()
            .map(|clip| at_rate(clip, hz))
            .collect::<Result<_, _>>()
            .map_err(|what| BankError { hz, what })?;
        let noise = OnceLock::new();
        Ok(Self { hz, clips, noise })
    }

    /// Makes the noise of a drill, once. It takes some tenths of a second: not for the audio thread.
    pub fn make_noise(&self) {
        let beat = self.samples(ClipId::of(Kind::Beat));
        self.noise.get_or_init(|| {
            let count = self.hz.saturating_mul(NOISE_S);
            let peak = beat.iter().map(|s| s.unsigned_abs()).max().unwrap_or(0);
            let peak = f64::from(peak) * 10_f64.powf(-UNDER_DB / 20.0);
            let count = usize::try_from(count).unwrap_or(0);
            listening::round_noise(count, self.hz, SEED, peak)
        });
    }

    /// Samples a second.
    pub fn hz(&self) -> u32 {
        self.hz
    }
}

impl Clips for Bank {
    fn samples(&self, clip: ClipId) -> &[i16] {
        if clip == ClipId::NOISE {
            return self.noise.get().map_or(&[], Vec::as_slice);
        }
        self.clips
            .get(usize::from(clip.0))
            .map_or(&[], Vec::as_slice)
    }
}

pub(crate) fn at_rate(clip: &Clip, hz: u32) -> Result<Vec<i16>, String> {
    let mut samples = if clip.hz == hz {
        clip.samples.clone()
    } else {
        resample(&clip.samples, clip.hz, hz)?
    };
    settle(&mut samples, hz);
    Ok(samples)
}

/// A last sample up to this size is no click: -54 dB.
const QUIET: u16 = 64;

/// A clip that ends in the middle of a wave dies away over its last 2 ms. Those of the packs do so by
/// themselves and stay as they are.
fn settle(samples: &mut [i16], hz: u32) {
    if samples.last().is_none_or(|s| s.unsigned_abs() <= QUIET) {
        return;
    }
    let span = i32::try_from(hz.div_ceil(500)).unwrap_or(1).max(1);
    for (left, sample) in (0..span).zip(samples.iter_mut().rev()) {
        let share = i32::from(*sample).saturating_mul(left).div_euclid(span);
        *sample = i16::try_from(share).unwrap_or(0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn peak(samples: &[i16]) -> f64 {
        f64::from(samples.iter().map(|s| s.unsigned_abs()).max().unwrap_or(0))
    }

    /// The rule: a beat stands out of it, and both together stay under full scale.
    #[test]
    fn the_noise_of_a_drill_is_made_when_it_is_wanted_and_lies_ten_decibels_under_a_beat() {
        let pack = Pack::built_in();
        for hz in [24_000_u16, 48_000] {
            let bank = Bank::new(&pack, u32::from(hz)).unwrap();
            assert!(bank.samples(ClipId::NOISE).is_empty(), "nobody wanted it");
            bank.make_noise();
            let noise = bank.samples(ClipId::NOISE);
            assert_eq!(noise.len(), usize::from(hz) * 10);
            let beats = [Kind::Beat, Kind::BeatFirst, Kind::BeatLast];
            for kind in beats {
                let beat = peak(bank.samples(ClipId::of(kind)));
                let under = 20.0 * (beat / peak(noise)).log10();
                assert!((under - 10.0).abs() < 0.6, "{under} under {kind:?} at {hz}");
                assert!(beat + peak(noise) < 32_767.0);
            }
        }
    }
}
