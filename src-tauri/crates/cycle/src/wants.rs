//! What the state would have said, each prompt with the moment it is due.

use alloc::vec::Vec;

use crate::{
    Ms,
    book::Book,
    fact::HeldWhy,
    prompts::{Class, Prompt, Tone},
    protocol::Protocol,
    rules,
    state::{Line, State},
};

/// A prompt, when it is due, and how long it may wait.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Want {
    pub(crate) prompt: Prompt,
    pub(crate) due: Ms,
    /// After this it is not worth saying.
    pub(crate) until: Ms,
}

/// A tone by the clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct ToneWant {
    pub(crate) tone: Tone,
    pub(crate) due: Ms,
}

/// How far before its time a cue is handed to the sound.
pub(crate) const HAND_OVER: Ms = Ms(500);
/// A move holds the voices for so long. One that nobody has ended by then is most likely over: an untended
/// run goes on. Source: common practice, no source; longer than a carry down many stairs.
pub(crate) const MOVE_HOLDS: Ms = Ms(600_000);
/// A cue by the clock is handed over at least so far ahead.
pub(crate) const LEAST_LEAD: Ms = Ms(300);

/// The phone's battery can wait for a pause or a move to end.
const PHONE_PATIENCE: Ms = Ms(120_000);
/// The key that ends a run says so 0.8 s after the finger, and has ended it after 1.5 s.
const HOLD_LEFT: Ms = Ms(700);
/// An undone mark is told at once or not at all.
const UNDO_PATIENCE: Ms = Ms(2000);

/// Everything wanted from `now` to the hand-over horizon, and what has not run out of patience.
/// `later` gets the due times beyond the horizon.
pub(crate) struct Wants<'a> {
    pub(crate) now: Ms,
    /// The moment looked at before this one.
    pub(crate) before: Ms,
    pub(crate) prompts: &'a mut Vec<Want>,
    pub(crate) tones: &'a mut Vec<ToneWant>,
    pub(crate) later: &'a mut Option<Ms>,
}

impl Wants<'_> {
    /// A prompt due at `due` that may wait for `patience`.
    pub(crate) fn prompt(&mut self, prompt: Prompt, due: Ms, patience: Ms) {
        let until = due.plus(patience);
        if self.is_open(due, until) {
            self.prompts.push(Want { prompt, due, until });
        }
    }

    /// A tone due at `due`.
    pub(crate) fn tone(&mut self, tone: Tone, due: Ms) {
        self.wake(due);
        if self.is_open(due, due.plus(Ms(1000))) {
            self.tones.push(ToneWant { tone, due });
        }
    }

    /// A tone again and again, `every` so long from `zero` on.
    pub(crate) fn tone_every(&mut self, tone: Tone, zero: Ms, every: Ms) {
        let passed = self.now.since(zero).0.checked_div(every.0).unwrap_or(0);
        for n in [passed, passed.saturating_add(1)] {
            if n > 0 {
                self.tone(tone, zero.plus(Ms(n.saturating_mul(every.0))));
            }
        }
    }

    /// Asks to be woken at `at`.
    pub(crate) fn wake(&mut self, at: Ms) {
        if at > self.now {
            *self.later = Some(self.later.map_or(at, |l| l.min(at)));
        }
    }

    /// Within the horizon. What has run out stays in a little longer, so that it is written down as
    /// missed and does not vanish.
    fn is_open(&mut self, due: Ms, until: Ms) -> bool {
        self.wake(due.minus(HAND_OVER));
        self.wake(until.plus(Ms(1)));
        due <= self.now.plus(HAND_OVER) && self.before.min(self.now.minus(Ms(10_000))) <= until
    }
}

