//! The one owner of a run: a named thread that takes what comes, steps the run, and shows it.

use std::{
    fmt, io,
    panic::{AssertUnwindSafe, catch_unwind},
    path::PathBuf,
    sync::Arc,
    thread::{self, JoinHandle},
    time::Duration,
};

use ::listening::Test;
use cycle::{Input, Ms, Run, Setup, SoundNews, fact::Way};
use record::Chain;
use tokio::sync::{
    Notify,
    mpsc::{self, UnboundedReceiver, UnboundedSender},
};

use crate::{
    Ask, Clock, FileStore, Heads, House, Keeper, Order, Phone, Receipt, RunClock, RunLock, Shown,
    Speaker, Stage, Store, StoreError, Voice,
    clock::{WallWatch, uptime_ms},
    house::house_now,
    keeping::Keeping,
    lock::LockError,
    page_clock::PageClock,
    phone::watch::Watch,
    resume,
    settings::{Feel, Theme},
    showing::Showing,
    stage::text_of,
};

mod again;
mod asked;
mod drill;
mod kept;
mod listening;
mod live;
mod phone;

use live::Live;

/// Never asleep longer: timers stop while a phone sleeps, and the sound is looked after here.
const LONGEST_SLEEP_MS: u64 = 1000;
/// So long after the end the seal is written, sooner if the run is put away: until then an end by mistake
/// can be taken back, and the sounds that answer it are told. No source; the beat that has stopped is
/// missed within seconds.
pub const SEAL_AFTER_MS: u64 = 60_000;
/// A run that was left longer ago than this is nobody's any more: the start card is shown. Any other is
/// taken up, and where the gap is long the card asks whose run it is. Source: common practice, no
/// source; longer than any resuscitation, shorter than the way from one shift to the next.
pub(crate) const RESUME_WITHIN: Ms = Ms(6 * 60 * 60 * 1000);

/// What a conductor is made of.
pub struct Parts {
    /// Where records lie.
    pub folder: PathBuf,
    /// The sound.
    pub speaker: Box<dyn Speaker>,
    /// What the app runs on.
    pub phone: Box<dyn Phone>,
    /// The numbers that were set, and the clips.
    pub setup: Setup,
    /// What a record's header says of app and pack; each run gets an id of its own.
    pub heads: Heads,
    /// Faults of the pack, in words.
    pub faults: Vec<String>,
    /// Why another language or voice is not in force; not said any more once one is chosen.
    pub remarks: Vec<String>,
    /// What else is wrong before a run: settings, protocol files.
    pub other_faults: Vec<String>,
    /// How loud beats, breath tones and voice are, where a run does not say otherwise.
    pub levels: cycle::Levels,
    /// How long after its end a run is sealed, see [`SEAL_AFTER_MS`].
    pub seal_after: Ms,
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
    ask: Asked,
}

#[derive(Debug)]
enum Asked {
    Page(Ask),
    Close(std::sync::mpsc::Sender<()>),
}

impl Handle {
    /// Passes a request on. Its arrival is stamped here, on the caller's thread.
    pub fn ask(&self, ask: Ask) {
        // A conductor that is gone takes no requests; the process is ending.
        drop(self.asks.send(Arrived {
            at_ms: uptime_ms(),
            ask: Asked::Page(ask),
        }));
    }

    /// Ends the conductor and waits until everything is on the disk, two seconds at the longest: a
    /// disk that hangs must not hold the process.
    pub fn close(&self) {
        let (done, closed) = std::sync::mpsc::channel();
        let close = Arrived {
            at_ms: uptime_ms(),
            ask: Asked::Close(done),
        };
        if self.asks.send(close).is_ok() {
            closed
                .recv_timeout(Duration::from_secs(2))
                .unwrap_or_default();
        }
    }
}

/// Starts the conductor on a thread of its own.
///
/// # Errors
/// [`StartError`] if another conductor holds the folder, or no thread can be had. A folder that
/// cannot be written is no error here: the run goes on and says that it is not saved.
pub fn start(parts: Parts) -> Result<Handle, StartError> {
    let store = FileStore::at(&parts.folder);
    let made = store.make();
    let lock = match RunLock::take(&parts.folder) {
        Ok(lock) => Some(lock),
        Err(e @ LockError::Held { .. }) => return Err(StartError::Lock(e)),
        Err(_) => None,
    };
    let (asks, inbox) = mpsc::unbounded_channel();
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_time()
        .build()
        .map_err(StartError::Thread)?;
    thread::Builder::new()
        .name("conductor".to_owned())
        .spawn(move || runtime.block_on(Conductor::new(parts, (store, made), lock).live(inbox)))
        .map_err(StartError::Thread)?;
    Ok(Handle { asks })
}

