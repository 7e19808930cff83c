//! The compression device: fitting, cup, move, power.

use super::{Asked, Device, Line, Pack, PackOut, State, When};
use crate::{
    Ms,
    mark::{By, CupAct, DeviceMark, MoveAct, PowerAct, Reason},
    prompts::Prompt,
    protocol::Protocol,
};

impl State {
    pub(super) fn device_mark(&mut self, p: &Protocol, when: When, mark: &DeviceMark) {
        match mark {
            DeviceMark::Fit { reason, .. } => {
                if self.device != Device::On {
                    self.device = Device::Beside;
                    if self.fit_planned.is_none() {
                        (self.fit_planned, self.fit_pauses) = (Some(when.at), 0);
                    }
                }
                self.refused = None;
                if reason.is_some() {
                    self.fit_reason.clone_from(reason);
                }
            }
            DeviceMark::FitRefused { reason } => {
                self.device = Device::Away;
                self.fit_planned = None;
                self.refused = Some(reason.clone());
            }
            DeviceMark::Cup { act, .. } => {
                self.cup = None;
                if *act == CupAct::Good {
                    self.cups_good = self.cups_good.saturating_add(1);
                }
            }
            DeviceMark::Move {
                act: MoveAct::Begin,
                ..
            } => (self.moving, self.move_planned) = (Some(when.at), None),
            DeviceMark::Move {
                act: MoveAct::SetDown | MoveAct::Loaded,
                ..
            } => {
                self.moving = None;
                if self.device == Device::On {
                    self.ask_cup(Prompt::CupDown, when);
                }
            }
            DeviceMark::Power { act, full } => self.power_mark(p, when, *act, *full),
        }
    }

    fn power_mark(&mut self, p: &Protocol, when: When, act: PowerAct, full: Option<bool>) {
        match act {
            // Circulation that was moved before the swap: the pack changes and no pause opens.
            PowerAct::SwapBegin if self.line == Line::Pulse => self.pack = None,
            PowerAct::SwapBegin => {
                self.hands_off(p, when, Reason::Power);
                self.pack_out = Some(PackOut {
                    since: when.at,
                    over: false,
                });
                self.pack = None;
            }
            PowerAct::SwapEnd => {
                match self.pack_out {
                    Some(out) if when.at.since(out.since) <= p.swap_window => {
                        self.compress(p, when, By::Mechanical);
                        // Whatever the pause was called meanwhile: it is a start.
                        self.ask_cup(Prompt::CupNow, when);
                    }
                    Some(out) => {
                        self.pack_out = Some(PackOut { over: true, ..out });
                        self.ask(Prompt::PowerOver, when);
                    }
                    None => {}
                }
                if full == Some(true) {
                    self.full_pack(p, when);
                }
            }
            PowerAct::Full => self.full_pack(p, when),
            PowerAct::MainsOn => {
                self.mains = true;
                if let Some(pack) = &mut self.pack {
                    pack.left = pack
                        .since
                        .map_or(pack.left, |since| pack.left.minus(when.at.since(since)));
                    pack.since = None;
                }
            }
            PowerAct::MainsOff => {
                self.mains = false;
                if let Some(pack) = &mut self.pack {
                    pack.since.get_or_insert(when.at);
                }
            }
        }
    }

    fn full_pack(&mut self, p: &Protocol, when: When) {
        self.pack = p.full_pack.map(|left| Pack {
            left,
            since: (!self.mains).then_some(when.at),
        });
    }

    /// When the pack is expected to run out; `None` on mains or without an estimate.
    pub(crate) fn power_ends(&self) -> Option<Ms> {
        let on = matches!(self.known_line(), Line::Compressing(By::Mechanical))
            || self.device == Device::On;
        let pack = self.pack.filter(|_| on)?;
        Some(pack.since?.plus(pack.left))
    }

    pub(super) fn ask_cup(&mut self, prompt: Prompt, when: When) {
        self.cup = Some(Asked {
            prompt,
            due: when.taken,
        });
    }
}
