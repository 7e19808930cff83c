//! The marks as amended, folded by (event time, line).

use alloc::vec::Vec;

use crate::{
    Ms,
    fact::{Amend, AmendOp, Deed, Entry, Fact, Seq, Way},
    mark::Mark,
    protocol::Protocol,
    state::{State, When},
};

/// One thing that moved the state, with every amendment worked in.
#[derive(Clone, Debug, PartialEq)]
struct Item {
    seq: Seq,
    at: Ms,
    taken: Ms,
    what: What,
    retracted: bool,
}

#[derive(Clone, Debug, PartialEq)]
enum What {
    Mark(Mark),
    Started(Way),
    Recovered(Ms),
}

/// The marks of a run and the state they add up to.
#[derive(Clone, Debug)]
pub(crate) struct Story {
    items: Vec<Item>,
    state: State,
    /// When a mark was last taken back.
    undone: Option<Ms>,
}

impl Story {
    pub(crate) fn new(p: &Protocol) -> Self {
        Self {
            items: Vec::new(),
            state: State::new(p),
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
    pub(crate) fn apply(&mut self, p: &Protocol, entry: &Entry) {
        let what = match &entry.fact {
            Fact::Mark(mark) => What::Mark(mark.clone()),
            Fact::Deed(Deed::Start { way }) => What::Started(*way),
            Fact::Deed(Deed::Recovered { gap_from_ms, .. }) => What::Recovered(*gap_from_ms),
            Fact::Deed(_) => return,
            Fact::Amend(amend) => {
                self.amend(amend, entry.taken);
                self.fold(p);
                return;
            }
        };
        let item = Item {
            seq: entry.seq,
            at: entry.at,
            taken: entry.taken,
            what,
            retracted: false,
        };
        let in_order = self.items.iter().all(|earlier| earlier.at <= item.at);
        if in_order {
            self.state.take(p, &item);
            self.items.push(item);
        } else {
            self.items.push(item);
            self.fold(p);
        }
    }

    /// The latest act that stands: every mark of one touch, the last line first. The touch that
    /// began the run is not among them.
    pub(crate) fn last_act(&self) -> Vec<Seq> {
        let marks = || {
            self.items
                .iter()
                .filter(|i| !i.retracted && matches!(i.what, What::Mark(_)))
        };
        let Some(first) = marks().min_by_key(|i| i.seq) else {
            return Vec::new();
        };
        let Some(last) = marks().max_by_key(|i| i.seq) else {
            return Vec::new();
        };
        let touch = (last.at, last.taken);
        if touch == (first.at, first.taken) {
            return Vec::new();
        }
        let mut act: Vec<Seq> = marks()
            .filter(|i| (i.at, i.taken) == touch)
            .map(|i| i.seq)
            .collect();
        act.sort_unstable_by(|a, b| b.cmp(a));
        act
    }

    /// The latest mark that stands, and when its finger went down.
    pub(crate) fn last_mark(&self) -> Option<(Seq, Ms)> {
        self.items
            .iter()
            .filter(|i| !i.retracted && matches!(i.what, What::Mark(_)))
            .max_by_key(|i| i.seq)
            .map(|i| (i.seq, i.at))
    }

    /// Whether a line is a mark that stands.
    pub(crate) fn stands(&self, seq: Seq) -> bool {
        self.items
            .iter()
            .any(|i| i.seq == seq && !i.retracted && matches!(i.what, What::Mark(_)))
    }

    fn amend(&mut self, amend: &Amend, taken: Ms) {
        if let Some(item) = self.items.iter_mut().find(|i| i.seq == amend.target) {
            match amend.op {
                AmendOp::Retract => {
                    item.retracted = true;
                    self.undone = Some(taken);
                }
                AmendOp::Retime { at_ms } => item.at = at_ms,
            }
        }
    }

    fn fold(&mut self, p: &Protocol) {
        self.items.sort_by_key(|i| (i.at, i.seq));
        self.state = State::new(p);
        for item in self.items.iter().filter(|i| !i.retracted) {
            self.state.take(p, item);
        }
    }
}

impl State {
    fn take(&mut self, p: &Protocol, item: &Item) {
        match &item.what {
            What::Started(way) => self.started(*way),
            What::Recovered(from) => self.recovered(*from),
            What::Mark(mark) => self.mark(
                p,
                When {
                    at: item.at,
                    taken: item.taken,
                },
                mark,
            ),
        }
    }
}