struct Conductor {
    parts: Parts,
    store: FileStore,
    /// What the next run begins with: what was set, with the class that was chosen for it.
    next: Setup,
    _lock: Option<RunLock>,
    live: Option<Live>,
    /// Records that are still being written out: of runs put away, of a drill that is to go on.
    closing: Vec<JoinHandle<()>>,
    /// The record of a drill that is to go on, once it was read. Where none is awaited nobody sends.
    reread: UnboundedReceiver<again::Reread>,
    page: PageClock,
    showing: Showing,
    /// Of the present run's writer; what an earlier one says is of no concern.
    receipts: UnboundedReceiver<Receipt>,
    sound_lost: bool,
    /// What the phone said last, and what was wished of it.
    watch: Watch,
    feel: Feel,
    theme: Theme,
    /// House time at which the sounds of the ready check fall silent.
    listening: Option<Ms>,
    /// The listening test.
    test: Option<::listening::Test>,
    /// Its sounds so far: each has a name of its own.
    trials: u32,
    /// The one that the speaker was told of last and that was not taken back.
    trial_told: Option<cycle::CueId>,
    /// A language that was chosen in a run: it waits until that is put away.
    voice: Option<Voice>,
    /// The drill that the next start begins.
    chosen: Option<drill::Chosen>,
    /// The speaker was told to make noise.
    noisy: bool,
}

impl Conductor {
    fn new(
        parts: Parts,
        (store, made): (FileStore, Result<(), StoreError>),
        lock: Option<RunLock>,
    ) -> Self {
        let (_, receipts) = mpsc::unbounded_channel();
        let (_, reread) = mpsc::unbounded_channel();
        let mut showing = Showing::new(&parts);
        if let Err(error) = made {
            showing.receipt(Receipt::NotSaving { error });
        }
        let page = PageClock::default();
        Self {
            next: parts.setup.clone(),
            parts,
            store,
            _lock: lock,
            live: None,
            closing: Vec::new(),
            reread,
            page,
            showing,
            receipts,
            sound_lost: false,
            watch: Watch::default(),
            feel: Feel::default(),
            theme: Theme::default(),
            listening: None,
            test: None,
            trials: 0,
            trial_told: None,
            voice: None,
            chosen: None,
            noisy: false,
        }
    }

    async fn live(mut self, mut inbox: UnboundedReceiver<Arrived>) {
        let woken = Arc::new(Notify::new());
        let bell = Arc::clone(&woken);
        let wake = Arc::new(move || bell.notify_one());
        self.parts.speaker.wake_by(wake);
        self.guarded(Self::resume);
        self.guarded(Self::tend);
        self.guarded(Self::show);
        loop {
            let sleep = tokio::time::sleep(Duration::from_millis(self.sleep_ms()));
            tokio::select! {
                biased;
                arrived = inbox.recv() => match arrived {
                    Some(Arrived { ask: Asked::Close(done), .. }) => {
                        self.close();
                        // Nobody may be waiting any more.
                        done.send(()).unwrap_or_default();
                        return;
                    }
                    Some(Arrived { at_ms, ask: Asked::Page(ask) }) => {
                        self.guarded(|house| house.asked(at_ms, ask));
                    }
                    None => break,
                },
                Some(receipt) = self.receipts.recv() => self.showing.receipt(receipt),
                // Whatever start has come by now was taken before it.
                Some(reread) = self.reread.recv() => self.guarded(|house| house.go_from(reread)),
                // The sound has news: see `Speaker::wake_by`.
                () = woken.notified() => {}
                () = sleep => {}
            }
            self.guarded(Self::wake);
            self.guarded(Self::tell_due);
            self.guarded(Self::tend);
            self.guarded(Self::show);
        }
        self.close();
    }

    /// A fault outside the rules must not end the thread that everything hangs on: the beat would
    /// go on and no touch would be taken.
    fn guarded(&mut self, work: impl FnOnce(&mut Self)) {
        if let Err(fault) = catch_unwind(AssertUnwindSafe(|| work(self))) {
            self.showing.disorder(text_of(fault.as_ref()));
        }
    }

    /// The end of the process: silence, and everything on the disk.
    fn close(&mut self) {
        self.parts
            .speaker
            .order(house_now(uptime_ms()), Order::Rest);
        self.watch.hold(self.parts.phone.as_mut(), None);
        self.watch.screen(self.parts.phone.as_mut(), false);
        if let Some(mut live) = self.live.take()
            && live.stage.is_over()
        {
            live.stage.seal(live.last);
        }
        // Dropping the run closed its writer, which writes out what it has; see `Kept`. A run that was put
        // away just now is waited for as well.
        for closing in self.closing.drain(..) {
            drop(closing.join());
        }
    }

