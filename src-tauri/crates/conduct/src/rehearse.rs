//! A whole run without a screen, at virtual speed: the same stage, a clock that is only a number.

use std::{
    fmt,
    sync::{
        Arc, Mutex, PoisonError,
        atomic::{AtomicU64, Ordering},
    },
};

use ::drill::Scenario;
use cycle::{
    Input, Ms, Seq, Setup,
    fact::{Amend, Source},
};
use record::{
    EncodeError, Wall,
    script::{Act, Script, Step},
};

use crate::{Clock, Durability, Heads, House, Keeper, Speaker, Stage, drill::Beside};

/// A rehearsal without an end goes on so long after its last mark.
const TAIL: Ms = Ms(30_000);
/// 2026-01-01T00:00:00Z: rehearsals are dated alike, so that two of one script are the same.
const WALL_MS: i64 = 1_767_225_600_000;

/// Why a rehearsal came to nothing.
#[derive(Debug)]
pub enum RehearseError {
    /// A mark cannot stand where it stands.
    Mark {
        /// Which, from 1.
        mark: usize,
        /// Its time.
        at: Ms,
        /// What it says.
        ev: &'static str,
        /// What is allowed.
        allowed: &'static str,
    },
    /// An amendment of something that is no mark.
    Target {
        /// Which, from 1.
        mark: usize,
        /// Its time.
        at: Ms,
    },
    /// The record's opening lines.
    Record(EncodeError),
}

impl fmt::Display for RehearseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Mark {
                mark,
                at,
                ev,
                allowed,
            } => {
                write!(f, "mark {mark} at {at}: {ev} cannot stand here, {allowed}")
            }
            Self::Target { mark, at } => {
                write!(
                    f,
                    "mark {mark} at {at}: its target is no mark of this script"
                )
            }
            Self::Record(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for RehearseError {}

/// What a rehearsal leaves.
#[derive(Debug)]
pub struct Rehearsed {
    /// The record's bytes.
    pub record: Vec<u8>,
    /// When it ended.
    pub end: Ms,
}

/// Plays a script through a speaker.
///
/// # Errors
/// [`RehearseError`], at the first mark that cannot stand.
pub fn rehearse(
    script: &Script,
    setup: Setup,
    heads: &Heads,
    speaker: &mut dyn Speaker,
) -> Result<Rehearsed, RehearseError> {
    play(script, setup, heads, speaker, None)
}

/// Plays a scripted crew through a drill: each cue of the scenario is told when its time comes, and stands in the
/// record. `heads` says that it is a drill, and which.
///
/// # Errors
/// As [`rehearse`].
pub fn rehearse_drill(
    script: &Script,
    (scenario, seed): (&Scenario, u32),
    setup: Setup,
    heads: &Heads,
    speaker: &mut dyn Speaker,
) -> Result<Rehearsed, RehearseError> {
    let beside = Beside::new(Arc::new(scenario.clone()), seed);
    play(script, setup, heads, speaker, Some(beside))
}

fn play(
    script: &Script,
    setup: Setup,
    heads: &Heads,
    speaker: &mut dyn Speaker,
    beside: Option<Beside>,
) -> Result<Rehearsed, RehearseError> {
    let clock = Arc::new(Virtual::default());
    let stamp = clock.stamp(Ms::ZERO, 0);
    let (chain, opening) = heads.open(&setup, &stamp).map_err(RehearseError::Record)?;
    let bytes = Arc::new(Mutex::new(opening));
    let keeper = Box::new(Memory(Arc::clone(&bytes)));
    let run_clock: Arc<dyn Clock> = Arc::<Virtual>::clone(&clock);
    let mut play = Play {
        stage: Stage::begin(setup, chain, run_clock, House::same(), keeper),
        clock,
        speaker,
        seqs: Vec::new(),
        beside,
        now: Ms::ZERO,
    };
    if let Some(beside) = &play.beside {
        play.stage.step(play.speaker, Ms::ZERO, beside.begun(None));
    }
    for (n, step) in script.steps.iter().enumerate() {
        play.until(step.at);
        play.act(n, step)?;
    }
    let last = script.steps.last().map_or(Ms::ZERO, |s| s.at);
    let end = script.end.unwrap_or_else(|| last.plus(TAIL)).max(last);
    play.until(end);
    play.stage.seal(end);
    drop(play);
    let record = bytes.lock().unwrap_or_else(PoisonError::into_inner).clone();
    Ok(Rehearsed { record, end })
}

struct Play<'a> {
    stage: Stage,
    clock: Arc<Virtual>,
    speaker: &'a mut dyn Speaker,
    /// The mark of each step.
    seqs: Vec<Option<Seq>>,
    /// The scenario of a drill.
    beside: Option<Beside>,
    /// How far it has gone: a cue that a mark of before brings is told now.
    now: Ms,
}

