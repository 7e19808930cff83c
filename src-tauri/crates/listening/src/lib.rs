//! The listening test of a voice pack: which prompts are heard, in which noise, what was answered, and what the
//! sheets of several listeners add up to. No clock, no file, no device: times and samples come in.
//!
//! The test is closed: of each prompt one answer out of six is given, or that nothing was heard. The draw, the
//! order of the answers and the noise follow from the seed that stands on the sheet.
#![forbid(unsafe_code)]

mod binomial;
mod dice;
mod draw;
mod mix;
mod noise;
mod session;
mod sheet;
mod tally;
mod weight;

pub use binomial::interval;
pub use draw::{CHOICES, PROMPTS, Trial, are_alike, draw, is_pressing};
pub use mix::{LEAD_MS, Stimulus, TAIL_MS, length_ms, mixed};
pub use noise::round_noise;
pub use session::{Facts, Output, Progress, Test, Way};
pub use sheet::{HEADER, Level, Row, Sheet, SheetFault, read};
pub use tally::{
    Confusion, ENOUGH, ENOUGH_TESTS, GATE_PER_CENT, Group, SURELY_PER_CENT, Share, TOTALS_BEGIN,
    Verdict, add_up, totals,
};
pub use weight::{a_level, a_weight};

/// A count as a real number; counts here are far below where that would lose anything.
fn real(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}
