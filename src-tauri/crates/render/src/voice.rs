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
    /// What it added last.
    last: f32,
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
            last: 0.0,
        }
    }

    /// What it added to the last frame.
    pub(crate) fn last(&self) -> f32 {
        self.last
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
        // Where nothing changes on the way no frame has to be looked at by itself.
        match (self.fade, self.bus) {
            (None, Bus::Score) => {
                for ((out, sample), duck) in out.iter_mut().zip(rest).zip(duck) {
                    *out += f32::from(*sample) * (gain * duck);
                }
            }
            (None, Bus::Voice | Bus::Tone) => {
                for (out, sample) in out.iter_mut().zip(rest) {
                    *out += f32::from(*sample) * gain;
                }
            }
            (Some(fade), _) => {
                let mut fade = fade;
                for ((out, sample), duck) in out.iter_mut().zip(rest).zip(duck) {
                    *out += f32::from(*sample) * (gain * self.steps_by(*duck)) * fade.step();
                }
                self.fade = Some(fade);
            }
        }
        let last = out.len().saturating_sub(1);
        let sample = rest.get(last).copied().map_or(0.0, f32::from);
        let duck = duck.get(last).copied().unwrap_or(1.0);
        let fade = self.fade.map_or(1.0, Fade::last);
        self.last = sample * (gain * self.steps_by(duck)) * fade;
        self.at = self.at.saturating_add(out.len());
    }

    fn steps_by(&self, duck: f32) -> f32 {
        if self.bus == Bus::Score { duck } else { 1.0 }
    }
}

impl Fade {
    /// The factor for the next frame.
    fn step(&mut self) -> f32 {
        let factor = f32::from(self.left) / f32::from(self.whole);
        self.left = self.left.saturating_sub(1);
        factor
    }

    /// The factor of the last frame.
    fn last(self) -> f32 {
        f32::from(self.left.saturating_add(1)) / f32::from(self.whole)
    }
}