    fn sleep_ms(&self) -> u64 {
        let mut ms = LONGEST_SLEEP_MS;
        if let Some(live) = &self.live {
            let now = live.clock.now();
            let cue = live.drill.as_ref().and_then(drill::Drilling::next_wakeup);
            // Of a record that is closed nothing is due any more.
            let step = live.stage.next_wakeup().filter(|_| !live.stage.is_sealed());
            for at in [step, cue].into_iter().flatten() {
                ms = ms.min(at.since(now).0);
            }
        }
        let house = house_now(uptime_ms());
        if let Some(end) = self.listening {
            ms = ms.min(end.since(house).0.max(20));
        }
        if let Some(at) = self.test.as_ref().and_then(Test::next_wakeup) {
            ms = ms.min(at.since(house).0.max(20));
        }
        if let Some(at) = self.parts.speaker.next_wakeup() {
            ms = ms.min(at.since(house).0.max(20));
        }
        ms.min(self.tend_in_ms())
            .min(self.showing.wake_in_ms(uptime_ms()))
    }

    /// What time alone brings: the sound's news, the rules' own moments, a gap, the seal.
    fn wake(&mut self) {
        self.page.awake(uptime_ms());
        let Some(live) = &mut self.live else {
            let house = house_now(uptime_ms());
            if self.listening.is_some_and(|end| house >= end) {
                self.hush();
            }
            self.forget_drill(Ms(uptime_ms()));
            while let Some(news) = self.parts.speaker.news(house) {
                self.test_hears(news);
                match news {
                    SoundNews::Lost => self.sound_lost = true,
                    SoundNews::Back => self.sound_lost = false,
                    SoundNews::Started { .. }
                    | SoundNews::Late { .. }
                    | SoundNews::Cut { .. }
                    | SoundNews::Count { .. } => {}
                }
            }
            if let Some(test) = &mut self.test {
                test.tick(house);
            }
            return;
        };
        let speaker = self.parts.speaker.as_mut();
        let now = live.advance(speaker, live.clock.now());
        if live.stage.is_live()
            && let Some(delta_ms) = live.wall.look(live.clock.as_ref())
        {
            live.stage.step(speaker, now, Input::WallJump { delta_ms });
        }
        live.stage.hear(speaker, now);
        live.stage.step(speaker, now, Input::Wake);
        self.sound_lost = live.stage.is_sound_lost();
        if live.stage.is_over() {
            let ended = *live.ended.get_or_insert(now);
            if now.since(ended) >= self.parts.seal_after {
                live.stage.seal(now);
            }
        } else {
            // It may have been taken back.
            live.ended = None;
        }
    }

    /// Steps the run with what a touch means, at the moment it was taken on the monotonic clock.
    fn step(&mut self, taken_mono: Ms, inputs: impl FnOnce(&Live) -> Vec<Input>) {
        let Some(live) = &mut self.live else { return };
        let speaker = self.parts.speaker.as_mut();
        let zero = live.clock.zero_ms();
        let taken = Ms(taken_mono.0.saturating_add_signed(zero.saturating_neg()));
        let now = live.advance(speaker, taken.min(live.clock.now()));
        for input in inputs(live) {
            live.stage.step(speaker, now, input);
        }
    }

    /// A new run whose zero is the moment the finger went down. Nothing here looks at the disk.
    fn begin(&mut self, down_mono: Ms, way: Way) {
        self.hush();
        self.break_test();
        let clock: Arc<dyn Clock> = Arc::new(RunClock::begun(down_mono));
        let heads = Heads {
            record_id: uuid::Uuid::new_v4().to_string(),
            ..self.parts.heads.clone()
        };
        let (heads, drill) = self.begin_drill(heads, down_mono);
        let stamp = clock.stamp(Ms::ZERO, 0);
        let mut setup = self.next.clone();
        let opened = heads.open_at_least(&mut setup, &stamp);
        self.showing.begin(&setup, heads.record_id.clone());
        for error in opened.faults {
            self.showing.disorder(error.to_string());
        }
        let (chain, opening) = opened.lines.unwrap_or_else(|| (Chain::new(), Vec::new()));
        let keeper = self.keeper(heads.record_id, true, &opening);
        let house = House::of(clock.as_ref());
        let mut stage = Stage::begin(setup, chain, Arc::clone(&clock), house, keeper);
        let last = Ms::ZERO;
        let speaker = self.parts.speaker.as_mut();
        speaker.count_anew(house_now(uptime_ms()));
        stage.step(speaker, last, Input::Start(way));
        stage.step(speaker, last, Input::Levels(self.parts.levels));
        if let Some(drill) = &drill {
            stage.step(speaker, last, drill.begun());
        }
        if self.sound_lost {
            stage.lost(speaker, last);
        }
        self.live = Some(Live {
            stage,
            clock,
            last,
            ended: None,
            wall: WallWatch::default(),
            drill,
        });
    }

