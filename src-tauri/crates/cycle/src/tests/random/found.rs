//! What the crews of this folder found, each by itself and short.

use super::super::*;
use crate::mark::{CheckMark, HeartRate};

#[test]
fn a_heart_rate_moves_no_rhythm_check() {
    let mut w = started();
    let rate = CheckMark::HeartRate {
        band: HeartRate::From60,
    };
    w.mark(60_000, Mark::Check(rate)).until(121_000);
    assert_eq!(w.said("chk_now"), [120_000]);
}
