//! A phone in virtual time, and what was seen of it: what sounded, what was written, what was said.

use super::super::*;
use super::told::{Told, told};
use super::{Fault, beats, screen};
use crate::CueId;

/// A voice or a tone as it was heard.
#[derive(Clone, Debug)]
pub(super) struct Heard {
    pub(super) id: CueId,
    pub(super) sound: CueSound,
    pub(super) from: u64,
    pub(super) to: u64,
}

/// What may have moved the score at one moment.
#[derive(Clone, Debug)]
pub(super) enum Cause {
    /// Nothing that a crew did.
    Time,
    Mark(Mark),
    /// A mark taken back, moved or replaced; a kill; the start.
    Story,
}

pub(super) struct Phone {
    pub(super) setup: Setup,
    pub(super) run: Run,
    pub(super) now: u64,
    /// The last moment at which anything was handed in.
    handled: u64,
    pub(super) log: Vec<Entry>,
    pub(super) heard: Vec<Heard>,
    /// What was said, from each moment at which that changed.
    pub(super) told: Vec<(u64, Told)>,
    pub(super) faults: Vec<Fault>,
    /// While the app was not there, or not woken.
    pub(super) away: Vec<(u64, u64)>,
    score: Option<(u64, beat::Placed)>,
    cues: Vec<(u64, Cue)>,
}

impl Phone {
    pub(super) fn new(setup: Setup) -> Self {
        let first = told(&setup, &[]);
        Self {
            run: Run::new(setup.clone()),
            setup,
            now: 0,
            handled: 0,
            log: Vec::new(),
            heard: Vec::new(),
            told: [(0, first)].to_vec(),
            faults: Vec::new(),
            away: Vec::new(),
            score: None,
            cues: Vec::new(),
        }
    }

    pub(super) fn fault(&mut self, rule: &'static str, what: String) {
        let at = self.now;
        self.faults.push(Fault { rule, at, what });
    }

    /// Whether the app was there all the time.
    pub(super) fn awake(&self, from: u64, to: u64) -> bool {
        self.away.iter().all(|(a, b)| *b < from || to < *a)
    }

    pub(super) fn is_told(&self) -> &Told {
        &self.told.last().unwrap().1
    }

    pub(super) fn input(&mut self, now: u64, input: Input, cause: &Cause) {
        let before = self.now;
        let was = self.told.len() - 1;
        (self.now, self.handled) = (now, now);
        self.run.handle(Ms(now), input);
        let mut scores = Vec::new();
        let mut tells = false;
        while let Some(out) = self.run.poll() {
            match out {
                Output::Score(placed) => scores.push(placed),
                Output::Play(cue) => {
                    let start = match cue.start {
                        Start::Now => now,
                        Start::At(at) => at.0,
                    };
                    self.cues.push((start, cue));
                }
                Output::Revoke(id) => {
                    self.cues.retain(|(_, c)| c.id != id);
                    for h in self.heard.iter_mut().filter(|h| h.id == id) {
                        h.to = h.to.min(now).max(h.from);
                    }
                }
                Output::Write(entry) => {
                    tells |= match &entry.fact {
                        Fact::Mark(_) | Fact::Amend(_) => true,
                        Fact::Deed(deed) => {
                            matches!(deed, Deed::Start { .. } | Deed::Recovered { .. })
                        }
                    };
                    self.log.push(entry);
                }
                Output::Show => {}
            }
        }
        if tells {
            self.told.push((now, told(&self.setup, &self.log)));
        }
        for placed in scores {
            self.new_score(placed, before, was, cause);
        }
        if tells {
            screen::agrees(self);
            beats::fits_state(self);
        }
    }

    fn new_score(&mut self, placed: beat::Placed, before: u64, was: usize, cause: &Cause) {
        self.end_score();
        let (told, old) = (&self.told[was].1, self.score.map(|s| s.1));
        let wrong = beats::change(old, placed, told, (before, self.now), cause);
        if let Some(what) = wrong {
            self.fault("3 score change", what);
        }
        self.score = Some((self.now, placed));
    }

    /// Counts out what was heard of the score that ends now.
    fn end_score(&mut self) {
        if let Some((from, placed)) = self.score
            && let Some(what) = beats::off_the_grid(placed, from, self.now)
        {
            self.fault("3 grid", what);
        }
    }

    /// Plays and wakes up to, not including, `t`.
    pub(super) fn until(&mut self, t: u64) {
        loop {
            let cue = self.cues.iter().map(|(at, _)| *at).min();
            let wake = self.run.next_wakeup().map(|w| w.0);
            let next = [cue, wake].into_iter().flatten().min();
            let Some(next) = next.filter(|n| *n < t) else {
                break;
            };
            if cue == Some(next) {
                self.play(next);
            } else if next <= self.handled && wake == Some(next) {
                self.fault("wake", std::format!("woken again at {next}"));
                break;
            } else {
                self.input(next, Input::Wake, &Cause::Time);
            }
        }
    }

    /// A stall: what was handed over still sounds, and nothing else happens.
    pub(super) fn stall(&mut self, t: u64) {
        while let Some(next) = self
            .cues
            .iter()
            .map(|(at, _)| *at)
            .filter(|at| *at < t)
            .min()
        {
            self.hear(next);
        }
        let ms = t - self.now;
        self.away.push((self.now, t));
        self.input(t, Input::Gap { ms }, &Cause::Time);
    }

    fn hear(&mut self, at: u64) -> Option<CueId> {
        let n = self.cues.iter().position(|(start, _)| *start == at)?;
        let (from, cue) = self.cues.remove(n);
        let to = from + u64::from(cue.len_ms);
        let (id, sound) = (cue.id, cue.sound);
        self.heard.push(Heard {
            id,
            sound,
            from,
            to,
        });
        Some(id)
    }

    fn play(&mut self, at: u64) {
        if let Some(id) = self.hear(at) {
            let now = at.max(self.now);
            let news = SoundNews::Started { id, at: Ms(at) };
            self.input(now, Input::Sound(news), &Cause::Time);
        }
    }

    /// A cue that waits is left out by the sound.
    pub(super) fn drop_cue(&mut self) {
        if let Some((_, cue)) = self.cues.pop() {
            let news = SoundNews::Late { id: cue.id };
            self.input(self.now, Input::Sound(news), &Cause::Time);
        }
    }

    /// Killed now, back at `t` from what was written.
    pub(super) fn kill(&mut self, t: u64) {
        self.end_score();
        self.score = None;
        let now = self.now;
        self.cues.clear();
        for h in &mut self.heard {
            h.to = h.to.min(now).max(h.from);
        }
        let Some(last) = self.log.last() else {
            return;
        };
        let (from_seq, from) = (last.seq, last.taken);
        self.away.push((now, t));
        self.run = Run::replay(self.setup.clone(), &self.log).unwrap();
        let input = Input::Recovered {
            from_seq,
            from,
            bad_bytes: 0,
        };
        self.input(t, input, &Cause::Story);
    }

    pub(super) fn finish(&mut self) {
        self.end_score();
        self.score = None;
    }
}
