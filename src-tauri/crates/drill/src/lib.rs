//! Drills: a scenario beside a run. What is to be told next and when, which expected marks came in time, late, in the
//! wrong order or not at all, and the score. No clock, no file.
//!
//! Every rule stands in `docs/drill.md`. A drill is never among runs: its record says so in its header, and in a line
//! of its own.
#![forbid(unsafe_code)]

mod again;
mod crew;
mod dice;
mod measured;
mod parse;
mod scenario;
mod sheet;
mod told;
mod walk;

pub use again::{ABOUT_DEVICE, Due, Past, due};
pub use crew::{CrewFault, crew};
pub use parse::{Fault, LARGEST};
pub use scenario::{
    Begin, Choice, CueKind, CueRule, Expected, Item, MeasureRule, Only, Origin, Said, Scenario,
    Wanted, What, Yardstick,
};
pub use sheet::{CueRow, MarkRow, MeasureRow, NotMeasured, Sheet, Verdict, sheet};
pub use told::{Told, told, told_until};
pub use walk::{Heard, Met, Outcome, Timing, Walked, walk, walk_over};

#[cfg(test)]
mod tests;
