//! What the amendments of a run add up to. The lines themselves stay as they are.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    vec::Vec,
};

use crate::{
    Ms,
    fact::{Amend, AmendOp, Seq},
    mark::Mark,
};

/// What the amendments of one mark add up to. Of those in force the last one, by line, wins in what it
/// says: whether the mark stands, its time, what it is.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Change<'a> {
    /// It never was.
    pub is_gone: bool,
    /// Its time, if another one.
    pub at: Option<Ms>,
    /// What it is, if another mark.
    pub mark: Option<&'a Mark>,
    /// Somebody said that it is right.
    pub is_confirmed: bool,
    /// The amendments in force, in order.
    pub by: Vec<Seq>,
}

/// The amendments of a run.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Folded<'a> {
    /// By mark; one that was added is known by the line that adds it.
    pub changes: BTreeMap<Seq, Change<'a>>,
    /// Amendments that were taken back.
    pub void: BTreeSet<Seq>,
    /// Amendments that cannot be, and what they point at.
    pub refused: Vec<(Seq, Seq)>,
}

/// Takes amendments, given in the order of their lines. `is_mark` says whether a line is a mark.
pub fn fold<'a>(amends: &[(Seq, &'a Amend)], is_mark: impl Fn(Seq) -> bool) -> Folded<'a> {
    let mut out = Folded::default();
    // The amendments before this one that can be, and whether they add a mark.
    let mut ops: BTreeMap<Seq, bool> = BTreeMap::new();
    let mut taken = Vec::new();
    for (seq, amend) in amends {
        let target = amend.target;
        let can_be = match amend.op {
            AmendOp::Add { .. } => target == Seq(0),
            AmendOp::Retract => target < *seq && (is_mark(target) || ops.contains_key(&target)),
            AmendOp::Retime { .. } | AmendOp::Replace { .. } | AmendOp::Confirm => {
                target < *seq && (is_mark(target) || ops.get(&target) == Some(&true))
            }
        };
        if can_be {
            ops.insert(*seq, matches!(amend.op, AmendOp::Add { .. }));
            taken.push((*seq, *amend));
        } else {
            out.refused.push((*seq, target));
        }
    }
    let of_amendment = |amend: &Amend| ops.get(&amend.target) == Some(&false);
    // From the last to the first: whether an amendment is taken back is settled by those after it.
    for (seq, amend) in taken.iter().rev() {
        if of_amendment(amend) && !out.void.contains(seq) {
            out.void.insert(amend.target);
        }
    }
    for (seq, amend) in taken {
        if of_amendment(amend) || out.void.contains(&seq) {
            continue;
        }
        let mark = match amend.op {
            AmendOp::Add { .. } => seq,
            AmendOp::Retract
            | AmendOp::Retime { .. }
            | AmendOp::Replace { .. }
            | AmendOp::Confirm => amend.target,
        };
        let change = out.changes.entry(mark).or_default();
        change.by.push(seq);
        change.is_gone = amend.op == AmendOp::Retract;
        match &amend.op {
            AmendOp::Retract => {}
            AmendOp::Retime { at_ms } => change.at = Some(*at_ms),
            AmendOp::Replace { new } => change.mark = Some(new),
            AmendOp::Add { at_ms, new } => {
                (change.at, change.mark) = (Some(*at_ms), Some(new));
            }
            AmendOp::Confirm => change.is_confirmed = true,
        }
    }
    out
}
