//! The prompt queue: which of the wanted prompts is spoken when, and which is held and why.
//!
//! One voice at a time; a class A voice breaks off a lower one; everything else keeps its distance
//! and its budget. Every prompt that was due is spoken or written down with the reason.

use alloc::{string::ToString, vec::Vec};

use crate::{
    Ms,
    book::{Book, Fate, Flight, SPACING},
    fact::{CueLine, CueOutcome, CueSound, Deed, HeldWhy},
    input::{Cue, Setup, Start},
    prompts::{Class, Prompt, Tone},
    protocol::Protocol,
    rules,
    state::State,
    wants::{self, HAND_OVER, LEAST_LEAD, ToneWant, Want, Wants},
};

/// At most so many prompts, class A apart, in so long. Source: the project's own budget, after
/// R40 and R41: voice on top of a beat changed no outcome, and crews muted audible feedback.
const BUDGET: [(usize, Ms); 2] = [(3, Ms(20_000)), (10, Ms(120_000))];
/// Prompts due within this of a more pressing one go to the screen alone.
const TOGETHER: Ms = Ms(5000);
/// A check called later than this after it was due is not called overdue as well.
const CALLED_IN_TIME: Ms = Ms(15_000);
/// A voice that was broken off is said again, once only and if still true, if less than this has passed since it
/// began. No source.
const AGAIN_WITHIN: Ms = Ms(5000);
const TONE_MS: u32 = 300;

/// One thing to do.
#[derive(Clone, Debug, PartialEq)]
pub(crate) enum Step {
    Play(Cue, CueLine),
    Revoke(Flight, CueLine),
    Write(Deed),
}

/// What is to be done now, and when to look again.
#[derive(Debug, Default)]
pub(crate) struct Plan {
    pub(crate) step: Option<Step>,
    pub(crate) wake: Option<Ms>,
    /// What is due and waits its turn, with nothing written of it yet.
    pub(crate) waiting: Vec<Want>,
}

impl Plan {
    fn of(step: Step) -> Self {
        Self {
            step: Some(step),
            ..Self::default()
        }
    }
}

/// The next single step; its line must be applied before the next call.
pub(crate) fn next(
    setup: &Setup,
    state: &State,
    undone: Option<Ms>,
    book: &Book,
    queue: &[Want],
    (before, now): (Ms, Ms),
) -> Plan {
    // A drill that was stopped to be looked at is silent; what had not begun is said once it goes on.
    if book.is_stopped {
        let mut flights = book.flights().iter();
        let sounding = flights.find(|f| f.end > now && !f.cut);
        let step = sounding.map(|f| Desk::revoke(f, None));
        return step.map_or_else(Plan::default, Plan::of);
    }
    let (mut prompts, mut tones, mut later) = (Vec::new(), Vec::new(), None);
    let mut list = Wants {
        now,
        before,
        prompts: &mut prompts,
        tones: &mut tones,
        later: &mut later,
    };
    let p = setup.protocol_of(state.class);
    wants::collect_all(p, state, book, undone, &mut list);
    if let Some(at) = book.drill.filter(|_| state.is_live()) {
        rules::drill::wants(p, state, at, &mut list);
    }
    let desk = Desk {
        setup,
        p,
        state,
        book,
        now,
    };
    if let Some(step) = desk.untrue(&prompts).or_else(|| desk.gone(queue, &prompts)) {
        return Plan::of(step);
    }
    if state.is_quiet() {
        tones.clear();
    }
    if let Some(step) = tones.iter().find_map(|want| desk.tone(want)) {
        return Plan::of(step);
    }
    // After a move the cup comes first, a check that was held second.
    let cup = |p| matches!(p, Prompt::CupDown | Prompt::CupNow);
    let check = |p| p == Prompt::ChkNow;
    prompts.sort_by_key(|w| {
        let (p, due) = (w.prompt, w.due);
        (p.class(), !cup(p), !check(p), due, p)
    });
    // The words come up on the screen as the voice begins.
    let begins = book
        .flights()
        .iter()
        .map(|f| f.start)
        .filter(|at| *at > now)
        .min();
    let mut wake = [later, begins].into_iter().flatten().min();
    let mut waiting = Vec::new();
    for want in &prompts {
        match desk.voice(want) {
            Verdict::Step(step) => return Plan::of(step),
            Verdict::Wait(at) => {
                if at > now {
                    wake = Some(wake.map_or(at, |w| w.min(at)));
                }
                if want.due <= now && desk.is_unwritten(want) {
                    waiting.push(*want);
                }
            }
            Verdict::Nothing => {}
        }
    }
    Plan {
        step: None,
        wake,
        waiting,
    }
}

enum Verdict {
    Step(Step),
    Wait(Ms),
    Nothing,
}

