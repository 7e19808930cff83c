//! Which page of keys a mark lies on: by what it is of, so that a new key finds its page by itself.
//!
//! What was done lies behind Mark, what is so behind Set Right. docs/taps.md has the count of each.

use cycle::{
    Act, Mark, Overlay,
    mark::{CareMark, DecisionWhat, DeviceMark, FlowMark, RunMark},
};

/// A page of keys.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum GroupWord {
    /// Drugs, lines, airway and breaths.
    Care,
    /// Rhythm, shock, pulse and what leads to them.
    Check,
    /// Hands and device.
    Chest,
    /// Moves and procedures.
    Task,
    /// Times, calls, voice and beat.
    Run,
    /// Why hands are off.
    Why,
    /// Whose numbers: class and temperature.
    Patient,
    /// Special situations.
    Special,
}

impl GroupWord {
    /// What was done, in the order of the marks sheet.
    pub const MARKS: &'static [Self] =
        &[Self::Care, Self::Check, Self::Chest, Self::Task, Self::Run];
    /// What is so, in the order in which it is set right.
    pub const RIGHT: &'static [Self] = &[Self::Why, Self::Patient, Self::Special];
    /// Every one.
    pub const ALL: &'static [Self] = &[
        Self::Care,
        Self::Check,
        Self::Chest,
        Self::Task,
        Self::Run,
        Self::Why,
        Self::Patient,
        Self::Special,
    ];

    /// Its key in the message files.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Care => "care",
            Self::Check => "check",
            Self::Chest => "chest",
            Self::Task => "task",
            Self::Run => "run",
            Self::Why => "why",
            Self::Patient => "patient",
            Self::Special => "special",
        }
    }

    /// The page of a key.
    pub fn of(act: Act) -> Self {
        Self::by_key(act).unwrap_or_else(|| Self::by_mark(act))
    }

    /// What opens an entry has no mark of its own until it is filled in; signs of life lead to a check.
    fn by_key(act: Act) -> Option<Self> {
        if matches!(act, Act::Co2 | Act::OtherDrug) {
            Some(Self::Care)
        } else if matches!(act, Act::FitParts | Act::FitReason) {
            Some(Self::Chest)
        } else if act == Act::Levels {
            Some(Self::Run)
        } else if matches!(act, Act::SignsOfLife | Act::SignsGone) {
            Some(Self::Check)
        } else {
            None
        }
    }

    fn by_mark(act: Act) -> Self {
        match act.marks().first() {
            Some(
                Mark::Care(CareMark::Procedure { .. })
                | Mark::Device(DeviceMark::Move { .. })
                | Mark::Run(RunMark::Decision {
                    what: DecisionWhat::Transport,
                    ..
                }),
            ) => Self::Task,
            Some(Mark::Care(_) | Mark::Air(_)) => Self::Care,
            Some(
                Mark::Check(_)
                | Mark::Flow(
                    FlowMark::Rosc {} | FlowMark::Rearrest { .. } | FlowMark::PulseCheck { .. },
                )
                | Mark::Run(RunMark::Leads { .. }),
            ) => Self::Check,
            Some(Mark::Flow(FlowMark::Why { .. })) => Self::Why,
            Some(Mark::Device(_) | Mark::Flow(_)) => Self::Chest,
            Some(Mark::Run(
                RunMark::Patient { .. }
                | RunMark::Overlay {
                    kind: Overlay::Cold,
                    ..
                },
            )) => Self::Patient,
            Some(Mark::Run(RunMark::Overlay { .. })) => Self::Special,
            Some(Mark::Run(_)) | None => Self::Run,
        }
    }
}
