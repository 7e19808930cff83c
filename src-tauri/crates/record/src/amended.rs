//! The run as amended: what stands once retracted, retimed and replaced marks are taken into account.

use std::{collections::BTreeSet, fmt};

use cycle::{
    Entry, Fact, Seq,
    amendments::{Change, Folded, fold},
    fact::Amend,
};

/// The run as amended.
#[derive(Clone, Debug, PartialEq)]
pub struct Amended {
    /// Marks that stand and deeds, by the time at which they happened ([`Entry::place`]), then by number.
    /// A mark that was added has the number of the line that adds it.
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
            "amend in line {}: target = {}, allowed: the seq of a mark before it, or of an \
             amendment before it that is retracted; none for an add",
            self.seq.0, self.target.0
        )
    }
}

/// Takes the amendments into account. Of those of a target the last one in force, by number, wins in what
/// it says: whether the mark stands, its time, what it is. The lines themselves stay as they are.
pub fn amended(entries: &[Entry]) -> Amended {
    let marks: BTreeSet<Seq> = entries
        .iter()
        .filter(|e| matches!(e.fact, Fact::Mark(_)))
        .map(|e| e.seq)
        .collect();
    let mut amends: Vec<(Seq, &Amend)> = Vec::new();
    for entry in entries {
        if let Fact::Amend(amend) = &entry.fact {
            amends.push((entry.seq, amend));
        }
    }
    amends.sort_by_key(|(seq, _)| *seq);
    let Folded {
        changes, refused, ..
    } = fold(&amends, |seq| marks.contains(&seq));
    let mut standing: Vec<Entry> = entries
        .iter()
        .filter_map(|entry| match &entry.fact {
            Fact::Deed(_) => Some(entry.clone()),
            Fact::Mark(_) => match changes.get(&entry.seq) {
                None => Some(entry.clone()),
                Some(change) => as_changed(change, entry),
            },
            Fact::Amend(_) => changes
                .get(&entry.seq)
                .and_then(|change| as_changed(change, entry)),
        })
        .collect();
    standing.sort_by_key(|entry| (entry.place(), entry.seq));
    Amended {
        entries: standing,
        amendments: amends.len().saturating_sub(refused.len()),
        refused: refused
            .into_iter()
            .map(|(seq, target)| RefusedAmend { seq, target })
            .collect(),
    }
}

/// The mark as it stands; `None`: it never was.
fn as_changed(change: &Change<'_>, entry: &Entry) -> Option<Entry> {
    if change.is_gone {
        return None;
    }
    let at = change.at.unwrap_or(entry.at);
    // A mark that was added later is no part of the time in which it was written down.
    let taken = if matches!(entry.fact, Fact::Amend(_)) {
        at
    } else {
        entry.taken
    };
    Some(Entry {
        at,
        taken,
        fact: match change.mark {
            Some(mark) => Fact::Mark(mark.clone()),
            None => entry.fact.clone(),
        },
        ..entry.clone()
    })
}
