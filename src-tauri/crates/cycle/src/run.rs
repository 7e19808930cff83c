//! A run: inputs in, outputs out. Decides, applies, queues; nothing else changes it.

mod amend;
mod told;

use alloc::{collections::VecDeque, string::ToString, vec::Vec};

use crate::{
    Levels, Look, Ms, Surroundings,
    accept::Refusal,
    book::{Book, LastAct},
    entered::{Entered, EnteredFault},
    fact::{Deed, Entry, Fact, ScoreLine, Seq, SettingName, Source, Way},
    input::{Input, Output, Setup},
    mark::{FlowMark, Mark},
    plan::{self, Step},
    prompts::{Prompt, Tone},
    rules, show,
    state::Pause,
    story::Story,
    view::View,
    wants::Want,
};

/// First line of a run after the header and the protocol.
const FIRST: Seq = Seq(2);
const HEARTBEAT: Ms = Ms(10_000);
/// More steps than this at one moment mean that the rules chase their tail.
const MOST_STEPS: usize = 200;

/// One resuscitation, from its first touch to its end.
#[derive(Clone, Debug)]
pub struct Run {
    setup: Setup,
    story: Story,
    book: Book,
    out: VecDeque<Output>,
    next: Seq,
    wake: Option<Ms>,
    receipt: Option<Ms>,
    /// The moment looked at last; only for what is written down as missed.
    settled: Ms,
    /// What was due then and waited its turn; only for what is written down as answered.
    waiting: Vec<Want>,
}

/// A log that cannot be replayed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ReplayError {
    /// The line that is out of order.
    pub found: Seq,
    /// The line that should stand there.
    pub expected: Seq,
}

impl core::fmt::Display for ReplayError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(
            f,
            "line {} where line {} should stand",
            self.found.0, self.expected.0
        )
    }
}

impl core::error::Error for ReplayError {}

impl Run {
    /// A run that has not begun; nothing sounds.
    pub fn new(setup: Setup) -> Self {
        let story = Story::new(&setup);
        let book = Book::default();
        Self {
            setup,
            story,
            book,
            out: VecDeque::new(),
            next: FIRST,
            wake: None,
            receipt: None,
            settled: Ms::ZERO,
            waiting: Vec::new(),
        }
    }

    /// Rebuilds a run from its log through the same `apply`.
    ///
    /// # Errors
    /// [`ReplayError`] where a line's number is lower than the one before it. A higher one is taken:
    /// lines of kinds that this version does not know lie between.
    pub fn replay(setup: Setup, log: &[Entry]) -> Result<Self, ReplayError> {
        let mut run = Self::new(setup);
        for entry in log {
            if entry.seq < run.next {
                return Err(ReplayError {
                    found: entry.seq,
                    expected: run.next,
                });
            }
            run.apply(entry);
            // What lies before the log's end was looked at when it was written.
            run.settled = entry.taken;
        }
        Ok(run)
    }

