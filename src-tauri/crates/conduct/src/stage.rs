//! One step of a run, with everything that follows from it in its order: sound, log, view.
//!
//! The live conductor and the rehearsal both stand on this; neither has rules of its own.

use std::{
    fmt,
    panic::{AssertUnwindSafe, catch_unwind},
    sync::Arc,
};

use cycle::{
    Act, Banner, Card, Class, CueId, CueSound, Entry, Fact, Figure, Input, LastAct, Mark, Ms,
    Output, Run, Seq, Setup, SoundNews, Start, StateWord, Tone, View,
    fact::{Deed, Source},
    mark::{FlowMark, Outcome, RunMark},
};
use record::Chain;

use crate::{Clock, Durability, House, Levels, Order, Speaker};

/// A second fault within this long stops the rules: the score goes on, marks are written raw.
const SECOND_FAULT: Ms = Ms(10_000);

/// Where lines go.
pub trait Keeper: fmt::Debug + Send {
    /// Takes a line with its line feed. Never waits for the disk.
    fn keep(&mut self, line: Vec<u8>, through: Seq, durability: Durability);
}

/// A run with its sound and its log.
#[derive(Debug)]
pub struct Stage {
    run: Run,
    chain: Chain,
    clock: Arc<dyn Clock>,
    house: House,
    keeper: Box<dyn Keeper>,
    proc: u32,
    fault_at: Option<Ms>,
    /// The rules are out.
    is_bare: bool,
    /// Without rules: the last line of an act, and how the run ended.
    raw_act: Option<LastAct>,
    raw_end: Option<Outcome>,
    sound_lost: bool,
    /// The levels that were ordered last.
    levels: Option<Levels>,
    /// The last prompt of a pressing class, and when it begins.
    pressing: Option<(CueId, Ms)>,
    /// Nothing is written after the seal.
    is_sealed: bool,
    last_view: View,
    #[cfg(feature = "fakes")]
    faulty: Option<fn(&Input) -> bool>,
}

impl Stage {
    /// A run that begins: `chain` stands after the header and the protocol line.
    pub fn begin(
        setup: Setup,
        chain: Chain,
        clock: Arc<dyn Clock>,
        house: House,
        keeper: Box<dyn Keeper>,
    ) -> Self {
        Self::with(Run::new(setup), chain, (clock, house), keeper, 0)
    }

    /// A run that goes on after a kill.
    pub fn resumed(
        run: Run,
        chain: Chain,
        clock: Arc<dyn Clock>,
        house: House,
        keeper: Box<dyn Keeper>,
        proc: u32,
    ) -> Self {
        Self::with(run, chain, (clock, house), keeper, proc)
    }

    fn with(
        run: Run,
        chain: Chain,
        (clock, house): (Arc<dyn Clock>, House),
        keeper: Box<dyn Keeper>,
        proc: u32,
    ) -> Self {
        let last_view = run.view(Ms::ZERO);
        Self {
            run,
            chain,
            clock,
            house,
            keeper,
            proc,
            fault_at: None,
            is_bare: false,
            raw_act: None,
            raw_end: None,
            sound_lost: false,
            levels: None,
            pressing: None,
            is_sealed: false,
            last_view,
            #[cfg(feature = "fakes")]
            faulty: None,
        }
    }

    /// Makes the rules fail on the inputs for which `on` says so.
    #[cfg(feature = "fakes")]
    pub fn fail_on(&mut self, on: fn(&Input) -> bool) {
        self.faulty = Some(on);
    }

    /// Takes an input at run time `now` and does all that follows.
    pub fn step(&mut self, speaker: &mut dyn Speaker, now: Ms, input: Input) {
        if self.is_sealed {
            return;
        }
        if self.is_bare {
            self.bare_step(speaker, now, input);
            return;
        }
        // What a fault leaves behind must not be used: the run as it was before this input is.
        let before = self.run.clone();
        let handled = catch_unwind(AssertUnwindSafe(|| {
            #[cfg(feature = "fakes")]
            #[expect(clippy::panic, reason = "the fault that a test asks for")]
            if self.faulty.is_some_and(|on| on(&input)) {
                std::panic::panic_any("a fault was asked for");
            }
            self.run.handle(now, input.clone());
        }));
        match handled {
            Ok(()) => self.drain(speaker, now),
            Err(fault) => {
                self.run = before;
                self.faulted(speaker, now, input, text_of(fault.as_ref()));
            }
        }
    }

