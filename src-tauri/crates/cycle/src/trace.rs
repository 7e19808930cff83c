//! The state line of a whole run, step by step, for whoever measures the run afterwards. It is the fold
//! that ran it: nothing about the line is decided a second time.

use alloc::vec::Vec;

use crate::{
    Ms,
    fact::{Deed, Entry, Fact},
    input::Setup,
    mark::{BreathMode, Mark, PatientClass, RunMark, TempBand},
    protocol::Protocol,
    state::{Line, State, When},
};

/// The cycle of compressions and breaths that is in force.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RatioCycle {
    /// Compressions of a cycle.
    pub beats: u16,
    /// The beat's rate, a minute.
    pub per_minute: u16,
    /// The breath window.
    pub window: Ms,
}

/// What stands after one line of the run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step<'a> {
    /// The line: a mark, `start` or `recovered`.
    pub entry: &'a Entry,
    /// The state line.
    pub line: Line,
    /// From when on it is so. Before the entry's own time only after a kill, from the last line that was
    /// kept on, and where the crew says what a run that began earlier began with.
    pub from: Ms,
    /// The cycle, where breaths interrupt compressions.
    pub ratio: Option<RatioCycle>,
    /// Whose numbers.
    pub class: PatientClass,
    /// How cold the patient is, if that was said.
    pub cold: Option<TempBand>,
    /// When the question about the cup that is open was asked.
    pub cup: Option<Ms>,
}

/// Folds a run's marks, given in the order of (time at which they happened, line), as amended or not.
pub fn trace<'a>(setup: &Setup, entries: &'a [Entry]) -> Vec<Step<'a>> {
    let mut state = State::new(setup);
    let mut steps = Vec::new();
    for entry in entries {
        let before = state.line;
        if !state.step(setup, entry) {
            continue;
        }
        let reaches_back = match &entry.fact {
            Fact::Deed(_) => state.line == Line::Unknown,
            Fact::Mark(Mark::Run(RunMark::PriorCare(_))) => state.line != before,
            Fact::Mark(_) | Fact::Amend(_) => false,
        };
        steps.push(Step {
            entry,
            line: state.line,
            from: if reaches_back {
                state.since.min(entry.at)
            } else {
                entry.at
            },
            ratio: state.cycle(setup),
            class: state.class,
            cold: state.cold(),
            cup: state.cup.map(|asked| asked.due),
        });
    }
    steps
}

impl State {
    /// Takes a line in; says whether it is one that can move the state.
    fn step(&mut self, setup: &Setup, entry: &Entry) -> bool {
        match &entry.fact {
            Fact::Mark(mark) => {
                let was_live = self.is_live();
                let when = When {
                    at: entry.at,
                    taken: entry.taken,
                };
                self.mark(setup, when, mark);
                if !was_live && self.is_live() {
                    self.opened = Some((entry.at, entry.taken));
                }
            }
            Fact::Deed(Deed::Start { way }) => self.started(*way),
            Fact::Deed(Deed::Recovered { gap_from_ms, .. }) => {
                let p = setup.protocol_of(self.class);
                self.recovered(p, *gap_from_ms, entry.taken);
            }
            Fact::Deed(_) | Fact::Amend(_) => return false,
        }
        true
    }

    fn cycle(&self, setup: &Setup) -> Option<RatioCycle> {
        let p = setup.protocol_of(self.class);
        let ratio = if self.alone { p.ratio_alone } else { p.ratio };
        (self.mode == BreathMode::Ratio).then(|| RatioCycle {
            beats: Protocol::cycle_of(ratio).0,
            per_minute: p.rate.per_minute(),
            window: p.window,
        })
    }
}
