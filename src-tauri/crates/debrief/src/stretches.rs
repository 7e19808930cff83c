//! The state line as stretches, for what is made of a run elsewhere.

use cycle::{Entry, Ms};
use record::Opened;

use crate::{Basis, Doing, Fault, measures::with_run, run};

/// A stretch of one state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spell {
    /// Its beginning, run milliseconds.
    pub from_ms: Ms,
    /// Its end.
    pub to_ms: Ms,
    /// The state.
    pub doing: Doing,
}

/// The run as one state after another, without a hole: the line that the measures are taken of.
///
/// # Errors
/// Where the state line cannot be folded, since not even a built-in protocol can be read.
pub fn spells(opened: &Opened, basis: Basis) -> Result<Vec<Spell>, Fault> {
    with_run(opened, basis, |run| {
        let spans = run.spans.iter().map(|span| Spell {
            from_ms: span.from,
            to_ms: span.to,
            doing: span.doing,
        });
        spans.collect()
    })
}

/// Deeds and the marks that stand, by the time at which they happened.
pub fn standing(opened: &Opened, basis: Basis) -> Vec<Entry> {
    run::standing(opened, basis)
}
