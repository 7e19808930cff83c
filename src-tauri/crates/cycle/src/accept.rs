//! Which marks the rules take in which state. A mark that is not taken is kept as `ignored`.

use core::fmt;

use crate::{
    mark::{
        By, CareMark, DeviceMark, FlowMark, Mark, MoveAct, PowerAct, ProcedureAct, Resume, RunMark,
    },
    state::{Device, Line, State},
};

/// Why a mark cannot stand in the present state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refusal {
    /// Nothing runs: `arrest` or `compr_start` begins a run.
    NotStarted,
    /// The run is over.
    Ended,
    /// Compressions by these means run already.
    AlreadyCompressing(By),
    /// Hands are off already: `why` gives the reason.
    AlreadyOff,
    /// Hands are not off.
    NotOff,
    /// There is a pulse: `rearrest` comes first.
    PulseBack,
    /// There was no pulse to lose.
    NoPulse,
    /// The device is not in place.
    NoDevice,
    /// The device is in place already.
    DeviceInPlace,
    /// A move has begun already.
    AlreadyMoving,
    /// No move has begun.
    NotMoving,
    /// The pack is out already.
    PackOut,
    /// The pack is in.
    PackIn,
    /// There is no gap to answer for.
    NoGap,
    /// A gap that makes two halves: it is too long, or there was a pulse before it.
    TwoHalves,
    /// A procedure has begun already.
    InProcedure,
    /// No procedure has begun.
    NoProcedure,
    /// On mains already.
    OnMains,
    /// Not on mains.
    OffMains,
}

impl Refusal {
    /// The reason in the record, and what is allowed.
    pub const fn text(self) -> &'static str {
        match self {
            Self::NotStarted => "no run yet: arrest or compr_start comes first",
            Self::Ended => "the run is over",
            Self::AlreadyCompressing(By::Manual) => "already compressing by hand",
            Self::AlreadyCompressing(By::Mechanical) => "already compressing by device",
            Self::AlreadyOff => "hands are off already: why gives the reason",
            Self::NotOff => "hands are not off: compr_stop comes first",
            Self::PulseBack => "there is a pulse: rearrest comes first",
            Self::NoPulse => "there is no pulse to lose: rosc comes first",
            Self::NoDevice => "the device is not in place: compr_start by mechanical comes first",
            Self::DeviceInPlace => "the device is in place already",
            Self::AlreadyMoving => "already moving: set_down comes first",
            Self::NotMoving => "not moving: begin comes first",
            Self::PackOut => "the pack is out already",
            Self::PackIn => "the pack is in: swap_begin comes first",
            Self::NoGap => "there is no gap to answer for",
            Self::TwoHalves => "the gap makes two halves: same_patient or new_patient",
            Self::InProcedure => "a procedure has begun already: end comes first",
            Self::NoProcedure => "no procedure has begun: begin comes first",
            Self::OnMains => "on mains already",
            Self::OffMains => "not on mains: mains_on comes first",
        }
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.text())
    }
}

impl core::error::Error for Refusal {}

impl State {
    /// Whether the mark can stand now.
    pub(crate) fn accepts(&self, mark: &Mark) -> Result<(), Refusal> {
        match (self.line, mark) {
            (Line::Ended, _) => Err(Refusal::Ended),
            (
                Line::Before,
                Mark::Run(
                    RunMark::Arrest { .. } | RunMark::Patient { .. } | RunMark::Overlay { .. },
                )
                | Mark::Flow(FlowMark::ComprStart { .. }),
            ) => Ok(()),
            (Line::Before, _) => Err(Refusal::NotStarted),
            (_, Mark::Flow(mark)) => self.accepts_flow(mark),
            (_, Mark::Device(mark)) => self.accepts_device(mark),
            (_, Mark::Run(RunMark::Resume { choice })) => match (self.gap, choice) {
                (None, _) => Err(Refusal::NoGap),
                (Some(gap), Resume::AsBefore) if gap.is_between_halves() => Err(Refusal::TwoHalves),
                (Some(_), Resume::AsBefore | Resume::SamePatient | Resume::NewPatient) => Ok(()),
            },
            (_, Mark::Care(CareMark::Procedure { act, .. })) => match (act, self.procedure) {
                (ProcedureAct::Begin, Some(_)) => Err(Refusal::InProcedure),
                (ProcedureAct::End, None) => Err(Refusal::NoProcedure),
                (ProcedureAct::Begin | ProcedureAct::End, _) => Ok(()),
            },
            (_, Mark::Air(_) | Mark::Run(_) | Mark::Check(_) | Mark::Care(_)) => Ok(()),
        }
    }

