//! The run as amended: what stands once retracted, retimed and replaced marks are taken into account.

use std::{
    collections::{BTreeMap, BTreeSet},
    fmt,
};

use cycle::{Entry, Fact, Mark, Ms, Seq, fact::AmendOp};

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

/// What the amendments of a mark add up to.
#[derive(Default)]
struct Change<'a> {
    gone: bool,
    at: Option<Ms>,
    mark: Option<&'a Mark>,
}

impl<'a> Change<'a> {
    fn take(&mut self, op: &'a AmendOp) {
        self.gone = matches!(op, AmendOp::Retract);
        match op {
            AmendOp::Retract => {}
            AmendOp::Retime { at_ms } => self.at = Some(*at_ms),
            AmendOp::Replace { new } => self.mark = Some(new),
        }
    }

    fn of(&self, entry: &Entry) -> Option<Entry> {
        (!self.gone).then(|| Entry {
            at: self.at.unwrap_or(entry.at),
            fact: self
                .mark
                .map_or_else(|| entry.fact.clone(), |mark| Fact::Mark(mark.clone())),
            ..entry.clone()
        })
    }
}

/// Takes the amendments into account. Of those of a target the last one, by number, wins in what it
/// says: whether the mark stands, its time, what it is. The lines themselves stay as they are.
pub fn amended(entries: &[Entry]) -> Amended {
    let marks: BTreeSet<Seq> = entries
        .iter()
        .filter(|e| matches!(e.fact, Fact::Mark(_)))
        .map(|e| e.seq)
        .collect();
    let mut amends = Vec::new();
    let mut refused = Vec::new();
    for entry in entries {
        let Fact::Amend(amend) = &entry.fact else {
            continue;
        };
        let target = amend.target;
        if target >= entry.seq || !marks.contains(&target) {
            refused.push(RefusedAmend {
                seq: entry.seq,
                target,
            });
            continue;
        }
        amends.push((entry.seq, amend));
    }
    amends.sort_by_key(|(seq, _)| *seq);
    let mut changes: BTreeMap<Seq, Change<'_>> = BTreeMap::new();
    for (_, amend) in &amends {
        changes.entry(amend.target).or_default().take(&amend.op);
    }
    let mut standing: Vec<Entry> = entries
        .iter()
        .filter_map(|entry| match &entry.fact {
            Fact::Amend(_) => None,
            Fact::Deed(_) => Some(entry.clone()),
            Fact::Mark(_) => changes
                .get(&entry.seq)
                .map_or_else(|| Some(entry.clone()), |change| change.of(entry)),
        })
        .collect();
    standing.sort_by_key(|entry| (entry.at, entry.seq));
    Amended {
        entries: standing,
        amendments: amends.len(),
        refused,
    }
}
