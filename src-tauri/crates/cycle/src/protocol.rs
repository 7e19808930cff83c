//! The protocol: every number and its source, from a file, with the range it must lie in.

mod diff;
mod edit;
mod form;
mod parse;
mod rule;
mod table;
#[cfg(test)]
mod tests;

pub use diff::Difference;
pub use edit::{EditFault, Slot};
pub use form::{Form, FormField};
pub use rule::{Rule, Whole};
pub use table::ProtocolRow;

use alloc::{string::String, vec::Vec};
use core::fmt;

use beat::Rate;
use serde::{Deserialize, Serialize};

use crate::{
    Ms,
    mark::{AirwayDevice, BreathMode, PatientClass, Ratio, closed},
    prompts::Prompt,
};

/// The record's key of the drug that falls due by time.
pub(crate) const DRUG_BY_CLOCK: &str = "adrenaline";
/// The record's key of the drug that falls due after shocks.
pub(crate) const DRUG_BY_SHOCKS: &str = "antiarrhythmic";

/// The numbers in force in a run. Made only by parsing a file, so that every value is in range.
#[derive(Clone, Debug, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a yes or no of the file"
)]
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
    /// Beats a minute; for a newborn compressions and breaths together.
    pub rate: Rate,
    /// Breaths before the first compression: 0, 2 or 5.
    pub first_breaths: u8,
    /// The beat begins after this even if the first breaths are not marked.
    pub first_breaths_wait: Ms,
    /// Compressions to breaths without an airway device.
    pub ratio: Ratio,
    /// The same with one rescuer alone.
    pub ratio_alone: Ratio,
    /// The breath window of a ratio.
    pub window: Ms,
    /// From breath to breath in the continuous mode.
    pub breath_every: Ms,
    /// The breath mode with a mask.
    pub mask_mode: BreathMode,
    /// The breath mode that each airway device asks for, in the order of [`AirwayDevice::ALL`].
    pub airway_modes: Vec<(AirwayDevice, BreathMode)>,
    /// From check to check.
    pub check_every: Ms,
    /// The heads-up before a check.
    pub check_heads_up: Ms,
    /// "Charge now?" comes so long before a check; `None` where the charge comes after it.
    pub check_charge: Option<Ms>,
    /// The count before a check begins at so many seconds.
    pub check_count_from: u8,
    /// An unmarked check is called once more after this.
    pub check_overdue: Ms,
    /// Which keys a check shows.
    pub check_form: CheckForm,
    /// By device, a check and a shock need no pause.
    pub check_through_device: bool,
    /// The compressor changes with each check.
    pub rotate_with_check: bool,
    /// Where it does not: by a clock of its own, from change to change.
    pub rotate_apart: Option<Ms>,
    /// What the beat does while a defibrillator that speaks leads.
    pub led_beat: LedBeat,
    /// Seconds of hands off at which the number is spoken.
    pub off_numbers: Vec<u8>,
    /// What a pause should not exceed, by what it is for.
    pub budgets: Budgets,
    /// After the last number a tone comes so often.
    pub still_off_every: Ms,
    /// How long a charge keeps everything but the number silent.
    pub shock_silence: Ms,
    /// So many shocks in one pause count as one for the drugs; 1: each counts.
    pub stack_most: u8,
    /// Shocks in a row from which the rhythm is called refractory.
    pub refractory_after: u8,
    /// What the service does then, as it writes it.
    pub refractory_list: Vec<String>,
    /// The compression device.
    pub device: DeviceRule,
    /// An unanswered cup check is asked once more after this.
    pub cup_repeat: Ms,
    /// How long the device's start position outlasts the pack's removal.
    pub swap_window: Ms,
    /// After so long without power the screen offers By Hand.
    pub by_hand_offer: Ms,
    /// How long a full pack lasts, for the estimate; `None`: no estimate.
    pub full_pack: Option<Ms>,
    /// Drugs with their windows, in the order of the screen.
    pub drugs: Vec<DrugRule>,
    /// Other drugs that a crew may give, without windows: the key in the record and the name.
    pub other_drugs: Vec<(String, String)>,
    /// Signs of life hold the drug prompts back until the next check.
    pub withhold_awake: bool,
    /// Lines and changes for special situations.
    pub overlays: Vec<OverlayRule>,
    /// Checkpoints by the minute.
    pub minutes: Vec<MinuteRule>,
    /// What is seen to when circulation is back.
    pub rosc_list: Vec<String>,
    /// From one look at the pulse to the next.
    pub rosc_recheck: Ms,
    /// Breath tones go on when circulation is back.
    pub rosc_breaths: bool,
    /// Without a mark for so long the screen asks whether the run still runs.
    pub still_running: Ms,
    /// Prompts that are spoken beside those that always are.
    pub also_spoken: Vec<Prompt>,
    /// What is looked at before a shift.
    pub kit_list: Vec<String>,
    /// What is made ready after a run.
    pub ready_list: Vec<String>,
    /// The service's own table of doses, line by line, shown as it stands.
    pub dose_table: Vec<String>,
    /// The first minutes of a newborn.
    pub newborn: Option<NewbornRule>,
}

