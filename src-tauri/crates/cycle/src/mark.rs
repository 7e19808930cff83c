//! The record's own kinds: what a crew can say, with the names and fields of the file.
//!
//! One table for the run machine, the record, the rehearsal script and the tests. Every kind can be
//! written down; those that move the state line or a timer are told apart in [`crate::state`].

use alloc::vec::Vec;

use serde::{Deserialize, Serialize};

mod groups;
mod words;

pub use groups::*;
pub use words::*;

/// A crew act. Only a mark changes what the crew is said to be doing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(untagged)]
pub enum Mark {
    /// The run as a whole.
    Run(RunMark),
    /// Compressions and circulation.
    Flow(FlowMark),
    /// Airway and breaths.
    Air(AirMark),
    /// Rhythm, shock and what leads to it.
    Check(CheckMark),
    /// The compression device.
    Device(DeviceMark),
    /// Drugs, lines, procedures.
    Care(CareMark),
}

macro_rules! closed {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        #[cfg_attr(feature = "ts", derive(ts_rs::TS))]
        #[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
        pub enum $name {
            $($(#[$vdoc])* #[serde(rename = $word)] $variant,)+
        }
        impl $name {
            /// Every value, in the order of the record's page.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];
            /// The record's word for it.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }
        }
    };
}
pub(crate) use closed;

/// Names of each group's kinds, for the reader and for a script's error texts.
pub mod kinds {
    /// Of [`super::RunMark`].
    pub const RUN: &[&str] = &[
        "arrest",
        "prior_care",
        "patient",
        "overlay",
        "leads",
        "ack",
        "times",
        "decision",
        "clock_mark",
        "note",
        "resume",
        "sound",
        "flag",
        "end",
    ];
    /// Of [`super::FlowMark`].
    pub const FLOW: &[&str] = &[
        "compr_start",
        "compr_stop",
        "why",
        "state_set",
        "rotate",
        "pulse_check",
        "rosc",
        "rearrest",
    ];
    /// Of [`super::AirMark`].
    pub const AIR: &[&str] = &["airway", "airway_confirm", "breath_mode", "vent", "etco2"];
    /// Of [`super::CheckMark`].
    pub const CHECK: &[&str] = &[
        "pads",
        "charge",
        "analysing",
        "rhythm",
        "shock",
        "no_shock",
        "heart_rate",
    ];
    /// Of [`super::DeviceMark`].
    pub const DEVICE: &[&str] = &["fit", "fit_refused", "cup", "move", "power"];
    /// Of [`super::CareMark`].
    pub const CARE: &[&str] = &["drug", "access", "procedure", "awake"];

    /// Of every mark, group by group.
    pub fn all() -> impl Iterator<Item = &'static str> {
        [RUN, FLOW, AIR, CHECK, DEVICE, CARE]
            .into_iter()
            .flatten()
            .copied()
    }
}

/// The marks in one list, oldest first.
pub type Marks = Vec<Mark>;

impl Mark {
    /// Whether it says what the state line is from its time on. Such a mark is never moved across
    /// another one.
    pub const fn is_of_state_line(&self) -> bool {
        match self {
            Self::Flow(mark) => match mark {
                FlowMark::ComprStart { .. }
                | FlowMark::ComprStop { .. }
                | FlowMark::StateSet { .. }
                | FlowMark::Rosc {}
                | FlowMark::Rearrest { .. } => true,
                FlowMark::Why { .. } | FlowMark::Rotate {} | FlowMark::PulseCheck { .. } => false,
            },
            Self::Run(RunMark::End { .. } | RunMark::Resume { .. })
            | Self::Device(DeviceMark::Power {
                act: PowerAct::SwapBegin | PowerAct::SwapEnd,
                ..
            }) => true,
            Self::Run(_) | Self::Device(_) | Self::Air(_) | Self::Check(_) | Self::Care(_) => false,
        }
    }
}

/// The record's name of a mark.
pub const fn kind_of(mark: &Mark) -> &'static str {
    match mark {
        Mark::Run(m) => match m {
            RunMark::Arrest { .. } => "arrest",
            RunMark::PriorCare(_) => "prior_care",
            RunMark::Patient { .. } => "patient",
            RunMark::Overlay { .. } => "overlay",
            RunMark::Leads { .. } => "leads",
            RunMark::Ack { .. } => "ack",
            RunMark::Times { .. } => "times",
            RunMark::Decision { .. } => "decision",
            RunMark::ClockMark { .. } => "clock_mark",
            RunMark::Note { .. } => "note",
            RunMark::Resume { .. } => "resume",
            RunMark::Sound { .. } => "sound",
            RunMark::Flag {} => "flag",
            RunMark::End { .. } => "end",
        },
        Mark::Flow(m) => match m {
            FlowMark::ComprStart { .. } => "compr_start",
            FlowMark::ComprStop { .. } => "compr_stop",
            FlowMark::Why { .. } => "why",
            FlowMark::StateSet { .. } => "state_set",
            FlowMark::Rotate {} => "rotate",
            FlowMark::PulseCheck { .. } => "pulse_check",
            FlowMark::Rosc {} => "rosc",
            FlowMark::Rearrest { .. } => "rearrest",
        },
        Mark::Air(m) => match m {
            AirMark::Airway { .. } => "airway",
            AirMark::AirwayConfirm { .. } => "airway_confirm",
            AirMark::BreathMode { .. } => "breath_mode",
            AirMark::Vent { .. } => "vent",
            AirMark::Etco2 { .. } => "etco2",
        },
        Mark::Check(m) => match m {
            CheckMark::Pads { .. } => "pads",
            CheckMark::Charge { .. } => "charge",
            CheckMark::Analysing {} => "analysing",
            CheckMark::Rhythm { .. } => "rhythm",
            CheckMark::Shock { .. } => "shock",
            CheckMark::NoShock {} => "no_shock",
            CheckMark::HeartRate { .. } => "heart_rate",
        },
        Mark::Device(m) => match m {
            DeviceMark::Fit { .. } => "fit",
            DeviceMark::FitRefused { .. } => "fit_refused",
            DeviceMark::Cup { .. } => "cup",
            DeviceMark::Move { .. } => "move",
            DeviceMark::Power { .. } => "power",
        },
        Mark::Care(m) => match m {
            CareMark::Drug { .. } => "drug",
            CareMark::Access { .. } => "access",
            CareMark::Procedure { .. } => "procedure",
            CareMark::Awake { .. } => "awake",
        },
    }
}
