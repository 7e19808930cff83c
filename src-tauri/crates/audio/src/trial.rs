//! A sound of the listening test on its way to the audio thread: made apart, then played as one more clip on the
//! bus of the voices, so that it passes the mixer and the limiter as they do.

use std::sync::Arc;

use conduct::Recording;
use cycle::CueSound;
use listening::Stimulus;
use render::{ClipId, Clips};

use crate::{
    bank::{Bank, at_rate},
    pack::{Clip, Pack, clip_of},
};

/// Samples that both sides hold. The control side lets go last: see [`crate::link::Link::play_trial`].
pub(crate) type Sound = Arc<[i16]>;

/// Its place among the clips: no pack has as many.
pub(crate) const CLIP: ClipId = ClipId(u8::MAX);

/// The sound at the device's rate. `None`: it cannot be made.
pub(crate) fn made(pack: &Pack, stimulus: Stimulus, hz: u32) -> Option<Sound> {
    let place = usize::from(clip_of(CueSound::Voice(stimulus.prompt)).0);
    let clip = pack.clips().get(place)?;
    let Stimulus { level, seed, .. } = stimulus;
    let samples = listening::mixed(&clip.samples, clip.hz, level, seed)?;
    let mixed = Clip {
        samples,
        hz: clip.hz,
    };
    Some(at_rate(&mixed, hz).ok()?.into())
}

/// A recording at the device's rate. `None`: it cannot be made.
pub(crate) fn at_device(recording: Recording, hz: u32) -> Option<Sound> {
    let Recording { samples, hz: own } = recording;
    if own == hz {
        return Some(samples);
    }
    let clip = Clip {
        samples: samples.to_vec(),
        hz: own,
    };
    Some(at_rate(&clip, hz).ok()?.into())
}

/// A bank, and the sound of the listening test that was told last.
pub(crate) struct WithTrial<'a> {
    pub(crate) bank: &'a Bank,
    pub(crate) trial: Option<&'a Sound>,
}

impl Clips for WithTrial<'_> {
    fn samples(&self, clip: ClipId) -> &[i16] {
        match self.trial {
            Some(sound) if clip == CLIP => sound,
            Some(_) | None => self.bank.samples(clip),
        }
    }
}

#[cfg(test)]
mod tests {
    use cycle::Prompt;
    use listening::Level;

    use super::*;

    #[test]
    fn it_is_as_long_as_clip_and_noise_at_the_device_s_rate() {
        let pack = Pack::built_in();
        for hz in [24_000, 44_100, 48_000] {
            let stimulus = Stimulus {
                prompt: Prompt::Off15,
                level: Level::ALL[1],
                seed: 4,
            };
            let sound = made(&pack, stimulus, hz).unwrap();
            let ms = listening::length_ms(pack.lengths().ms(Prompt::Off15));
            let wanted = usize::try_from(u64::from(ms) * u64::from(hz) / 1000).unwrap();
            assert!(sound.len().abs_diff(wanted) < 100, "{hz}: {}", sound.len());
        }
    }

    #[test]
    fn a_recording_is_the_same_at_its_own_rate_and_as_long_at_another() {
        let recording = Recording {
            samples: vec![1_i16; 48_000].into(),
            hz: 48_000,
        };
        let same = at_device(recording.clone(), 48_000).unwrap();
        assert_eq!(same, recording.samples);
        let other = at_device(recording, 44_100).unwrap();
        assert!(other.len().abs_diff(44_100) < 100, "{}", other.len());
    }

    #[test]
    fn no_clip_of_the_pack_lies_in_its_place() {
        let pack = Pack::built_in();
        assert!(pack.clips().len() < usize::from(CLIP.0));
        let bank = Bank::new(&pack, 48_000).unwrap();
        let sound: Sound = vec![1_i16, 2].into();
        let with = WithTrial {
            bank: &bank,
            trial: Some(&sound),
        };
        assert_eq!(with.samples(CLIP), [1, 2]);
        assert_eq!(with.samples(ClipId(0)), bank.samples(ClipId(0)));
    }
}
