//! Compressions, pauses, circulation.

use super::{CheckPause, Device, FirstBreaths, LEAST_PULSE, Line, Pause, State, When, long};
use crate::{
    Ms,
    fact::Way,
    mark::{By, FlowMark, Pulse, Reason, SetState},
    placing::{silent, unbroken, with_pulse},
    prompts::Prompt,
    protocol::Protocol,
};

/// Pauses shorter than this are none. Source: interruptions from 1 s on, PMC7296394.
const LEAST_PAUSE: Ms = Ms(1000);

impl State {
    pub(super) fn flow_mark(&mut self, p: &Protocol, when: When, mark: &FlowMark) {
        match mark {
            FlowMark::ComprStart { by, .. } => self.compress(p, when, *by),
            FlowMark::ComprStop { reason } => self.hands_off(p, when, *reason),
            // Of the open pause; where that was taken back it says nothing.
            FlowMark::Why { reason } if self.is_off() => {
                if self.line != Line::HandsOff(*reason) {
                    self.fit_pause(*reason);
                }
                self.line = Line::HandsOff(*reason);
                self.seat_lost |= loses_seat(*reason);
                self.check = match (reason, self.check) {
                    (Reason::RhythmCheck, CheckPause::None) => CheckPause::Open,
                    (Reason::RhythmCheck, check) => check,
                    // A pause with a result in it was a check, whatever else was done in it.
                    (_, CheckPause::Answered) => CheckPause::Answered,
                    (_, CheckPause::Open | CheckPause::None) => CheckPause::None,
                };
            }
            FlowMark::StateSet { state } => match state {
                SetState::Manual => self.compress(p, when, By::Manual),
                SetState::Mechanical => {
                    // As at arrest again: what stayed in place is looked at.
                    if self.line == Line::Pulse && when.at.since(self.since) >= LEAST_PULSE {
                        self.by = By::Manual;
                    }
                    self.compress(p, when, By::Mechanical);
                }
                SetState::HandsOff => self.hands_off(p, when, Reason::Unknown),
                SetState::Pulse => self.pulse(p, when),
                SetState::Unknown => {
                    self.close_pause(when);
                    self.set_line(Line::Unknown, when);
                }
            },
            FlowMark::Rotate {} => self.chest_since = when.at,
            FlowMark::Why { .. } => {}
            FlowMark::PulseCheck { result } => {
                if *result == Some(Pulse::Present) {
                    self.pulse_felt = Some(when.taken);
                }
            }
            FlowMark::Rosc {} => self.pulse(p, when),
            FlowMark::Rearrest { by } => {
                self.count_from(when.at);
                self.check_at_once = None;
                // A device that stayed in place has to be looked at before anything else.
                if *by == By::Mechanical {
                    self.by = By::Manual;
                }
                self.compress(p, when, *by);
                self.ask(Prompt::ArrestAgain, when);
            }
        }
    }

    /// The pause that is open ends here.
    fn close_pause(&mut self, when: When) {
        let Line::HandsOff(reason) = self.line else {
            return;
        };
        self.in_pause = 0;
        let pause = Pause {
            from: self.since,
            to: when.at,
            reason,
        };
        let span = |p: &Pause| p.to.since(p.from);
        if self.first_breaths.is_some() || span(&pause) < LEAST_PAUSE {
            return;
        }
        self.pauses = self.pauses.saturating_add(1);
        self.closed.push(pause);
        if self.longest.is_none_or(|l| span(&l) < span(&pause)) {
            self.longest = Some(pause);
        }
    }

    pub(super) fn compress(&mut self, p: &Protocol, when: When, by: By) {
        if self.line == Line::Before {
            self.count_from(when.at);
            self.arrest.get_or_insert_with(|| long(when.at));
        }
        self.close_pause(when);
        let before = self.known_line();
        let new_half = self.is_between_halves();
        let was_breaths = self.first_breaths.take().is_some();
        if was_breaths {
            self.count_from(when.at);
        }
        if self.check != CheckPause::None {
            self.end_check(when);
        }
        let first = self.by != By::Mechanical;
        let device_start = by == By::Mechanical && (first || self.seat_lost);
        self.set_line(Line::Compressing(by), when);
        (self.pack_out, self.shock_near, self.check) = (None, None, CheckPause::None);
        self.is_charged = false;
        self.procedure = None;
        match by {
            By::Manual => {
                self.cup = None;
                // Another pair of hands, as far as is known.
                let anew = matches!(before, Line::Before | Line::Pulse);
                if anew || was_breaths || self.by == By::Mechanical {
                    self.chest_since = when.at;
                }
                if self.device == Device::On {
                    self.device = Device::Beside;
                }
                // After a gap the beat goes on where it is.
                let is_going_on = before == Line::Compressing(By::Manual) && !was_breaths;
                if !is_going_on || new_half {
                    self.score = self.by_hand(p, when, before);
                }
            }
            By::Mechanical => {
                self.device = Device::On;
                (self.seat_lost, self.device_out) = (false, None);
                (self.fit_planned, self.fit_pauses) = (None, 0);
                self.device_since.get_or_insert(when.at);
                if device_start {
                    self.ask_cup(Prompt::CupNow, when);
                }
                if first {
                    self.tell_mode(when);
                }
                self.score = silent(p.rate, self.breath_ms(p), when);
            }
        }
        self.by = by;
    }

