//! The marks as amended, folded by (event time, line).

use alloc::vec::Vec;

use crate::{
    Ms, amendments,
    fact::{Amend, AmendOp, Deed, Entry, Fact, Seq, Way},
    input::Setup,
    mark::{FlowMark, Mark},
    state::{State, When},
};

/// One thing that moved the state, with every amendment worked in.
#[derive(Clone, Debug, PartialEq)]
struct Item {
    seq: Seq,
    at: Ms,
    taken: Ms,
    touch: Touch,
    what: What,
    retracted: bool,
    /// Time and mark as they were taken; `None`: an amendment added it.
    given: Option<(Ms, What)>,
}

impl Item {
    /// Where it stands in the order: a gap, at its beginning.
    fn place(&self) -> (Ms, Seq) {
        match self.what {
            What::Recovered(from) => (from, self.seq),
            What::Mark(_) | What::Started(_) => (self.at, self.seq),
        }
    }
}

#[derive(Clone, Debug, PartialEq)]
enum What {
    Mark(Mark),
    Started(Way),
    Recovered(Ms),
}

/// Where and when a finger went down and was counted: the same for all marks of one touch.
type Touch = (Ms, Ms);

/// Marks of one touch.
pub(crate) struct ActMarks<'a> {
    /// Line, time and mark, the last line first.
    pub(crate) marks: Vec<(Seq, Ms, &'a Mark)>,
}

impl ActMarks<'_> {
    pub(crate) fn seqs(&self) -> Vec<Seq> {
        self.marks.iter().map(|(seq, _, _)| *seq).collect()
    }
}

/// The marks of a run and the state they add up to.
#[derive(Clone, Debug)]
pub(crate) struct Story {
    items: Vec<Item>,
    amends: Vec<(Seq, Amend)>,
    state: State,
    /// When a mark was last taken back.
    undone: Option<Ms>,
}

impl Story {
    pub(crate) fn new(setup: &Setup) -> Self {
        Self {
            items: Vec::new(),
            amends: Vec::new(),
            state: State::new(setup),
            undone: None,
        }
    }

    pub(crate) fn state(&self) -> &State {
        &self.state
    }

    pub(crate) fn undone(&self) -> Option<Ms> {
        self.undone
    }

    /// Takes a line in. Deeds that do not move the state are nothing to it.
    pub(crate) fn apply(&mut self, setup: &Setup, entry: &Entry) {
        let what = match &entry.fact {
            Fact::Mark(mark) => What::Mark(mark.clone()),
            Fact::Deed(Deed::Start { way }) => What::Started(*way),
            Fact::Deed(Deed::Recovered { gap_from_ms, .. }) => What::Recovered(*gap_from_ms),
            Fact::Deed(_) => return,
            Fact::Amend(amend) => {
                self.amend(entry.seq, amend, entry.taken);
                self.fold(setup);
                return;
            }
        };
        let item = Item {
            seq: entry.seq,
            at: entry.at,
            taken: entry.taken,
            touch: (entry.at, entry.taken),
            given: Some((entry.at, what.clone())),
            what,
            retracted: false,
        };
        let place = item.place();
        let in_order = self.items.iter().all(|earlier| earlier.place() <= place);
        if in_order {
            self.state.take(setup, &item);
            self.items.push(item);
        } else {
            self.items.push(item);
            self.fold(setup);
        }
    }

    fn marks(&self) -> impl Iterator<Item = &Item> {
        self.items
            .iter()
            .filter(|i| !i.retracted && matches!(i.what, What::Mark(_)))
    }

    /// The marks that stand, at their amended times, in order of (time, line).
    pub(crate) fn standing(&self) -> Vec<(Ms, &Mark)> {
        let mut marks: Vec<(Ms, Seq, &Mark)> = self
            .marks()
            .filter_map(|item| match &item.what {
                What::Mark(mark) => Some((item.at, item.seq, mark)),
                What::Started(_) | What::Recovered(_) => None,
            })
            .collect();
        marks.sort_by_key(|(at, seq, _)| (*at, *seq));
        marks.into_iter().map(|(at, _, mark)| (at, mark)).collect()
    }

    /// The touch that began the run: it is not taken back and not moved.
    fn first_touch(&self) -> Option<Touch> {
        let first = || self.marks().min_by_key(|i| i.seq).map(|i| i.touch);
        self.state.opened.or_else(first)
    }

