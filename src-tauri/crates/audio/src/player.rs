use std::{
    fmt, io,
    panic::{AssertUnwindSafe, catch_unwind},
    path::{Path, PathBuf},
    sync::{
        Arc, Mutex, MutexGuard, PoisonError,
        atomic::{AtomicU64, Ordering::Relaxed},
        mpsc::{self, Receiver, RecvTimeoutError, Sender},
    },
    thread::JoinHandle,
    time::Duration,
};

use conduct::{Order, Recording, Speaker, Wake, clock};
use cycle::{CueId, Ms, SoundNews};
use listening::{Output, Stimulus};
use rtrb::RingBuffer;

#[cfg(target_os = "linux")]
use crate::server::{Change, ServerWatch};
use crate::{
    bank::Bank,
    device::{Device, DeviceError, Stream},
    leaving::Way,
    link::Link,
    live::{Gauge, Live},
    pack::Pack,
    supervisor::{SoundState, Step, Supervisor},
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
/// How often news is wanted where nothing wakes the conductor for it.
const NEWS_EVERY: Ms = Ms(300);
/// How often the sounds are counted.
const COUNT_EVERY: Ms = Ms(60_000);

/// The speaker of the app: the device's stream, opened again whenever it goes silent.
///
/// Without a device everything goes on: the score is kept and sounds from its place on as soon as
/// there is one, cues are told as left out.
pub struct Player {
    shared: Arc<Shared>,
    owner: Option<(Arc<Sender<Wish>>, JoinHandle<()>)>,
    /// Without it a stream that the sound server has moved is followed by its stamps alone.
    #[cfg(target_os = "linux")]
    server: Option<ServerWatch>,
    own: PathBuf,
    zero_ms: i64,
    asked: Ms,
    counted: Ms,
    underruns: u64,
    frames: u64,
}

/// What the owner of the stream is asked for; a closed channel ends it.
enum Wish {
    Reopen,
    /// The sound server has the stream elsewhere.
    #[cfg(target_os = "linux")]
    Follow(Change),
    /// The voice of a language, of the service's own folder if it has one there.
    Speak(String, PathBuf),
    /// A sound of the listening test.
    Trial(CueId, Stimulus),
    /// A recording.
    Recording(CueId, Recording),
    /// The noise of a drill.
    Noise,
}

struct Shared {
    link: Mutex<Link>,
    gauge: Arc<Gauge>,
    /// Held for moments only, never while the device opens or closes.
    watch: Mutex<Supervisor>,
    /// Wakes whoever asks for the news.
    wake: Mutex<Option<Wake>>,
    refused: Mutex<Option<DeviceError>>,
    /// Of the open stream.
    output: Mutex<Option<Output>>,
    opened: AtomicU64,
}

impl Shared {
    fn new() -> Self {
        Self {
            link: Mutex::default(),
            gauge: Arc::default(),
            watch: Mutex::new(Supervisor::new(now())),
            wake: Mutex::default(),
            refused: Mutex::default(),
            output: Mutex::default(),
            opened: AtomicU64::default(),
        }
    }

    /// Works on the watch, and wakes whoever is to hear what came of it. Not called on the audio thread.
    fn watch<T>(&self, work: impl FnOnce(&mut Supervisor) -> T) -> T {
        let (done, has_news) = {
            let mut watch = lock(&self.watch);
            let done = work(&mut watch);
            (done, watch.has_news())
        };
        if has_news {
            let wake = lock(&self.wake).clone();
            if let Some(wake) = wake {
                wake();
            }
        }
        done
    }
}

/// How the sound stands, for measurements and tests.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Health {
    /// Whether it plays.
    pub state: SoundState,
    /// Streams opened so far.
    pub opened: u64,
    /// Frames of the open stream.
    pub frames: u64,
    /// Underruns that the device has reported.
    pub underruns: u64,
    /// Losses that were corrected.
    pub jumps: u64,
    /// The last of them, ns; positive where time was lost.
    pub last_jump_ns: i64,
    /// Slope between the clocks, ppm.
    pub ppm: i64,
    /// From run time to the moment it is heard, ns, as the device says.
    pub latency_ns: i64,
}