pub(crate) fn collect(p: &Protocol, state: &State, wants: &mut Wants<'_>) {
    if let Some(first) = state.first_breaths {
        wants.wake(first.until);
    }
    if let Some(since) = state.moving {
        wants.wake(since.plus(MOVE_HOLDS));
    }
    // After a gap that long nobody knows whose run it is: the screen asks, nothing is said.
    if !state.is_live() {
        return;
    }
    if state.is_between_halves() {
        rules::life::wants(state, wants);
        return;
    }
    rules::hands_off::wants(p, state, wants);
    rules::check::wants(p, state, wants);
    rules::newborn::wants(p, state, wants);
    rules::cup::wants(p, state, wants);
    rules::power::wants(p, state, wants);
    rules::drugs::wants(p, state, wants);
    rules::minutes::wants(p, state, wants);
    rules::delivery::wants(p, state, wants);
    rules::plans::wants(p, state, wants);
    rules::rotate::wants(p, state, wants);
    rules::rosc::wants(p, state, wants);
    rules::answers::wants(p, state, wants);
    rules::still::wants(p, state, wants);
    rules::life::wants(state, wants);
}

/// What the state wants said, and what lies beside it: a mark taken back, the phone's battery.
pub(crate) fn collect_all(
    p: &Protocol,
    state: &State,
    book: &Book,
    undone: Option<Ms>,
    wants: &mut Wants<'_>,
) {
    collect(p, state, wants);
    if let Some(at) = undone.filter(|_| state.is_live()) {
        wants.prompt(Prompt::Undo, at, UNDO_PATIENCE);
    }
    if let Some(at) = book.phone_low.filter(|_| state.is_live()) {
        wants.prompt(Prompt::PhoneLow, at, PHONE_PATIENCE);
    }
}

/// Whether what was said at `at` still holds: no mark has answered it, made it untrue, or come after a receipt.
pub(crate) fn holds(
    p: &Protocol,
    state: &State,
    book: &Book,
    undone: Option<Ms>,
    now: Ms,
    (prompt, at, due): (Prompt, Ms, Ms),
) -> bool {
    // One that waited for a pause to end is said after the mark that ended it.
    if prompt.class() == Class::D && state.last_mark > at {
        return false;
    }
    // The rule of this one is the finger on the key: when that goes is not told.
    if prompt == Prompt::HoldEnd {
        return now.since(at) < HOLD_LEFT;
    }
    let (mut prompts, mut tones, mut later) = (Vec::new(), Vec::new(), None);
    let mut list = Wants {
        now,
        before: now,
        prompts: &mut prompts,
        tones: &mut tones,
        later: &mut later,
    };
    collect_all(p, state, book, undone, &mut list);
    prompts
        .iter()
        .any(|want| (want.prompt, want.due) == (prompt, due))
}

/// Why a prompt may not be spoken now, if so.
pub(crate) fn gate(p: &Protocol, state: &State, now: Ms, prompt: Prompt) -> Option<HeldWhy> {
    if state.is_quiet() {
        return Some(HeldWhy::Quiet);
    }
    if rules::drugs::is_of_withheld(p, state, prompt) {
        return Some(HeldWhy::Withheld);
    }
    let number = rules::hands_off::is_number(prompt);
    if rules::hands_off::near_shock(p, state, now) && !number {
        return Some(HeldWhy::Shock);
    }
    let newborn_breaths = state.first_breaths.is_some() && prompt == Prompt::HrNow;
    // Their time is over and the beat has begun by itself: an untended run goes on.
    let untended = state.first_breaths.is_some_and(|first| now >= first.until);
    if matches!(state.known_line(), Line::HandsOff(_))
        && !untended
        && !number
        && !newborn_breaths
        && !matches!(prompt, Prompt::DevStop | Prompt::PowerOver)
    {
        return Some(HeldWhy::HandsOff);
    }
    let moved = (state.moving).is_some_and(|since| now.since(since) < MOVE_HOLDS);
    if moved && prompt.class() != Class::A {
        return Some(HeldWhy::Moving);
    }
    // A defibrillator that speaks calls the checks itself.
    if state.leads && rules::check::is_of_check(prompt) {
        return Some(HeldWhy::Led);
    }
    None
}