    /// The latest acts that stand, at most `most`, the latest first. The touch that began the run is
    /// not among them.
    pub(crate) fn acts(&self, most: usize) -> Vec<ActMarks<'_>> {
        let mut seen: Vec<Touch> = self.first_touch().into_iter().collect();
        let mut acts = Vec::new();
        while acts.len() < most {
            let next = self.marks().filter(|i| !seen.contains(&i.touch));
            let Some(last) = next.max_by_key(|i| i.seq) else {
                break;
            };
            seen.push(last.touch);
            acts.push(self.act(last.touch));
        }
        acts
    }

    fn act(&self, touch: Touch) -> ActMarks<'_> {
        let mut marks: Vec<(Seq, Ms, &Mark)> = self
            .marks()
            .filter(|i| i.touch == touch)
            .filter_map(|i| match &i.what {
                What::Mark(mark) => Some((i.seq, i.at, mark)),
                What::Started(_) | What::Recovered(_) => None,
            })
            .collect();
        marks.sort_unstable_by_key(|(seq, _, _)| core::cmp::Reverse(*seq));
        ActMarks { marks }
    }

    /// The latest act that stands, the last line first.
    pub(crate) fn last_act(&self) -> Vec<Seq> {
        self.acts(1).first().map(ActMarks::seqs).unwrap_or_default()
    }

    /// All marks of the touch that this one belongs to, if it may be taken back or moved.
    pub(crate) fn act_of(&self, seq: Seq) -> Vec<Seq> {
        let touch = self.marks().find(|i| i.seq == seq).map(|i| i.touch);
        touch
            .filter(|touch| Some(*touch) != self.first_touch())
            .map(|touch| self.act(touch).seqs())
            .unwrap_or_default()
    }

    /// The earliest moment at which a mark can lie: 1 ms after the mark of the state line before it, or
    /// after the gap before it, and not before the run. A reason is of the pause it was said in, so it does
    /// not leave it.
    pub(crate) fn earliest(&self, mark: &Mark, place: (Ms, Seq), touch: &[Seq]) -> Ms {
        let of_line = mark.is_of_state_line() || matches!(mark, Mark::Flow(FlowMark::Why { .. }));
        let before = self
            .items
            .iter()
            .filter(|i| !i.retracted && !touch.contains(&i.seq) && (i.at, i.seq) < place)
            .filter(|i| match &i.what {
                What::Mark(mark) => of_line && mark.is_of_state_line(),
                What::Recovered(_) => of_line,
                What::Started(_) => false,
            })
            .map(|i| i.at.plus(Ms(1)))
            .max();
        let first = self.marks().map(|i| i.at).min().unwrap_or(Ms::ZERO);
        before.unwrap_or(first).max(first)
    }

    /// A mark that stands, and where.
    pub(crate) fn find(&self, seq: Seq) -> Option<(Ms, &Mark)> {
        self.marks()
            .find(|i| i.seq == seq)
            .and_then(|i| match &i.what {
                What::Mark(mark) => Some((i.at, mark)),
                What::Started(_) | What::Recovered(_) => None,
            })
    }

    /// The latest mark that stands, and when its finger went down.
    pub(crate) fn last_mark(&self) -> Option<(Seq, Ms)> {
        self.marks().max_by_key(|i| i.seq).map(|i| (i.seq, i.at))
    }

    /// Whether a line is a mark that stands.
    pub(crate) fn stands(&self, seq: Seq) -> bool {
        self.marks().any(|i| i.seq == seq)
    }

    fn amend(&mut self, seq: Seq, amend: &Amend, taken: Ms) {
        if amend.op == AmendOp::Retract && self.stands(amend.target) {
            self.undone = Some(taken);
        }
        self.amends.push((seq, amend.clone()));
        self.items.retain(|item| item.given.is_some());
        let amends: Vec<(Seq, &Amend)> = self.amends.iter().map(|(seq, a)| (*seq, a)).collect();
        let items = &self.items;
        let is_mark = |seq| {
            let found = items.iter().find(|item| item.seq == seq);
            found.is_some_and(|item| matches!(item.what, What::Mark(_)))
        };
        let mut changes = amendments::fold(&amends, is_mark).changes;
        for item in &mut self.items {
            if let Some((at, what)) = &item.given {
                (item.at, item.what) = (*at, what.clone());
            }
            let change = changes.remove(&item.seq).unwrap_or_default();
            item.retracted = change.is_gone;
            item.at = change.at.unwrap_or(item.at);
            if let Some(mark) = change.mark {
                item.what = What::Mark(mark.clone());
            }
        }
        for (seq, change) in changes {
            if let (Some(at), Some(mark)) = (change.at, change.mark) {
                self.items.push(Item {
                    seq,
                    at,
                    taken: at,
                    touch: (at, at),
                    what: What::Mark(mark.clone()),
                    retracted: change.is_gone,
                    given: None,
                });
            }
        }
    }

    fn fold(&mut self, setup: &Setup) {
        self.items.sort_by_key(Item::place);
        self.state = State::new(setup);
        for item in self.items.iter().filter(|i| !i.retracted) {
            self.state.take(setup, item);
        }
    }
}

impl State {
    fn take(&mut self, setup: &Setup, item: &Item) {
        match &item.what {
            What::Started(way) => self.started(*way),
            What::Recovered(from) => {
                let p = setup.protocol_of(self.class);
                self.recovered(p, *from, item.taken);
            }
            What::Mark(mark) => {
                let when = When {
                    at: item.at,
                    taken: item.taken,
                };
                let began = self.is_live();
                self.mark(setup, when, mark);
                if !began && self.is_live() {
                    self.opened = Some(item.touch);
                }
            }
        }
    }
}
