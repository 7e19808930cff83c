//! The one thread that opens and closes streams.

use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    path::Path,
    sync::{
        Arc,
        atomic::Ordering::Relaxed,
        mpsc::{Receiver, RecvTimeoutError},
    },
    time::Duration,
};

use conduct::{Recording, clock};
use cycle::{CueId, Ms};
use listening::{Output, Stimulus};
use rtrb::RingBuffer;

use super::{
    Shared, Wish, lock, now,
    streams::{Look, Streams},
};
#[cfg(target_os = "linux")]
use crate::server::Change;
use crate::{
    bank::Bank,
    device::{Device, DeviceError, Stream},
    leaving::Way,
    live::Live,
    pack::Pack,
    supervisor::{SoundState, Step},
    trial,
};

/// Orders that fit into the ring to the audio thread.
const ORDERS: usize = 256;
/// Reports that fit into the ring back: five minutes of beats at 200 a minute.
const REPORTS: usize = 1024;
/// How often the supervisor looks.
const LOOK_EVERY: Duration = Duration::from_millis(100);
/// Looks between two comparisons of the clocks.
const LOOKS_A_COMPARISON: u32 = 10;
/// A comparison of two clocks that took longer than this is not used, ns.
const SLOW_NS: u64 = 200_000;
/// A stream that has had no good comparison for this long takes the best there is.
const UNRELATED: Ms = Ms(1000);

/// Owns the stream on a thread of its own: opening and closing may take long.
pub(super) struct Owner {
    shared: Arc<Shared>,
    pack: Pack,
    banks: Vec<Arc<Bank>>,
    streams: Streams<Stream>,
    /// Nothing is wrong with the stream but that another one takes its place.
    is_carried_off: bool,
    related: Related,
    /// A drill has wanted noise.
    has_noise: bool,
}

/// Whether the stream's clock has been related to the system's since it was opened, and when that was.
#[derive(Clone, Copy, Debug, Default)]
struct Related {
    opened: Ms,
    is_so: bool,
}

impl Related {
    /// Whether a reading that took so long is good enough: while there is none, silence is worse than a
    /// reading that the system held up.
    fn takes(self, took_ns: u64, now: Ms) -> bool {
        took_ns < SLOW_NS || !self.is_so && now.since(self.opened) >= UNRELATED
    }
}

impl Owner {
    pub(super) fn new(shared: Arc<Shared>, pack: Pack) -> Self {
        Self {
            shared,
            pack,
            banks: Vec::new(),
            streams: Streams::new(),
            is_carried_off: false,
            related: Related::default(),
            has_noise: false,
        }
    }

    /// A panic in a device library must not end the thread that everything sounds through: the stream is
    /// closed, the loss is told, and the device opened anew.
    pub(super) fn guarded(&mut self, inbox: &Receiver<Wish>) {
        while catch_unwind(AssertUnwindSafe(|| self.run(inbox))).is_err() {
            drop(catch_unwind(AssertUnwindSafe(|| self.close(Look::END))));
            self.shared.watch(|watch| watch.refused(now()));
        }
    }

    fn run(&mut self, inbox: &Receiver<Wish>) {
        let mut looks = 0_u32;
        loop {
            let frames = self.shared.gauge.frames.load(Relaxed);
            let is_broken = self.shared.gauge.is_broken.load(Relaxed);
            let (step, is_waiting, sound) = self.shared.watch(|watch| {
                let step = watch.step(now(), frames, is_broken);
                (step, watch.is_waiting(), watch.sound())
            });
            let is_carried_off = is_waiting && std::mem::take(&mut self.is_carried_off);
            self.close(Look {
                is_waiting,
                is_carried_off,
                is_playing: sound == SoundState::Playing,
            });
            if step == Step::Open {
                match self.open() {
                    Ok(()) => self.shared.watch(|watch| watch.opened(now())),
                    Err(e) => {
                        *lock(&self.shared.refused) = Some(e);
                        self.shared.watch(|watch| watch.refused(now()));
                    }
                }
                looks = 0;
            }
            if looks == 0 || !self.related.is_so {
                self.compare_clocks();
            }
            looks = looks.saturating_add(1) % LOOKS_A_COMPARISON;
            match inbox.recv_timeout(LOOK_EVERY) {
                Ok(Wish::Reopen) => self.shared.watch(|watch| watch.moved(now())),
                #[cfg(target_os = "linux")]
                Ok(Wish::Follow(change)) => {
                    let is_to_go = self.shared.watch(|watch| watch.carried_off(now()));
                    self.is_carried_off = is_to_go && change == Change::Elsewhere;
                }
                Ok(Wish::Speak(lang, own)) => self.speak(&lang, &own),
                Ok(Wish::Trial(id, stimulus)) => self.play_trial(id, stimulus),
                Ok(Wish::Recording(id, recording)) => self.play_recording(id, recording),
                Ok(Wish::Noise) => self.make_noise(),
                Err(RecvTimeoutError::Timeout) => {}
                Err(RecvTimeoutError::Disconnected) => break,
            }
        }
        self.close(Look::END);
    }

