//! The one owner of a run: a named thread that takes what comes, steps the run, and shows it.

use std::{fmt, io, path::PathBuf, sync::Arc, thread, time::Duration};

use cycle::{
    Act, Input, Ms, Run, Seq, Setup,
    fact::{Source, Way},
};
use record::Chain;
use tokio::sync::mpsc::{self, UnboundedReceiver, UnboundedSender};

use crate::{
    Ask, Clock, Durability, FileStore, Heads, House, Keeper, Order, Receipt, RunClock, RunLock,
    Shown, Sink, Speaker, Stage, Store, StoreError, Touch, Writer,
    clock::{WallWatch, uptime_ms},
    house::house_now,
    lock::LockError,
    page_clock::PageClock,
    resume,
    showing::Showing,
};

/// Never asleep longer: timers stop while a phone sleeps, and the sound is looked after here.
const LONGEST_SLEEP_MS: u64 = 1000;
/// Waking so much later than asked is a gap of its own.
const GAP_MS: u64 = 2000;
/// A run is taken up again by itself if it was left less than this ago.
const RESUME_WITHIN_MS: u64 = 5 * 60 * 1000;

/// What a conductor is made of.
pub struct Parts {
    /// Where records lie.
    pub folder: PathBuf,
    /// The sound.
    pub speaker: Box<dyn Speaker>,
    /// The numbers in force, and the clips.
    pub setup: Setup,
    /// What a record's header says of app and pack; each run gets an id of its own.
    pub heads: Heads,
    /// Faults of the pack, in words.
    pub faults: Vec<String>,
    /// Called with what is to be shown, on the conductor's thread. Must not wait.
    pub show: Box<dyn FnMut(Shown) + Send>,
}

impl fmt::Debug for Parts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Parts")
            .field("folder", &self.folder)
            .finish_non_exhaustive()
    }
}

/// Why a conductor cannot start.
#[derive(Debug)]
pub enum StartError {
    /// Another one holds the folder.
    Lock(LockError),
    /// No thread could be had.
    Thread(io::Error),
}

impl fmt::Display for StartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Lock(e) => e.fmt(f),
            Self::Thread(e) => write!(f, "no thread for the run: {e}; close other programs"),
        }
    }
}

impl std::error::Error for StartError {}

/// The page's end of a conductor.
#[derive(Clone, Debug)]
pub struct Handle {
    asks: UnboundedSender<Arrived>,
}

#[derive(Debug)]
struct Arrived {
    at_ms: u64,
    ask: Ask,
}

impl Handle {
    /// Passes a request on. Its arrival is stamped here, on the caller's thread.
    pub fn ask(&self, ask: Ask) {
        // A conductor that is gone takes no requests; the process is ending.
        drop(self.asks.send(Arrived {
            at_ms: uptime_ms(),
            ask,
        }));
    }
}

/// Starts the conductor on a thread of its own.
///
/// # Errors
/// [`StartError`] if another conductor holds the folder, or no thread can be had. A folder that
/// cannot be written is no error here: the run goes on and says that it is not saved.
pub fn start(parts: Parts) -> Result<Handle, StartError> {
    let store = FileStore::open(&parts.folder);
    let lock = match RunLock::take(&parts.folder) {
        Ok(lock) => Some(lock),
        Err(e @ LockError::Held { .. }) => return Err(StartError::Lock(e)),
        Err(_) => None,
    };
    let (asks, inbox) = mpsc::unbounded_channel();
    thread::Builder::new()
        .name("conductor".to_owned())
        .spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread()
                .enable_time()
                .build();
            if let Ok(runtime) = runtime {
                runtime.block_on(Conductor::new(parts, store, lock).live(inbox));
            }
        })
        .map_err(StartError::Thread)?;
    Ok(Handle { asks })
}

struct Conductor {
    parts: Parts,
    _lock: Option<RunLock>,
    live: Option<Live>,
    page: PageClock,
    showing: Showing,
    receipts: UnboundedSender<Receipt>,
    receipts_in: UnboundedReceiver<Receipt>,
}

/// A run under way, or one that has ended and is still shown.
struct Live {
    stage: Stage,
    clock: Arc<dyn Clock>,
    last: Ms,
    sealed: bool,
    wall: WallWatch,
}

impl Conductor {
    fn new(parts: Parts, store: Result<FileStore, StoreError>, lock: Option<RunLock>) -> Self {
        let (receipts, receipts_in) = mpsc::unbounded_channel();
        let mut showing = Showing::new(&parts.setup, parts.faults.clone());
        if let Err(error) = store {
            showing.receipt(Receipt::NotSaving { error });
        }
        let page = PageClock::default();
        Self {
            parts,
            _lock: lock,
            live: None,
            page,
            showing,
            receipts,
            receipts_in,
        }
    }

