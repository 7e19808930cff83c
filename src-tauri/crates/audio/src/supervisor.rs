//! Notices silence and says when to open the device again. No device, no clock: times come in.
//!
//! How long nothing was heard is counted through all streams: a stream that is opened anew begins no new count, so
//! that neither news of devices nor a slow opening can put off the moment at which the loss is told.

use std::collections::VecDeque;

use cycle::{Ms, SoundNews};

use moved::Moved;

mod moved;

/// No frame of a stream that played for this long is silence.
const SILENCE: Ms = Ms(500);
/// Nothing heard for this long is told, whatever the reason: the device is closed, is being opened, or was opened and
/// has not begun. It may still begin: a sound server can sit out two seconds before it asks for the first block. The
/// rule allows a second, of which two tenths are left for the screen: on a busy machine it took 135 ms.
const SLOW_START: Ms = Ms(800);
/// A stream that has not given a frame after this long never will.
const NO_START: Ms = Ms(3000);
/// A step that comes later than this says little about the device: this process was held up.
const HELD_UP: Ms = Ms(300);
/// So much silence it counts for, as if it had come in time: held up again and again, silence is told all the same.
const IN_TIME: Ms = Ms(100);
/// Waits between attempts, ms: the first is the shortest that a restarting server can answer, the last stands for all
/// further ones. Sound is to be back 2 s after a stream can be opened; of these a new stream and the wait for the next
/// beat take up to 1.5 s.
const WAITS: [u64; 3] = [100, 200, 400];
/// So long after the loss, or after the last news of devices, a device that comes is found within the last of [`WAITS`].
const SOON: Ms = Ms(600_000);
/// From then on the waits are as long as this. Source: the project's own choice: an app that stands open for days
/// without a speaker is not to try for one all the time. An attempt that is refused took 0.7 ms of a desktop's core:
/// 0.2 % of it at the short waits, against 3 % that a run takes.
const SELDOM: Ms = Ms(3000);

/// How the sound stands. Where it goes and whether the phone is muted, the phone says itself (`cycle::Around`).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SoundState {
    /// A stream was opened, or is to be, and nothing was heard of it yet.
    #[default]
    Opening,
    /// Frames flow.
    Playing,
    /// No frame for so long that one is missing; not long enough to say so.
    Stalled,
    /// Nothing is heard: it was said, and the device is opened again and again.
    Lost,
}

/// No frame for this long is a stall: the longest block of a device that plays is shorter.
const STALL: Ms = Ms(200);

/// What to do now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Step {
    /// Nothing.
    Rest,
    /// Close the stream if there is one and open the present default device.
    Open,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    /// No stream; the next attempt is due then.
    Waiting(Ms),
    /// A stream that has not begun, since it was opened so long ago.
    Opening(Ms),
    /// A stream that has filled its buffer and no more, so long ago.
    Filled(Ms),
    /// Frames flow.
    Playing,
}

/// Watches the count of frames.
#[derive(Debug)]
pub(crate) struct Supervisor {
    state: State,
    frames: u64,
    stepped: Ms,
    tries: usize,
    /// Until then the attempts follow each other soon.
    soon_until: Ms,
    /// Nothing was heard for so long up to the last step.
    silent: Ms,
    is_lost: bool,
    moved: Moved,
    news: VecDeque<SoundNews>,
}

impl Supervisor {
    pub(crate) fn new(now: Ms) -> Self {
        Self {
            state: State::Waiting(now),
            frames: 0,
            stepped: now,
            tries: 0,
            soon_until: now,
            silent: Ms::ZERO,
            is_lost: false,
            moved: Moved::default(),
            news: VecDeque::new(),
        }
    }

    /// Takes the count of frames of the open stream, and whether it has broken.
    pub(crate) fn step(&mut self, now: Ms, frames: u64, is_broken: bool) -> Step {
        let passed = now.since(self.stepped);
        self.stepped = now;
        let is_flowing = frames != self.frames;
        self.frames = frames;
        let seen = if passed > HELD_UP { IN_TIME } else { passed };
        match self.state {
            // Without a stream nothing is heard, whoever was held up.
            State::Waiting(_) => self.hush(passed),
            State::Opening(_) | State::Filled(_) | State::Playing if is_broken => self.lose(now),
            // The first frames only fill the buffer; that says nothing about the device.
            State::Opening(_) if is_flowing => {
                self.state = State::Filled(Ms::ZERO);
                self.hush(seen);
            }
            State::Filled(_) if is_flowing => self.hear(),
            State::Playing if is_flowing => self.silent = Ms::ZERO,
            State::Opening(age) | State::Filled(age) if age.plus(seen) >= NO_START => {
                self.lose(now);
            }
            State::Opening(age) => {
                self.state = State::Opening(age.plus(seen));
                self.hush(seen);
            }
            State::Filled(age) => {
                self.state = State::Filled(age.plus(seen));
                self.hush(seen);
            }
            State::Playing => {
                self.silent = self.silent.plus(seen);
                if self.silent >= SILENCE {
                    self.lose(now);
                }
            }
        }
        if self.moved.take(now) {
            // A device that is told before it can be opened is not missed by that.
            self.tries = 0;
            self.renew(now);
        }
        match self.state {
            State::Waiting(until) if now >= until => Step::Open,
            State::Waiting(_) | State::Opening(_) | State::Filled(_) | State::Playing => Step::Rest,
        }
    }