    /// Takes another voice and opens the device anew with its clips. The old one sounds while they are read.
    fn speak(&mut self, lang: &str, own: &Path) {
        let (pack, _told_by_others) = Pack::with_own(own, lang);
        if self.pack.hash() != pack.hash() {
            self.pack = pack;
            self.banks.clear();
            let hz = lock(&self.shared.link).hz();
            if hz > 0 {
                // What is wrong with it is said where the device opens with it.
                drop(self.bank(hz));
            }
            self.shared.watch(|watch| watch.renew(now()));
        }
    }

    /// Making it takes some tenths of a second; what sounds meanwhile is not held up.
    fn play_trial(&self, id: CueId, stimulus: Stimulus) {
        let hz = lock(&self.shared.link).hz();
        let sound = trial::made(&self.pack, stimulus, hz);
        lock(&self.shared.link).play_trial(id, sound, hz);
    }

    fn play_recording(&self, id: CueId, recording: Recording) {
        let hz = lock(&self.shared.link).hz();
        let sound = trial::at_device(recording, hz);
        lock(&self.shared.link).play_trial(id, sound, hz);
    }

    /// The noise is in every bank that there is, and from now on in each that is made.
    fn make_noise(&mut self) {
        self.has_noise = true;
        for bank in &self.banks {
            bank.make_noise();
        }
    }

    /// Closes what is to be open no more.
    fn close(&mut self, look: Look) {
        let closed = self.streams.look(look);
        if look.is_waiting {
            let link = &mut lock(&self.shared.link);
            let heard = self.shared.gauge.heard(link.hz());
            link.disconnect(heard);
            *lock(&self.shared.output) = None;
        }
        drop(closed.here);
        if let Some(left) = closed.beside {
            close_beside(left);
        }
        if look.is_waiting {
            self.shared.gauge.frames.store(0, Relaxed);
            self.shared.gauge.is_broken.store(false, Relaxed);
        }
    }

    fn open(&mut self) -> Result<(), DeviceError> {
        // What was told of the stream before is done with.
        self.is_carried_off = false;
        let device = Device::find()?;
        let bank = self.bank(device.hz())?;
        let mut ends = None;
        let way = Way::default();
        let stream = device.open(|| {
            let (told, from_control) = RingBuffer::new(ORDERS);
            let (to_control, reports) = RingBuffer::new(REPORTS);
            ends = Some((told, reports));
            let gauge = Arc::clone(&self.shared.gauge);
            let live = Live::new(
                Arc::clone(&bank),
                from_control,
                to_control,
                Arc::clone(&gauge),
            );
            (way.until_given(live), way.until_given(gauge))
        })?;
        self.streams.open(stream, way);
        self.related = Related {
            opened: now(),
            is_so: false,
        };
        if let Some((told, reports)) = ends {
            lock(&self.shared.link).connect(told, reports, device.hz());
        }
        *lock(&self.shared.output) = Some(Output {
            kind: device.kind(),
            hz: device.hz(),
        });
        *lock(&self.shared.refused) = None;
        self.shared.opened.fetch_add(1, Relaxed);
        Ok(())
    }

    fn bank(&mut self, hz: u32) -> Result<Arc<Bank>, DeviceError> {
        if let Some(bank) = self.banks.iter().find(|b| b.hz() == hz) {
            return Ok(Arc::clone(bank));
        }
        let bank = Bank::new(&self.pack, hz).map_err(|e| DeviceError::Refused(e.to_string()))?;
        if self.has_noise {
            bank.make_noise();
        }
        let bank = Arc::new(bank);
        self.banks.push(Arc::clone(&bank));
        Ok(bank)
    }

    /// Finds how far the system's clock is ahead of the stream's: of some readings, the one that
    /// the system held up least.
    fn compare_clocks(&mut self) {
        let Some(stream) = self.streams.opened() else {
            return;
        };
        let best = (0..5)
            .map(|_| {
                let before = clock::uptime_ns();
                let there = stream.now_ns();
                let after = clock::uptime_ns();
                (after.saturating_sub(before), before, there)
            })
            .min();
        if let Some((took, before, there)) = best
            && self.related.takes(took, now())
        {
            self.related.is_so = true;
            let here = signed(before.saturating_add(took / 2));
            lock(&self.shared.link).set_offset(here.saturating_sub(signed(there)));
        }
    }
}

fn signed(ns: u64) -> i64 {
    i64::try_from(ns).unwrap_or(i64::MAX)
}

/// Closes a stream that gave way: an output that is gone may hold up whoever closes it.
fn close_beside(left: Stream) {
    let closing = std::thread::Builder::new().name("sound-close".to_owned());
    // Without a thread it is closed here.
    drop(closing.spawn(move || drop(left)));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slow_comparison_is_better_than_silence() {
        let new = Related {
            opened: Ms(5000),
            is_so: false,
        };
        assert!(new.takes(SLOW_NS - 1, Ms(5000)));
        assert!(!new.takes(SLOW_NS, Ms(5999)));
        assert!(new.takes(SLOW_NS, Ms(6000)));
        let known = Related { is_so: true, ..new };
        assert!(
            !known.takes(SLOW_NS, Ms(60_000)),
            "the one it has is better"
        );
    }
}