    /// A run that began earlier begins by hand. What compresses in truth is told a little later, and was
    /// so from the beginning; anything marked since then stands.
    pub(super) fn begun_by(&mut self, p: &Protocol, when: When, by: By) {
        let from_the_start = self.opened.is_some_and(|(at, _)| at == self.since);
        let other = matches!(self.line, Line::Compressing(now) if now != by);
        if self.way != Some(Way::Earlier) || !from_the_start || !other {
            return;
        }
        (self.line, self.by) = (Line::Compressing(by), by);
        match by {
            By::Mechanical => {
                (self.device, self.device_since) = (Device::On, Some(self.since));
                self.fit_planned = None;
                self.ask_cup(Prompt::CupNow, when);
                self.tell_mode(when);
                self.score = silent(p.rate, self.breath_ms(p), when);
            }
            By::Manual => {
                (self.device, self.device_since) = (Device::Away, None);
                (self.cup, self.chest_since) = (None, self.since);
                self.score = self.by_hand(p, when, Line::Compressing(By::Mechanical));
            }
        }
    }

    /// Compressions begin again after a check: the cycle counts from here.
    fn end_check(&mut self, when: When) {
        self.check_base = self.check_base.max(long(when.at));
        self.check_at_once = None;
        self.awake = None;
    }

    pub(super) fn hands_off(&mut self, p: &Protocol, when: When, reason: Reason) {
        if self.is_off() {
            // The clock goes on: hands have been off all along.
            self.line = Line::HandsOff(reason);
        } else {
            self.set_line(Line::HandsOff(reason), when);
            self.check = CheckPause::None;
            self.in_pause = 0;
            self.fit_pause(reason);
        }
        if reason == Reason::RhythmCheck && self.check == CheckPause::None {
            self.check = CheckPause::Open;
        }
        // Kept apart from the reason: a pause may be given another one later.
        self.seat_lost |= loses_seat(reason);
        self.score = silent(p.rate, 0, when);
        match reason {
            Reason::DeviceFault => {
                self.device = Device::OutOfUse;
                self.device_out.get_or_insert(when.at);
                (self.cup, self.pack) = (None, None);
                self.ask(Prompt::DevStop, when);
                // The lead-in: hands find the beat before they are on the chest.
                self.score = unbroken(p.rate, 0, when);
            }
            Reason::DeviceReseat => self.cup = None,
            Reason::RhythmCheck
            | Reason::PulseCheck
            | Reason::Shock
            | Reason::Ventilation
            | Reason::Airway
            | Reason::Access
            | Reason::Ultrasound
            | Reason::Procedure
            | Reason::DeviceFit
            | Reason::DeviceOff
            | Reason::Power
            | Reason::Move
            | Reason::Rotate
            | Reason::Rosc
            | Reason::StopCare
            | Reason::Unknown => {}
        }
    }

    /// Counts the pauses in which a planned fitting is done.
    fn fit_pause(&mut self, reason: Reason) {
        if reason == Reason::DeviceFit {
            self.fit_pauses = self.fit_pauses.saturating_add(1);
        }
    }

    fn pulse(&mut self, p: &Protocol, when: When) {
        self.close_pause(when);
        self.set_line(Line::Pulse, when);
        self.rest(p, when);
        if self.pulses.last().is_none_or(|(_, end)| end.is_some()) {
            self.pulses.push((when.at, None));
        }
        (self.in_a_row, self.leads) = (0, false);
        // What was seen belongs to the arrest: with a pulse it is not known until it is named again.
        self.rhythm = None;
        self.score = with_pulse(p, when);
    }

    /// Breaths come first: hands are off the chest, and the beat begins by itself when their time is
    /// over, marked or not.
    pub(super) fn begin_with_breaths(&mut self, p: &Protocol, when: When, n: u8) {
        self.set_line(Line::HandsOff(Reason::Ventilation), when);
        let wait = p
            .newborn
            .map_or(p.first_breaths_wait, |own| own.breaths_first);
        let until = when.taken.plus(wait);
        self.first_breaths = Some(FirstBreaths {
            n,
            since: when.at,
            until,
        });
        self.count_from(until);
        self.score_breaths(p, when, until);
    }

    /// What sounds with the breaths alone, and when their time is over.
    pub(super) fn score_breaths(&mut self, p: &Protocol, when: When, until: Ms) {
        let then = When {
            at: until,
            taken: until,
        };
        let every = p
            .newborn
            .map_or(0, |own| u32::try_from(own.breath_every.0).unwrap_or(0));
        self.score_before = Some(silent(p.rate, every, when));
        self.score = self.by_hand(p, then, Line::Before);
    }
}

/// Whether the cup has to be looked at when the device runs again.
const fn loses_seat(reason: Reason) -> bool {
    matches!(
        reason,
        Reason::DeviceFit
            | Reason::DeviceReseat
            | Reason::DeviceFault
            | Reason::DeviceOff
            | Reason::Power
    )
}
