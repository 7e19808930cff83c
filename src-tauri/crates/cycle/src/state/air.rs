//! Airway and breath mode.

use super::{Etco2, Line, State, When};
use crate::{
    mark::{AirMark, AirwayAct, AirwayDevice, BreathMode, By, Reason},
    placing::silent,
    prompts::Prompt,
    protocol::Protocol,
};

impl State {
    pub(super) fn air_mark(&mut self, p: &Protocol, when: When, mark: &AirMark) {
        match mark {
            AirMark::Airway {
                act: AirwayAct::In,
                device,
                ..
            } => {
                let device = device.unwrap_or(AirwayDevice::Sga);
                self.airway = Some(device);
                self.set_mode(p, when, p.mode_for(device));
            }
            AirMark::Airway {
                act: AirwayAct::Lost,
                ..
            } => {
                self.airway = None;
                self.set_mode(p, when, p.mask_mode);
            }
            AirMark::Airway {
                act: AirwayAct::TryBegin,
                ..
            } => {
                // A pause that nobody has named is for the try that begins in it.
                if self.line == Line::HandsOff(Reason::Unknown) {
                    self.line = Line::HandsOff(Reason::Airway);
                }
            }
            AirMark::BreathMode { mode, .. } => self.set_mode(p, when, *mode),
            AirMark::Vent { .. }
            | AirMark::AirwayConfirm { .. }
            | AirMark::Airway {
                act: AirwayAct::TryEnd,
                ..
            } => {}
            AirMark::Etco2 { value, unit } => self.etco2(when, value, unit),
        }
    }

    /// First, lowest and latest reading; a reading in another unit begins anew, for readings in two
    /// units are not compared.
    fn etco2(&mut self, when: When, value: &str, unit: &str) {
        let number = |text: &str| text.parse::<f32>().unwrap_or(f32::MAX);
        match &mut self.etco2 {
            Some(known) if known.unit == unit => {
                if number(value) < number(&known.low) {
                    known.low = value.into();
                }
                known.now = value.into();
                known.at = when.at;
            }
            _ => {
                self.etco2 = Some(Etco2 {
                    unit: unit.into(),
                    first: value.into(),
                    low: value.into(),
                    now: value.into(),
                    at: when.at,
                });
            }
        }
    }

    pub(super) fn set_mode(&mut self, p: &Protocol, when: When, mode: BreathMode) {
        let before = self.mode;
        self.mode = mode;
        if before == mode {
            return;
        }
        match self.known_line() {
            Line::Compressing(By::Manual) => self.score = self.other_mode(p, when),
            Line::Compressing(By::Mechanical) => {
                self.score = silent(p.rate, self.breath_ms(p), when);
                self.tell_mode(when);
                if mode == BreathMode::Ratio {
                    self.ask(Prompt::DevRatio, when);
                }
            }
            Line::Before | Line::HandsOff(_) | Line::Pulse | Line::Unknown | Line::Ended => {}
        }
    }

    /// By device: which mode the device must be in. At its start a ratio is told by the screen alone;
    /// the words of the prompt say that the airway was lost.
    pub(super) fn tell_mode(&mut self, when: When) {
        match self.mode {
            BreathMode::Continuous => self.ask(Prompt::DevCont, when),
            BreathMode::Ratio | BreathMode::None => {}
        }
    }
}
