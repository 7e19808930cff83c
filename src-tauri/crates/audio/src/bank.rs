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

fn at_rate(clip: &Clip, hz: u32) -> Result<Vec<i16>, String> {
    if clip.hz == hz {
        return Ok(clip.samples.clone());
    }
    resample(&clip.samples, clip.hz, hz)
}