    /// A stream was opened; it counts its frames from 0.
    pub(crate) fn opened(&mut self, now: Ms) {
        self.moved.forget_the_stream();
        self.hush(now.since(self.stepped));
        self.state = State::Opening(Ms::ZERO);
        self.frames = 0;
        self.stepped = now;
    }

    /// No stream could be opened.
    pub(crate) fn refused(&mut self, now: Ms) {
        self.hush(now.since(self.stepped));
        self.stepped = now;
        self.lose(now);
    }

    /// The system says that the sound may go elsewhere; soon the device is opened anew.
    pub(crate) fn moved(&mut self, now: Ms) {
        self.moved.tell(now);
    }

    /// The sound server has taken the stream elsewhere, or goes on with it: what its stamps are worth now, only a new
    /// stream tells. Whether there will be one; a stream that has not begun is new itself.
    pub(crate) fn carried_off(&mut self, now: Ms) -> bool {
        let is_playing = self.state == State::Playing;
        if is_playing {
            self.moved.tell_at_last(now);
        }
        is_playing
    }

    /// The device is to be opened anew at once, although nothing is wrong with it.
    pub(crate) fn renew(&mut self, now: Ms) {
        self.state = State::Waiting(now);
    }

    /// Whether there is to be no open stream now.
    pub(crate) fn is_waiting(&self) -> bool {
        matches!(self.state, State::Waiting(_))
    }

    /// Looks from another thread whether the loss is to be told although nobody steps: whoever opens and closes
    /// streams may be stuck in that.
    pub(crate) fn look(&mut self, now: Ms) {
        if self.overdue_at().is_some_and(|at| now >= at) {
            self.tell_lost();
        }
    }

    /// When [`Supervisor::look`] would tell a loss; `None` while a stream is open, or once it was told.
    pub(crate) fn overdue_at(&self) -> Option<Ms> {
        let is_silent = self.is_waiting() && !self.is_lost;
        is_silent.then(|| self.stepped.plus(SLOW_START.since(self.silent)))
    }

    /// How the sound stands.
    pub(crate) fn sound(&self) -> SoundState {
        match self.state {
            _ if self.is_lost => SoundState::Lost,
            State::Waiting(_) | State::Opening(_) | State::Filled(_) => SoundState::Opening,
            State::Playing if self.silent >= STALL => SoundState::Stalled,
            State::Playing => SoundState::Playing,
        }
    }

    /// The next lost or back that was not asked for yet.
    pub(crate) fn news(&mut self) -> Option<SoundNews> {
        self.news.pop_front()
    }

    /// Whether there is one.
    pub(crate) fn has_news(&self) -> bool {
        !self.news.is_empty()
    }

    fn hear(&mut self) {
        self.state = State::Playing;
        self.silent = Ms::ZERO;
        self.tries = 0;
        if std::mem::take(&mut self.is_lost) {
            self.news.push_back(SoundNews::Back);
        }
    }

    fn lose(&mut self, now: Ms) {
        if self.tries == 0 {
            self.soon_until = now.plus(SOON);
        }
        let wait = WAITS.get(self.tries).or(WAITS.last()).copied().map(Ms);
        let wait = wait.filter(|_| now < self.soon_until).unwrap_or(SELDOM);
        self.tries = self.tries.saturating_add(1);
        self.state = State::Waiting(now.plus(wait));
        self.tell_lost();
    }

    /// Nothing was heard for so much longer.
    fn hush(&mut self, longer: Ms) {
        self.silent = self.silent.plus(longer);
        if self.silent >= SLOW_START {
            self.tell_lost();
        }
    }

    fn tell_lost(&mut self) {
        if !std::mem::replace(&mut self.is_lost, true) {
            self.news.push_back(SoundNews::Lost);
        }
    }
}

#[cfg(test)]
mod tests;