struct Desk<'a> {
    setup: &'a Setup,
    p: &'a Protocol,
    state: &'a State,
    book: &'a Book,
    now: Ms,
}

impl Desk<'_> {
    /// A cue in flight that its rule no longer wants, or whose gate has closed.
    fn untrue(&self, wanted: &[Want]) -> Option<Step> {
        self.book
            .flights()
            .iter()
            .filter(|f| f.end > self.now)
            .find_map(|f| {
                let prompt = f.prompt?;
                let silenced = !self.may_speak(prompt, f.start.max(self.now))
                    && matches!(f.sound, CueSound::Voice(_));
                // A tone in a voice's place is what a charge leaves of a stopped device.
                let is_tone = matches!(f.sound, CueSound::Tone(_));
                let closed = wants::gate(self.p, self.state, self.now, prompt)
                    .filter(|why| !(is_tone && *why == HeldWhy::Shock))
                    .or_else(|| silenced.then_some(HeldWhy::VoiceOff));
                let stays = prompt == Prompt::HoldEnd
                    || wanted.iter().any(|w| (w.prompt, w.due) == (prompt, f.due));
                let ended = !self.state.is_live();
                // What has begun is let finish unless it must not be heard now.
                let begun = f.start <= self.now;
                let cut =
                    ended || closed.is_some() || !begun && !stays || begun && self.answered(f);
                cut.then(|| Self::revoke(f, closed))
            })
    }

    /// What waited its turn and is wanted no more: answered, or so no longer.
    fn gone(&self, queue: &[Want], wanted: &[Want]) -> Option<Step> {
        let of = |a: &Want, b: &Want| (a.prompt, a.due) == (b.prompt, b.due);
        queue
            .iter()
            .find(|was| self.is_unwritten(was) && !wanted.iter().any(|want| of(was, want)))
            .map(|was| self.note(was, CueOutcome::Held, Some(HeldWhy::Answered)))
    }

    fn is_unwritten(&self, want: &Want) -> bool {
        self.book.fate(want.prompt, want.due).is_none()
    }

    /// A mark of its task silences a prompt.
    fn answered(&self, f: &Flight) -> bool {
        match f.prompt {
            Some(Prompt::CupDown | Prompt::CupNow) => self.state.cup.is_none(),
            Some(prompt) if rules::hands_off::is_number(prompt) => {
                !matches!(self.state.line, crate::state::Line::HandsOff(_))
            }
            Some(
                prompt @ (Prompt::DevStop
                | Prompt::PowerOver
                | Prompt::DevCont
                | Prompt::DevRatio
                | Prompt::ArrestAgain),
            ) => !rules::answers::still_true(self.state, prompt),
            Some(Prompt::MovePlan) => rules::plans::move_due(self.state) != Some(f.due),
            Some(Prompt::RotateNow) => {
                rules::rotate::due(self.p, self.state, self.now) != Some(f.due)
            }
            Some(prompt @ (Prompt::DrugDue | Prompt::DrugLate | Prompt::DrugNext)) => {
                rules::drugs::is_answered(self.p, self.state, prompt, self.now)
            }
            Some(_) | None => false,
        }
    }

    /// Voice off stays off; only its own receipt is still spoken.
    fn may_speak(&self, prompt: Prompt, at: Ms) -> bool {
        self.state.has_voice(at) || prompt == Prompt::VoiceOff
    }

    /// Whether the service has it spoken at all.
    fn is_spoken(&self, prompt: Prompt) -> bool {
        prompt.is_spoken()
            || self.p.also_spoken.contains(&prompt)
            || rules::hands_off::is_number(prompt)
            || prompt == rules::check::heads_up_word(self.p)
    }

    fn revoke(f: &Flight, why: Option<HeldWhy>) -> Step {
        let len = f.end.since(f.start).0;
        let line = CueLine {
            cue: f.id,
            kind: kind(f.sound),
            id: f.prompt,
            due_ms: f.due,
            start_ms: f.start,
            len_ms: u32::try_from(len).unwrap_or(u32::MAX),
            outcome: CueOutcome::Cut,
            why,
        };
        Step::Revoke(*f, line)
    }

    fn tone(&self, want: &ToneWant) -> Option<Step> {
        let known = self.book.has_tone(want.tone, want.due);
        let late = want.due.plus(Ms(1000)) < self.now;
        // Too near to be handed over ahead: taken up again at its moment.
        let near = want.due > self.now && want.due < self.now.plus(LEAST_LEAD);
        (!known && !late && !near)
            .then(|| self.play(CueSound::Tone(want.tone), None, want.due, want.due))
    }

    fn voice(&self, want: &Want) -> Verdict {
        let Want {
            prompt,
            due,
            mut until,
        } = *want;
        let fate = self.book.fate(prompt, due);
        match fate {
            Some(Fate::Asked(_) | Fate::Done) => return Verdict::Nothing,
            Some(Fate::Again { began, from }) => {
                until = until.min(began.plus(AGAIN_WITHIN).minus(Ms(1)));
                // Without sound it cannot be heard; when that is back this is looked at again.
                let from = if self.book.sound_lost {
                    until.plus(Ms(1))
                } else {
                    from
                };
                if self.now < from {
                    return Verdict::Wait(from);
                }
            }
            Some(Fate::Held(_)) | None => {}
        }
        // Called late it is not overdue as well, so nothing was due and nothing is missed.
        if prompt == Prompt::ChkOver && !self.called_in_time(due) {
            return Verdict::Nothing;
        }
        let overtaken = prompt == Prompt::DrugDue && self.book.drug_called_after(due);
        if self.now > until || overtaken {
            return if fate.is_some() {
                Verdict::Nothing
            } else {
                Verdict::Step(self.note(want, CueOutcome::Missed, None))
            };
        }
        if let Some(why) = wants::gate(self.p, self.state, self.now, prompt) {
            // Near a shock a stopped device is told by a tone and the screen.
            if why == HeldWhy::Shock && prompt == Prompt::DevStop {
                let sound = CueSound::Tone(Tone::Attention);
                return Verdict::Step(self.play(sound, Some(prompt), due, self.now));
            }
            // A gate that may open again: held, not dropped.
            let told = fate == Some(Fate::Held(why));
            return if told || due > self.now {
                Verdict::Wait(due)
            } else {
                Verdict::Step(self.note(want, CueOutcome::Held, Some(why)))
            };
        }
        if !self.is_spoken(prompt) && prompt.class() > Class::B {
            // A tone for each would be a row of tones before every check.
            return if due > self.now {
                Verdict::Wait(due)
            } else {
                Verdict::Step(self.note(want, CueOutcome::Held, Some(HeldWhy::Screen)))
            };
        }
        if self.is_merged(prompt, due) {
            return if due > self.now {
                Verdict::Wait(due)
            } else {
                Verdict::Step(self.note(want, CueOutcome::Held, Some(HeldWhy::Merged)))
            };
        }
        self.place(&Want { until, ..*want })
    }

    /// Another voice of a higher class falls within the same few seconds. The count goes with its
    /// "now", and what answers a touch is not merged.
    fn is_merged(&self, prompt: Prompt, due: Ms) -> bool {
        let alone = prompt.class() == Class::A
            || rules::check::is_series(prompt)
            || matches!(
                prompt,
                Prompt::VoiceOff | Prompt::VoiceOn | Prompt::BeatOff | Prompt::Undo
            );
        !alone
            && self.book.voices().any(|f| {
                let other = f.prompt.unwrap_or(prompt);
                let near = f.due.since(due).max(due.since(f.due)) < TOGETHER;
                !f.cut && near && other.class() < prompt.class() && other.class() > Class::A
            })
    }

    /// The gate is open: find the moment.
    fn place(&self, want: &Want) -> Verdict {
        let Want { prompt, due, until } = *want;
        let start = match self.free_from(prompt, due) {
            Ok(start) => start,
            Err(lower) => return Verdict::Step(Self::revoke(&lower, Some(HeldWhy::Pressed))),
        };
        if start > until {
            return Verdict::Step(self.note(want, CueOutcome::Held, Some(HeldWhy::Pressed)));
        }
        if start > self.now.plus(HAND_OVER) {
            return Verdict::Wait(start.minus(HAND_OVER));
        }
        // Too near to be handed over ahead: taken up again at its moment.
        if start > self.now && start < self.now.plus(LEAST_LEAD) {
            return Verdict::Wait(start);
        }
        if prompt.class() == Class::D && !self.may_speak(prompt, start) {
            return Verdict::Step(self.note(want, CueOutcome::Held, Some(HeldWhy::VoiceOff)));
        }
        if let Some(free) = self.over_budget(prompt, due, start) {
            let told = self.book.fate(prompt, due) == Some(Fate::Held(HeldWhy::Budget));
            return if told && free <= until {
                Verdict::Wait(free)
            } else if told {
                Verdict::Nothing
            } else {
                Verdict::Step(self.note(want, CueOutcome::Held, Some(HeldWhy::Budget)))
            };
        }
        let sound = if self.may_speak(prompt, start) && self.is_spoken(prompt) {
            CueSound::Voice(prompt)
        } else {
            CueSound::Tone(Tone::Attention)
        };
        Verdict::Step(self.play(sound, Some(prompt), due, start))
    }

    /// The first moment from now and `due` on at which `prompt` may begin; or the lower voice that stands
    /// in the way of a class A prompt and must go first.
    fn free_from(&self, prompt: Prompt, due: Ms) -> Result<Ms, Flight> {
        let len = Ms(u64::from(self.setup.clips.ms(prompt)));
        let mut start = due.max(self.now);
        for f in self.book.voices() {
            let other = f.prompt.unwrap_or(prompt);
            let pressing = prompt.class() == Class::A;
            if pressing && other.class() != Class::A {
                if f.end > start && f.start < start.plus(len) {
                    return Err(*f);
                }
                continue;
            }
            let round = rules::check::round_of(prompt, due);
            let together = round.is_some() && round == rules::check::round_of(other, f.due);
            let gap = if pressing || together {
                Ms::ZERO
            } else {
                SPACING
            };
            if f.end.plus(gap) > start && f.start < start.plus(len).plus(gap) {
                start = f.end.plus(gap);
            }
        }
        Ok(start)
    }

    /// The moment at which the budget has a place again, if it has none at `start`.
    fn over_budget(&self, prompt: Prompt, due: Ms, start: Ms) -> Option<Ms> {
        if prompt.class() == Class::A || self.book.joins(prompt, due, start) {
            return None;
        }
        let free = budget_free(self.book);
        (free > start).then_some(free)
    }

    fn called_in_time(&self, over_due: Ms) -> bool {
        let due = over_due.minus(self.p.check_overdue);
        match self.book.fate(Prompt::ChkNow, due) {
            Some(Fate::Asked(start) | Fate::Again { began: start, .. }) => {
                start < due.plus(CALLED_IN_TIME)
            }
            // Broken off, and then not said again.
            Some(Fate::Held(_) | Fate::Done) | None => self
                .book
                .broken_at(Prompt::ChkNow, due)
                .is_some_and(|began| began < due.plus(CALLED_IN_TIME)),
        }
    }

    fn note(&self, want: &Want, outcome: CueOutcome, why: Option<HeldWhy>) -> Step {
        Step::Write(Deed::Cue(CueLine {
            cue: self.book.next_id(),
            kind: "voice".to_string(),
            id: Some(want.prompt),
            due_ms: want.due,
            start_ms: self.now,
            len_ms: self.setup.clips.ms(want.prompt),
            outcome,
            why,
        }))
    }

    fn play(&self, sound: CueSound, prompt: Option<Prompt>, due: Ms, start: Ms) -> Step {
        // A tone in a voice's place keeps the voice's room: switching voice off moves nothing.
        let len_ms = prompt.map_or(TONE_MS, |prompt| self.setup.clips.ms(prompt));
        play(self.book, self.now, sound, prompt, due, start, len_ms)
    }
}

