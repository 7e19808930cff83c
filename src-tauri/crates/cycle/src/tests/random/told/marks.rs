//! Each kind of mark by itself.

use super::super::super::*;
use super::{Check, Line, Told, signed};
use crate::Overlay;
use crate::mark::{
    By, ChargeAct, CheckMark, DeviceMark, FlowMark, MoveAct, PowerAct, Reason, Resume, RhythmSeen,
    RunMark, SetState, SoundAct,
};

impl Told {
    pub(super) fn run_mark(
        &mut self,
        setup: &Setup,
        p: &Protocol,
        at: u64,
        taken: u64,
        mark: &RunMark,
    ) {
        match mark {
            RunMark::Arrest { .. } if self.line == Line::Before => {
                let drowned = p.overlay(Overlay::Drowning).and_then(|o| o.first_breaths);
                let n = drowned.filter(|_| self.drowned).unwrap_or(p.first_breaths);
                if n > 0 || p.newborn.is_some() {
                    let wait = p
                        .newborn
                        .map_or(p.first_breaths_wait, |own| own.breaths_first);
                    let until = taken + wait.0;
                    (self.line, self.since) = (Line::Off(Reason::Ventilation), at);
                    self.breaths_until = Some(until);
                    (self.base, self.hr_base) = (signed(until), signed(until));
                }
            }
            RunMark::PriorCare(prior) => {
                let shocks = u64::from(prior.shocks.unwrap_or(0));
                self.shocks = self.shocks - self.prior_shocks + shocks;
                self.prior_shocks = shocks;
                let last = |min: u16| signed(at) - i64::from(min) * 60_000;
                self.prior = prior
                    .doses
                    .iter()
                    .map(|d| (d.drug.clone(), u64::from(d.n), d.last_min.map(last)))
                    .collect();
                if let Some(device) = prior.airway {
                    (self.airway, self.mode) = (Some(device), p.mode_for(device));
                }
                // What a run that began earlier found going on was so from its beginning.
                let found = match prior.by {
                    Some(By::Manual) if self.line == Line::Device => Some(Line::Hand),
                    Some(By::Mechanical) if self.line == Line::Hand => Some(Line::Device),
                    _ => None,
                };
                if let Some(line) =
                    found.filter(|_| self.earlier && self.opened == Some(self.since))
                {
                    let device = line == Line::Device;
                    (self.line, self.device_on) = (line, device);
                    self.by = prior.by.unwrap();
                    self.cup = device.then_some((Prompt::CupNow, taken));
                }
            }
            RunMark::Patient { class, rescuers } => {
                let other = self.class != *class;
                self.class_changed |= other && self.live();
                self.class = *class;
                let alone = rescuers.map_or(self.alone, |n| n == 1);
                let other = other || alone != self.alone;
                self.alone = alone;
                if self.airway.is_none() && other {
                    self.mode = setup.protocol_of(*class).mask_mode;
                }
            }
            RunMark::Overlay {
                kind: Overlay::Drowning,
                on,
                ..
            } => self.drowned = *on,
            RunMark::Overlay {
                kind: Overlay::Cold,
                on,
                temp_band,
            } => {
                self.cold = temp_band.filter(|_| *on);
            }
            RunMark::Leads { on } => self.leads = *on,
            RunMark::Ack { task } => self.acks.push((*task, taken)),
            RunMark::Resume { choice } => {
                if let Some((line, since, long)) = self.gap.take() {
                    match choice {
                        Resume::SamePatient if line == Line::Pulse && !long => {
                            (self.line, self.since) = (line, since);
                        }
                        Resume::AsBefore => (self.line, self.since) = (line, since),
                        Resume::SamePatient => {
                            (self.base, self.hr_base) = (signed(at), signed(at));
                        }
                        Resume::NewPatient => self.rest(Line::Ended, at),
                    }
                }
            }
            RunMark::Sound { what, .. } => match what {
                SoundAct::VoiceOff => self.voice_off = Some(u64::MAX),
                // A quiet run does not find its voice by itself.
                SoundAct::VoiceOff2Min if self.quiet() => {}
                SoundAct::VoiceOff2Min => self.voice_off = Some(at + 120_000),
                SoundAct::VoiceOn => self.voice_off = None,
                SoundAct::BeatOff => self.beat_off = true,
                SoundAct::BeatOn => self.beat_off = false,
                SoundAct::Level | SoundAct::Preset => {}
            },
            RunMark::End { .. } => self.rest(Line::Ended, at),
            _ => {}
        }
    }