    /// The sound is lost already as the run begins.
    pub fn lost(&mut self, speaker: &mut dyn Speaker, now: Ms) {
        self.sound_lost = true;
        self.step(speaker, now, Input::Sound(SoundNews::Lost));
    }

    /// Passes the sound's news on to the rules.
    pub fn hear(&mut self, speaker: &mut dyn Speaker, now: Ms) {
        while let Some(news) = speaker.news(self.house.of_run(now)) {
            let news: SoundNews = self.house.news(news);
            match news {
                SoundNews::Lost => self.sound_lost = true,
                SoundNews::Back => self.sound_lost = false,
                SoundNews::Started { .. }
                | SoundNews::Late { .. }
                | SoundNews::Cut { .. }
                | SoundNews::Count { .. } => {}
            }
            self.step(speaker, now, Input::Sound(news));
        }
    }

    /// Sounds what stands by the log: the speaker knows nothing of it, since another process or run had it.
    pub(crate) fn sound_again(&mut self, speaker: &mut dyn Speaker, now: Ms) {
        let house_now = self.house.of_run(now);
        speaker.count_anew(house_now);
        let levels = self.run.levels().into();
        self.levels = Some(levels);
        speaker.order(house_now, Order::Levels(levels));
        if let Some(placed) = self.run.sounding() {
            speaker.order(house_now, self.house.score(placed));
        }
    }

    /// The screen's view at `now`.
    pub fn view(&mut self, now: Ms) -> View {
        if !self.is_bare {
            let run = &self.run;
            if let Ok(view) = catch_unwind(AssertUnwindSafe(|| run.view(now))) {
                self.last_view = view;
            }
        }
        let mut view = self.last_view.clone();
        if self.is_bare {
            bare_view(&mut view, self.raw_end, self.sound_lost);
        }
        view
    }

    /// Whether the sound is lost.
    pub fn is_sound_lost(&self) -> bool {
        self.sound_lost
    }

    /// When the last prompt of a pressing class begins, or began.
    pub fn pressing(&self) -> Option<Ms> {
        self.pressing.map(|(_, at)| at)
    }

    /// Whether the run has begun and has not ended, with rules or without.
    pub fn is_live(&self) -> bool {
        self.raw_end.is_none() && (self.is_bare || self.run.is_live())
    }

    /// Whether the run has ended.
    pub fn is_over(&self) -> bool {
        self.raw_end.is_some() || self.run.is_over()
    }

    /// Whether the record is closed: nothing more is taken.
    pub fn is_sealed(&self) -> bool {
        self.is_sealed
    }

    /// What became of the crew's last act.
    pub fn last_act(&self) -> Option<LastAct> {
        self.raw_act.or_else(|| self.run.last_act())
    }

    /// Whether the rules are out.
    pub fn is_bare(&self) -> bool {
        self.is_bare
    }

    /// The run.
    pub fn run(&self) -> &Run {
        &self.run
    }

    /// When the next step is wanted.
    pub fn next_wakeup(&self) -> Option<Ms> {
        if self.is_bare {
            None
        } else {
            self.run.next_wakeup()
        }
    }

    /// Writes the seal. Nothing is written after it but by a review.
    pub fn seal(&mut self, now: Ms) {
        if self.is_sealed {
            return;
        }
        self.is_sealed = true;
        let stamp = self.clock.stamp(now, self.proc);
        if let Ok(line) = record::encode_seal(&mut self.chain, &stamp, 1) {
            let through = Seq(self.chain.next().0.saturating_sub(1));
            self.keeper.keep(line, through, Durability::Now);
        }
    }

    /// Lets the keeper go: what was written before the seal may be waited for elsewhere, and nothing comes after it.
    pub(crate) fn let_go(&mut self, instead: Box<dyn Keeper>) -> Box<dyn Keeper> {
        std::mem::replace(&mut self.keeper, instead)
    }

