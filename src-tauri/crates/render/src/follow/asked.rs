//! What the moments at which blocks are asked for tell of a loss.

use super::{ALIKE_NS, FOLLOW, PASSED_OVER};

/// When a block is asked for tells of a loss as well: the device asks as it plays. A busy machine asks late and never
/// early, so the earliest of a near median's blocks counts; it is believed where those stay as near to what they mostly
/// are, ns.
const ASKED_NS: i64 = 3_000_000;
/// So many of them in succession first.
const ASKED_SURE: u8 = 8;
/// After a loss a sound server's stamps may run off by 10 ms a second and be pulled back, for ten seconds or more,
/// measured. They are believed again when their distance from the asking has stayed within `ALIKE_NS` for so many near
/// medians, some seven seconds.
const BELIEVED_AFTER: u8 = 32;

/// How long after its run time a block is asked for, the earliest of some blocks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Asked {
    earliest: i64,
    /// Blocks that are passed over: after a loss they fill the buffer all at once.
    passed_over: u32,
    /// What it mostly is.
    zero: i64,
    /// Near medians in succession that were near to that.
    sure: u8,
    /// The stamps are not believed since a loss.
    pub(super) is_in_charge: bool,
    /// Stamps less asking at the first of the near medians that are alike in that, and how many those are.
    apart: (i64, u8),
}

impl Asked {
    pub(super) const fn new() -> Self {
        Self {
            earliest: i64::MAX,
            passed_over: 0,
            zero: 0,
            sure: 0,
            is_in_charge: false,
            apart: (0, 0),
        }
    }

    /// There may have been a loss.
    pub(super) const fn take_over(&mut self) {
        self.is_in_charge |= self.sure >= ASKED_SURE;
        self.apart = (0, 0);
    }

    /// What a near median is worth: while the stamps are astray it is what the asking says.
    pub(super) fn believed(&mut self, near: i64) -> i64 {
        let asked = self.take();
        if !self.is_in_charge {
            return near;
        }
        let apart = near.saturating_sub(asked);
        let (first, many) = self.apart;
        let stays = apart.saturating_sub(first).saturating_abs() <= ALIKE_NS;
        self.apart = if stays && many > 0 {
            (first, many.saturating_add(1))
        } else {
            (apart, 1)
        };
        self.is_in_charge = self.apart.1 < BELIEVED_AFTER;
        asked
    }

    /// Takes a block's; how much later it is asked for than is usual, ns.
    pub(super) fn put(&mut self, asked: i64) -> i64 {
        if self.passed_over > 0 {
            self.passed_over = self.passed_over.saturating_sub(1);
        } else {
            self.earliest = self.earliest.min(asked);
        }
        asked.saturating_sub(self.zero)
    }

    /// How much later than usual the earliest one was. What is usual is learned while nothing is amiss.
    fn take(&mut self) -> i64 {
        let earliest = core::mem::replace(&mut self.earliest, i64::MAX);
        if earliest == i64::MAX {
            return 0;
        }
        let off = earliest.saturating_sub(self.zero);
        if self.is_in_charge {
            return off;
        }
        if self.sure == 0 || off.saturating_abs() > ASKED_NS {
            (self.zero, self.sure) = (earliest, 1);
        } else {
            self.zero = self.zero.saturating_add(off / FOLLOW);
            self.sure = self.sure.saturating_add(1);
        }
        off
    }

    /// The line moves by so much more than it was off.
    pub(super) const fn shift(&mut self, ns: i64) {
        self.zero = self.zero.saturating_add(ns);
    }

    pub(super) const fn begin_anew(&mut self) {
        self.earliest = i64::MAX;
        self.passed_over = PASSED_OVER;
    }
}
