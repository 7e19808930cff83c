//! A stream that gives way to another falls silent at once and is closed only when that one plays, or could not be
//! opened: meanwhile its output stays awake. One that sleeps may take a second and more to give a new stream its first block, measured.

use std::sync::{
    Arc,
    atomic::{AtomicBool, Ordering::Relaxed},
};

use crate::device::{Fill, Notice, Trouble};

/// Whether a stream has given way.
#[derive(Clone, Debug, Default)]
pub(crate) struct Way(Arc<AtomicBool>);

impl Way {
    /// From now on nothing is heard of the stream, nor of what becomes of it.
    pub(crate) fn give(&self) {
        self.0.store(true, Relaxed);
    }

    pub(crate) fn is_given(&self) -> bool {
        self.0.load(Relaxed)
    }

    /// What fills a stream, or takes its reports, as long as it has not given way.
    pub(crate) fn until_given<T>(&self, what: T) -> Until<T> {
        Until {
            what,
            way: self.clone(),
            is_faded: false,
        }
    }
}

#[derive(Debug)]
pub(crate) struct Until<T> {
    what: T,
    way: Way,
    is_faded: bool,
}

impl<F: Fill> Fill for Until<F> {
    fn stamp(&mut self, frames: u32, now_ns: u64, heard_ns: u64) {
        if !self.way.is_given() {
            self.what.stamp(frames, now_ns, heard_ns);
        }
    }

    /// What sounds is faded out within one buffer: cut off it would click.
    fn fill(&mut self, out: &mut [f32]) {
        if !self.way.is_given() {
            self.what.fill(out);
            return;
        }
        if std::mem::replace(&mut self.is_faded, true) {
            out.fill(0.0);
            return;
        }
        self.what.fill(out);
        let step = u16::try_from(out.len()).map_or(1.0, |n| 1.0 / f32::from(n.max(1)));
        let mut gain = 1.0_f32;
        for sample in out {
            gain = (gain - step).max(0.0);
            *sample *= gain;
        }
    }
}

impl<N: Notice> Notice for Until<N> {
    fn notice(&self, trouble: Trouble) {
        if !self.way.is_given() {
            self.what.notice(trouble);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::AtomicU32;

    use super::*;

    struct Steady(Arc<AtomicU32>);

    impl Fill for Steady {
        fn fill(&mut self, out: &mut [f32]) {
            out.fill(0.5);
        }

        fn stamp(&mut self, _frames: u32, _now_ns: u64, _heard_ns: u64) {
            self.0.fetch_add(1, Relaxed);
        }
    }

    impl Notice for Steady {
        fn notice(&self, _trouble: Trouble) {
            self.0.fetch_add(1, Relaxed);
        }
    }

    #[test]
    fn what_gives_way_fades_within_a_buffer_and_is_silent_and_dumb_then() {
        let (way, told) = (Way::default(), Arc::new(AtomicU32::new(0)));
        let mut fill = way.until_given(Steady(Arc::clone(&told)));
        let notice = way.until_given(Steady(Arc::clone(&told)));
        let mut out = [9.0_f32; 256];
        fill.stamp(256, 0, 0);
        notice.notice(Trouble::Broken);
        fill.fill(&mut out);
        assert!(out.iter().all(|s| (s - 0.5).abs() < 1e-6));
        assert_eq!(told.load(Relaxed), 2);
        way.give();
        fill.stamp(256, 0, 0);
        notice.notice(Trouble::Broken);
        fill.fill(&mut out);
        assert!(
            (out[0] - 0.498).abs() < 0.001 && out[255].abs() < 1e-6,
            "{out:?}"
        );
        // No step is larger than the slope of half a unit over the buffer.
        assert!(
            out.windows(2)
                .all(|w| (w[0] - w[1] - 0.5 / 256.0).abs() < 1e-5)
        );
        fill.fill(&mut out);
        assert!(out.iter().all(|s| *s == 0.0));
        assert_eq!(told.load(Relaxed), 2, "of no account any more");
    }
}
