//! A run under way: its stage, its clock, and what came of it.

use std::sync::Arc;

use cycle::{Input, Mark, Ms, fact::Source};

use super::drill;
use crate::{Clock, Speaker, Stage, clock::WallWatch};

/// Waking so much later than asked is a gap of its own.
const GAP_MS: u64 = 2000;

/// A run under way, or one that has ended and is still shown.
pub(super) struct Live {
    pub(super) stage: Stage,
    pub(super) clock: Arc<dyn Clock>,
    pub(super) last: Ms,
    /// When it ended.
    pub(super) ended: Option<Ms>,
    pub(super) wall: WallWatch,
    /// It is a drill.
    pub(super) drill: Option<drill::Drilling>,
}

impl Live {
    /// Marks of one touch, dated to the moment the finger went down.
    pub(super) fn marks(&self, down_mono: Ms, marks: Vec<Mark>) -> Vec<Input> {
        let zero = self.clock.zero_ms();
        let at = Ms(down_mono.0.saturating_add_signed(zero.saturating_neg()));
        let src = Source::Button;
        marks
            .into_iter()
            .map(|mark| Input::Mark { at, mark, src })
            .collect()
    }

    /// The run's time goes on to `now`, never back; a late waking is a fact of its own.
    pub(super) fn advance(&mut self, speaker: &mut dyn Speaker, now: Ms) -> Ms {
        let now = now.max(self.last);
        let late = now.since(self.last).0;
        if late > GAP_MS && self.stage.is_live() {
            self.stage.step(speaker, now, Input::Gap { ms: late });
        }
        self.last = now;
        now
    }
}
