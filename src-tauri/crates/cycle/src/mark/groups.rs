//! The marks by group, with the fields of the record.

use alloc::{string::String, vec::Vec};

use serde::{Deserialize, Serialize};

use super::words::{
    AirwayAct, AirwayDevice, ArrestBasis, BreathMode, By, ChargeAct, ClockRef, ConfirmBy, CupAct,
    CupWhy, DecisionWhat, GivenBy, HeartRate, MechKind, MoveAct, Outcome, PadPosition,
    PatientClass, PowerAct, Preset, PriorAed, PriorCpr, ProcedureAct, ProcedureWhat, Pulse, Ratio,
    Reason, Resume, RhythmSeen, SetState, ShockMode, SoundAct, Stage, StartBasis, Task, TempBand,
    TimesWhich, Via,
};
use crate::{Levels, protocol::Overlay};

/// A number that is not a whole count, kept as it was typed so that it never drifts.
pub type Decimal = String;

/// What was done before this crew; what is not known is left out.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PriorCare {
    /// Who compressed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cpr: Option<PriorCpr>,
    /// How long before this mark the arrest began, whole minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub began_min: Option<u16>,
    /// What a public defibrillator did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub aed: Option<PriorAed>,
    /// Shocks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shocks: Option<u8>,
    /// Doses.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub doses: Vec<PriorDose>,
    /// An airway device in place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub airway: Option<AirwayDevice>,
    /// What makes the compressions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<By>,
}

/// Doses of one drug before this crew.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct PriorDose {
    /// The protocol's key of the drug.
    pub drug: String,
    /// How many.
    pub n: u8,
    /// How long before this mark the last one was given, whole minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub last_min: Option<u16>,
}

/// Marks of the run as a whole.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "ev", content = "d", rename_all = "snake_case")]
pub enum RunMark {
    /// Arrest, as the crew says.
    Arrest {
        /// How it was known.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        basis: Option<ArrestBasis>,
    },
    /// What was done before this crew.
    PriorCare(PriorCare),
    /// Another patient class.
    Patient {
        /// The class.
        class: PatientClass,
        /// Rescuers at hand, 1 or 2.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        rescuers: Option<u8>,
    },
    /// A special situation, on or off.
    Overlay {
        /// Which.
        kind: Overlay,
        /// On.
        on: bool,
        /// In the cold: how cold.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        temp_band: Option<TempBand>,
    },
    /// A defibrillator that speaks leads, or no more.
    Leads {
        /// It leads.
        on: bool,
    },
    /// A prompt answered without a mark.
    Ack {
        /// Its task.
        task: Task,
    },
    /// A time of the mission.
    Times {
        /// Which.
        which: TimesWhich,
    },
    /// A decision.
    Decision {
        /// What was decided.
        what: DecisionWhat,
        /// The answer that was given, as a code of the service's list.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        answer: Option<String>,
    },
    /// What another clock showed.
    ClockMark {
        /// Whose.
        #[serde(rename = "ref")]
        clock: ClockRef,
        /// What it showed.
        shown: String,
        /// How exact that is, s.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        precision_s: Option<u16>,
    },
    /// A code of a fixed list.
    Note {
        /// The code.
        code: String,
    },
    /// What the gap after a restart was.
    Resume {
        /// The crew's answer.
        choice: Resume,
    },
    /// Voice or beat switched, or the levels set.
    Sound {
        /// What was done.
        what: SoundAct,
        /// The levels from here on, where they were set.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        levels: Option<Levels>,
        /// For what kind of place, where they were set so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        preset: Option<Preset>,
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
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "ev", content = "d", rename_all = "snake_case")]
pub enum FlowMark {
    /// Compressions begin or go on.
    ComprStart {
        /// By hand or by device.
        by: By,
        /// The device's kind.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        mech_kind: Option<MechKind>,
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
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
        /// Whether the try came to anything.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        success: Option<bool>,
        /// How it was done, as a code of the service's list.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        technique: Option<String>,
    },
    /// How its place was confirmed.
    AirwayConfirm {
        /// How.
        method: ConfirmBy,
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
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "ev", content = "d", rename_all = "snake_case")]
pub enum CheckMark {
    /// Pads on or moved.
    Pads {
        /// Connected.
        connected: bool,
        /// Where.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        position: Option<PadPosition>,
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
        /// One of several in a row in one pause.
        #[serde(default, skip_serializing_if = "core::ops::Not::not")]
        stacked: bool,
        /// By whose decision.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        mode: Option<ShockMode>,
        /// Joules, if entered.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        energy_j: Option<u16>,
    },
    /// No shock.
    NoShock {},
    /// A newborn's heart rate.
    HeartRate {
        /// As counted.
        band: HeartRate,
    },
}

/// Marks of the compression device.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "ev", content = "d", rename_all = "snake_case")]
pub enum DeviceMark {
    /// A step of the fitting, in words of the protocol's part list.
    Fit {
        /// The step.
        step: String,
        /// The breath mode that the device was set to.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        mode: Option<BreathMode>,
        /// Why a device, of the protocol's list.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        reason: Option<String>,
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

/// Marks of drugs, lines and procedures.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
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
        /// Given by another unit.
        #[serde(default, skip_serializing_if = "core::ops::Not::not")]
        by_other_unit: bool,
    },
    /// A line.
    Access {
        /// iv or io.
        kind: String,
        /// Where, as a code of the service's list.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        site: Option<String>,
        /// Which try, from 1.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        attempt: Option<u8>,
        /// Whether it is in.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        success: Option<bool>,
    },
    /// A procedure with a pause of its own.
    Procedure {
        /// Begin or end.
        act: ProcedureAct,
        /// Which.
        what: ProcedureWhat,
    },
    /// Signs of life under compressions.
    Awake {
        /// Seen, or gone.
        on: bool,
    },
}
