//! What leaves a run for the care record and for other systems: the times to carry over, the part of the
//! national EMS standard that marks can fill, and a FHIR bundle.
//!
//! docs/exports.md has the rules. Only what the crew marked is said; nothing is guessed. No clock, no file.
#![forbid(unsafe_code)]

mod airway;
mod arrest;
mod carry;
mod clocks;
mod codes;
mod facts;
mod fhir;
mod fhir_parts;
mod filled;
mod groups;
mod nemsis;
mod sheet;

pub use carry::{CarryClock, CarryOver, CarryRow, CarryTime, carry_over};
pub use codes::{Procedure, ProcedureCodes};
pub use fhir::{FHIR_NOTICE, fhir};
pub use nemsis::nemsis;
pub use sheet::carry_files;

#[cfg(test)]
mod tests;
