//! Notices silence and says when to open the device again. No device, no clock: times come in.

use cycle::{Ms, SoundNews};

/// No frame for this long is silence.
const SILENCE: Ms = Ms(500);
/// A new stream that gives no frame for this long is silence too, but may still begin: a sound
/// server can sit out two seconds before it asks for the first block.
const SLOW_START: Ms = Ms(900);
/// A stream that has not given a frame after this long never will.
const NO_START: Ms = Ms(3000);
/// A step that comes later than this says nothing about the device: this process was held up.
const HELD_UP: Ms = Ms(300);
/// Waits between attempts, ms: the first is the shortest that a restarting server can answer.
const WAITS: [u64; 6] = [100, 200, 400, 800, 1600, 3000];

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
    /// A stream that has not begun yet; silent for so long.
    Opening(Ms),
    /// A stream that has filled its buffer; silent for so long since.
    Filled(Ms),
    /// Frames flow; silent for so long.
    Playing(Ms),
}

/// Watches the count of frames.
#[derive(Debug)]
pub(crate) struct Supervisor {
    state: State,
    frames: u64,
    stepped: Ms,
    tries: usize,
    is_lost: bool,
    news: Option<SoundNews>,
}

impl Supervisor {
    pub(crate) fn new(now: Ms) -> Self {
        Self {
            state: State::Waiting(now),
            frames: 0,
            stepped: now,
            tries: 0,
            is_lost: false,
            news: None,
        }
    }

    /// Takes the count of frames of the open stream, and whether it has broken.
    pub(crate) fn step(&mut self, now: Ms, frames: u64, is_broken: bool) -> Step {
        let gap = now.since(self.stepped);
        self.stepped = now;
        let is_flowing = frames != self.frames;
        self.frames = frames;
        let silent = |before: Ms| {
            if is_flowing || gap > HELD_UP {
                Ms::ZERO
            } else {
                before.plus(gap)
            }
        };
        match self.state {
            State::Waiting(until) if now >= until => return Step::Open,
            State::Waiting(_) => {}
            State::Opening(_) | State::Filled(_) | State::Playing(_) if is_broken => self.lose(now),
            // The first frames only fill the buffer; that says nothing about the device.
            State::Opening(_) if is_flowing => self.state = State::Filled(Ms::ZERO),
            State::Filled(_) if is_flowing => {
                self.state = State::Playing(Ms::ZERO);
                self.tries = 0;
                if std::mem::take(&mut self.is_lost) {
                    self.news = Some(SoundNews::Back);
                }
            }
            State::Opening(before) | State::Filled(before) if silent(before) >= NO_START => {
                self.lose(now);
            }
            State::Playing(before) if silent(before) >= SILENCE => self.lose(now),
            State::Opening(before) => {
                self.state = State::Opening(silent(before));
                self.tell_slow(silent(before));
            }
            State::Filled(before) => {
                self.state = State::Filled(silent(before));
                self.tell_slow(silent(before));
            }
            State::Playing(before) => self.state = State::Playing(silent(before)),
        }
        match self.state {
            State::Waiting(until) if now >= until => Step::Open,
            State::Waiting(_) | State::Opening(_) | State::Filled(_) | State::Playing(_) => {
                Step::Rest
            }
        }
    }

    /// A stream was opened; it counts its frames from 0.
    pub(crate) fn opened(&mut self, now: Ms) {
        self.state = State::Opening(Ms::ZERO);
        self.frames = 0;
        self.stepped = now;
    }

    /// No stream could be opened.
    pub(crate) fn refused(&mut self, now: Ms) {
        self.stepped = now;
        self.lose(now);
    }

    /// The device is to be opened anew although nothing is wrong with it.
    pub(crate) fn reopen(&mut self, now: Ms) {
        self.state = State::Waiting(now);
    }

    /// Whether there is to be no open stream now.
    pub(crate) fn is_waiting(&self) -> bool {
        matches!(self.state, State::Waiting(_))
    }

    /// How the sound stands.
    pub(crate) fn sound(&self) -> SoundState {
        match self.state {
            _ if self.is_lost => SoundState::Lost,
            State::Waiting(_) | State::Opening(_) | State::Filled(_) => SoundState::Opening,
            State::Playing(silent) if silent >= STALL => SoundState::Stalled,
            State::Playing(_) => SoundState::Playing,
        }
    }

    /// Lost or back, if that is new.
    pub(crate) fn news(&mut self) -> Option<SoundNews> {
        self.news.take()
    }

    fn lose(&mut self, now: Ms) {
        let wait = WAITS
            .get(self.tries)
            .or(WAITS.last())
            .copied()
            .unwrap_or_default();
        self.tries = self.tries.saturating_add(1);
        self.state = State::Waiting(now.plus(Ms(wait)));
        self.tell_lost();
    }

    fn tell_slow(&mut self, silent: Ms) {
        if silent >= SLOW_START {
            self.tell_lost();
        }
    }

