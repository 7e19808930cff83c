use std::{
    collections::VecDeque,
    fmt,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use cycle::{CueId, Ms, SoundNews, Start};
use listening::{Output, Stimulus};

use crate::speaker::{Order, Recording, Speaker, Wake};

/// A speaker that sounds nothing, remembers its orders and says that each cue began on time. Its
/// clones are the same speaker.
#[derive(Clone, Debug, Default)]
pub struct FakeSpeaker(Arc<Mutex<Inner>>);

#[derive(Debug, Default)]
struct Inner {
    orders: Vec<(Ms, Order)>,
    spoken: Vec<String>,
    trials: Vec<(CueId, Stimulus)>,
    recordings: Vec<(CueId, Recording)>,
    rerouted: usize,
    output: Option<Output>,
    why_silent: Option<String>,
    /// When it was to count anew, and how many orders it had then.
    counted: Vec<(Ms, usize)>,
    waiting: Vec<(Ms, CueId)>,
    news: VecDeque<SoundNews>,
    bell: Option<Bell>,
}

/// What wakes the conductor.
struct Bell(Wake);

impl fmt::Debug for Bell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Bell").finish_non_exhaustive()
    }
}

impl FakeSpeaker {
    /// Without orders.
    pub fn new() -> Self {
        Self::default()
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// All orders so far, each with the time at which it was given.
    pub fn orders(&self) -> Vec<(Ms, Order)> {
        self.lock().orders.clone()
    }

    /// The languages that it was to speak, in order.
    pub fn spoken(&self) -> Vec<String> {
        self.lock().spoken.clone()
    }

    /// The sounds of the listening test, in order.
    pub fn trials(&self) -> Vec<(CueId, Stimulus)> {
        self.lock().trials.clone()
    }

    /// The recordings that it was to sound, in order.
    pub fn recordings(&self) -> Vec<(CueId, Recording)> {
        self.lock().recordings.clone()
    }

    /// How often it was told that the sound may go elsewhere.
    pub fn rerouted(&self) -> usize {
        self.lock().rerouted
    }

    /// When it was to count anew, and how many orders it had then.
    pub fn counted(&self) -> Vec<(Ms, usize)> {
        self.lock().counted.clone()
    }

    /// From now on it comes out of this.
    pub fn set_output(&self, output: Option<Output>) {
        self.lock().output = output;
    }

    /// From now on this is why nothing is heard.
    pub fn set_why_silent(&self, why: Option<&str>) {
        self.lock().why_silent = why.map(str::to_owned);
    }

    /// Has this news ready for the next question, and has it asked at once.
    pub fn tell(&self, news: SoundNews) {
        let wake = {
            let mut inner = self.lock();
            inner.news.push_back(news);
            inner.bell.as_ref().map(|bell| Arc::clone(&bell.0))
        };
        if let Some(wake) = wake {
            wake();
        }
    }
}

impl Speaker for FakeSpeaker {
    fn order(&mut self, now: Ms, order: Order) {
        let mut inner = self.lock();
        inner.orders.push((now, order));
        match order {
            Order::Play(cue) => {
                let at = match cue.start {
                    Start::Now => now,
                    Start::At(at) => at,
                };
                inner.waiting.push((at, cue.id));
            }
            Order::Revoke(id) => inner.waiting.retain(|(_, waiting)| *waiting != id),
            Order::Score(_) | Order::Levels(_) | Order::Rest | Order::Noise(_) => {}
        }
    }

    fn news(&mut self, now: Ms) -> Option<SoundNews> {
        let mut inner = self.lock();
        if let Some(news) = inner.news.pop_front() {
            return Some(news);
        }
        inner.waiting.sort_by_key(|(at, id)| (*at, *id));
        let due = inner.waiting.first().is_some_and(|(at, _)| *at <= now);
        due.then(|| {
            let (at, id) = inner.waiting.remove(0);
            SoundNews::Started { id, at }
        })
    }

    fn count_anew(&mut self, now: Ms) {
        let mut inner = self.lock();
        let orders = inner.orders.len();
        inner.counted.push((now, orders));
    }

    fn next_wakeup(&self) -> Option<Ms> {
        self.lock().waiting.iter().map(|(at, _)| *at).min()
    }

    fn wake_by(&mut self, wake: Wake) {
        self.lock().bell = Some(Bell(wake));
    }

    fn rerouted(&mut self) {
        let mut inner = self.lock();
        inner.rerouted = inner.rerouted.saturating_add(1);
    }

    fn speak(&mut self, lang: &str) {
        self.lock().spoken.push(lang.to_owned());
    }

    /// When it begins is for the test to tell: see [`FakeSpeaker::tell`].
    fn trial(&mut self, _now: Ms, id: CueId, stimulus: Stimulus) {
        self.lock().trials.push((id, stimulus));
    }

    fn recording(&mut self, _now: Ms, id: CueId, recording: Recording) {
        self.lock().recordings.push((id, recording));
    }

    fn why_silent(&self) -> Option<String> {
        self.lock().why_silent.clone()
    }

    fn output(&self) -> Option<Output> {
        self.lock().output.clone()
    }
}