    async fn live(mut self, mut inbox: UnboundedReceiver<Arrived>) {
        self.resume();
        self.show();
        loop {
            let sleep = tokio::time::sleep(Duration::from_millis(self.sleep_ms()));
            tokio::select! {
                biased;
                arrived = inbox.recv() => match arrived {
                    Some(arrived) => self.asked(arrived),
                    None => break,
                },
                receipt = self.receipts_in.recv() => {
                    if let Some(receipt) = receipt {
                        self.showing.receipt(receipt);
                    }
                }
                () = sleep => {}
            }
            self.wake();
            self.show();
        }
        self.parts
            .speaker
            .order(house_now(uptime_ms()), Order::Rest);
    }

    fn sleep_ms(&self) -> u64 {
        let mut ms = LONGEST_SLEEP_MS;
        if let Some(live) = &self.live {
            let now = live.clock.now();
            if let Some(at) = live.stage.next_wakeup() {
                ms = ms.min(at.since(now).0);
            }
        }
        let house = house_now(uptime_ms());
        if let Some(at) = self.parts.speaker.next_wakeup() {
            ms = ms.min(at.since(house).0.max(20));
        }
        ms.min(self.showing.wake_in_ms(uptime_ms()))
    }

    /// What time alone brings: the sound's news, the rules' own moments, a gap.
    fn wake(&mut self) {
        let speaker = self.parts.speaker.as_mut();
        let Some(live) = &mut self.live else {
            let house = house_now(uptime_ms());
            while let Some(news) = speaker.news(house) {
                self.showing.idle_news(news);
            }
            return;
        };
        let now = live.clock.now().max(live.last);
        let late = now.since(live.last).0;
        if late > GAP_MS && live.stage.run().is_live() {
            live.stage.step(speaker, now, Input::Gap { ms: late });
        }
        live.last = now;
        if live.stage.run().is_live()
            && let Some(delta_ms) = live.wall.look(live.clock.as_ref())
        {
            live.stage.step(speaker, now, Input::WallJump { delta_ms });
        }
        live.stage.hear(speaker, now);
        live.stage.step(speaker, now, Input::Wake);
        if live.stage.run().is_over() && !live.sealed {
            live.sealed = true;
            live.stage.seal(now);
        }
    }

    fn asked(&mut self, arrived: Arrived) {
        let Arrived { at_ms, ask } = arrived;
        match ask {
            Ask::Press { act, touch } => self.press(act, touch, at_ms),
            Ask::Undo { touch } => {
                let dated = self.page.date(touch, at_ms);
                self.step(dated.taken, |_| vec![Input::Undo]);
            }
            Ask::EndHeld => self.step(Ms(at_ms), |_| vec![Input::EndHeld]),
            Ask::TouchesIgnored { n, why } => {
                self.step(Ms(at_ms), |_| {
                    vec![Input::Touches {
                        n,
                        why: why.clone(),
                    }]
                });
            }
            Ask::PageClock { sent_ms } => self.page.heard(sent_ms, at_ms),
            Ask::PutAway => {
                if self.live.as_ref().is_some_and(|l| !l.stage.run().is_live()) {
                    self.live = None;
                    self.showing = Showing::new(&self.parts.setup, self.parts.faults.clone());
                }
            }
        }
    }

    fn press(&mut self, act: Act, touch: Touch, at_ms: u64) {
        let dated = self.page.date(touch, at_ms);
        if self.live.is_none() {
            if act != Act::StartByHand {
                return;
            }
            self.begin(dated.down);
        }
        self.step(dated.taken, |live| {
            let zero = live.clock.zero_ms();
            let at = Ms(dated.down.0.saturating_add_signed(zero.saturating_neg()));
            act.marks()
                .into_iter()
                .map(|mark| Input::Mark {
                    at,
                    mark,
                    src: Source::Button,
                })
                .collect()
        });
    }

    /// Steps the run with what a touch means, at the moment it was taken on the monotonic clock.
    fn step(&mut self, taken_mono: Ms, inputs: impl FnOnce(&Live) -> Vec<Input>) {
        let Some(live) = &mut self.live else { return };
        let zero = live.clock.zero_ms();
        let taken = Ms(taken_mono.0.saturating_add_signed(zero.saturating_neg()));
        let now = taken.max(live.last).min(live.clock.now().max(live.last));
        live.last = now;
        for input in inputs(live) {
            live.stage.step(self.parts.speaker.as_mut(), now, input);
        }
    }

    /// A new run whose zero is the moment the finger went down.
    fn begin(&mut self, down_mono: Ms) {
        let back = Ms(uptime_ms()).since(down_mono);
        let clock: Arc<dyn Clock> = Arc::new(RunClock::begin(back));
        let heads = Heads {
            record_id: uuid::Uuid::new_v4().to_string(),
            ..self.parts.heads.clone()
        };
        let stamp = clock.stamp(Ms::ZERO, 0);
        let (chain, opening) = match heads.open(&self.parts.setup, &stamp) {
            Ok(opened) => opened,
            Err(error) => {
                self.showing.fault(error.to_string());
                (Chain::new(), Vec::new())
            }
        };
        self.showing = Showing::new(&self.parts.setup, self.parts.faults.clone());
        let keeper = self.keeper(heads.record_id, true, &opening);
        let house = House::of(clock.as_ref());
        let mut stage = Stage::begin(
            self.parts.setup.clone(),
            chain,
            Arc::clone(&clock),
            house,
            keeper,
        );
        let last = Ms::ZERO;
        stage.step(self.parts.speaker.as_mut(), last, Input::Start(Way::Hand));
        self.live = Some(Live {
            stage,
            clock,
            last,
            sealed: false,
            wall: WallWatch::default(),
        });
    }

