//! What a key on the screen means: each act is named as the mark it makes.

use alloc::{vec, vec::Vec};

use serde::{Deserialize, Serialize};

use crate::mark::{
    AirMark, AirwayAct, AirwayDevice, ArrestBasis, By, CheckMark, CupAct, DeviceMark, FlowMark,
    GivenBy, Mark, MoveAct, Outcome, PowerAct, Reason, Resume, RunMark, SoundAct, closed,
};

closed! {
    /// A key of the screen. Its word is its name for the page and the key of its label.
    Act {
        #[doc = "Start by hand."] StartByHand = "start_by_hand",
        #[doc = "Hands off, reason not said."] HandsOff = "hands_off",
        #[doc = "Hands off for the rhythm check that is due."] HandsOffCheck = "hands_off_check",
        #[doc = "Hands off to fit the device."] HandsOffFit = "hands_off_fit",
        #[doc = "Compressing by hand."] HandsOn = "hands_on",
        #[doc = "The device runs."] DeviceRunning = "device_running",
        #[doc = "The device is paused, reason not said."] Paused = "paused",
        #[doc = "The device is paused for the rhythm check that is due."] PausedCheck = "paused_check",
        #[doc = "The device stopped by itself."] Stopped = "stopped",
        #[doc = "An airway device is in."] AirwayIn = "airway_in",
        #[doc = "The airway device is out or leaks."] AirwayLost = "airway_lost",
        #[doc = "The device is open and on beside the patient."] FitDevice = "fit_device",
        #[doc = "The device is not fitted now."] NotNow = "not_now",
        #[doc = "Shocked, compressions go on by hand."] ShockedHand = "shocked_hand",
        #[doc = "Shocked, the device goes on."] ShockedDevice = "shocked_device",
        #[doc = "No shock, compressions go on by hand."] NoShockHand = "no_shock_hand",
        #[doc = "No shock, the device goes on."] NoShockDevice = "no_shock_device",
        #[doc = "The shock's own moment."] ShockNow = "shock_now",
        #[doc = "Spontaneous circulation."] PulseBack = "pulse_back",
        #[doc = "Arrest again, by hand."] ArrestAgainHand = "arrest_again_hand",
        #[doc = "Arrest again, by device."] ArrestAgainDevice = "arrest_again_device",
        #[doc = "The pause is for the check."] WhyCheck = "why_check",
        #[doc = "The pause is for the airway."] WhyAirway = "why_airway",
        #[doc = "The move begins."] Moving = "moving",
        #[doc = "Set down."] SetDown = "set_down",
        #[doc = "The cup is in place."] CupGood = "cup_good",
        #[doc = "The cup slipped: hands off to seat it again."] Reseat = "reseat",
        #[doc = "The pack comes out."] PowerSwap = "power_swap",
        #[doc = "The new pack is in."] Swapped = "swapped",
        #[doc = "Pads are on."] PadsOn = "pads_on",
        #[doc = "The compressor was changed."] Rotate = "rotate",
        #[doc = "A bare time."] Flag = "flag",
        #[doc = "Voice off."] VoiceOff = "voice_off",
        #[doc = "Voice on."] VoiceOn = "voice_on",
        #[doc = "Beat off."] BeatOff = "beat_off",
        #[doc = "Beat on."] BeatOn = "beat_on",
        #[doc = "After a restart: as it was before."] AsBefore = "as_before",
        #[doc = "The run ended: handed over."] EndHandedOver = "end_handed_over",
        #[doc = "The run ended: stopped."] EndStopped = "end_stopped",
        #[doc = "The run ended: circulation."] EndPulse = "end_pulse",
        #[doc = "The run ended: it was no arrest."] EndNoArrest = "end_no_arrest",
    }
}