    fn tell_lost(&mut self) {
        if !std::mem::replace(&mut self.is_lost, true) {
            self.news = Some(SoundNews::Lost);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Steps every 100 ms from `from` to `to` with what `frames` gives; the news with their times.
    fn watch(
        s: &mut Supervisor,
        (from, to): (u64, u64),
        mut frames: impl FnMut(u64) -> u64,
    ) -> (Vec<(u64, SoundNews)>, Vec<u64>) {
        let (mut news, mut opens) = (Vec::new(), Vec::new());
        for ms in (from..=to).step_by(100) {
            if s.step(Ms(ms), frames(ms), false) == Step::Open {
                opens.push(ms);
                s.refused(Ms(ms));
            }
            news.extend(s.news().map(|n| (ms, n)));
        }
        (news, opens)
    }

    fn playing() -> Supervisor {
        let mut s = Supervisor::new(Ms(0));
        assert_eq!(s.step(Ms(0), 0, false), Step::Open);
        s.opened(Ms(0));
        assert_eq!(s.step(Ms(50), 2048, false), Step::Rest);
        assert_eq!(s.step(Ms(100), 4800, false), Step::Rest);
        assert_eq!(s.news(), None);
        s
    }

    #[test]
    fn silence_is_told_within_a_second_and_the_device_is_opened_again() {
        let mut s = playing();
        let (news, opens) = watch(&mut s, (200, 3000), |ms| 48 * ms.min(1000));
        assert_eq!(news, [(1500, SoundNews::Lost)]);
        assert_eq!(opens, [1600, 1800, 2200, 3000]);
    }

    #[test]
    fn a_sound_is_opening_then_playing_then_stalled_then_lost_and_playing_again() {
        let mut s = Supervisor::new(Ms(0));
        assert_eq!(s.sound(), SoundState::Opening);
        s.step(Ms(0), 0, false);
        s.opened(Ms(0));
        s.step(Ms(50), 2048, false);
        assert_eq!(
            s.sound(),
            SoundState::Opening,
            "the buffer was filled, no more"
        );
        s.step(Ms(100), 4096, false);
        assert_eq!(s.sound(), SoundState::Playing);
        for (ms, state) in [
            (200, SoundState::Playing),
            (300, SoundState::Stalled),
            (500, SoundState::Stalled),
            (600, SoundState::Lost),
        ] {
            s.step(Ms(ms), 4096, false);
            assert_eq!(s.sound(), state, "{ms} ms");
        }
        s.step(Ms(700), 4096, false);
        s.opened(Ms(700));
        assert_eq!(s.sound(), SoundState::Lost, "open is not heard");
        s.step(Ms(800), 2048, false);
        s.step(Ms(900), 4096, false);
        assert_eq!(s.sound(), SoundState::Playing);
    }

    #[test]
    fn no_device_at_the_start_is_told_at_once() {
        let mut s = Supervisor::new(Ms(0));
        let (news, opens) = watch(&mut s, (0, 1000), |_| 0);
        assert_eq!(news, [(0, SoundNews::Lost)]);
        assert_eq!(opens, [0, 100, 300, 700]);
    }

    #[test]
    fn back_is_told_when_frames_flow_and_not_before() {
        let mut s = Supervisor::new(Ms(0));
        assert_eq!(s.step(Ms(0), 0, false), Step::Open);
        s.refused(Ms(0));
        assert_eq!(s.news(), Some(SoundNews::Lost));
        assert_eq!(s.step(Ms(100), 0, false), Step::Open);
        s.opened(Ms(100));
        assert_eq!(s.step(Ms(200), 0, false), Step::Rest);
        assert_eq!(s.news(), None);
        assert_eq!(s.step(Ms(300), 2048, false), Step::Rest);
        assert_eq!(s.news(), None, "the buffer is filled, nothing is heard yet");
        assert_eq!(s.step(Ms(400), 4096, false), Step::Rest);
        assert_eq!(s.news(), Some(SoundNews::Back));
    }

    #[test]
    fn a_broken_stream_is_told_at_once_and_once() {
        let mut s = playing();
        assert_eq!(s.step(Ms(200), 9600, true), Step::Rest);
        assert_eq!(s.news(), Some(SoundNews::Lost));
        assert_eq!(s.step(Ms(250), 9600, true), Step::Rest);
        assert_eq!(s.news(), None);
        assert_eq!(s.step(Ms(300), 9600, true), Step::Open);
    }

    #[test]
    fn a_process_that_was_held_up_does_not_blame_the_device() {
        let mut s = playing();
        assert_eq!(s.step(Ms(2100), 4800, false), Step::Rest);
        assert_eq!(s.step(Ms(2200), 9600, false), Step::Rest);
        assert_eq!(s.news(), None);
    }

    #[test]
    fn a_stream_that_gives_no_frame_is_told_within_a_second_and_given_up_after_three() {
        let mut s = Supervisor::new(Ms(0));
        s.step(Ms(0), 0, false);
        s.opened(Ms(0));
        let (news, opens) = watch(&mut s, (100, 3300), |_| 0);
        assert_eq!(news, [(900, SoundNews::Lost)]);
        assert_eq!(opens, [3100, 3300]);
    }

    #[test]
    fn a_stream_that_fills_its_buffer_and_begins_after_two_seconds_is_kept() {
        let mut s = Supervisor::new(Ms(0));
        s.step(Ms(0), 0, false);
        s.opened(Ms(0));
        let frames = |ms: u64| 2048 + 48 * ms.saturating_sub(2000);
        let (news, opens) = watch(&mut s, (100, 5000), frames);
        assert_eq!(news, [(1000, SoundNews::Lost), (2100, SoundNews::Back)]);
        assert_eq!(opens, [0_u64; 0]);
    }

    #[test]
    fn waits_grow_to_three_seconds_and_begin_anew_after_sound() {
        let mut s = Supervisor::new(Ms(0));
        let (_, opens) = watch(&mut s, (0, 20_000), |_| 0);
        let waits: Vec<u64> = opens.windows(2).map(|w| w[1] - w[0]).collect();
        assert_eq!(waits[..7], [100, 200, 400, 800, 1600, 3000, 3000]);
        while s.step(s.stepped.plus(Ms(100)), 0, false) != Step::Open {}
        s.opened(s.stepped);
        let back = s.stepped.plus(Ms(100));
        s.step(back, 512, false);
        s.step(back.plus(Ms(100)), 1024, false);
        s.step(back.plus(Ms(200)), 1536, true);
        assert_eq!(s.step(back.plus(Ms(300)), 1536, true), Step::Open);
    }
}
