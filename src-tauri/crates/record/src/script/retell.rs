//! A script out of a live record: the same acts at the same times.

use std::{collections::BTreeMap, fmt};

use cycle::{
    Entry, Fact, Ms, Seq,
    fact::{Amend, AmendOp, AmendReason, Deed, Way},
};

use super::{Act, Script, ScriptAmend, Step};
use crate::header::Header;

/// Why a record has no script.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RetellError {
    /// An amendment points at no mark before it.
    Target {
        /// The amendment's line.
        seq: Seq,
        /// What it points at.
        target: Seq,
    },
    /// There is no mark.
    NoMark,
}

impl fmt::Display for RetellError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Target { seq, target } => write!(
                f,
                "amend in line {}: target = {}, allowed: the seq of a mark before it",
                seq.0, target.0
            ),
            Self::NoMark => f.write_str("the record holds no mark, so there is nothing to retell"),
        }
    }
}

impl std::error::Error for RetellError {}

/// A mark that stands, and the touch it came with.
struct Stands {
    seq: Seq,
    at: Ms,
    taken: Ms,
}

/// Marks and amendments of a record as a script. `protocol` is what the script names: a path or a
/// built-in name.
///
/// # Errors
/// See [`RetellError`].
pub fn from_record(
    name: &str,
    protocol: Option<&str>,
    header: &Header,
    entries: &[Entry],
) -> Result<Script, RetellError> {
    let mut telling = Telling::default();
    let mut rest = entries;
    while let Some((entry, after)) = rest.split_first() {
        rest = after;
        match &entry.fact {
            Fact::Mark(mark) => telling.mark(entry, Act::Mark(mark.clone())),
            // By hand, the first mark begins the run anyway.
            Fact::Deed(Deed::Start { way: Way::Hand }) => {}
            Fact::Deed(Deed::Start { way }) => telling.step(entry, Act::Start(*way)),
            Fact::Deed(_) => {}
            // What a review said later, the crew did not do.
            Fact::Amend(amend) if amend.by_role.is_some() => {}
            Fact::Amend(amend) => {
                let act = telling.undone_by(entry, entries);
                if act.is_empty() {
                    telling.amend(entry, amend)?;
                } else {
                    rest = after.get(act.len().saturating_sub(1)..).unwrap_or_default();
                    telling.standing.retain(|mark| !act.contains(&mark.seq));
                    telling.step(entry, Act::Undo);
                }
            }
        }
    }
    if telling.index.is_empty() {
        return Err(RetellError::NoMark);
    }
    Ok(Script {
        name: name.to_owned(),
        protocol: protocol.map(str::to_owned),
        class: header.patient_class,
        lang: header.lang.clone(),
        seed: 0,
        steps: telling.steps,
        end: entries.iter().map(|entry| entry.taken).max(),
    })
}

#[derive(Default)]
struct Telling {
    steps: Vec<Step>,
    /// Place in `steps` by line.
    index: BTreeMap<Seq, usize>,
    standing: Vec<Stands>,
}

impl Telling {
    fn step(&mut self, entry: &Entry, act: Act) {
        self.steps.push(Step {
            at: entry.taken,
            age: entry.taken.since(entry.at),
            act,
        });
    }

    fn mark(&mut self, entry: &Entry, act: Act) {
        self.index.insert(entry.seq, self.steps.len());
        self.standing.push(Stands {
            seq: entry.seq,
            at: entry.at,
            taken: entry.taken,
        });
        self.step(entry, act);
    }

    /// The marks that the undo key took back with this line and those after it; none if it was no
    /// undo.
    fn undone_by(&self, entry: &Entry, entries: &[Entry]) -> Vec<Seq> {
        let Some(last) = self.standing.last() else {
            return Vec::new();
        };
        let touch = (last.at, last.taken);
        if self.standing.first().map(|mark| (mark.at, mark.taken)) == Some(touch) {
            return Vec::new();
        }
        let mut act: Vec<Seq> = self
            .standing
            .iter()
            .filter(|mark| (mark.at, mark.taken) == touch)
            .map(|mark| mark.seq)
            .collect();
        let mut taken_back: Vec<Seq> = entries
            .iter()
            .skip_while(|other| other.seq < entry.seq)
            .map_while(|other| match &other.fact {
                Fact::Amend(Amend {
                    target,
                    op: AmendOp::Retract,
                    reason: AmendReason::MisTap,
                    ..
                }) if other.taken == entry.taken => Some(*target),
                Fact::Amend(_) | Fact::Mark(_) | Fact::Deed(_) => None,
            })
            .take(act.len())
            .collect();
        act.sort_unstable();
        taken_back.sort_unstable();
        if act == taken_back { act } else { Vec::new() }
    }

    fn amend(&mut self, entry: &Entry, amend: &Amend) -> Result<(), RetellError> {
        let target = *self.index.get(&amend.target).ok_or(RetellError::Target {
            seq: entry.seq,
            target: amend.target,
        })?;
        match amend.op {
            AmendOp::Retract => self.standing.retain(|mark| mark.seq != amend.target),
            // It stays a mark of its touch.
            AmendOp::Retime { .. }
            | AmendOp::Replace { .. }
            | AmendOp::Add { .. }
            | AmendOp::Confirm => {}
        }
        let act = Act::Amend(ScriptAmend {
            target,
            op: amend.op.clone(),
            reason: amend.reason,
        });
        self.step(entry, act);
        Ok(())
    }
}
