//! Which page of the marks sheet a key lies on: by what its mark is of, so that a new key finds its
//! page by itself.

use cycle::{
    Act, Mark,
    mark::{FlowMark, RunMark},
};

/// A page of the marks sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub enum GroupWord {
    /// Drugs, lines, procedures, signs of life.
    Care,
    /// Airway and breaths.
    Air,
    /// Rhythm, shock, pulse and what leads to them.
    Check,
    /// Hands and device.
    Chest,
    /// Why hands are off.
    Why,
    /// Whose numbers, and special situations.
    Patient,
    /// Times, calls, voice and beat.
    Run,
}

impl GroupWord {
    /// Every one, in the order of the sheet.
    pub const ALL: &'static [Self] = &[
        Self::Why,
        Self::Care,
        Self::Air,
        Self::Check,
        Self::Chest,
        Self::Patient,
        Self::Run,
    ];

    /// Its key in the message files.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Care => "care",
            Self::Air => "air",
            Self::Check => "check",
            Self::Chest => "chest",
            Self::Why => "why",
            Self::Patient => "patient",
            Self::Run => "run",
        }
    }

    /// The page of a key.
    pub(crate) fn of(act: Act) -> Self {
        Self::by_key(act).unwrap_or_else(|| Self::by_mark(act))
    }

    /// What opens an entry has no mark of its own until it is filled in; signs of life lead to a check.
    fn by_key(act: Act) -> Option<Self> {
        if act == Act::Co2 {
            Some(Self::Air)
        } else if act == Act::OtherDrug {
            Some(Self::Care)
        } else if matches!(act, Act::FitParts | Act::FitReason) {
            Some(Self::Chest)
        } else if matches!(act, Act::SignsOfLife | Act::SignsGone) {
            Some(Self::Check)
        } else {
            None
        }
    }

    fn by_mark(act: Act) -> Self {
        match act.marks().first() {
            Some(Mark::Care(_)) => Self::Care,
            Some(Mark::Air(_)) => Self::Air,
            Some(
                Mark::Check(_)
                | Mark::Flow(
                    FlowMark::Rosc {} | FlowMark::Rearrest { .. } | FlowMark::PulseCheck { .. },
                )
                | Mark::Run(RunMark::Leads { .. }),
            ) => Self::Check,
            Some(Mark::Flow(FlowMark::Why { .. })) => Self::Why,
            Some(Mark::Device(_) | Mark::Flow(_)) => Self::Chest,
            Some(Mark::Run(RunMark::Patient { .. } | RunMark::Overlay { .. })) => Self::Patient,
            Some(Mark::Run(_)) | None => Self::Run,
        }
    }
}
