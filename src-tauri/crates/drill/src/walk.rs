//! A scenario beside a run: when each cue comes, and what became of each mark that is expected. A pure function of
//! scenario, seed, marks and what was told by hand, so that a try can be rebuilt up to any moment.

use std::collections::BTreeMap;

use cycle::{Mark, Ms, mark::FlowMark};
use serde::{Deserialize, Serialize};

use crate::scenario::{Origin, Scenario};

/// The cues that were told, by id, and when: by the plan or by the instructor's hand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Heard(pub BTreeMap<String, Ms>);

/// What became of a mark that is expected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// In time, and in order.
    InTime,
    /// In order, and too early.
    Early,
    /// In order, and too late.
    Late,
    /// Before something that has to stand before it.
    WrongOrder,
    /// It did not come.
    Forgotten,
    /// What it counts from was never told, or the drill was over before its limit.
    NotReached,
}

/// Whether a mark came within its limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Timing {
    /// From its earliest time to its limit, or it has not come.
    InTime,
    /// Before it was due.
    Early,
    /// After its limit.
    Late,
}

/// A mark that is expected, and the one that came for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Met {
    /// What its time counts from.
    pub zero: Ms,
    /// Up to when it counts.
    pub until: Ms,
    /// When it came; `None`: not, or not yet.
    pub at: Option<Ms>,
    /// Whether that is in time.
    pub timing: Timing,
    /// Nothing that it needs came after it.
    pub in_order: bool,
    /// It came, or there was time for it to come.
    pub reached: bool,
}

impl Met {
    /// What became of it, as far as the marks go.
    pub const fn outcome(&self) -> Outcome {
        match self.at {
            None if !self.reached => Outcome::NotReached,
            None => Outcome::Forgotten,
            Some(_) if !self.in_order => Outcome::WrongOrder,
            Some(_) => match self.timing {
                Timing::Early => Outcome::Early,
                Timing::Late => Outcome::Late,
                Timing::InTime => Outcome::InTime,
            },
        }
    }

    /// How long after its zero it came.
    pub const fn took(&self) -> Option<Ms> {
        match self.at {
            Some(at) => Some(at.since(self.zero)),
            None => None,
        }
    }

    /// One point for the time, one for the order, none for what did not come.
    pub fn points(&self) -> u32 {
        let given = self.at.is_some();
        let in_time = given && self.timing == Timing::InTime;
        u32::from(in_time).saturating_add(u32::from(given && self.in_order))
    }
}

/// A scenario as far as a run has gone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Walked {
    /// When each cue comes, in the scenario's order.
    pub cues: Vec<Ms>,
    /// Each mark that is expected; `None`: with this seed it is not.
    pub marks: Vec<Option<Met>>,
}

impl Walked {
    /// The cue that comes next after `now`, and when.
    pub fn next_cue(&self, now: Ms) -> Option<(usize, Ms)> {
        let coming = self.cues.iter().copied().enumerate();
        coming.filter(|(_, at)| *at > now).min_by_key(|(_, at)| *at)
    }

    /// The last cue that came up to `now`, and when.
    pub fn last_cue(&self, now: Ms) -> Option<(usize, Ms)> {
        let come = self.cues.iter().copied().enumerate();
        come.filter(|(_, at)| *at <= now)
            .max_by_key(|(n, at)| (*at, *n))
    }
}

/// Walks a scenario beside the marks that stand, in order of time: a drill that goes on. What was not told yet will be
/// told by the plan.
pub fn walk(scenario: &Scenario, seed: u32, marks: &[(Ms, Mark)], heard: &Heard) -> Walked {
    walked(scenario, seed, marks, heard, None)
}

/// Walks a scenario beside the marks of a drill that is over. What was not told by then was never told, and nothing is
/// missed for which there was no time.
pub fn walk_over(
    scenario: &Scenario,
    seed: u32,
    marks: &[(Ms, Mark)],
    heard: &Heard,
    over: Ms,
) -> Walked {
    walked(scenario, seed, marks, heard, Some(over))
}

fn walked(
    scenario: &Scenario,
    seed: u32,
    marks: &[(Ms, Mark)],
    heard: &Heard,
    over: Option<Ms>,
) -> Walked {
    let mut walk = Walk {
        scenario,
        seed,
        heard,
        over,
        met: Vec::new(),
        earliest: Vec::new(),
    };
    let marks = reasoned(marks);
    let mut taken = vec![false; marks.len()];
    for expected in &scenario.expect {
        let (zero, earliest) = walk.zero(expected.from);
        walk.earliest.push(earliest);
        if !scenario.holds(expected.only, seed) {
            walk.met.push(None);
            continue;
        }
        let is_told = walk.is_told(expected.from);
        let until = zero.plus(expected.until);
        let fits = |(n, (at, mark)): &(usize, &(Ms, Mark))| {
            let free = taken.get(*n) == Some(&false);
            free && is_told && (earliest..=until).contains(at) && expected.wants.is(mark)
        };
        let found = marks
            .iter()
            .enumerate()
            .find(fits)
            .map(|(n, (at, _))| (n, *at));
        if let Some(place) = found.and_then(|(n, _)| taken.get_mut(n)) {
            *place = true;
        }
        let at = found.map(|(_, at)| at);
        walk.met.push(Some(Met {
            zero,
            until,
            at,
            timing: match at.map(|at| at.since(zero)) {
                Some(took) if took < expected.earliest => Timing::Early,
                Some(took) if took > expected.within => Timing::Late,
                Some(_) | None => Timing::InTime,
            },
            in_order: true,
            reached: at.is_some()
                || (is_told && over.is_none_or(|over| zero.plus(expected.within) <= over)),
        }));
    }
    let at = walk.ordered();
    Walked {
        cues: (0..scenario.cues.len()).map(|cue| walk.cue(cue)).collect(),
        marks: at,
    }
}

