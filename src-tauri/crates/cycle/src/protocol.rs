//! The protocol: every number and its source, from a file, with the range it must lie in.

mod parse;
#[cfg(test)]
mod tests;

use alloc::{string::String, vec::Vec};
use core::fmt;

use beat::Rate;

use crate::{
    Ms,
    mark::{AirwayDevice, BreathMode, PatientClass, Ratio},
};

/// The numbers in force in a run. Made only by parsing a file, so that every value is in range.
#[derive(Clone, Debug, PartialEq)]
pub struct Protocol {
    /// The file itself, which the record carries.
    pub text: String,
    /// The service's own short name of it.
    pub id: String,
    /// The service's own version.
    pub version: String,
    /// What the screen calls it.
    pub name: String,
    /// Whose numbers they are.
    pub class: PatientClass,
    /// Beats a minute.
    pub rate: Rate,
    /// Compressions to breaths without an airway device.
    pub ratio: Ratio,
    /// The breath window of a ratio.
    pub window: Ms,
    /// From breath to breath in the continuous mode.
    pub breath_every: Ms,
    /// The breath mode that each airway device asks for, in the order of [`AirwayDevice::ALL`].
    pub airway_modes: Vec<(AirwayDevice, BreathMode)>,
    /// From check to check.
    pub check_every: Ms,
    /// The heads-up before a check.
    pub check_heads_up: Ms,
    /// The count before a check begins at so many seconds.
    pub check_count_from: u8,
    /// An unmarked check is called once more after this.
    pub check_overdue: Ms,
    /// Seconds of hands off at which the number is spoken.
    pub off_numbers: Vec<u8>,
    /// How long a charge keeps everything but the number silent.
    pub shock_silence: Ms,
    /// An unanswered cup check is asked once more after this.
    pub cup_repeat: Ms,
    /// How long the device's start position outlasts the pack's removal.
    pub swap_window: Ms,
    /// After so long without power the screen offers By Hand.
    pub by_hand_offer: Ms,
}

/// One fault of a protocol file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProtocolFault {
    /// The line, from 1; 0 where the fault has none.
    pub line: usize,
    /// The field, as `table.key`; empty where the fault is the file's.
    pub field: String,
    /// What stands there.
    pub found: String,
    /// What may stand there.
    pub allowed: String,
}

impl fmt::Display for ProtocolFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line > 0 {
            write!(f, "line {}: ", self.line)?;
        }
        if !self.field.is_empty() {
            write!(f, "{} = ", self.field)?;
        }
        write!(f, "{}, allowed: {}", self.found, self.allowed)
    }
}

impl core::error::Error for ProtocolFault {}

impl Protocol {
    /// Reads and checks a file.
    ///
    /// # Errors
    /// Every fault at once, each with line, field, value and what is allowed.
    pub fn parse(bytes: &[u8]) -> Result<Self, Vec<ProtocolFault>> {
        parse::parse(bytes)
    }

    /// A built-in example by its id.
    pub fn example(id: &str) -> Option<&'static str> {
        (id == "example-adult").then_some(include_str!("../protocols/example-adult.toml"))
    }

    /// The breath mode that an airway device asks for.
    pub fn mode_for(&self, device: AirwayDevice) -> BreathMode {
        self.airway_modes
            .iter()
            .find(|(known, _)| *known == device)
            .map_or(BreathMode::Ratio, |(_, mode)| *mode)
    }

    /// Compressions and breaths of a cycle.
    pub const fn cycle_of(ratio: Ratio) -> (u16, u8) {
        match ratio {
            Ratio::ThirtyTwo => (30, 2),
            Ratio::FifteenTwo => (15, 2),
            Ratio::ThreeOne => (3, 1),
        }
    }
}
