//! A drill: chosen between runs, told beside its run, with what the instructor injects.

use std::{collections::BTreeSet, sync::Arc};

use ::drill::{CueKind, CueRule, Item, Scenario, Told};
use cycle::{
    Input, Ms, Run,
    fact::{DrillLine, DrillWord},
};
use record::{Header, RunKind};

use super::Conductor;
use crate::{
    Beside, DrillAsk, DrillLive, DrillSaid, DrillShown, Heads, Order, clock::uptime_ms,
    house::house_now,
};

/// What the next start begins, if it is to be a drill.
#[derive(Debug)]
pub(super) struct Chosen {
    scenario: Arc<Scenario>,
    seed: u32,
    unit: Option<String>,
    crew: Option<String>,
    /// When, on the monotonic clock.
    at: Ms,
}

/// A drill that was chosen and not begun is forgotten: the next start may be a real one. Own.
const FORGOTTEN_AFTER: Ms = Ms(300_000);
/// What a cue says stands on the card for so long. Own: longer than a prompt's words, for it is read out.
const SAID: Ms = Ms(10_000);
/// The noise of an event ends by itself after this. Own: a minute of a drive, as long as half a round.
pub(super) const NOISE: Ms = Ms(60_000);

/// The drill beside a run.
#[derive(Debug)]
pub(super) struct Drilling {
    pub(super) beside: Beside,
    pub(super) crew: Option<String>,
    ticked: BTreeSet<Item>,
    /// What was told last, and when.
    last: Option<(DrillSaid, Ms)>,
    /// The phone makes noise until then.
    noise: Option<Ms>,
    /// It was stopped then, to be looked at; its record is closed.
    pub(super) stopped: Option<Ms>,
}

impl Drilling {
    fn new(beside: Beside, crew: Option<String>) -> Self {
        Self {
            beside,
            crew,
            ticked: BTreeSet::new(),
            last: None,
            noise: None,
            stopped: None,
        }
    }

    /// A drill that goes on, with what its record says of it.
    pub(super) fn gone(scenario: Arc<Scenario>, told: &Told, unit_code: Option<&str>) -> Self {
        let cues = scenario.cues.iter().enumerate();
        let heard =
            cues.filter_map(|(n, cue)| Some((DrillSaid::Cue(n), *told.heard.0.get(&cue.id)?)));
        let injected = told.injected.iter();
        let injected = injected.map(|(kind, at)| (DrillSaid::Event(*kind), *at));
        let last = heard.chain(injected).max_by_key(|(_, at)| *at);
        let beside = Beside::gone(scenario, told.seed.unwrap_or(0), told.heard.clone());
        let items = Item::ALL.iter().copied();
        Self {
            ticked: items
                .filter(|item| told.ticked.contains(item.word()))
                .collect(),
            last,
            noise: told.noise.map(|since| since.plus(NOISE)),
            ..Self::new(beside, told.crew_of(unit_code))
        }
    }

    /// The line by which the record says that it is a drill, and whose.
    pub(super) fn begun(&self) -> Input {
        self.beside
            .begun(Some(self.crew.as_deref().unwrap_or_default()))
    }

    /// When something of it is due.
    pub(super) fn next_wakeup(&self) -> Option<Ms> {
        if self.stopped.is_some() {
            return None;
        }
        let cue = self.beside.next_wakeup();
        [cue, self.noise].into_iter().flatten().min()
    }

    /// Whether the phone is to make noise.
    pub(super) const fn is_noisy(&self) -> bool {
        self.noise.is_some() && self.stopped.is_none()
    }

    /// Tells what is due, through the run.
    fn tell(&mut self, run: &Run, now: Ms) -> Option<Input> {
        if self.stopped.is_some() {
            return None;
        }
        let input = self.beside.tell(run, now)?;
        let cues = &self.beside.scenario().cues;
        let is_it = |cue: &CueRule| matches!(&input, Input::Drill(line) if line.id.as_ref() == Some(&cue.id));
        if let Some(cue) = cues.iter().position(is_it) {
            self.told(cue, now);
        }
        Some(input)
    }

    fn tell_now(&mut self, cue: usize, now: Ms) -> Option<Input> {
        let input = self.beside.tell_now(cue, now)?;
        self.told(cue, now);
        Some(input)
    }

