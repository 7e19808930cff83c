//! A record opened for the care record: the marks that stand, each with the device's own time and its source.

use std::collections::BTreeMap;

use cycle::{
    Entry, Fact, Mark, Ms, Seq,
    fact::{AmendOp, Source},
};
use debrief::{Basis, Fault, Measures, Spell, measures, spells, standing};
use record::{Opened, Wall};

/// A mark that stands.
#[derive(Clone, Debug)]
pub(crate) struct Marked {
    pub(crate) at: Ms,
    /// The device's clock then.
    pub(crate) wall: Option<Wall>,
    /// Who said it last: the mark, or the amendment that stands.
    pub(crate) src: Source,
    pub(crate) mark: Mark,
}

/// What every export of this room is made from.
#[derive(Debug)]
pub(crate) struct Facts<'a> {
    pub(crate) opened: &'a Opened,
    pub(crate) marks: Vec<Marked>,
    pub(crate) stretches: Vec<Spell>,
    pub(crate) measures: Measures,
}

fn signed(at: Ms) -> i64 {
    i64::try_from(at.0).unwrap_or(i64::MAX)
}

fn moved(wall: Wall, by: i64) -> Option<Wall> {
    Wall::new(wall.unix_ms().checked_add(by)?, wall.offset_min()).ok()
}

impl<'a> Facts<'a> {
    pub(crate) fn new(opened: &'a Opened, basis: Basis) -> Result<Self, Fault> {
        let first: BTreeMap<Seq, (Ms, usize)> = opened
            .entries
            .iter()
            .enumerate()
            .map(|(n, entry)| (entry.seq, (entry.at, n)))
            .collect();
        let said_last = match basis {
            Basis::Amended => sources(&opened.entries),
            Basis::Recorded => BTreeMap::new(),
        };
        let marks = standing(opened, basis).into_iter().filter_map(|entry| {
            let Fact::Mark(mark) = entry.fact else {
                return None;
            };
            let (told, n) = first.get(&entry.seq)?;
            let wall = if *told == entry.at {
                // By the stamp of its own line, as it was taken.
                let stamp = opened.stamps.get(*n)?;
                let back = signed(entry.at).saturating_sub(signed(entry.taken));
                moved(stamp.wall, back)
            } else {
                wall_at(opened, entry.at)
            };
            Some(Marked {
                at: entry.at,
                wall,
                src: said_last.get(&entry.seq).copied().unwrap_or(entry.src),
                mark,
            })
        });
        Ok(Self {
            opened,
            marks: marks.collect(),
            stretches: spells(opened, basis)?,
            measures: measures(opened, basis)?,
        })
    }

    /// The device's clock at a moment of the run, by the last line before it.
    pub(crate) fn wall(&self, at: Ms) -> Option<Wall> {
        wall_at(self.opened, at)
    }
}

fn wall_at(opened: &Opened, at: Ms) -> Option<Wall> {
    let lines = opened.entries.iter().zip(&opened.stamps);
    let before = lines
        .clone()
        .filter(|(entry, _)| entry.taken <= at)
        .max_by_key(|(entry, _)| (entry.taken, entry.seq));
    let (entry, stamp) = before.or_else(|| lines.clone().next())?;
    moved(stamp.wall, signed(at).saturating_sub(signed(entry.taken)))
}

/// Where the words that stand come from, for marks that were changed: an undone change is none.
fn sources(entries: &[Entry]) -> BTreeMap<Seq, Source> {
    let mut amends: Vec<(&Entry, Seq)> = entries
        .iter()
        .filter_map(|entry| match &entry.fact {
            Fact::Amend(amend) if !matches!(amend.op, AmendOp::Retract) => {
                Some((entry, amend.target))
            }
            Fact::Mark(_) | Fact::Deed(_) | Fact::Amend(_) => None,
        })
        .collect();
    amends.sort_by_key(|(entry, _)| entry.seq);
    amends
        .into_iter()
        .map(|(entry, target)| (target, entry.src))
        .collect()
}
