//! The measures of a run, from its record alone: fractions, pauses, shocks, device, drugs.
//!
//! Every formula stands in `docs/measures.md`, with its window, unit and source. What is not known is
//! `None`, never nought. No clock and no file.
#![forbid(unsafe_code)]

mod breaths;
mod checks;
mod clocks;
mod course;
mod cup;
mod device;
mod drugs;
mod firsts;
mod flow;
mod measures;
mod number;
mod pauses;
mod power;
mod rows;
mod run;
mod shocks;
mod spans;
mod stretches;
mod table;
mod text;
mod window;

pub use breaths::Ventilation;
pub use checks::Trust;
pub use clocks::{ClockOffset, ClockSpan, Clocks};
pub use course::{CheckResult, CheckRow, Course, Happening, State, Stretch, course};
pub use cup::{Cup, CupCheck};
pub use device::{DevicePauses, Fitting, Fittings};
pub use drugs::{Drug, Drugs, Interval, Place};
pub use firsts::First;
pub use flow::{AfterFive, Fraction, Minute, Minutes, NoFlow, Time};
pub use measures::{
    Basis, Fault, Known, Measures, Of, ProtocolUsed, Taken, VERSION, measures, taken,
};
pub use pauses::{EndedBy, PauseRow, Pauses};
pub use power::{Power, PowerSwap};
pub use shocks::{Bands, ShockBands, ShockRow, Shocks};
pub use spans::Doing;
pub use stretches::{Spell, spells, standing};
pub use table::{Column, Form, Table, about, began, sheets, tables};
pub use text::text;
pub use window::{BeginsBy, EndsBy, Window, WindowName, Windows};

#[cfg(test)]
mod tests;