    fn drain(&mut self, speaker: &mut dyn Speaker, now: Ms) {
        let house_now = self.house.of_run(now);
        // What is ordered now begins at the level that was set with it.
        let levels = self.run.levels().into();
        if self.levels.replace(levels) != Some(levels) {
            speaker.order(house_now, Order::Levels(levels));
        }
        while let Some(output) = self.run.poll() {
            match output {
                Output::Score(placed) => speaker.order(house_now, self.house.score(placed)),
                Output::Play(cue) => {
                    if is_pressing(cue.sound) {
                        let at = match cue.start {
                            Start::Now => now,
                            Start::At(at) => at,
                        };
                        self.pressing = Some((cue.id, at));
                    }
                    speaker.order(house_now, self.house.play(cue));
                }
                Output::Revoke(id) => {
                    self.pressing = self.pressing.filter(|(pressing, _)| *pressing != id);
                    speaker.order(house_now, Order::Revoke(id));
                }
                Output::Write(entry) => self.write(&entry),
                Output::Show => {}
            }
        }
    }

    fn write(&mut self, entry: &Entry) {
        let stamp = self.clock.stamp(entry.taken, self.proc);
        let durability = match entry.fact {
            Fact::Mark(_)
            | Fact::Amend(_)
            | Fact::Deed(Deed::Start { .. } | Deed::Fault { .. } | Deed::Recovered { .. }) => {
                Durability::Now
            }
            Fact::Deed(_) => Durability::Soon,
        };
        // A line that cannot be encoded is too long or out of order: it is written down as such, and
        // the numbers stay without a gap.
        let line = record::encode(&mut self.chain, &stamp, entry).or_else(|error| {
            let deed = Deed::Fault {
                place: "record".to_owned(),
                what: error.to_string(),
            };
            record::encode(
                &mut self.chain,
                &stamp,
                &Entry {
                    src: Source::Auto,
                    fact: Fact::Deed(deed),
                    ..entry.clone()
                },
            )
        });
        if let Ok(line) = line {
            self.keeper.keep(line, entry.seq, durability);
        }
    }

    /// First fault: written, the input dropped, the run as it was. Second within ten seconds: the
    /// rules are out.
    fn faulted(&mut self, speaker: &mut dyn Speaker, now: Ms, input: Input, what: String) {
        let second = self.fault_at.is_some_and(|at| now.since(at) < SECOND_FAULT);
        self.fault_at = Some(now);
        let note = Input::Fault {
            place: "rules",
            what: what.clone(),
        };
        let noted =
            !second && catch_unwind(AssertUnwindSafe(|| self.run.handle(now, note))).is_ok();
        if noted {
            self.drain(speaker, now);
            self.not_taken(speaker, now, &input);
            return;
        }
        self.is_bare = true;
        let fact = Fact::Deed(Deed::Fault {
            place: "rules".to_owned(),
            what,
        });
        self.raw(now, now, Source::Auto, fact);
        self.bare_step(speaker, now, input);
    }

    /// What the crew asked for is gone with the fault: it is told so, as after any refusal.
    fn not_taken(&mut self, speaker: &mut dyn Speaker, now: Ms, input: &Input) {
        let kind = match input {
            Input::Mark { mark, .. } => cycle::mark::kind_of(mark),
            Input::SetRight { .. } => "state_set",
            Input::Undo | Input::Amend(_) | Input::Remove(_) | Input::Earlier { .. } => "amend",
            Input::Start(_)
            | Input::EndHeld
            | Input::Sound(_)
            | Input::Recovered { .. }
            | Input::Touches { .. }
            | Input::Gap { .. }
            | Input::WallJump { .. }
            | Input::Fault { .. }
            | Input::Phone { .. }
            | Input::Around(_)
            | Input::Levels(_)
            | Input::Drill(_)
            | Input::Look(_)
            | Input::Refused { .. }
            | Input::Wake => return,
        };
        let why = "a fault of the rules".to_owned();
        let refused = Input::Refused { kind, why };
        if catch_unwind(AssertUnwindSafe(|| self.run.handle(now, refused))).is_ok() {
            self.drain(speaker, now);
        }
    }

