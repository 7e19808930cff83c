//! One step of a run, with everything that follows from it in its order: sound, log, view.
//!
//! The live conductor and the rehearsal both stand on this; neither has rules of its own.

use std::{
    fmt,
    panic::{AssertUnwindSafe, catch_unwind},
    sync::Arc,
};

use cycle::{
    Entry, Fact, Input, Ms, Output, Run, Seq, Setup, SoundNews, View,
    fact::{Deed, Source},
};
use record::Chain;

use crate::{Clock, Durability, House, Order, Speaker};

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
        if self.is_bare {
            self.bare_step(now, input);
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

    /// Passes the sound's news on to the rules.
    pub fn hear(&mut self, speaker: &mut dyn Speaker, now: Ms) {
        while let Some(news) = speaker.news(self.house.of_run(now)) {
            let news: SoundNews = self.house.news(news);
            self.step(speaker, now, Input::Sound(news));
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
        self.last_view.clone()
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
        let stamp = self.clock.stamp(now, self.proc);
        if let Ok(line) = record::encode_seal(&mut self.chain, &stamp, 1) {
            let through = Seq(self.chain.next().0.saturating_sub(1));
            self.keeper.keep(line, through, Durability::Now);
        }
    }

    fn drain(&mut self, speaker: &mut dyn Speaker, now: Ms) {
        let house_now = self.house.of_run(now);
        while let Some(output) = self.run.poll() {
            match output {
                Output::Score(placed) => speaker.order(house_now, self.house.score(placed)),
                Output::Play(cue) => speaker.order(house_now, self.house.play(cue)),
                Output::Revoke(id) => speaker.order(house_now, Order::Revoke(id)),
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
            return;
        }
        self.is_bare = true;
        let fact = Fact::Deed(Deed::Fault {
            place: "rules".to_owned(),
            what,
        });
        self.raw(now, now, Source::Auto, fact);
        self.bare_step(now, input);
    }

    /// Without rules a mark is still written; nothing else is.
    fn bare_step(&mut self, now: Ms, input: Input) {
        if let Input::Mark { at, mark, src } = input {
            self.raw(now, at.min(now), src, Fact::Mark(mark));
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

fn text_of(fault: &(dyn std::any::Any + Send)) -> String {
    fault
        .downcast_ref::<&str>()
        .map(|s| (*s).to_owned())
        .or_else(|| fault.downcast_ref::<String>().cloned())
        .unwrap_or_else(|| "a fault without words".to_owned())
}

#[cfg(test)]
mod tests;