    /// Decides, applies, queues. Drain [`Run::poll`] before the next call.
    pub fn handle(&mut self, now: Ms, input: Input) {
        match input {
            Input::Start(way) => self.start(now, way),
            Input::Mark { at, mark, src } => self.mark(now, at.min(now), mark, src),
            Input::Undo => self.undo(now),
            Input::Amend(amend) => self.amend(now, amend),
            Input::Remove(seq) => self.remove(now, seq),
            Input::Earlier { target, by } => self.earlier(now, target, by),
            Input::SetRight { state, back } => {
                let mark = Mark::Flow(FlowMark::StateSet { state });
                self.mark(now, now.minus(back), mark, Source::Button);
            }
            Input::EndHeld => {
                let state = self.story.state();
                let step = plan::voice_now(&self.setup, state, &self.book, now, Prompt::HoldEnd);
                if let Some(step) = step {
                    self.step(now, step);
                }
            }
            Input::Sound(news) => self.sound(now, news),
            Input::Recovered {
                from_seq,
                from,
                bad_bytes,
            } => {
                let (gap_from_seq, gap_from_ms) = (from_seq, from);
                self.deed(
                    now,
                    Deed::Recovered {
                        gap_from_seq,
                        gap_from_ms,
                        bad_bytes,
                    },
                );
            }
            Input::Gap { ms } => self.deed(now, Deed::Gap { ms }),
            Input::WallJump { delta_ms } => self.deed(now, Deed::WallJump { delta_ms }),
            Input::Drill(line) => self.deed(now, Deed::Drill(line)),
            Input::Phone {
                battery_pct,
                charging,
            } => self.phone(now, battery_pct, charging),
            Input::Around(change) => {
                if self.book.around.is_new(change) {
                    self.deed(now, Deed::Around(change));
                }
            }
            Input::Look(look) => {
                if self.is_live() && look != self.book.look {
                    self.deed(now, Deed::Screen(look));
                }
            }
            Input::Levels(levels) => {
                let value = levels.within();
                if value != self.book.levels {
                    let name = SettingName::Levels;
                    self.deed(now, Deed::Setting { name, value });
                }
            }
            Input::Refused { kind, why } => {
                let kind = kind.to_string();
                self.deed(now, Deed::Ignored { kind, why });
            }
            Input::Touches { n, why } => self.deed(now, Deed::TouchIgnored { n, why }),
            Input::Fault { place, what } => {
                self.deed(
                    now,
                    Deed::Fault {
                        place: place.to_string(),
                        what,
                    },
                );
            }
            Input::Wake => {}
        }
        self.settle(now);
        self.out.push_back(Output::Show);
    }

    /// The next output; sound first, then log, then screen.
    #[must_use]
    pub fn poll(&mut self) -> Option<Output> {
        let rank = |o: &Output| match o {
            Output::Score(_) | Output::Play(_) | Output::Revoke(_) => 0u8,
            Output::Write(_) => 1,
            Output::Show => 2,
        };
        let first = self
            .out
            .iter()
            .enumerate()
            .min_by_key(|(i, o)| (rank(o), *i))?
            .0;
        let taken = self.out.remove(first);
        if matches!(taken, Some(Output::Show)) {
            self.out.clear();
        }
        taken
    }

    /// When [`Input::Wake`] is wanted next. Changes only in [`Run::handle`].
    #[must_use]
    pub fn next_wakeup(&self) -> Option<Ms> {
        self.wake
    }

    /// What the screen draws, complete.
    #[must_use]
    pub fn view(&self, now: Ms) -> View {
        show::view(
            self.setup.protocol_of(self.story.state().class),
            self.story.state(),
            &self.book,
            &self.story,
            now,
        )
    }

