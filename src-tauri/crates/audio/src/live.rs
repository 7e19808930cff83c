//! What runs on the audio thread: orders in, samples and reports out.

use std::sync::{
    Arc,
    atomic::{AtomicBool, AtomicI64, AtomicU64, Ordering::Relaxed},
};

use conduct::Order;
use cycle::{CueId, Ms};
use render::{Bus, Follow, Message, Mixer, Moved, Play, Report, Sink, Stamp};
use rtrb::{Consumer, Producer};

use crate::{
    bank::Bank,
    device::{Fill, Notice, Trouble},
    order::message,
    trial::{self, Sound, WithTrial},
};

/// A jump of less leaves the click that is sounding whole, ns: nothing was lost, and the line was set right.
const CLICK_NS: i64 = 5_000_000;

/// What the control side tells the audio thread.
#[derive(Clone, Debug)]
pub(crate) enum Told {
    /// An order of the conductor, and the run time at which it was given.
    Order(Ms, Order),
    /// The system's clock less the stream's clock, ns.
    Offset(i64),
    /// The run's zero on the system's clock, ns.
    Zero(i64),
    /// A sound of the listening test, to be played under this name as soon as it can be dated.
    Trial(CueId, Sound),
}

/// Counters that both sides see.
#[derive(Debug, Default)]
pub(crate) struct Gauge {
    /// Of the open stream.
    pub(crate) frames: AtomicU64,
    /// Frames of all streams so far.
    pub(crate) played: AtomicU64,
    pub(crate) underruns: AtomicU64,
    pub(crate) jumps: AtomicU64,
    pub(crate) last_jump_ns: AtomicI64,
    pub(crate) ppm: AtomicI64,
    pub(crate) latency_ns: AtomicI64,
    /// What the device of the latest stream takes, where it tells: the next stream keeps to it.
    pub(crate) kept_ns: AtomicI64,
    pub(crate) is_broken: AtomicBool,
}

impl Gauge {
    /// So many frames are filled of the open stream, the last of them so many.
    pub(crate) fn fill(&self, filled: u64, frames: u64) {
        self.frames.store(filled, Relaxed);
        self.played.fetch_add(frames, Relaxed);
    }

    /// How many of them, at `hz` a second, are past the device: the rest is filled, and lost if the stream is closed.
    pub(crate) fn heard(&self, hz: u32) -> u64 {
        let ahead_ns = u128::try_from(self.latency_ns.load(Relaxed)).unwrap_or(0);
        let ahead = ahead_ns.saturating_mul(u128::from(hz)) / 1_000_000_000;
        let frames = self.frames.load(Relaxed);
        frames.saturating_sub(u64::try_from(ahead).unwrap_or(u64::MAX))
    }
}

impl Notice for Arc<Gauge> {
    fn notice(&self, trouble: Trouble) {
        match trouble {
            Trouble::Underrun => {
                self.underruns.fetch_add(1, Relaxed);
            }
            Trouble::Broken => self.is_broken.store(true, Relaxed),
            Trouble::Note => {}
        }
    }
}

/// The audio thread's own.
pub(crate) struct Live {
    mixer: Mixer,
    follow: Follow,
    bank: Arc<Bank>,
    told: Consumer<Told>,
    reports: Reports,
    gauge: Arc<Gauge>,
    underruns: u64,
    offset_ns: Option<i64>,
    zero_ns: i64,
    /// Let go here only where the control side holds it as well.
    trial: Option<Sound>,
    /// Its name, until it begins: see [`Live::begin_trial`].
    waiting: Option<CueId>,
}

struct Reports(Producer<Report>);

impl Sink for Reports {
    fn report(&mut self, report: Report) {
        // A full ring means that the control side has stood still for minutes; the sound goes on,
        // the report is lost.
        self.0.push(report).unwrap_or_default();
    }
}

impl Live {
    /// Orders taken at the beginning of one block.
    const MOST_ORDERS: usize = 64;

