//! The rules in virtual time. Expected times are written by hand from `docs/timing.md` and the
//! example protocol: 110 a minute, 30:2 with a 4 s window, breaths every 6 s, checks every 120 s.

#![expect(
    clippy::arithmetic_side_effects,
    clippy::wildcard_enum_match_arm,
    reason = "a test that overflows or meets a stranger fails, as it should"
)]

extern crate std;

mod asked;
mod beats;
mod began;
mod broken_off;
mod check;
mod crews;
mod device;
mod drill;
mod fitting;
mod hands_off;
mod held_back;
mod keys;
mod levels;
mod look;
mod marks;
mod mended;
mod published;
mod random;
mod reach;
mod recovery;
mod set_right;
mod stale;
mod stopped;
mod ways;
mod ways_back;

use alloc::{
    collections::BTreeMap,
    string::{String, ToString},
    vec::Vec,
};

use crate::{
    Act, ClipLengths, Cue, CueSound, DrugWord, Entry, Fact, Input, Ms, Output, Prompt, Protocol,
    Run, Seq, Setup, SoundNews, Start, StateWord, Tone,
    fact::{CueOutcome, Deed, HeldWhy, Source, Way},
    mark::{AirMark, AirwayAct, AirwayDevice, Mark, PatientClass},
};

/// Every clip one second long but the count's, so that times can be worked out by hand.
fn setup() -> Setup {
    setup_of("example-adult", &[])
}

/// The same with a built-in example in which some text is replaced.
fn setup_of(id: &str, changes: &[(&str, &str)]) -> Setup {
    let mut text = Protocol::example(id).unwrap().to_string();
    for (from, to) in changes {
        assert!(text.contains(from), "{from} is not in {id}");
        text = text.replacen(from, to, 1);
    }
    let clips = Prompt::ALL
        .iter()
        .map(|p| {
            (
                *p,
                if p.word().starts_with("chk_cd") {
                    500
                } else {
                    1000
                },
            )
        })
        .collect::<BTreeMap<_, _>>();
    let protocol = Protocol::parse(text.as_bytes()).unwrap();
    Setup {
        class: protocol.class,
        others: PatientClass::ALL
            .iter()
            .filter(|class| **class != protocol.class)
            .map(|class| Protocol::example_for(*class).unwrap())
            .map(|text| Protocol::parse(text.as_bytes()).unwrap())
            .collect(),
        protocol,
        clips: ClipLengths::new(clips).unwrap(),
    }
}

/// A run with everything that came out of it.
struct Walk {
    run: Run,
    now: Ms,
    heard: Vec<(u64, String)>,
    beats: Vec<(u64, beat::Kind)>,
    score: Option<beat::Placed>,
    cues: Vec<(Ms, Cue)>,
    log: Vec<Entry>,
}

impl Walk {
    fn new() -> Self {
        Self::with(setup())
    }

    fn with(setup: Setup) -> Self {
        Self {
            run: Run::new(setup),
            now: Ms::ZERO,
            heard: Vec::new(),
            beats: Vec::new(),
            score: None,
            cues: Vec::new(),
            log: Vec::new(),
        }
    }

    /// Plays what falls before `now`, as the sound would.
    fn sound_until(&mut self, now: Ms) {
        if let Some(placed) = self.score {
            let mut next = placed.first(self.now.0, 1000);
            while let Some(s) = next.filter(|s| s.at < now.0) {
                self.beats.push((s.at, s.kind));
                next = placed.after(s, 1000);
            }
        }
        let (due, rest): (Vec<_>, Vec<_>) = core::mem::take(&mut self.cues)
            .into_iter()
            .partition(|(start, _)| *start < now);
        self.cues = rest;
        for (start, cue) in due {
            let name = match cue.sound {
                CueSound::Voice(p) => p.word(),
                CueSound::Tone(t) => t.word(),
            };
            self.heard.push((start.0, name.to_string()));
            self.input(
                now,
                Input::Sound(SoundNews::Started {
                    id: cue.id,
                    at: start,
                }),
            );
        }
        self.now = now;
    }

    fn input(&mut self, now: Ms, input: Input) {
        self.run.handle(now, input);
        while let Some(out) = self.run.poll() {
            match out {
                Output::Score(placed) => self.score = Some(placed),
                Output::Play(cue) => {
                    let start = match cue.start {
                        Start::Now => now,
                        Start::At(at) => {
                            assert!(at.since(now) >= Ms(300), "{cue:?} handed over at {now}");
                            at
                        }
                    };
                    self.cues.push((start, cue));
                }
                Output::Revoke(id) => self.cues.retain(|(_, c)| c.id != id),
                Output::Write(entry) => self.log.push(entry),
                Output::Show => {}
            }
        }
    }