/// Each stop with the reason that it was given in the end: often hands come off first, and why is said after.
fn reasoned(marks: &[(Ms, Mark)]) -> Vec<(Ms, Mark)> {
    let mut reasoned = marks.to_vec();
    let mut stop = None;
    for (n, (_, mark)) in marks.iter().enumerate() {
        if matches!(mark, Mark::Flow(FlowMark::ComprStop { .. })) {
            stop = Some(n);
        } else if matches!(mark, Mark::Flow(FlowMark::ComprStart { .. })) {
            stop = None;
        } else if let Mark::Flow(FlowMark::Why { reason: said }) = mark
            && let Some((_, stopped)) = stop.and_then(|n| reasoned.get_mut(n))
            && let Mark::Flow(FlowMark::ComprStop { reason }) = stopped
        {
            *reason = *said;
        }
    }
    reasoned
}

struct Walk<'a> {
    scenario: &'a Scenario,
    seed: u32,
    heard: &'a Heard,
    /// When the drill was over; `None`: it goes on.
    over: Option<Ms>,
    met: Vec<Option<Met>>,
    /// From when each one's mark may be: nothing before what it counts from, as far as that is known.
    earliest: Vec<Ms>,
}

impl Walk<'_> {
    fn at(&self, mark: usize) -> Option<Ms> {
        self.met.get(mark).copied().flatten().and_then(|met| met.at)
    }

    /// When a cue comes: told by hand then, else by the plan.
    fn cue(&self, cue: usize) -> Ms {
        let Some(rule) = self.scenario.cues.get(cue) else {
            return self.scenario.end;
        };
        if let Some(at) = self.heard.0.get(&rule.id) {
            return *at;
        }
        let later = rule.after.plus(self.scenario.vary(cue, self.seed));
        let latest = rule.latest.unwrap_or(self.scenario.end);
        match rule.from {
            Origin::Start => later,
            Origin::Mark(mark) => self
                .at(mark)
                .map_or(latest, |at| at.plus(later).min(latest)),
            // The reader takes none.
            Origin::Cue(_) => latest,
        }
    }

    /// Whether what a time counts from has come, or will: in a drill that is over, a cue that was told, or a mark for
    /// which there was time.
    fn is_told(&self, from: Origin) -> bool {
        match from {
            Origin::Start => true,
            Origin::Cue(cue) => {
                let rule = self.scenario.cues.get(cue);
                self.over.is_none() || rule.is_some_and(|rule| self.heard.0.contains_key(&rule.id))
            }
            Origin::Mark(mark) => match (self.met.get(mark), self.scenario.expect.get(mark)) {
                (Some(Some(met)), _) => met.reached,
                // With this seed it is not expected: what it would count from decides.
                (Some(None), Some(rule)) => self.is_told(rule.from),
                (None, _) | (_, None) => false,
            },
        }
    }

    /// What a time counts from, and from when its mark may be. What nobody marked counts as marked when its time was
    /// over; its successor's mark may all the same be earlier.
    fn zero(&self, from: Origin) -> (Ms, Ms) {
        match from {
            Origin::Start => (Ms::ZERO, Ms::ZERO),
            Origin::Cue(cue) => (self.cue(cue), self.cue(cue)),
            Origin::Mark(mark) => {
                if let Some(at) = self.at(mark) {
                    return (at, at);
                }
                let rule = self.scenario.expect.get(mark);
                let within = rule.map_or(Ms::ZERO, |rule| rule.within);
                let before = rule.map_or((Ms::ZERO, Ms::ZERO), |rule| self.zero(rule.from));
                let earliest = self.earliest.get(mark).copied().unwrap_or(before.1);
                (before.0.plus(within), earliest)
            }
        }
    }

    /// With what is known of all: nothing may stand before what it needs.
    fn ordered(&self) -> Vec<Option<Met>> {
        let each = self.met.iter().zip(&self.scenario.expect);
        each.map(|(met, expected)| {
            let met = (*met)?;
            let first = |need: &usize| {
                self.at(*need)
                    .zip(met.at)
                    .is_none_or(|(need, at)| need <= at)
            };
            Some(Met {
                in_order: expected.needs.iter().all(first),
                ..met
            })
        })
        .collect()
    }
}
