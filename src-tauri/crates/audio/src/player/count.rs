//! What sounded since it was counted last.

use std::sync::atomic::Ordering::Relaxed;

use cycle::{Ms, SoundNews};

use crate::{link::Link, live::Gauge};

/// How often the sounds are counted.
const EVERY: Ms = Ms(60_000);

/// When they were counted, and how they stood then.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Count {
    at: Ms,
    played: u64,
    underruns: u64,
}

impl Count {
    /// What sounded up to `now` is counted for nobody.
    pub(super) fn anew(&mut self, now: Ms, link: &mut Link, gauge: &Gauge) {
        link.take_beats();
        *self = Self::at(now, gauge);
    }

    /// The count, once it is due.
    pub(super) fn look(&mut self, now: Ms, link: &mut Link, gauge: &Gauge) -> Option<SoundNews> {
        if now.since(self.at) < EVERY {
            return None;
        }
        let before = std::mem::replace(self, Self::at(now, gauge));
        Some(SoundNews::Count {
            beats: link.take_beats(),
            frames: self.played.saturating_sub(before.played),
            underruns: self.underruns.saturating_sub(before.underruns),
        })
    }

    fn at(now: Ms, gauge: &Gauge) -> Self {
        Self {
            at: now,
            played: gauge.played.load(Relaxed),
            underruns: gauge.underruns.load(Relaxed),
        }
    }
}

#[cfg(test)]
mod tests {
    use beat::Kind;
    use render::{Report, What};
    use rtrb::{Producer, RingBuffer};

    use super::*;

    fn open(link: &mut Link) -> Producer<Report> {
        let (told, _audio) = RingBuffer::new(64);
        let (reports, taken) = RingBuffer::new(64);
        link.connect(told, taken, 48_000);
        reports
    }

    fn beats(reports: &mut Producer<Report>, n: u64) {
        for frame in 0..n {
            let report = Report::Begun {
                what: What::Score(Kind::Beat),
                frame,
                tick: Some(frame),
                frames: 100,
            };
            reports.push(report).unwrap();
        }
    }

    fn count(beats: u64, frames: u64, underruns: u64) -> SoundNews {
        SoundNews::Count {
            beats,
            frames,
            underruns,
        }
    }

    /// The ready check lets six beats be heard 40 s before the run; a minute of the run has 110.
    #[test]
    fn what_sounded_before_a_run_is_not_of_its_first_count() {
        let (mut link, gauge, mut counted) = (Link::default(), Gauge::default(), Count::default());
        let mut reports = open(&mut link);
        beats(&mut reports, 6);
        gauge.fill(240_000, 240_000);
        gauge.underruns.store(3, Relaxed);
        let start = Ms(1_040_000);
        counted.anew(start, &mut link, &gauge);
        assert_eq!(counted.look(start, &mut link, &gauge), None);
        for _ in 0..11 {
            beats(&mut reports, 10);
            assert_eq!(link.news(start), None);
        }
        gauge.fill(3_120_000, 2_880_000);
        gauge.underruns.store(4, Relaxed);
        assert_eq!(counted.look(Ms(1_099_999), &mut link, &gauge), None);
        let first = counted.look(Ms(1_100_000), &mut link, &gauge);
        assert_eq!(first, Some(count(110, 2_880_000, 1)));
    }

    /// 240,000 frames at the last count, 500,000 more of that stream, then 2,830,000 of another.
    #[test]
    fn frames_are_counted_through_all_streams() {
        let (mut link, gauge, mut counted) = (Link::default(), Gauge::default(), Count::default());
        gauge.fill(240_000, 240_000);
        counted.anew(Ms(1000), &mut link, &gauge);
        gauge.fill(740_000, 500_000);
        gauge.frames.store(0, Relaxed);
        gauge.fill(2_830_000, 2_830_000);
        let of_minute = counted.look(Ms(61_000), &mut link, &gauge);
        assert_eq!(of_minute, Some(count(0, 3_330_000, 0)));
    }
}