    pub(crate) fn new(
        bank: Arc<Bank>,
        told: Consumer<Told>,
        reports: Producer<Report>,
        gauge: Arc<Gauge>,
    ) -> Self {
        let kept = gauge.kept_ns.load(Relaxed);
        let follow = Follow::new(bank.hz());
        Self {
            mixer: Mixer::new(bank.hz(), None),
            follow: if kept > 0 { follow.after(kept) } else { follow },
            underruns: gauge.underruns.load(Relaxed),
            bank,
            told,
            reports: Reports(reports),
            gauge,
            offset_ns: None,
            zero_ns: 0,
            trial: None,
            waiting: None,
        }
    }

    fn set_clock(&mut self) {
        if let Some(offset) = self.offset_ns {
            self.follow.set_offset(offset.saturating_sub(self.zero_ns));
        }
    }

    fn follow(&mut self, frames: u32, now_ns: u64, heard_ns: u64) {
        let underruns = self.gauge.underruns.load(Relaxed);
        let stamp = Stamp {
            frame: self.mixer.frame(),
            frames,
            now_ns,
            heard_ns,
            is_underrun: underruns != self.underruns,
        };
        self.underruns = underruns;
        let moved = self.follow.look(stamp);
        self.mixer.hold(self.follow.is_in_doubt());
        let Some((timeline, moved)) = moved else {
            return;
        };
        match moved {
            Moved::Begun => {
                // What the device takes, and what the limiter looks ahead.
                let ahead = ns_of(Mixer::DELAY, self.bank.hz());
                let latency = self.follow.latency_ns().saturating_add(ahead);
                self.gauge.latency_ns.store(latency, Relaxed);
                if self.follow.is_told() {
                    self.gauge.kept_ns.store(self.follow.latency_ns(), Relaxed);
                }
            }
            Moved::Jumped(ns) => {
                if ns.saturating_abs() > CLICK_NS {
                    self.mixer.break_off();
                }
                self.gauge.jumps.fetch_add(1, Relaxed);
                self.gauge.last_jump_ns.store(ns, Relaxed);
            }
            Moved::Bent(ppm) => self.gauge.ppm.store(i64::from(ppm), Relaxed),
        }
        self.mixer
            .take(Message::Timeline(timeline), &mut self.reports);
    }

    /// Answers are timed from its last word, so it waits until there is a line by which to say when it began: a
    /// stream that was just opened has none for a dozen blocks, and after an underrun the old one is in doubt.
    fn begin_trial(&mut self) {
        if self.mixer.timeline().is_none() || self.follow.is_in_doubt() {
            return;
        }
        if let Some(id) = self.waiting.take() {
            let play = Play {
                id: id.0,
                clip: trial::CLIP,
                bus: Bus::Voice,
                start: None,
            };
            self.mixer.take(Message::Play(play), &mut self.reports);
        }
    }
}

/// So many frames of `hz` a second, ns.
fn ns_of(frames: usize, hz: u32) -> i64 {
    let frames = i64::try_from(frames).unwrap_or(i64::MAX);
    frames
        .saturating_mul(1_000_000_000)
        .checked_div(i64::from(hz))
        .unwrap_or(0)
}

impl Fill for Live {
    fn stamp(&mut self, frames: u32, now_ns: u64, heard_ns: u64) {
        let hz = self.bank.hz();
        for _ in 0..Self::MOST_ORDERS {
            match self.told.pop() {
                Ok(Told::Order(now, order)) => {
                    self.waiting
                        .take_if(|waiting| order == Order::Revoke(*waiting));
                    self.mixer.take(message(now, order, hz), &mut self.reports);
                }
                Ok(Told::Offset(ns)) => {
                    self.offset_ns = Some(ns);
                    self.set_clock();
                }
                Ok(Told::Zero(ns)) => {
                    self.zero_ns = ns;
                    self.set_clock();
                }
                Ok(Told::Trial(id, sound)) => {
                    self.trial = Some(sound);
                    self.waiting = Some(id);
                }
                Err(_) => break,
            }
        }
        self.follow(frames, now_ns, heard_ns);
        self.begin_trial();
        // Here and not once they are filled: of a stream that gives way these count no more.
        let filled = self.mixer.frame().saturating_add(u64::from(frames));
        self.gauge.fill(filled, u64::from(frames));
    }

    fn fill(&mut self, out: &mut [f32]) {
        let clips = WithTrial {
            bank: &self.bank,
            trial: self.trial.as_ref(),
        };
        self.mixer.render(&clips, out, &mut self.reports);
    }
}

#[cfg(test)]
mod tests;
