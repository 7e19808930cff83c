//! The run as amended: what stands once retracted and retimed marks are taken into account.

use std::{collections::BTreeMap, fmt};

use cycle::{
    Entry, Fact, Seq,
    fact::{Amend, AmendOp},
};

/// The run as amended.
#[derive(Clone, Debug, PartialEq)]
pub struct Amended {
    /// Marks that stand and deeds, by the time at which they happened, then by number.
    pub entries: Vec<Entry>,
    /// How many amendments were taken into account.
    pub amendments: usize,
    /// Amendments that cannot be.
    pub refused: Vec<RefusedAmend>,
}

/// An amendment that cannot be, and was left aside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RefusedAmend {
    /// The amendment's line.
    pub seq: Seq,
    /// What it points at, which is no mark before it.
    pub target: Seq,
}

impl fmt::Display for RefusedAmend {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "amend in line {}: target = {}, allowed: the seq of a mark before it",
            self.seq.0, self.target.0
        )
    }
}

/// Takes the amendments into account. The last one of a target, by number, wins; the lines
/// themselves stay as they are.
pub fn amended(entries: &[Entry]) -> Amended {
    let marks: BTreeMap<Seq, &Entry> = entries
        .iter()
        .filter(|e| matches!(e.fact, Fact::Mark(_)))
        .map(|e| (e.seq, e))
        .collect();
    let mut last: BTreeMap<Seq, (Seq, &Amend)> = BTreeMap::new();
    let mut refused = Vec::new();
    let mut amendments = 0_usize;
    for entry in entries {
        let Fact::Amend(amend) = &entry.fact else {
            continue;
        };
        let target = amend.target;
        if target >= entry.seq || !marks.contains_key(&target) {
            refused.push(RefusedAmend {
                seq: entry.seq,
                target,
            });
            continue;
        }
        amendments = amendments.saturating_add(1);
        if last.get(&target).is_none_or(|(seq, _)| *seq < entry.seq) {
            last.insert(target, (entry.seq, amend));
        }
    }
    let mut standing: Vec<Entry> = entries
        .iter()
        .filter_map(|entry| match &entry.fact {
            Fact::Amend(_) => None,
            Fact::Deed(_) => Some(entry.clone()),
            Fact::Mark(_) => match last.get(&entry.seq).map(|(_, amend)| &amend.op) {
                None => Some(entry.clone()),
                Some(AmendOp::Retract) => None,
                Some(AmendOp::Retime { at_ms }) => Some(Entry {
                    at: *at_ms,
                    ..entry.clone()
                }),
            },
        })
        .collect();
    standing.sort_by_key(|entry| (entry.at, entry.seq));
    Amended {
        entries: standing,
        amendments,
        refused,
    }
}
