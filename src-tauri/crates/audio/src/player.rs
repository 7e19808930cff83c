use std::{
    fmt, io,
    path::PathBuf,
    sync::{
        Arc, Mutex, MutexGuard, PoisonError,
        atomic::{AtomicU64, Ordering::Relaxed},
        mpsc::{self, Sender},
    },
    thread::JoinHandle,
};

use conduct::{Order, Recording, Speaker, Wake, clock};
use cycle::{CueId, Ms, SoundNews};
use listening::{Output, Stimulus};

#[cfg(target_os = "linux")]
use crate::server::{Change, ServerWatch};
use crate::{
    device::DeviceError,
    link::Link,
    live::Gauge,
    pack::Pack,
    supervisor::{SoundState, Supervisor},
};

use count::Count;
use owner::Owner;

mod count;
mod owner;
mod streams;

/// How often news is wanted where nothing wakes the conductor for it.
const NEWS_EVERY: Ms = Ms(300);

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
    count: Count,
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
        let mut owner = Owner::new(Arc::clone(&shared), pack);
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
            .flatten()
        };
        Ok(Self {
            shared,
            owner: Some((wishes, thread)),
            #[cfg(target_os = "linux")]
            server,
            own: PathBuf::new(),
            zero_ms: 0,
            asked: Ms::ZERO,
            count: Count::default(),
        })
    }

    /// Sets the run's zero on the system's clock, [`conduct::Clock::zero_ms`]; before the first
    /// order of a run.
    pub fn set_zero(&mut self, zero_ms: i64) {
        self.zero_ms = zero_ms;
        lock(&self.shared.link).set_zero(zero_ms.saturating_mul(1_000_000));
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
        let link = &mut lock(&self.shared.link);
        of_device
            .or_else(|| link.news(now))
            .or_else(|| self.count.look(now, link, &self.shared.gauge))
    }

    fn count_anew(&mut self, now: Ms) {
        let link = &mut lock(&self.shared.link);
        self.count.anew(now, link, &self.shared.gauge);
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

fn now() -> Ms {
    Ms(clock::uptime_ms())
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
}