    fn told(&mut self, cue: usize, now: Ms) {
        self.last = Some((DrillSaid::Cue(cue), now));
        let (scenario, seed) = (self.beside.scenario(), self.beside.seed());
        if scenario.cue(cue, seed).map(|(kind, _)| kind) == Some(CueKind::Noise) {
            self.noise = Some(now.plus(NOISE));
        }
    }

    fn inject(&mut self, kind: CueKind, now: Ms) -> Input {
        self.last = Some((DrillSaid::Event(kind), now));
        if kind == CueKind::Noise {
            self.noise = Some(now.plus(NOISE));
        }
        line(DrillWord::Injected, Some(kind.word()))
    }
}

fn line(what: DrillWord, id: Option<&str>) -> Input {
    Input::Drill(DrillLine {
        id: id.map(str::to_owned),
        ..DrillLine::of(what)
    })
}

impl Conductor {
    pub(super) fn drill_asked(&mut self, ask: DrillAsk, at_ms: u64) {
        match ask {
            DrillAsk::Choose {
                scenario,
                seed,
                unit,
                crew,
            } => {
                if self.live.is_none() {
                    let at = Ms(at_ms);
                    self.chosen = Some(Chosen {
                        scenario: Arc::from(scenario),
                        seed,
                        unit,
                        crew,
                        at,
                    });
                }
            }
            DrillAsk::Leave => {
                self.chosen = None;
                self.leave_stopped();
            }
            DrillAsk::ByHand(by_hand) => {
                if let Some(drill) = self.live.as_mut().and_then(|live| live.drill.as_mut()) {
                    drill.beside.by_hand(by_hand);
                }
            }
            DrillAsk::Tell => self.tell(|drill, now| {
                let (cue, _) = drill.beside.coming()?;
                drill.tell_now(cue, now)
            }),
            DrillAsk::Inject(id) => self.tell(|drill, now| {
                let cues = &drill.beside.scenario().cues;
                let cue = cues.iter().position(|cue| cue.id == id)?;
                drill.tell_now(cue, now)
            }),
            DrillAsk::Event(kind) => self.tell(|drill, now| {
                let is_event = CueKind::EVENTS.contains(&kind);
                is_event.then(|| drill.inject(kind, now))
            }),
            DrillAsk::Quiet => self.quiet(),
            DrillAsk::Tick { item, on } => self.tick(item, on),
            DrillAsk::Stop => self.stop(),
            DrillAsk::GoOn => self.go_on(),
            DrillAsk::Again => self.again(),
            DrillAsk::RealPatient(touch) => self.real_patient(touch, at_ms),
        }
    }

    /// Something is told now, by the instructor's hand.
    fn tell(&mut self, what: impl FnOnce(&mut Drilling, Ms) -> Option<Input>) {
        let Some(live) = self.live.as_mut().filter(|live| live.stage.is_live()) else {
            return;
        };
        let now = live.clock.now().max(live.last);
        let drill = live.drill.as_mut().filter(|drill| drill.stopped.is_none());
        let Some(drill) = drill else { return };
        if let Some(input) = what(drill, now) {
            live.stage.step(self.parts.speaker.as_mut(), now, input);
        }
        self.tend_noise();
    }

    /// The noise ends at once.
    fn quiet(&mut self) {
        if let Some(drill) = self.live.as_mut().and_then(|live| live.drill.as_mut()) {
            drill.noise = None;
        }
        self.tend_noise();
    }

    /// Noise begins and ends as the drill has it, with a line each; no run has any.
    pub(super) fn tend_noise(&mut self) {
        let live = self.live.as_mut().filter(|live| live.stage.is_live());
        let mut wanted = false;
        if let Some(live) = live {
            let now = live.clock.now().max(live.last);
            if let Some(drill) = &mut live.drill {
                drill.noise = drill.noise.filter(|until| now < *until);
                wanted = drill.is_noisy();
            }
            if wanted != self.noisy {
                let what = if wanted {
                    DrillWord::NoiseOn
                } else {
                    DrillWord::NoiseOff
                };
                live.stage
                    .step(self.parts.speaker.as_mut(), now, line(what, None));
            }
        }
        if wanted != self.noisy {
            self.noisy = wanted;
            let now = house_now(uptime_ms());
            self.parts.speaker.order(now, Order::Noise(wanted));
        }
    }