closed! {
    /// Which keys a check shows.
    CheckForm { #[doc = "Shocked, or no shock."] Short = "short", #[doc = "Rhythm, charge and shock apart."] Full = "full" }
}

closed! {
    /// What the beat does while a defibrillator that speaks leads.
    LedBeat { #[doc = "It goes on."] On = "on", #[doc = "It steps back."] Quiet = "quiet", #[doc = "It is silent."] Off = "off" }
}

closed! {
    /// How the device is fitted.
    FitWindows { #[doc = "In two short pauses."] Two = "two", #[doc = "In one."] One = "one", #[doc = "Inside the check's pause."] InCheck = "in_check" }
}

closed! {
    /// The zero that a clock counts from.
    Zero { #[doc = "The arrest, as the crew says."] Arrest = "arrest", #[doc = "Our start."] Start = "start", #[doc = "The advanced crew's arrival."] AlsArrival = "als_arrival" }
}

closed! {
    /// When the first dose falls due after rhythms that are not shocked.
    FirstDose { #[doc = "At once."] AtOnce = "at_once", #[doc = "Not at all."] Never = "never" }
}

closed! {
    /// A special situation.
    Overlay { #[doc = "Pregnancy."] Pregnancy = "pregnancy", #[doc = "Cold."] Cold = "cold", #[doc = "Drowning."] Drowning = "drowning", #[doc = "Opioid."] Opioid = "opioid", #[doc = "Trauma."] Trauma = "trauma", #[doc = "Asthma or anaphylaxis."] AsthmaAnaphylaxis = "asthma_anaphylaxis" }
}

/// What a pause should not exceed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budgets {
    /// Any pause.
    pub any: Ms,
    /// For a shock.
    pub shock: Ms,
    /// An airway try.
    pub airway: Ms,
    /// A line.
    pub access: Ms,
    /// Ultrasound.
    pub ultrasound: Ms,
}

/// The compression device in the service's protocol.
#[derive(Clone, Debug, PartialEq)]
pub struct DeviceRule {
    /// Whether this class may have it at all.
    pub allowed: bool,
    /// In how many pauses it is fitted.
    pub windows: FitWindows,
    /// Not before so many cycles by hand.
    pub after_cycles: u8,
    /// Reasons for it, as the service writes them.
    pub reasons: Vec<String>,
    /// Whom it is not for.
    pub not_for: Vec<String>,
    /// Who does what.
    pub roles: Vec<String>,
    /// Its parts in the order of fitting: the key in the record and the words.
    pub parts: Vec<(String, String)>,
    /// Where the cup goes.
    pub landmarks: Vec<String>,
    /// What is looked at before a move.
    pub before_move: Vec<String>,
}

/// A drug and its windows. Never a dose: `words` are the service's own.
#[derive(Clone, Debug, PartialEq)]
pub struct DrugRule {
    /// Its key in the record.
    pub key: String,
    /// Its name on the screen.
    pub name: String,
    /// What the service writes for each dose, the last for all further ones.
    pub words: Vec<String>,
    /// Due by time or by shocks.
    pub due: DrugDue,
    /// No more than so many; 0: no limit.
    pub most: u8,
}

/// When a drug falls due.
#[derive(Clone, Debug, PartialEq)]
pub enum DrugDue {
    /// First by rhythm, then by the time since the last dose.
    Interval {
        /// After rhythms that are not shocked.
        first: FirstDose,
        /// After this many shocks, given before us or by us; 0: shocks do not ask for it.
        first_after_shocks: u8,
        /// Not due before, since the last dose.
        min: Ms,
        /// Late after.
        max: Ms,
    },
    /// After these shocks, counted as above, once each.
    Shocks(Vec<u8>),
}

/// A special situation: words, and what it changes.
#[derive(Clone, Debug, PartialEq)]
pub struct OverlayRule {
    /// Which.
    pub kind: Overlay,
    /// At most four lines.
    pub lines: Vec<String>,
    /// Pregnancy: delivery within this of the arrest.
    pub delivery_by: Option<Ms>,
    /// Drowning: breaths first.
    pub first_breaths: Option<u8>,
    /// Cold below 30 degrees: shocks are flagged at so many.
    pub cold_shocks: Option<u8>,
    /// Cold below 30 degrees: no more doses of the drug by time than so many; 0: none.
    pub cold_doses_by_time: Option<u8>,
    /// The same of the drug by shocks.
    pub cold_doses_by_shocks: Option<u8>,
    /// Cold from 30 to 35 degrees: intervals are so many times as long.
    pub cold_factor: Option<u8>,
}

/// A checkpoint by the minute.
#[derive(Clone, Debug, PartialEq)]
pub struct MinuteRule {
    /// `causes` or `plan`.
    pub prompt: Prompt,
    /// The minute.
    pub at: Ms,
    /// Counted from.
    pub zero: Zero,
    /// What is gone through.
    pub lines: Vec<String>,
}

/// A newborn's own way: breaths first, then compressions with breaths, the heart rate looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NewbornRule {
    /// Breaths alone, for so long.
    pub breaths_first: Ms,
    /// From breath to breath meanwhile.
    pub breath_every: Ms,
    /// From one look at the heart rate to the next.
    pub recheck: Ms,
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

    /// The built-in examples: id and file.
    pub const EXAMPLES: &'static [(&'static str, &'static str)] = &[
        (
            "example-adult",
            include_str!("../protocols/example-adult.toml"),
        ),
        (
            "example-adult-b",
            include_str!("../protocols/example-adult-b.toml"),
        ),
        (
            "example-child",
            include_str!("../protocols/example-child.toml"),
        ),
        (
            "example-infant",
            include_str!("../protocols/example-infant.toml"),
        ),
        (
            "example-newborn",
            include_str!("../protocols/example-newborn.toml"),
        ),
    ];

    /// A built-in example by its id.
    pub fn example(id: &str) -> Option<&'static str> {
        Self::EXAMPLES
            .iter()
            .find(|(known, _)| *known == id)
            .map(|(_, text)| *text)
    }

    /// Whether this is a built-in example, to the last letter.
    pub fn is_example(&self) -> bool {
        Self::example(&self.id) == Some(self.text.as_str())
    }

    /// The built-in examples for the other patient classes, where this is a built-in example too: a
    /// service's own file stands alone until the service adds more.
    ///
    /// # Errors
    /// The faults of a built-in file; a test keeps them from having any.
    pub fn examples_beside(&self) -> Result<Vec<Self>, Vec<ProtocolFault>> {
        if !self.is_example() {
            return Ok(Vec::new());
        }
        PatientClass::ALL
            .iter()
            .filter(|class| **class != self.class)
            .filter_map(|class| Self::example_for(*class))
            .map(|text| Self::parse(text.as_bytes()))
            .collect()
    }

    /// The built-in example for a class.
    pub fn example_for(class: PatientClass) -> Option<&'static str> {
        Self::example(match class {
            PatientClass::Adult => "example-adult",
            PatientClass::Child => "example-child",
            PatientClass::Infant => "example-infant",
            PatientClass::Newborn => "example-newborn",
        })
    }

    /// Whether there is a two-minute cycle; a newborn has none.
    pub fn has_cycle(&self) -> bool {
        self.class != PatientClass::Newborn
    }

    /// The rule for a special situation, if the service has one.
    pub fn overlay(&self, kind: Overlay) -> Option<&OverlayRule> {
        self.overlays.iter().find(|o| o.kind == kind)
    }

    /// The drug with this key.
    pub fn drug(&self, key: &str) -> Option<&DrugRule> {
        self.drugs.iter().find(|d| d.key == key)
    }

    /// What the service calls a drug; its key where it has no name for it.
    pub fn drug_name(&self, key: &str) -> String {
        let other = || self.other_drugs.iter().find(|(known, _)| known == key);
        let name = self.drug(key).map(|drug| &drug.name);
        name.or_else(|| other().map(|(_, name)| name))
            .map_or(key, String::as_str)
            .into()
    }

    /// The drug that falls due by time.
    pub fn drug_by_time(&self) -> Option<&DrugRule> {
        let by_time = |drug: &&DrugRule| matches!(drug.due, DrugDue::Interval { .. });
        self.drugs.iter().find(by_time)
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