    pub(super) fn flow_mark(&mut self, at: u64, taken: u64, mark: &FlowMark) {
        match mark {
            FlowMark::ComprStart { by, .. } => self.compress(at, taken, *by),
            FlowMark::ComprStop { reason } => self.off(at, *reason),
            FlowMark::Why { reason } => {
                // Of the open pause; without one it says nothing.
                if matches!(self.line, Line::Off(_)) {
                    self.line = Line::Off(*reason);
                    self.off_seat |= super::OFF_SEAT.contains(reason);
                    self.check = match (self.check, *reason) {
                        (Check::No, Reason::RhythmCheck) => Check::Open,
                        (Check::Open, reason) if reason != Reason::RhythmCheck => Check::No,
                        (check, _) => check,
                    };
                }
            }
            FlowMark::StateSet { state } => match state {
                SetState::Manual => self.compress(at, taken, By::Manual),
                SetState::Mechanical => {
                    // Arrest again: the device that stayed in place has to be looked at.
                    if self.line == Line::Pulse && at - self.since >= 1000 {
                        self.by = By::Manual;
                    }
                    self.compress(at, taken, By::Mechanical);
                }
                SetState::HandsOff => self.off(at, Reason::Unknown),
                SetState::Pulse => self.pulse(at),
                SetState::Unknown => {
                    (self.line, self.since, self.gap) = (Line::Unknown, at, None);
                }
            },
            FlowMark::Rosc {} => self.pulse(at),
            FlowMark::Rearrest { by } => {
                // The device that stayed in place has to be looked at.
                self.by = By::Manual;
                self.compress(at, taken, *by);
                (self.base, self.hr_base) = (signed(at), signed(at));
            }
            FlowMark::Rotate {} | FlowMark::PulseCheck { .. } => {}
        }
    }

    pub(super) fn check_mark(&mut self, p: &Protocol, at: u64, taken: u64, mark: &CheckMark) {
        match mark {
            CheckMark::Charge {
                act: ChargeAct::Begun,
            } => self.near = Some(at),
            CheckMark::Charge {
                act: ChargeAct::Dumped,
            } => self.near = None,
            CheckMark::Rhythm { rhythm, .. } => match rhythm {
                RhythmSeen::Vf | RhythmSeen::Pvt | RhythmSeen::Shockable | RhythmSeen::AedShock => {
                    self.near = Some(at);
                }
                RhythmSeen::Pea
                | RhythmSeen::Asystole
                | RhythmSeen::NotShockable
                | RhythmSeen::AedNoShock => (self.in_a_row, self.near) = (0, None),
                RhythmSeen::Organised | RhythmSeen::Unknown => {}
            },
            CheckMark::Analysing {} => {
                if matches!(self.line, Line::Off(_)) {
                    self.check = Check::Open;
                } else if self.leads {
                    self.off(at, Reason::RhythmCheck);
                }
            }
            CheckMark::Pads {
                connected: true, ..
            } => {
                let first = !self.pads && self.results == 0;
                let marked = matches!(self.line, Line::Off(_)) && self.check != Check::No;
                if first && !marked && self.class != PatientClass::Newborn {
                    self.base = signed(taken) - signed(p.check_every.0);
                }
                self.pads = true;
            }
            CheckMark::Pads {
                connected: false, ..
            } => {}
            CheckMark::Shock { .. } => {
                (self.shocks, self.in_a_row) = (self.shocks + 1, self.in_a_row + 1);
                self.last_shock = Some(at);
                self.result(at);
            }
            CheckMark::NoShock {} => {
                self.in_a_row = 0;
                self.result(at);
            }
            CheckMark::HeartRate { .. } => {
                self.results += 1;
                self.hr_base = signed(at);
            }
        }
    }

    pub(super) fn device_mark(&mut self, p: &Protocol, at: u64, taken: u64, mark: &DeviceMark) {
        match mark {
            DeviceMark::FitRefused { .. } => self.device_on = false,
            DeviceMark::Cup { .. } => self.cup = None,
            DeviceMark::Move {
                act: MoveAct::Begin,
                ..
            } => self.moving = Some(at),
            DeviceMark::Move { .. } => {
                self.moving = None;
                if self.device_on {
                    self.cup = Some((Prompt::CupDown, taken));
                }
            }
            // With a pulse nothing is pressed, so no pause opens.
            DeviceMark::Power {
                act: PowerAct::SwapBegin,
                ..
            } if self.line == Line::Pulse => {}
            DeviceMark::Power {
                act: PowerAct::SwapBegin,
                ..
            } => {
                self.off(at, Reason::Power);
                self.pack_out = Some((at, false));
            }
            DeviceMark::Power {
                act: PowerAct::SwapEnd,
                ..
            } => match self.pack_out {
                Some((since, _)) if at - since <= p.swap_window.0 => {
                    self.compress(at, taken, By::Mechanical);
                    self.cup = Some((Prompt::CupNow, taken));
                }
                Some((since, _)) => self.pack_out = Some((since, true)),
                None => {}
            },
            DeviceMark::Power { .. } | DeviceMark::Fit { .. } => {}
        }
    }
}
