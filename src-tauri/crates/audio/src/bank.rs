use std::fmt;

use render::{ClipId, Clips};
use resample::resample;

use crate::pack::{Clip, Pack};

/// The clips at one sample rate, ready for the mixer.
#[derive(Clone, Debug)]
pub struct Bank {
    hz: u32,
    clips: Vec<Vec<i16>>,
}

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
        Ok(Self { hz, clips })
    }

    /// Samples a second.
    pub fn hz(&self) -> u32 {
        self.hz
    }
}

impl Clips for Bank {
    fn samples(&self, clip: ClipId) -> &[i16] {
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