    /// Whether the run has ended.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.story.state().outcome.is_some()
    }

    /// Whether the run has begun and has not ended.
    #[must_use]
    pub fn is_live(&self) -> bool {
        self.story.state().is_live()
    }

    /// Whether the app came back after so long a gap, or to circulation, that nobody knows whose run it is until the
    /// crew says so.
    #[must_use]
    pub fn is_between_halves(&self) -> bool {
        self.story.state().is_between_halves()
    }

    /// The score that sounds.
    #[must_use]
    pub fn sounding(&self) -> Option<beat::Placed> {
        self.book.sounding
    }

    /// The score that the marks ask for.
    #[must_use]
    pub fn wanted(&self, now: Ms) -> beat::Placed {
        let state = self.story.state();
        state.wanted_score(self.setup.protocol_of(state.class), now)
    }

    /// How loud it is to be: as the crew set it in this run, else as it was set on the phone.
    #[must_use]
    pub fn levels(&self) -> Levels {
        self.story.state().levels.unwrap_or(self.book.levels)
    }

    /// How the screen looks, as it was told last.
    #[must_use]
    pub const fn look(&self) -> Look {
        self.book.look
    }

    /// How things stand around the phone.
    #[must_use]
    pub fn around(&self) -> Surroundings {
        self.book.around
    }

    /// Whether what is played now is heard through the phone's own loudspeaker.
    #[must_use]
    pub fn is_heard(&self) -> bool {
        !self.book.sound_lost && self.book.around.is_heard()
    }

    /// Whether the crew wants no sound from this phone: it is the second one.
    #[must_use]
    pub fn is_quiet(&self) -> bool {
        self.story.state().is_quiet()
    }

    /// The number of the next line.
    #[must_use]
    pub fn next_seq(&self) -> Seq {
        self.next
    }

    /// The latest mark that stands and when its finger went down.
    #[must_use]
    pub fn last_mark(&self) -> Option<(Seq, Ms)> {
        self.story.last_mark()
    }

    /// The marks that stand, at their amended times, in order of time.
    #[must_use]
    pub fn standing(&self) -> Vec<(Ms, &Mark)> {
        self.story.standing()
    }

    /// When it was said to be a drill, if it is one.
    #[must_use]
    pub fn drill(&self) -> Option<Ms> {
        self.book.drill
    }

    /// What became of the crew's last act: a mark, an amendment, or one that was not taken.
    #[must_use]
    pub fn last_act(&self) -> Option<LastAct> {
        self.book.last_act()
    }

    /// Whether a mark could stand now; what would be written as `ignored` otherwise.
    ///
    /// # Errors
    /// [`Refusal`], with what is allowed.
    pub fn check(&self, mark: &Mark) -> Result<(), Refusal> {
        self.story.state().accepts(mark)
    }

    /// The pauses that are over, by the marks as they stand, the earliest first.
    #[must_use]
    pub fn pauses(&self) -> &[Pause] {
        &self.story.state().closed
    }

    /// The mark of what was entered with a value, by the numbers in force.
    ///
    /// # Errors
    /// [`EnteredFault`], with field, value and what is allowed.
    pub fn entered(&self, entered: &Entered) -> Result<Mark, EnteredFault> {
        let state = self.story.state();
        entered.mark(self.setup.protocol_of(state.class), state)
    }

    /// The numbers in force.
    #[must_use]
    pub fn setup(&self) -> &Setup {
        &self.setup
    }

    fn start(&mut self, now: Ms, way: Way) {
        if self.story.state().way.is_none() {
            self.deed(now, Deed::Start { way });
        }
    }

    fn mark(&mut self, now: Ms, at: Ms, mark: Mark, src: Source) {
        let at = self.within(at, &mark);
        match self.story.state().accepts(&mark) {
            Ok(()) => {
                if !self.story.state().is_live() {
                    self.start(now, Way::Hand);
                }
                self.write(at, now, src, Fact::Mark(mark));
                self.acknowledge(now);
            }
            Err(refusal) => {
                let kind = crate::mark::kind_of(&mark).to_string();
                self.deed(
                    now,
                    Deed::Ignored {
                        kind,
                        why: refusal.text().to_string(),
                    },
                );
            }
        }
    }

    /// The true state may be told from minutes back on, but never from before the mark of the state
    /// line that stands before it.
    fn within(&self, at: Ms, mark: &Mark) -> Ms {
        match mark {
            Mark::Flow(FlowMark::StateSet { .. }) => {
                let end = (Ms(u64::MAX), self.next);
                at.max(self.story.earliest(mark, end, &[]))
            }
            Mark::Run(_)
            | Mark::Flow(_)
            | Mark::Air(_)
            | Mark::Check(_)
            | Mark::Device(_)
            | Mark::Care(_) => at,
        }
    }

    /// One receipt for all marks of one touch.
    fn acknowledge(&mut self, now: Ms) {
        if self.receipt != Some(now) && !self.story.state().is_quiet() {
            self.receipt = Some(now);
            let step = plan::tone_now(&self.book, now, Tone::Receipt);
            self.step(now, step);
        }
    }

    /// Brings sound and log in line with the state: score, cues, what time alone brings about.
    fn settle(&mut self, now: Ms) {
        if self.story.state().way.is_none() {
            self.wake = None;
            return;
        }
        self.settle_score(now);
        self.wake = None;
        for _ in 0..MOST_STEPS {
            let (state, undone) = (self.story.state(), self.story.undone());
            let times = (self.settled, now);
            let queue = &self.waiting;
            let plan = plan::next(&self.setup, state, undone, &self.book, queue, times);
            let Some(step) = plan.step else {
                (self.wake, self.waiting) = (plan.wake, plan.waiting);
                break;
            };
            self.step(now, step);
        }
        self.settle_time(now);
        self.settled = now;
    }

    fn settle_score(&mut self, now: Ms) {
        if self.book.sounding.is_none() && !self.is_live() {
            return;
        }
        let mut wanted = self.wanted(now);
        if self.book.is_stopped {
            wanted.score.pattern = beat::Pattern::Silent { breath_ms: 0 };
        }
        let same = self.book.sounding.is_some_and(|s| same_sound(&s, &wanted));
        if !same {
            let placed = beat::Placed {
                from_ms: wanted.from_ms.max(now.0),
                ..wanted
            };
            self.out.push_back(Output::Score(placed));
            self.deed(now, Deed::Score(ScoreLine::from(placed)));
        }
    }

    fn settle_time(&mut self, now: Ms) {
        if !self.is_live() {
            return;
        }
        if now.since(self.book.heartbeat) >= HEARTBEAT {
            self.deed(now, Deed::Heartbeat {});
        }
        let state = self.story.state();
        let p = self.setup.protocol_of(state.class);
        let mut known = self.book.unmarked;
        let mut due = Vec::new();
        while let Some(next) = rules::check::unmarked(p, state, now, known) {
            due.push(next);
            known = Some(next);
        }
        for due_ms in due {
            self.deed(now, Deed::CheckUnmarked { due_ms });
        }
        let beat = self.book.heartbeat.plus(HEARTBEAT);
        self.wake = Some(self.wake.map_or(beat, |w| w.min(beat)));
    }

    fn step(&mut self, now: Ms, step: Step) {
        match step {
            Step::Play(cue, line) => {
                self.out.push_back(Output::Play(cue));
                self.deed(now, Deed::Cue(line));
            }
            Step::Revoke(flight, line) => {
                self.out.push_back(Output::Revoke(flight.id));
                self.deed(now, Deed::Cue(line));
            }
            Step::Write(deed) => self.deed(now, deed),
        }
    }

    fn deed(&mut self, now: Ms, deed: Deed) {
        self.write(now, now, Source::Auto, Fact::Deed(deed));
    }

    fn write(&mut self, at: Ms, taken: Ms, src: Source, fact: Fact) {
        let entry = Entry {
            seq: self.next,
            at,
            taken,
            src,
            fact,
        };
        self.apply(&entry);
        self.out.push_back(Output::Write(entry));
    }

    /// The only thing that changes a run.
    fn apply(&mut self, entry: &Entry) {
        self.next = Seq(entry.seq.0.saturating_add(1));
        self.story.apply(&self.setup, entry);
        self.book.apply(entry);
    }
}

/// Whether two placed scores sound the same from now on. A grid that comes back after its mark was
/// taken back differs only in `from_ms`.
fn same_sound(a: &beat::Placed, b: &beat::Placed) -> bool {
    let silent =
        |p: &beat::Placed| matches!(p.score.pattern, beat::Pattern::Silent { breath_ms: 0 });
    (silent(a) && silent(b))
        || (beat::Placed { from_ms: 0, ..*a } == beat::Placed { from_ms: 0, ..*b })
}
