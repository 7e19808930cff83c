//! A scenario beside a run: what it tells is told through the run, so that the record has it.

use std::sync::Arc;

use ::drill::{Heard, Scenario, Walked, walk};
use cycle::{
    Input, Mark, Ms, Run,
    fact::{DrillLine, DrillWord},
};

/// A drill's scenario and how far it has gone. The run is the drill's; what the scenario tells is in its record.
#[derive(Clone, Debug)]
pub struct Beside {
    scenario: Arc<Scenario>,
    seed: u32,
    heard: Heard,
    walked: Walked,
    /// The instructor tells each cue; none comes by itself.
    by_hand: bool,
}

impl Beside {
    /// A drill that begins.
    pub fn new(scenario: Arc<Scenario>, seed: u32) -> Self {
        let heard = Heard::default();
        Self {
            walked: walk(&scenario, seed, &[], &heard),
            scenario,
            seed,
            heard,
            by_hand: false,
        }
    }

    /// A drill that is gone on with: its seed, and what was told of it.
    pub fn gone(scenario: Arc<Scenario>, seed: u32, heard: Heard) -> Self {
        Self {
            heard,
            ..Self::new(scenario, seed)
        }
    }

    /// The line by which the record says that it is a drill, and whose.
    pub fn begun(&self, crew: Option<&str>) -> Input {
        Input::Drill(DrillLine {
            seed: Some(self.seed),
            crew: crew.map(str::to_owned),
            ..DrillLine::of(DrillWord::Begun)
        })
    }

    /// Its scenario.
    pub fn scenario(&self) -> &Arc<Scenario> {
        &self.scenario
    }

    /// What it varies by.
    pub const fn seed(&self) -> u32 {
        self.seed
    }

    /// The scenario as far as the run has gone.
    pub const fn walked(&self) -> &Walked {
        &self.walked
    }

    /// Whether a cue was told.
    pub fn is_told(&self, cue: usize) -> bool {
        let rule = self.scenario.cues.get(cue);
        rule.is_some_and(|rule| self.heard.0.contains_key(&rule.id))
    }

    /// The next cue that was not told, and when the plan has it.
    pub fn coming(&self) -> Option<(usize, Ms)> {
        let coming = self.walked.cues.iter().copied().enumerate();
        coming
            .filter(|(n, _)| !self.is_told(*n))
            .min_by_key(|(n, at)| (*at, *n))
    }

    /// When to look again; `None` while the instructor tells the cues, and when all were told.
    pub fn next_wakeup(&self) -> Option<Ms> {
        if self.by_hand {
            return None;
        }
        self.coming().map(|(_, at)| at)
    }

    /// The instructor tells the cues from here on, or the plan does again.
    pub fn by_hand(&mut self, by_hand: bool) {
        self.by_hand = by_hand;
    }

    /// Whether the instructor tells them.
    pub const fn is_by_hand(&self) -> bool {
        self.by_hand
    }

    /// Looks at the run's marks, then tells the next cue that is due, if there is one. Called until it tells none.
    pub fn tell(&mut self, run: &Run, now: Ms) -> Option<Input> {
        self.look(run);
        if self.by_hand {
            return None;
        }
        let (cue, at) = self.coming()?;
        if at > now {
            None
        } else {
            self.tell_now(cue, now)
        }
    }

    /// Tells a cue now, whatever the plan says; `None`: there is none, or it was told.
    pub fn tell_now(&mut self, cue: usize, now: Ms) -> Option<Input> {
        let id = self.scenario.cues.get(cue)?.id.clone();
        if self.heard.0.contains_key(&id) {
            return None;
        }
        self.heard.0.insert(id.clone(), now);
        Some(Input::Drill(DrillLine {
            id: Some(id),
            ..DrillLine::of(DrillWord::Cue)
        }))
    }

    /// Walks the scenario anew beside the marks as they stand.
    pub fn look(&mut self, run: &Run) {
        let marks: Vec<(Ms, Mark)> = run
            .standing()
            .into_iter()
            .map(|(at, mark)| (at, mark.clone()))
            .collect();
        self.walked = walk(&self.scenario, self.seed, &marks, &self.heard);
    }
}