    /// Takes up a run that was left by a kill a short while ago. What cannot be taken up is said.
    fn resume(&mut self) {
        // A run whose deletion broke off is not one to go on with.
        if let Err(error) = Keeping::at(&self.parts.folder).finish() {
            self.showing.lasting(error.to_string());
        }
        let last = match self
            .store
            .make()
            .and_then(|()| self.store.last_unfinished())
        {
            Ok(last) => last,
            Err(error) => return self.showing.lasting(error.to_string()),
        };
        for (record_id, why) in &last.passed_over {
            self.showing.lasting(format!("{record_id}: {why}"));
        }
        let Some(found) = last.found else { return };
        let (record_id, opened) = *found;
        if let Err(why) = self.take_up(&record_id, opened) {
            self.showing.lasting(format!("{record_id}: {why}"));
        }
    }

    fn take_up(&mut self, record_id: &str, opened: record::Opened) -> Result<(), String> {
        let boot = RunClock::begin(Ms::ZERO).boot().to_owned();
        let drill = Self::drill_of(&opened.header, &::drill::told(&opened));
        let plan = resume::plan(opened, &boot).map_err(|e| e.to_string())?;
        let clock = RunClock::resume(&plan.base, &plan.last, plan.gap_from);
        let now = clock.now().max(plan.gap_from);
        let setup = plan.setup().map_err(|faults| {
            faults
                .iter()
                .map(ToString::to_string)
                .collect::<Vec<_>>()
                .join("; ")
        })?;
        let run = Run::replay(setup, &plan.entries).map_err(|e| e.to_string())?;
        let is_over = run.is_over();
        // It stays as it is, and the start card is shown.
        if !is_over && (!run.is_live() || now.since(plan.gap_from) > RESUME_WITHIN) {
            return Ok(());
        }
        let clock: Arc<dyn Clock> = Arc::new(clock);
        if !is_over {
            self.showing.begin(run.setup(), record_id.to_owned());
        }
        let keeper = self.keeper(record_id.to_owned(), false, plan.opening);
        let house = House::of(clock.as_ref());
        let mut stage = Stage::resumed(
            run,
            plan.chain,
            Arc::clone(&clock),
            house,
            keeper,
            plan.proc,
        );
        if is_over {
            // It was killed between its end and its seal.
            stage.seal(now);
            return Ok(());
        }
        let input = Input::Recovered {
            from_seq: plan.gap_from_seq,
            from: plan.gap_from,
            bad_bytes: plan.bad_bytes,
        };
        let speaker = self.parts.speaker.as_mut();
        speaker.count_anew(house_now(uptime_ms()));
        stage.step(speaker, now, input);
        self.live = Some(Live {
            stage,
            clock,
            last: now,
            ended: None,
            wall: WallWatch::default(),
            drill,
        });
        self.tell_known(Ms(uptime_ms()));
        Ok(())
    }

    fn keeper(&mut self, record_id: String, is_new: bool, opening: &[u8]) -> Box<dyn Keeper> {
        let (to_us, receipts) = mpsc::unbounded_channel();
        self.receipts = receipts;
        match kept::keeper(&self.store, record_id, is_new, opening, to_us) {
            Ok(kept) => Box::new(kept),
            Err(error) => {
                self.showing.receipt(Receipt::NotSaving { error });
                Box::new(kept::Nowhere)
            }
        }
    }

    fn show(&mut self) {
        let mono = uptime_ms();
        self.showing.listening(self.test_progress());
        self.showing.drill(self.drill_shown());
        let why = || self.parts.speaker.why_silent().unwrap_or_default();
        self.showing.silent(self.sound_lost.then(why));
        let around = self.watch.surroundings();
        let colours = self.colours(mono);
        self.showing.phone(around.locked, colours);
        let shown = match &mut self.live {
            Some(live) => self
                .showing
                .run(&mut live.stage, live.clock.now().max(live.last), mono),
            None => self.showing.idle(self.sound_lost, around, mono),
        };
        if let Some(shown) = shown {
            (self.parts.show)(shown);
        }
    }
}

#[cfg(test)]
mod faked;
#[cfg(test)]
mod power_cut;
#[cfg(test)]
mod woken;