    /// The instructor's list goes on until the drill is put away.
    fn tick(&mut self, item: Item, on: bool) {
        let Some(live) = &mut self.live else { return };
        let now = live.clock.now().max(live.last);
        let Some(drill) = live.drill.as_mut().filter(|_| !live.stage.is_sealed()) else {
            return;
        };
        let is_new = if on {
            drill.ticked.insert(item)
        } else {
            drill.ticked.remove(&item)
        };
        if is_new {
            let what = if on {
                DrillWord::Ticked
            } else {
                DrillWord::Unticked
            };
            let seen = line(what, Some(item.word()));
            live.stage.step(self.parts.speaker.as_mut(), now, seen);
        }
    }

    /// What was chosen is forgotten after a while: by `now`, on the monotonic clock.
    pub(super) fn forget_drill(&mut self, now: Ms) {
        self.chosen = self
            .chosen
            .take()
            .filter(|chosen| now.since(chosen.at) < FORGOTTEN_AFTER);
    }

    /// A start that nobody made on the card is a real one.
    pub(super) fn no_drill(&mut self) {
        self.chosen = None;
    }

    /// What the header of the run that begins says; its drill, if it is one. The start after it is a real one. What was
    /// chosen too long before the finger went down is forgotten here as well: where the phone slept, the touch may come
    /// before any waking.
    pub(super) fn begin_drill(&mut self, heads: Heads, down: Ms) -> (Heads, Option<Drilling>) {
        self.forget_drill(down);
        let Some(chosen) = self.chosen.take() else {
            return (heads, None);
        };
        let heads = Heads {
            kind: RunKind::Drill,
            scenario: Some(record::Scenario {
                id: chosen.scenario.id.clone(),
                version: chosen.scenario.version.clone(),
            }),
            unit_code: chosen.unit,
            ..heads
        };
        let beside = Beside::new(chosen.scenario, chosen.seed);
        (heads, Some(Drilling::new(beside, chosen.crew)))
    }

    /// What the scenario tells by now, and whether the phone is to make noise.
    pub(super) fn tell_due(&mut self) {
        self.tell_cues();
        self.tend_noise();
    }

    fn tell_cues(&mut self) {
        let Some(live) = self.live.as_mut().filter(|live| live.stage.is_live()) else {
            return;
        };
        let now = live.last;
        let Some(drill) = &mut live.drill else { return };
        while let Some(input) = drill.tell(live.stage.run(), now) {
            live.stage.step(self.parts.speaker.as_mut(), now, input);
        }
    }

    /// What is shown of a drill, chosen or under way.
    pub(super) fn drill_shown(&self) -> Option<DrillShown> {
        let Some(live) = &self.live else {
            let chosen = self.chosen.as_ref()?;
            return Some(DrillShown {
                scenario: Arc::clone(&chosen.scenario),
                seed: chosen.seed,
                crew: chosen.crew.clone(),
                live: None,
            });
        };
        let drill = live.drill.as_ref()?;
        let beside = &drill.beside;
        let cues = 0..beside.scenario().cues.len();
        let now = live.clock.now().max(live.last);
        Some(DrillShown {
            scenario: Arc::clone(beside.scenario()),
            seed: beside.seed(),
            crew: drill.crew.clone(),
            live: Some(DrillLive {
                told: cues.map(|cue| beside.is_told(cue)).collect(),
                last: drill.last.filter(|(_, at)| now.since(*at) < SAID),
                next: beside.coming(),
                by_hand: beside.is_by_hand(),
                ticked: drill.ticked.iter().copied().collect(),
                is_noisy: drill.is_noisy(),
                stopped: drill.stopped,
            }),
        })
    }

    /// The drill of a record that is gone on with.
    pub(super) fn drill_of(header: &Header, told: &Told) -> Option<Drilling> {
        let of = header
            .scenario
            .as_ref()
            .filter(|_| header.kind == RunKind::Drill)?;
        let scenario = Scenario::built_in(&of.id).filter(|own| own.version == of.version)?;
        let unit = header.unit_code.as_deref();
        Some(Drilling::gone(Arc::new(scenario), told, unit))
    }
}