    fn accepts_flow(&self, mark: &FlowMark) -> Result<(), Refusal> {
        match (mark, self.line) {
            (FlowMark::ComprStart { by, .. }, Line::Compressing(now)) if *by == now => {
                Err(Refusal::AlreadyCompressing(now))
            }
            (FlowMark::ComprStart { .. } | FlowMark::ComprStop { .. }, Line::Pulse) => {
                Err(Refusal::PulseBack)
            }
            // A device that stops in a pause is a fact of its own: it is out of use from then on.
            (FlowMark::ComprStop { reason }, Line::HandsOff(open)) if *reason == open => {
                Err(Refusal::AlreadyOff)
            }
            (FlowMark::ComprStop { reason }, Line::HandsOff(_))
                if *reason != crate::mark::Reason::DeviceFault =>
            {
                Err(Refusal::AlreadyOff)
            }
            (
                FlowMark::ComprStop {
                    reason: crate::mark::Reason::DeviceFault,
                },
                _,
            ) if !matches!(self.device, Device::On | Device::Beside) => Err(Refusal::NoDevice),
            (FlowMark::Why { .. } | FlowMark::Rosc {}, line)
                if !matches!(line, Line::HandsOff(_)) =>
            {
                Err(Refusal::NotOff)
            }
            (FlowMark::Rearrest { .. }, line) if line != Line::Pulse => Err(Refusal::NoPulse),
            (
                FlowMark::ComprStart { .. }
                | FlowMark::ComprStop { .. }
                | FlowMark::Why { .. }
                | FlowMark::Rosc {}
                | FlowMark::Rearrest { .. }
                | FlowMark::StateSet { .. }
                | FlowMark::Rotate {}
                | FlowMark::PulseCheck { .. },
                _,
            ) => Ok(()),
        }
    }

    fn accepts_device(&self, mark: &DeviceMark) -> Result<(), Refusal> {
        let when = |good: bool, refusal| if good { Ok(()) } else { Err(refusal) };
        match mark {
            DeviceMark::FitRefused { .. } => {
                when(self.device != Device::On, Refusal::DeviceInPlace)
            }
            DeviceMark::Cup { .. } => when(self.device == Device::On, Refusal::NoDevice),
            DeviceMark::Move {
                act: MoveAct::Begin,
                ..
            } => when(self.moving.is_none(), Refusal::AlreadyMoving),
            DeviceMark::Move {
                act: MoveAct::SetDown,
                ..
            } => when(self.moving.is_some(), Refusal::NotMoving),
            DeviceMark::Power {
                act: PowerAct::SwapBegin,
                ..
            } => {
                when(self.device == Device::On, Refusal::NoDevice)?;
                // Nothing is being pressed: a change of packs takes no hands off.
                when(self.line != Line::Pulse, Refusal::PulseBack)?;
                when(self.pack_out.is_none(), Refusal::PackOut)
            }
            DeviceMark::Power {
                act: PowerAct::SwapEnd,
                ..
            } => when(self.pack_out.is_some(), Refusal::PackIn),
            DeviceMark::Power {
                act: PowerAct::MainsOn,
                ..
            } => when(!self.mains, Refusal::OnMains),
            DeviceMark::Power {
                act: PowerAct::MainsOff,
                ..
            } => when(self.mains, Refusal::OffMains),
            DeviceMark::Power {
                act: PowerAct::Full,
                ..
            } => when(
                matches!(self.device, Device::On | Device::Beside),
                Refusal::NoDevice,
            ),
            DeviceMark::Fit { .. }
            | DeviceMark::Move {
                act: MoveAct::Loaded,
                ..
            } => Ok(()),
        }
    }
}