    fn until(&mut self, t: u64) -> &mut Self {
        let t = Ms(t);
        while let Some(wake) = self.run.next_wakeup().filter(|w| *w < t) {
            assert!(wake > self.now, "woken again at {wake}");
            self.sound_until(wake);
            self.input(wake, Input::Wake);
        }
        self.sound_until(t);
        self.input(t, Input::Wake);
        self
    }

    /// A touch of 100 ms, taken at `t`.
    fn tap(&mut self, t: u64, act: Act) -> &mut Self {
        self.until(t);
        for mark in act.marks() {
            self.input(
                Ms(t),
                Input::Mark {
                    at: Ms(t - t.min(100)),
                    mark,
                    src: Source::Button,
                },
            );
        }
        self
    }

    /// A mark whose finger went down `age` before it was taken at `t`.
    fn mark_aged(&mut self, t: u64, age: u64, mark: Mark) -> &mut Self {
        self.until(t);
        let at = Ms(t - age);
        let src = Source::Button;
        self.input(Ms(t), Input::Mark { at, mark, src });
        self
    }

    /// A mark without age, so that its times are round.
    fn mark(&mut self, t: u64, mark: Mark) -> &mut Self {
        self.mark_aged(t, 0, mark)
    }

    /// The run is taken up at `t` after a gap from `from` on.
    fn back(&mut self, t: u64, from_seq: Seq, from: Ms) -> &mut Self {
        let bad_bytes = 0;
        self.now = Ms(t);
        let back = Input::Recovered {
            from_seq,
            from,
            bad_bytes,
        };
        self.input(Ms(t), back);
        self
    }

    /// Another walk, of a new process that takes up this one's log at `t`.
    fn replayed(&self, t: u64) -> Self {
        let mut again = Self::new();
        again.run = Run::replay(setup(), &self.log).unwrap();
        let last = self.log.last().unwrap();
        again.back(t, last.seq, last.taken);
        again
    }

    /// The marks of a key, without age.
    fn key(&mut self, t: u64, act: Act) -> &mut Self {
        for mark in act.marks() {
            self.mark(t, mark);
        }
        self
    }

    /// When a prompt was spoken.
    fn said(&self, word: &str) -> Vec<u64> {
        self.heard
            .iter()
            .filter(|(_, n)| n == word)
            .map(|(t, _)| *t)
            .collect()
    }

    /// When a prompt went to the screen alone.
    fn shown(&self, word: &str) -> Vec<u64> {
        self.log
            .iter()
            .filter_map(|e| match &e.fact {
                Fact::Deed(Deed::Cue(c)) if c.outcome == CueOutcome::Held => {
                    let on_screen = matches!(c.why, Some(HeldWhy::Screen | HeldWhy::Merged));
                    (on_screen && c.id.is_some_and(|p| p.word() == word)).then_some(c.due_ms.0)
                }
                Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
            })
            .collect()
    }

    /// Where a drug stands.
    fn drug(&self, key: &str) -> DrugWord {
        let view = self.run.view(self.now);
        view.drugs.iter().find(|d| d.key == key).unwrap().stands
    }

    fn undo(&mut self, t: u64) -> &mut Self {
        self.until(t);
        self.input(Ms(t), Input::Undo);
        self
    }

    fn voices(&self) -> Vec<(u64, &str)> {
        self.heard
            .iter()
            .filter(|(_, n)| Prompt::ALL.iter().any(|p| p.word() == n))
            .map(|(t, n)| (*t, n.as_str()))
            .collect()
    }

    fn beats_between(&self, from: u64, to: u64) -> Vec<u64> {
        self.beats
            .iter()
            .filter(|(t, k)| *k != beat::Kind::Breath && (from..to).contains(t))
            .map(|(t, _)| *t)
            .collect()
    }

    fn breaths(&self) -> Vec<u64> {
        self.beats
            .iter()
            .filter(|(_, k)| *k == beat::Kind::Breath)
            .map(|(t, _)| *t)
            .collect()
    }

    fn ignored(&self) -> Vec<&str> {
        self.log
            .iter()
            .filter_map(|e| match &e.fact {
                Fact::Deed(Deed::Ignored { why, .. }) => Some(why.as_str()),
                Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
            })
            .collect()
    }
}

fn started() -> Walk {
    started_with(setup())
}

fn started_with(setup: Setup) -> Walk {
    let mut w = Walk::with(setup);
    w.input(Ms::ZERO, Input::Start(Way::Hand));
    w.tap(0, Act::StartByHand);
    w
}

fn by_device() -> Walk {
    let mut w = started();
    w.tap(10_000, Act::FitDevice)
        .tap(20_100, Act::HandsOffFit)
        .tap(26_100, Act::DeviceRunning);
    w
}