impl Play<'_> {
    /// Everything that falls due before `at`, and the sound up to it.
    fn until(&mut self, at: Ms) {
        loop {
            let cue = self.beside.as_ref().and_then(Beside::next_wakeup);
            let cue = cue.map(|at| at.max(self.now));
            let due = [self.stage.next_wakeup(), self.speaker.next_wakeup(), cue];
            let Some(now) = due.into_iter().flatten().min().filter(|due| *due < at) else {
                break;
            };
            self.moment(now);
        }
        self.moment(at);
    }

    fn moment(&mut self, now: Ms) {
        self.now = now;
        self.clock.0.store(now.0, Ordering::Relaxed);
        self.stage.hear(self.speaker, now);
        self.stage.step(self.speaker, now, Input::Wake);
        let Some(beside) = &mut self.beside else {
            return;
        };
        while let Some(input) = beside.tell(self.stage.run(), now) {
            self.stage.step(self.speaker, now, input);
        }
    }

    fn act(&mut self, n: usize, step: &Step) -> Result<(), RehearseError> {
        let (mark_no, at) = (n.saturating_add(1), step.at);
        let mut made = None;
        match &step.act {
            Act::Start(way) => self.stage.step(self.speaker, at, Input::Start(*way)),
            Act::Mark(mark) => {
                self.stage
                    .run()
                    .check(mark)
                    .map_err(|refusal| RehearseError::Mark {
                        mark: mark_no,
                        at,
                        ev: cycle::mark::kind_of(mark),
                        allowed: refusal.text(),
                    })?;
                let input = Input::Mark {
                    at: step.down(),
                    mark: mark.clone(),
                    src: Source::Button,
                };
                self.stage.step(self.speaker, at, input);
                made = self.stage.run().last_mark().map(|(seq, _)| seq);
            }
            Act::Undo => self.stage.step(self.speaker, at, Input::Undo),
            Act::Amend(amend) => {
                let target = self.seqs.get(amend.target).copied().flatten();
                let target = target.ok_or(RehearseError::Target { mark: mark_no, at })?;
                let (op, reason) = (amend.op.clone(), amend.reason);
                self.stage.step(
                    self.speaker,
                    at,
                    Input::Amend(Amend::of(target, op, reason)),
                );
            }
        }
        self.seqs.push(made);
        // It may bring a cue sooner than the next moment of the run.
        if let Some(beside) = &mut self.beside {
            beside.look(self.stage.run());
        }
        Ok(())
    }
}

/// A clock that is a number.
#[derive(Debug, Default)]
struct Virtual(AtomicU64);

impl Clock for Virtual {
    fn mono_ns(&self) -> u64 {
        self.0.load(Ordering::Relaxed).saturating_mul(1_000_000)
    }

    fn wall(&self) -> Wall {
        let run = i64::try_from(self.0.load(Ordering::Relaxed)).unwrap_or(i64::MAX);
        Wall::new(WALL_MS.saturating_add(run), 0).unwrap_or(Wall::UNKNOWN)
    }

    fn boot(&self) -> &'static str {
        "rehearsal"
    }

    fn zero_ms(&self) -> i64 {
        0
    }
}

#[derive(Debug)]
struct Memory(Arc<Mutex<Vec<u8>>>);

impl Keeper for Memory {
    fn keep(&mut self, line: Vec<u8>, _through: Seq, _durability: Durability) {
        self.0
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .extend(line);
    }
}