    /// Takes up a run that was left by a kill a short while ago.
    fn resume(&mut self) {
        let found = FileStore::open(&self.parts.folder).and_then(|store| store.last_unfinished());
        let Some(last) = found.ok().and_then(|last| last.found) else {
            return;
        };
        let (record_id, opened) = *last;
        let boot = RunClock::begin(Ms::ZERO).boot().to_owned();
        let Ok(plan) = resume::plan(opened, &boot) else {
            return;
        };
        let clock = RunClock::resume(&plan.base, &plan.last, plan.gap_from);
        let now = clock.now().max(plan.gap_from);
        if now.since(plan.gap_from).0 > RESUME_WITHIN_MS {
            return;
        }
        let Ok(protocol) = cycle::Protocol::parse(plan.protocol.as_bytes()) else {
            return;
        };
        let setup = Setup {
            protocol,
            clips: plan.clips,
            class: plan.class,
        };
        let Ok(run) = Run::replay(setup, &plan.entries) else {
            return;
        };
        if !run.is_live() {
            return;
        }
        let clock: Arc<dyn Clock> = Arc::new(clock);
        let keeper = self.keeper(record_id, false, plan.opening);
        let house = House::of(clock.as_ref());
        let mut stage = Stage::resumed(
            run,
            plan.chain,
            Arc::clone(&clock),
            house,
            keeper,
            plan.proc,
        );
        let input = Input::Recovered {
            from_seq: plan.gap_from_seq,
            from: plan.gap_from,
            bad_bytes: plan.bad_bytes,
        };
        stage.step(self.parts.speaker.as_mut(), now, input);
        self.live = Some(Live {
            stage,
            clock,
            last: now,
            sealed: false,
            wall: WallWatch::default(),
        });
    }

    fn keeper(&mut self, record_id: String, is_new: bool, opening: &[u8]) -> Box<dyn Keeper> {
        let writer = FileStore::open(&self.parts.folder).and_then(|store| {
            let sink = Box::new(Lazy {
                store,
                record_id,
                is_new,
                sink: None,
            });
            Writer::start(sink, &self.parts.folder, opening, self.receipts.clone())
        });
        match writer {
            Ok(writer) => Box::new(Kept(writer)),
            Err(error) => {
                self.showing.receipt(Receipt::NotSaving { error });
                Box::new(Nowhere)
            }
        }
    }

    fn show(&mut self) {
        let mono = uptime_ms();
        let shown = match &mut self.live {
            Some(live) => self
                .showing
                .run(&mut live.stage, live.clock.now().max(live.last), mono),
            None => self.showing.idle(mono),
        };
        if let Some(shown) = shown {
            (self.parts.show)(shown);
        }
    }
}

#[derive(Debug)]
struct Kept(Writer);

impl Keeper for Kept {
    fn keep(&mut self, line: Vec<u8>, through: Seq, durability: Durability) {
        self.0.append(line, through, durability);
    }
}

/// No writer could be started; the screen says so already.
#[derive(Debug)]
struct Nowhere;

impl Keeper for Nowhere {
    fn keep(&mut self, _line: Vec<u8>, _through: Seq, _durability: Durability) {}
}

/// Opens the file on the writer's thread, so that a start never waits for the disk.
#[derive(Debug)]
struct Lazy {
    store: FileStore,
    record_id: String,
    is_new: bool,
    sink: Option<Box<dyn Sink>>,
}

impl Lazy {
    fn sink(&mut self) -> io::Result<&mut Box<dyn Sink>> {
        if self.sink.is_none() {
            let opened = if self.is_new {
                self.store.create(&self.record_id)
            } else {
                self.store.reopen(&self.record_id)
            };
            self.sink = Some(opened.map_err(|e| io_error(&e))?);
        }
        self.sink
            .as_mut()
            .ok_or_else(|| io::Error::other("no file"))
    }
}

impl Sink for Lazy {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.sink()?.write(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.sink()?.sync()
    }
}

fn io_error(error: &StoreError) -> io::Error {
    let kind = match error {
        StoreError::NotAFolder { .. } => io::ErrorKind::NotADirectory,
        StoreError::ReadOnly { .. } => io::ErrorKind::ReadOnlyFilesystem,
        StoreError::Denied { .. } => io::ErrorKind::PermissionDenied,
        StoreError::Full { .. } => io::ErrorKind::StorageFull,
        StoreError::Exists { .. } => io::ErrorKind::AlreadyExists,
        StoreError::Missing { .. } => io::ErrorKind::NotFound,
        StoreError::Name { .. } | StoreError::TooLarge { .. } | StoreError::Other { .. } => {
            io::ErrorKind::Other
        }
    };
    io::Error::new(kind, error.to_string())
}