    /// Without rules a mark is still written, and an end still ends; nothing else is done.
    fn bare_step(&mut self, speaker: &mut dyn Speaker, now: Ms, input: Input) {
        if self.raw_end.is_some() {
            return;
        }
        match input {
            Input::Mark { at, mark, src } => {
                if let Mark::Run(RunMark::End { outcome, .. }) = &mark {
                    self.raw_end = Some(*outcome);
                    speaker.order(self.house.of_run(now), Order::Rest);
                }
                let seq = self.chain.next();
                self.raw_act = Some(LastAct {
                    seq,
                    at: at.min(now),
                    taken: true,
                });
                self.raw(now, at.min(now), src, Fact::Mark(mark));
            }
            Input::SetRight { state, back } => {
                // Nobody folds the marks: no further back than the last one.
                let last = self.last_act().map_or(Ms::ZERO, |act| act.at);
                let mark = Input::Mark {
                    at: now.minus(back).max(last),
                    mark: Mark::Flow(FlowMark::StateSet { state }),
                    src: Source::Button,
                };
                self.bare_step(speaker, now, mark);
            }
            Input::Undo | Input::Amend(_) | Input::Remove(_) | Input::Earlier { .. } => {
                let why = "the rules are out: nothing can be taken back".to_owned();
                let seq = self.chain.next();
                self.raw_act = Some(LastAct {
                    seq,
                    at: now,
                    taken: false,
                });
                let deed = Deed::Ignored {
                    kind: "amend".to_owned(),
                    why,
                };
                self.raw(now, now, Source::Auto, Fact::Deed(deed));
            }
            Input::Start(_)
            | Input::EndHeld
            | Input::Sound(_)
            | Input::Recovered { .. }
            | Input::Touches { .. }
            | Input::Gap { .. }
            | Input::WallJump { .. }
            | Input::Fault { .. }
            | Input::Phone { .. }
            | Input::Around(_)
            | Input::Levels(_)
            | Input::Drill(_)
            | Input::Look(_)
            | Input::Refused { .. }
            | Input::Wake => {}
        }
    }

    fn raw(&mut self, now: Ms, at: Ms, src: Source, fact: Fact) {
        let entry = Entry {
            seq: self.chain.next(),
            at,
            taken: now,
            src,
            fact,
        };
        self.write(&entry);
    }
}

/// Without rules the card asks nothing; its keys make the marks that matter most.
fn bare_view(view: &mut View, ended: Option<Outcome>, sound_lost: bool) {
    view.said = None;
    view.next = None;
    view.undo = false;
    view.urgent = false;
    // That the prompts stopped is to be seen, and nobody folds the touch that would wake the screen.
    view.covered = false;
    // All of this was true of the marks that the rules still folded.
    view.in_a_row = 0;
    view.device_mode = None;
    (view.asks, view.drugs, view.lists) = (Vec::new(), Vec::new(), Vec::new());
    (view.last, view.hand_over) = (Vec::new(), None);
    view.banners.retain(|b| *b != Banner::NoSound);
    if sound_lost {
        view.banners.push(Banner::NoSound);
    }
    if ended.is_some() {
        (view.card, view.state, view.outcome) = (Card::Ended, StateWord::Ended, ended);
        (view.main, view.side, view.sheet) = (Vec::new(), Vec::new(), Vec::new());
    } else {
        // Nobody folds the marks any more: what the card said last may be true no longer.
        (view.card, view.state, view.figure) = (Card::Unknown, StateWord::Unknown, Figure::None);
        view.main = vec![Act::HandsOff, Act::HandsOn];
        view.side = vec![Act::DeviceRunning, Act::ShockNow];
        view.sheet = vec![Act::AirwayIn, Act::PulseBack, Act::CupGood, Act::Flag];
    }
}

/// What is worth a long pulse where it may not be heard: prompts of class A and B, and the tone that stands for
/// one.
fn is_pressing(sound: CueSound) -> bool {
    match sound {
        CueSound::Voice(prompt) => prompt.class() <= Class::B,
        CueSound::Tone(tone) => tone == Tone::Attention,
    }
}

/// What a fault said.
pub(crate) fn text_of(fault: &(dyn std::any::Any + Send)) -> String {
    fault
        .downcast_ref::<&str>()
        .map(|s| (*s).to_owned())
        .or_else(|| fault.downcast_ref::<String>().cloned())
        .unwrap_or_else(|| "a fault without words".to_owned())
}

#[cfg(test)]
mod tests;