impl Player {
    /// Opens the default device in the background, with these clips.
    ///
    /// # Errors
    /// The system refuses a thread.
    pub fn open(pack: Pack) -> io::Result<Self> {
        let shared = Arc::new(Shared::new());
        let (wishes, inbox) = mpsc::channel();
        let mut owner = Owner {
            shared: Arc::clone(&shared),
            pack,
            banks: Vec::new(),
            stream: None,
            leaving: None,
            is_carried_off: false,
            related: Related::default(),
            has_noise: false,
        };
        let thread = std::thread::Builder::new()
            .name("sound".to_owned())
            .spawn(move || owner.guarded(&inbox))?;
        let wishes = Arc::new(wishes);
        #[cfg(target_os = "linux")]
        let server = {
            // The owner ends with its last wisher, which must not be a thread that waits for the server.
            let wishes = Arc::downgrade(&wishes);
            ServerWatch::start(move |change| {
                if let Some(wishes) = wishes.upgrade() {
                    wishes.send(Wish::Follow(change)).unwrap_or_default();
                }
            })
            .ok()
        };
        Ok(Self {
            shared,
            owner: Some((wishes, thread)),
            #[cfg(target_os = "linux")]
            server,
            own: PathBuf::new(),
            zero_ms: 0,
            asked: Ms::ZERO,
            counted: Ms::ZERO,
            underruns: 0,
            frames: 0,
        })
    }

    /// Sets the run's zero on the system's clock, [`conduct::Clock::zero_ms`]; before the first
    /// order of a run.
    pub fn set_zero(&mut self, zero_ms: i64) {
        self.zero_ms = zero_ms;
        lock(&self.shared.link).set_zero(zero_ms.saturating_mul(1_000_000));
        self.counted = Ms::ZERO;
    }

    /// Where a service's own recordings lie, for when another language is spoken; see [`Pack::with_own`].
    pub fn set_own(&mut self, voices: PathBuf) {
        self.own = voices;
    }

    /// Opens the present default device anew, soon: the system says that the route has changed. News of that in a row
    /// are one.
    pub fn reopen(&mut self) {
        if let Some((wishes, _)) = &self.owner {
            // Fails only if the owner is gone, and with it the stream.
            wishes.send(Wish::Reopen).unwrap_or_default();
        }
    }

    /// How the sound stands.
    pub fn health(&self) -> Health {
        let gauge = &self.shared.gauge;
        Health {
            state: lock(&self.shared.watch).sound(),
            opened: self.shared.opened.load(Relaxed),
            frames: gauge.frames.load(Relaxed),
            underruns: gauge.underruns.load(Relaxed),
            jumps: gauge.jumps.load(Relaxed),
            last_jump_ns: gauge.last_jump_ns.load(Relaxed),
            ppm: gauge.ppm.load(Relaxed),
            latency_ns: gauge.latency_ns.load(Relaxed),
        }
    }

    fn count(&mut self, now: Ms) -> Option<SoundNews> {
        if now.since(self.counted) < COUNT_EVERY {
            return None;
        }
        self.counted = now;
        let health = self.health();
        let frames = if health.frames < self.frames {
            health.frames
        } else {
            health.frames.saturating_sub(self.frames)
        };
        let underruns = health.underruns.saturating_sub(self.underruns);
        self.frames = health.frames;
        self.underruns = health.underruns;
        Some(SoundNews::Count {
            beats: lock(&self.shared.link).take_beats(),
            frames,
            underruns,
        })
    }
}

impl Speaker for Player {
    fn order(&mut self, now: Ms, order: Order) {
        lock(&self.shared.link).order(now, order);
        if order == Order::Noise(true)
            && let Some((wishes, _)) = &self.owner
        {
            // Fails only if the owner is gone, and with it the stream.
            wishes.send(Wish::Noise).unwrap_or_default();
        }
    }

    fn news(&mut self, now: Ms) -> Option<SoundNews> {
        self.asked = now;
        let of_device = {
            let mut watch = lock(&self.shared.watch);
            watch.look(self::now());
            watch.news()
        };
        of_device
            .or_else(|| lock(&self.shared.link).news(now))
            .or_else(|| self.count(now))
    }

    fn next_wakeup(&self) -> Option<Ms> {
        let regular = self.asked.plus(NEWS_EVERY);
        let cue = lock(&self.shared.link).next_cue();
        // A cue is told as begun soon after its moment; not at a moment that is already past.
        let cue = cue.map(|at| at.plus(Ms(30)).max(self.asked.plus(Ms(20))));
        // The owner of the stream may be stuck in the device's library: then it is told here that nothing is heard.
        let overdue = lock(&self.shared.watch).overdue_at();
        let overdue =
            overdue.map(|at| Ms(at.0.saturating_add_signed(self.zero_ms.saturating_neg())));
        [cue, overdue].into_iter().flatten().chain([regular]).min()
    }

    fn wake_by(&mut self, wake: Wake) {
        *lock(&self.shared.wake) = Some(wake);
    }