impl Act {
    /// The marks it makes, in order, all at the same touch.
    #[expect(clippy::too_many_lines, reason = "one table, one row an act")]
    pub fn marks(self) -> Vec<Mark> {
        let off = |reason| Mark::Flow(FlowMark::ComprStop { reason });
        let on = |by| Mark::Flow(FlowMark::ComprStart { by, basis: None });
        let shock = |timed| {
            Mark::Check(CheckMark::Shock {
                timed,
                by: GivenBy::Us,
                through: false,
                energy_j: None,
            })
        };
        let airway = |act, device| {
            Mark::Air(AirMark::Airway {
                act,
                device,
                attempt: None,
            })
        };
        let end = |outcome| {
            vec![Mark::Run(RunMark::End {
                outcome,
                reason: None,
            })]
        };
        let sound = |what| vec![Mark::Run(RunMark::Sound { what })];
        match self {
            Self::StartByHand => vec![
                Mark::Run(RunMark::Arrest {
                    basis: Some(ArrestBasis::Recognised),
                }),
                on(By::Manual),
            ],
            Self::HandsOff | Self::Paused => vec![off(Reason::Unknown)],
            Self::HandsOffCheck | Self::PausedCheck => vec![off(Reason::RhythmCheck)],
            Self::HandsOffFit => vec![off(Reason::DeviceFit)],
            Self::HandsOn => vec![on(By::Manual)],
            Self::DeviceRunning => vec![on(By::Mechanical)],
            Self::Stopped => vec![off(Reason::DeviceFault)],
            Self::AirwayIn => vec![airway(AirwayAct::In, Some(AirwayDevice::Sga))],
            Self::AirwayLost => vec![airway(AirwayAct::Lost, None)],
            Self::FitDevice => vec![Mark::Device(DeviceMark::Fit {
                step: "open_on".into(),
            })],
            Self::NotNow => vec![Mark::Device(DeviceMark::FitRefused {
                reason: "other".into(),
            })],
            Self::ShockedHand => vec![shock(false), on(By::Manual)],
            Self::ShockedDevice => vec![shock(false), on(By::Mechanical)],
            Self::NoShockHand => vec![Mark::Check(CheckMark::NoShock {}), on(By::Manual)],
            Self::NoShockDevice => vec![Mark::Check(CheckMark::NoShock {}), on(By::Mechanical)],
            Self::ShockNow => vec![shock(true)],
            Self::PulseBack => vec![Mark::Flow(FlowMark::Rosc {})],
            Self::ArrestAgainHand => vec![Mark::Flow(FlowMark::Rearrest { by: By::Manual })],
            Self::ArrestAgainDevice => vec![Mark::Flow(FlowMark::Rearrest { by: By::Mechanical })],
            Self::WhyCheck => vec![Mark::Flow(FlowMark::Why {
                reason: Reason::RhythmCheck,
            })],
            Self::WhyAirway => vec![Mark::Flow(FlowMark::Why {
                reason: Reason::Airway,
            })],
            Self::Moving => {
                vec![Mark::Device(DeviceMark::Move {
                    act: MoveAct::Begin,
                    stage: None,
                })]
            }
            Self::SetDown => {
                vec![Mark::Device(DeviceMark::Move {
                    act: MoveAct::SetDown,
                    stage: None,
                })]
            }
            Self::CupGood => vec![Mark::Device(DeviceMark::Cup {
                act: CupAct::Good,
                why: None,
            })],
            Self::Reseat => vec![
                Mark::Device(DeviceMark::Cup {
                    act: CupAct::Reseat,
                    why: None,
                }),
                off(Reason::DeviceReseat),
            ],
            Self::PowerSwap => {
                vec![Mark::Device(DeviceMark::Power {
                    act: PowerAct::SwapBegin,
                    full: None,
                })]
            }
            Self::Swapped => {
                vec![Mark::Device(DeviceMark::Power {
                    act: PowerAct::SwapEnd,
                    full: None,
                })]
            }
            Self::PadsOn => vec![Mark::Check(CheckMark::Pads { connected: true })],
            Self::Rotate => vec![Mark::Flow(FlowMark::Rotate {})],
            Self::Flag => vec![Mark::Run(RunMark::Flag {})],
            Self::VoiceOff => sound(SoundAct::VoiceOff),
            Self::VoiceOn => sound(SoundAct::VoiceOn),
            Self::BeatOff => sound(SoundAct::BeatOff),
            Self::BeatOn => sound(SoundAct::BeatOn),
            Self::AsBefore => vec![Mark::Run(RunMark::Resume {
                choice: Resume::AsBefore,
            })],
            Self::EndHandedOver => end(Outcome::HandedOver),
            Self::EndStopped => end(Outcome::Stopped),
            Self::EndPulse => end(Outcome::Rosc),
            Self::EndNoArrest => end(Outcome::NoArrest),
        }
    }
}
