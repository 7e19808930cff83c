//! The record's own kinds: what a crew can say, with the names and fields of the file.
//!
//! One table for the run machine, the record, the rehearsal script and the tests. Every kind can be
//! written down; those that move the state line or a timer are told apart in [`crate::state`].

use alloc::{string::String, vec::Vec};

use serde::{Deserialize, Serialize};

/// A crew act. Only a mark changes what the crew is said to be doing.
#[derive(Clone, Debug, PartialEq, Serialize)]
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

closed! {
    /// What makes the compressions.
    By { #[doc = "Hands."] Manual = "manual", #[doc = "The compression device."] Mechanical = "mechanical" }
}
closed! {
    /// Why hands are off.
    Reason {
        #[doc = "Rhythm check."] RhythmCheck = "rhythm_check",
        #[doc = "Pulse check."] PulseCheck = "pulse_check",
        #[doc = "Shock."] Shock = "shock",
        #[doc = "Breaths."] Ventilation = "ventilation",
        #[doc = "Airway work."] Airway = "airway",
        #[doc = "A line."] Access = "access",
        #[doc = "Ultrasound."] Ultrasound = "ultrasound",
        #[doc = "Another procedure."] Procedure = "procedure",
        #[doc = "Fitting the device."] DeviceFit = "device_fit",
        #[doc = "Setting the device right."] DeviceReseat = "device_reseat",
        #[doc = "Taking the device off."] DeviceOff = "device_off",
        #[doc = "The device stopped by itself."] DeviceFault = "device_fault",
        #[doc = "Changing the device's power pack."] Power = "power",
        #[doc = "Moving the patient."] Move = "move",
        #[doc = "Change of compressor."] Rotate = "rotate",
        #[doc = "Circulation came back."] Rosc = "rosc",
        #[doc = "Resuscitation was given up."] StopCare = "stop_care",
        #[doc = "Not said."] Unknown = "unknown",
    }
}
closed! {
    /// Breath mode: a fact of its own, apart from the airway.
    BreathMode { #[doc = "Compressions pause for breaths."] Ratio = "ratio", #[doc = "Breaths without a pause."] Continuous = "continuous", #[doc = "No breaths."] None = "none" }
}
closed! {
    /// Compressions to breaths.
    Ratio { #[doc = "30:2"] ThirtyTwo = "30:2", #[doc = "15:2"] FifteenTwo = "15:2", #[doc = "3:1"] ThreeOne = "3:1" }
}
closed! {
    /// Airway device.
    AirwayDevice { #[doc = "Oral airway."] Opa = "opa", #[doc = "Nasal airway."] Npa = "npa", #[doc = "Supraglottic."] Sga = "sga", #[doc = "Tube."] Ett = "ett", #[doc = "Front of neck."] Cric = "cric" }
}
closed! {
    /// How breaths get in.
    Via { #[doc = "Mask."] Mask = "mask", #[doc = "Supraglottic."] Sga = "sga", #[doc = "Tube."] Ett = "ett", #[doc = "Front of neck."] Cric = "cric" }
}
closed! {
    /// An airway act.
    AirwayAct { #[doc = "A try begins."] TryBegin = "try_begin", #[doc = "A try ends."] TryEnd = "try_end", #[doc = "It is in."] In = "in", #[doc = "It is out or leaks."] Lost = "lost" }
}
closed! {
    /// A cup act by the crew.
    CupAct { #[doc = "In place."] Good = "good", #[doc = "Slipped: seat it again."] Reseat = "reseat" }
}
closed! {
    /// Why the cup was looked at.
    CupWhy { #[doc = "After a move."] Move = "move", #[doc = "After a start."] Start = "start", #[doc = "After a power swap."] Power = "power", #[doc = "Strap."] Strap = "strap", #[doc = "At a check."] Check = "check", #[doc = "Other."] Other = "other" }
}
closed! {
    /// A move's act.
    MoveAct { #[doc = "Lifting off."] Begin = "begin", #[doc = "Set down."] SetDown = "set_down", #[doc = "Loaded."] Loaded = "loaded" }
}
closed! {
    /// A stage of the way out.
    Stage { #[doc = "Floor."] Floor = "floor", #[doc = "Scoop."] Scoop = "scoop", #[doc = "Stairs."] Stairs = "stairs", #[doc = "Stretcher."] Stretcher = "stretcher", #[doc = "Vehicle."] Vehicle = "vehicle", #[doc = "Other."] Other = "other" }
}
closed! {
    /// A power act.
    PowerAct { #[doc = "The pack comes out."] SwapBegin = "swap_begin", #[doc = "The new pack is in."] SwapEnd = "swap_end", #[doc = "On mains."] MainsOn = "mains_on", #[doc = "Off mains."] MainsOff = "mains_off" }
}
closed! {
    /// How a run ended.
    Outcome { #[doc = "Circulation came back."] Rosc = "rosc", #[doc = "Stopped."] Stopped = "stopped", #[doc = "Handed over."] HandedOver = "handed_over", #[doc = "It was no arrest."] NoArrest = "no_arrest" }
}
closed! {
    /// State line as set right by the crew.
    SetState { #[doc = "Compressing by hand."] Manual = "manual", #[doc = "Compressing by device."] Mechanical = "mechanical", #[doc = "Hands off."] HandsOff = "hands_off", #[doc = "Spontaneous circulation."] Pulse = "pulse", #[doc = "Not known."] Unknown = "unknown" }
}
closed! {
    /// What to take for the gap after a restart.
    Resume { #[doc = "As it was before the gap."] AsBefore = "as_before", #[doc = "The same patient, a new half."] SamePatient = "same_patient", #[doc = "Another patient."] NewPatient = "new_patient" }
}
closed! {
    /// Patient class.
    PatientClass { #[doc = "Adult."] Adult = "adult", #[doc = "Child."] Child = "child", #[doc = "Infant."] Infant = "infant", #[doc = "Newborn."] Newborn = "newborn" }
}
closed! {
    /// A change of the sound by the crew.
    SoundAct { #[doc = "Voice off."] VoiceOff = "voice_off", #[doc = "Voice on."] VoiceOn = "voice_on", #[doc = "Beat off."] BeatOff = "beat_off", #[doc = "Beat on."] BeatOn = "beat_on" }
}
closed! {
    /// How arrest was known.
    ArrestBasis { #[doc = "Recognised by the crew."] Recognised = "recognised", #[doc = "Witnessed by the crew."] Witnessed = "witnessed", #[doc = "Reported to the crew."] Reported = "reported" }
}
closed! {
    /// How compressions by device were known.
    StartBasis { #[doc = "Seen."] Seen = "seen", #[doc = "Confirmed running."] ConfirmedRunning = "confirmed_running" }
}
closed! {
    /// What the monitor showed.
    RhythmSeen { #[doc = "VF."] Vf = "vf", #[doc = "Pulseless VT."] Pvt = "pvt", #[doc = "PEA."] Pea = "pea", #[doc = "Asystole."] Asystole = "asystole", #[doc = "Organised."] Organised = "organised", #[doc = "Shockable."] Shockable = "shockable", #[doc = "Not shockable."] NotShockable = "not_shockable", #[doc = "AED: shock."] AedShock = "aed_shock", #[doc = "AED: no shock."] AedNoShock = "aed_no_shock", #[doc = "Unknown."] Unknown = "unknown" }
}
closed! {
    /// A charge act.
    ChargeAct { #[doc = "Charging has begun."] Begun = "begun", #[doc = "The charge was dumped."] Dumped = "dumped" }
}
closed! {
    /// Who gave a shock.
    GivenBy { #[doc = "This crew."] Us = "us", #[doc = "Others."] Others = "others" }
}
closed! {
    /// A pulse check's result.
    Pulse { #[doc = "Present."] Present = "present", #[doc = "Absent."] Absent = "absent", #[doc = "Unclear."] Unclear = "unclear" }
}

/// A number that is not a whole count, kept as it was typed so that it never drifts.
pub type Decimal = String;

/// Marks of the run as a whole.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "ev", content = "d", rename_all = "snake_case")]
pub enum RunMark {
    /// Arrest, as the crew says.
    Arrest {
        /// How it was known.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        basis: Option<ArrestBasis>,
    },
    /// Another patient class.
    Patient {
        /// The class.
        class: PatientClass,
        /// Rescuers at hand, 1 or 2.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        rescuers: Option<u8>,
    },
    /// What the gap after a restart was.
    Resume {
        /// The crew's answer.
        choice: Resume,
    },
    /// Voice or beat switched.
    Sound {
        /// What was switched.
        what: SoundAct,
    },
    /// A bare time, named later in the review.
    Flag {},
    /// The end of the run.
    End {
        /// How it ended.
        outcome: Outcome,
        /// A code of the service's list.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason: Option<String>,
    },
}

/// Marks of compressions and circulation.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "ev", content = "d", rename_all = "snake_case")]
pub enum FlowMark {
    /// Compressions begin or go on.
    ComprStart {
        /// By hand or by device.
        by: By,
        /// How it was known.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        basis: Option<StartBasis>,
    },
    /// Hands off.
    ComprStop {
        /// Why.
        reason: Reason,
    },
    /// The reason of the open pause, said later.
    Why {
        /// Why.
        reason: Reason,
    },
    /// The state set right.
    StateSet {
        /// The true state.
        state: SetState,
    },
    /// The compressor was changed.
    Rotate {},
    /// A pulse check.
    PulseCheck {
        /// What was felt, if said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        result: Option<Pulse>,
    },
    /// Spontaneous circulation.
    Rosc {},
    /// Arrest again.
    Rearrest {
        /// What makes the compressions now.
        by: By,
    },
}

/// Marks of airway and breaths.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "ev", content = "d", rename_all = "snake_case")]
pub enum AirMark {
    /// An airway act.
    Airway {
        /// Which.
        act: AirwayAct,
        /// With what.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        device: Option<AirwayDevice>,
        /// Which try, from 1.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        attempt: Option<u8>,
    },
    /// The breath mode, changed alone.
    BreathMode {
        /// The mode.
        mode: BreathMode,
        /// The ratio, in that mode.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        ratio: Option<Ratio>,
        /// Milliseconds from breath to breath, in the continuous mode.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        every_ms: Option<u32>,
        /// How breaths get in.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        via: Option<Via>,
    },
    /// Breaths given.
    Vent {
        /// How many.
        n: u8,
        /// How.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        via: Option<Via>,
    },
    /// Carbon dioxide at the end of a breath.
    Etco2 {
        /// The reading.
        value: Decimal,
        /// mmHg, kPa or pct.
        unit: String,
    },
}

/// Marks of rhythm and shock.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "ev", content = "d", rename_all = "snake_case")]
pub enum CheckMark {
    /// Pads on or moved.
    Pads {
        /// Connected.
        connected: bool,
    },
    /// A charge.
    Charge {
        /// Begun or dumped.
        act: ChargeAct,
    },
    /// A defibrillator that speaks for itself analyses.
    Analysing {},
    /// The rhythm as called.
    Rhythm {
        /// What was seen.
        rhythm: RhythmSeen,
        /// The first one of the run.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        first: Option<bool>,
    },
    /// A shock.
    Shock {
        /// Whether the moment is the shock's own. False where the resume tap stands for it.
        timed: bool,
        /// Who gave it.
        by: GivenBy,
        /// Whether compressions went on through it.
        #[serde(default, skip_serializing_if = "core::ops::Not::not")]
        through: bool,
        /// Joules, if entered.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        energy_j: Option<u16>,
    },
    /// No shock.
    NoShock {},
}

/// Marks of the compression device.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "ev", content = "d", rename_all = "snake_case")]
pub enum DeviceMark {
    /// A step of the fitting, in words of the protocol's part list.
    Fit {
        /// The step.
        step: String,
    },
    /// The device is not fitted.
    FitRefused {
        /// Why: `too_small`, `too_large`, `local_list`, other.
        reason: String,
    },
    /// The cup was looked at.
    Cup {
        /// What was found.
        act: CupAct,
        /// What it was asked for.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<CupWhy>,
    },
    /// Moving the patient.
    Move {
        /// Begin or set down.
        act: MoveAct,
        /// Which stage.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        stage: Option<Stage>,
    },
    /// The device's power.
    Power {
        /// Which act.
        act: PowerAct,
        /// Whether the new pack is a full one, if said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        full: Option<bool>,
    },
}

/// Marks of drugs and lines: kept from the first day, their windows come with the drug rules.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "ev", content = "d", rename_all = "snake_case")]
pub enum CareMark {
    /// A dose.
    Drug {
        /// The protocol's key of the drug.
        drug: String,
        /// The dose as typed.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        dose: Option<Decimal>,
        /// mg, mcg, mEq, mL or g.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        unit: Option<String>,
        /// iv, io, im, in or et.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        route: Option<String>,
        /// Given before this crew.
        #[serde(default, skip_serializing_if = "core::ops::Not::not")]
        prior: bool,
    },
    /// A line.
    Access {
        /// iv or io.
        kind: String,
        /// Whether it is in.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        success: Option<bool>,
    },
}

/// Names of each group's kinds, for the reader and for a script's error texts.
pub mod kinds {
    /// Of [`super::RunMark`].
    pub const RUN: &[&str] = &["arrest", "patient", "resume", "sound", "flag", "end"];
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
    pub const AIR: &[&str] = &["airway", "breath_mode", "vent", "etco2"];
    /// Of [`super::CheckMark`].
    pub const CHECK: &[&str] = &["pads", "charge", "analysing", "rhythm", "shock", "no_shock"];
    /// Of [`super::DeviceMark`].
    pub const DEVICE: &[&str] = &["fit", "fit_refused", "cup", "move", "power"];
    /// Of [`super::CareMark`].
    pub const CARE: &[&str] = &["drug", "access"];
}

/// The marks in one list, oldest first.
pub type Marks = Vec<Mark>;

/// The record's name of a mark.
pub const fn kind_of(mark: &Mark) -> &'static str {
    match mark {
        Mark::Run(m) => match m {
            RunMark::Arrest { .. } => "arrest",
            RunMark::Patient { .. } => "patient",
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
        },
    }
}