fn play(
    book: &Book,
    now: Ms,
    sound: CueSound,
    id: Option<Prompt>,
    due_ms: Ms,
    start_ms: Ms,
    len_ms: u32,
) -> Step {
    let cue = book.next_id();
    let start = if start_ms > now {
        Start::At(start_ms)
    } else {
        Start::Now
    };
    let start_ms = start_ms.max(now);
    let line = CueLine {
        cue,
        kind: kind(sound),
        id,
        due_ms,
        start_ms,
        len_ms,
        outcome: CueOutcome::Asked,
        why: None,
    };
    Step::Play(
        Cue {
            id: cue,
            sound,
            start,
            len_ms,
        },
        line,
    )
}

/// When the budget has a place.
fn budget_free(book: &Book) -> Ms {
    let free = BUDGET.iter().map(|(most, span)| book.free_at(*most, *span));
    free.max().unwrap_or(Ms::ZERO)
}

/// A tone that answers a touch, at once.
pub(crate) fn tone_now(book: &Book, now: Ms, tone: Tone) -> Step {
    play(book, now, CueSound::Tone(tone), None, now, now, TONE_MS)
}

/// A voice that answers a touch that is no mark, at once, if nothing is being said.
pub(crate) fn voice_now(
    setup: &Setup,
    state: &State,
    book: &Book,
    now: Ms,
    prompt: Prompt,
) -> Option<Step> {
    let busy = book.voices().any(|f| f.end.plus(SPACING) > now);
    let closed = wants::gate(setup.protocol_of(state.class), state, now, prompt).is_some();
    let quiet = !state.has_voice(now) || !state.is_live();
    let spent = budget_free(book) > now;
    (!busy && !closed && !quiet && !spent).then(|| {
        play(
            book,
            now,
            CueSound::Voice(prompt),
            Some(prompt),
            now,
            now,
            setup.clips.ms(prompt),
        )
    })
}

pub(crate) fn kind(sound: CueSound) -> alloc::string::String {
    match sound {
        CueSound::Voice(_) => "voice".to_string(),
        CueSound::Tone(tone) => tone.word().to_string(),
    }
}