    fn speak(&mut self, lang: &str) {
        if let Some((wishes, _)) = &self.owner {
            // Fails only if the owner is gone, and with it the stream.
            wishes
                .send(Wish::Speak(lang.to_owned(), self.own.clone()))
                .unwrap_or_default();
        }
    }

    fn rerouted(&mut self) {
        self.reopen();
    }

    fn trial(&mut self, _now: Ms, id: CueId, stimulus: Stimulus) {
        lock(&self.shared.link).want_trial(id);
        if let Some((wishes, _)) = &self.owner {
            // Fails only if the owner is gone, and with it the stream.
            wishes.send(Wish::Trial(id, stimulus)).unwrap_or_default();
        }
    }

    fn recording(&mut self, _now: Ms, id: CueId, recording: Recording) {
        lock(&self.shared.link).want_trial(id);
        if let Some((wishes, _)) = &self.owner {
            // Fails only if the owner is gone, and with it the stream.
            wishes
                .send(Wish::Recording(id, recording))
                .unwrap_or_default();
        }
    }

    fn why_silent(&self) -> Option<String> {
        let sound = lock(&self.shared.watch).sound();
        let refused = lock(&self.shared.refused).clone();
        why(sound, refused).map(|error| error.to_string())
    }

    fn output(&self) -> Option<Output> {
        lock(&self.shared.output).clone()
    }
}

/// Why nothing is heard: `refused` is what the last attempt to open a stream met.
fn why(sound: SoundState, refused: Option<DeviceError>) -> Option<DeviceError> {
    (sound == SoundState::Lost).then(|| refused.unwrap_or(DeviceError::Silent))
}

impl fmt::Debug for Player {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Player")
            .field("health", &self.health())
            .finish_non_exhaustive()
    }
}

impl Drop for Player {
    fn drop(&mut self) {
        #[cfg(target_os = "linux")]
        drop(self.server.take());
        if let Some((wishes, thread)) = self.owner.take() {
            drop(wishes);
            // A thread that panicked has closed its stream all the same.
            thread.join().unwrap_or_default();
        }
    }
}

/// Owns the stream on a thread of its own: opening and closing may take long.
struct Owner {
    shared: Arc<Shared>,
    pack: Pack,
    banks: Vec<Arc<Bank>>,
    stream: Option<(Stream, Way)>,
    /// The one before, until this one plays.
    leaving: Option<Stream>,
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
    /// A panic in a device library must not end the thread that everything sounds through: the stream is
    /// closed, the loss is told, and the device opened anew.
    fn guarded(&mut self, inbox: &Receiver<Wish>) {
        while catch_unwind(AssertUnwindSafe(|| self.run(inbox))).is_err() {
            drop(catch_unwind(AssertUnwindSafe(|| self.close())));
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
            if is_waiting && std::mem::take(&mut self.is_carried_off) {
                self.leave();
            } else if is_waiting {
                self.close();
            }
            if sound == SoundState::Playing {
                self.leaving = None;
            }
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
        self.close();
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

    /// As [`Owner::close`], but that the stream stays open, silent, until the next one plays.
    fn leave(&mut self) {
        let left = self.stream.take();
        if let Some((_, way)) = &left {
            way.give();
        }
        self.close();
        self.leaving = left.map(|(stream, _)| stream);
    }

    fn close(&mut self) {
        lock(&self.shared.link).disconnect();
        *lock(&self.shared.output) = None;
        self.stream = None;
        self.leaving = None;
        self.shared.gauge.frames.store(0, Relaxed);
        self.shared.gauge.is_broken.store(false, Relaxed);
    }

    fn open(&mut self) -> Result<(), DeviceError> {
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
        self.stream = Some((stream, way));
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
        let Some((stream, _)) = &self.stream else {
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

fn now() -> Ms {
    Ms(clock::uptime_ms())
}

fn signed(ns: u64) -> i64 {
    i64::try_from(ns).unwrap_or(i64::MAX)
}

/// What is behind these locks is whole after every statement, so a panic elsewhere spoils nothing.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_loss_has_its_reason_and_what_sounds_has_none() {
        let refused = || Some(DeviceError::None);
        assert_eq!(why(SoundState::Lost, refused()), refused());
        // A stream was opened, and nothing of it is heard.
        assert_eq!(why(SoundState::Lost, None), Some(DeviceError::Silent));
        for sound in [
            SoundState::Opening,
            SoundState::Playing,
            SoundState::Stalled,
        ] {
            assert_eq!(why(sound, refused()), None, "{sound:?}");
        }
    }

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
