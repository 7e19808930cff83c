use crate::{Bus, ClipId, Clips};

/// One clip that is sounding.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Voice {
    pub(crate) id: Option<u32>,
    pub(crate) bus: Bus,
    clip: ClipId,
    at: usize,
    gain: f32,
    fade: Option<Fade>,
}

#[derive(Clone, Copy, Debug)]
struct Fade {
    left: u16,
    whole: u16,
}

impl Voice {
    pub(crate) fn new(id: Option<u32>, bus: Bus, clip: ClipId, gain: f32) -> Self {
        Self {
            id,
            bus,
            clip,
            at: 0,
            gain,
            fade: None,
        }
    }

    /// Frames of the clip already sounded.
    pub(crate) fn age(&self) -> usize {
        self.at
    }

    /// Lets it die away; `true` if it was not dying away already.
    pub(crate) fn fade(&mut self, frames: u16) -> bool {
        let is_new = self.fade.is_none();
        if is_new {
            self.fade = Some(Fade {
                left: frames,
                whole: frames.max(1),
            });
        }
        is_new
    }

    /// Frames still to come.
    pub(crate) fn left(&self, clips: &impl Clips) -> usize {
        let rest = clips.samples(self.clip).len().saturating_sub(self.at);
        self.fade.map_or(rest, |f| rest.min(usize::from(f.left)))
    }

    /// Adds the next frames to `out`; `duck` is the factor of each for what steps back.
    pub(crate) fn add(&mut self, clips: &impl Clips, out: &mut [f32], duck: &[f32]) {
        let clip = clips.samples(self.clip);
        let rest = clip.get(self.at..).unwrap_or(&[]);
        let gain = self.gain / 32_768.0;
        let steps_back = self.bus == Bus::Score;
        for ((out, sample), duck) in out.iter_mut().zip(rest).zip(duck) {
            let mut factor = gain;
            if steps_back {
                factor *= *duck;
            }
            if let Some(fade) = &mut self.fade {
                factor *= f32::from(fade.left) / f32::from(fade.whole);
                fade.left = fade.left.saturating_sub(1);
            }
            *out += f32::from(*sample) * factor;
        }
        self.at = self.at.saturating_add(out.len());
    }
}
