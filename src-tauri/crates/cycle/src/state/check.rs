//! Pads, rhythm, shock.

use super::{CheckPause, State, When, long};
use crate::{
    mark::{ChargeAct, CheckMark, GivenBy, Reason, RhythmSeen},
    protocol::Protocol,
};

impl State {
    pub(super) fn check_mark(&mut self, p: &Protocol, when: When, mark: &CheckMark) {
        match mark {
            CheckMark::Charge {
                act: ChargeAct::Begun,
            } => (self.shock_near, self.is_charged) = (Some(when.at), true),
            CheckMark::Charge {
                act: ChargeAct::Dumped,
            } => (self.shock_near, self.is_charged) = (None, false),
            CheckMark::Rhythm { rhythm, first } => self.rhythm_seen(when, *rhythm, *first),
            CheckMark::Analysing {} => {
                if self.is_off() {
                    self.check = CheckPause::Open;
                } else if self.leads {
                    // Nobody touches the patient while it analyses.
                    self.hands_off(p, when, Reason::RhythmCheck);
                }
            }
            CheckMark::Pads { connected, .. } => {
                if *connected && self.pads.is_none() && self.checks == 0 && p.has_cycle() {
                    self.check_at_once(p, when);
                }
                if *connected {
                    self.pads.get_or_insert(when.at);
                }
            }
            CheckMark::Shock { by, stacked, .. } => {
                self.shock(p, when, *by, *stacked);
                self.is_charged = false;
                self.result(when);
            }
            CheckMark::NoShock {} => {
                self.called(RhythmSeen::NotShockable);
                self.in_a_row = 0;
                self.first_not_shocked.get_or_insert(when.at);
                self.result(when);
            }
            CheckMark::HeartRate { .. } => {
                self.checks = self.checks.saturating_add(1);
                self.heart_base = long(when.at);
            }
        }
    }

    /// The first check falls due with the pads. If nobody marks it, the next one comes as after any
    /// other that was due.
    fn check_at_once(&mut self, p: &Protocol, when: When) {
        let every = long(p.check_every);
        if !self.is_off() || self.check == CheckPause::None {
            self.check_base = long(when.taken).saturating_sub(every);
            self.check_at_once = Some(when.taken);
        }
    }

    fn rhythm_seen(&mut self, when: When, rhythm: RhythmSeen, first: Option<bool>) {
        if first != Some(false) {
            self.first_rhythm.get_or_insert(rhythm);
        }
        self.rhythm = Some(rhythm);
        match rhythm {
            RhythmSeen::Vf | RhythmSeen::Pvt | RhythmSeen::Shockable | RhythmSeen::AedShock => {
                self.shock_near = Some(when.at);
            }
            RhythmSeen::Pea
            | RhythmSeen::Asystole
            | RhythmSeen::NotShockable
            | RhythmSeen::AedNoShock => {
                self.first_not_shocked.get_or_insert(when.at);
                (self.in_a_row, self.shock_near) = (0, None);
            }
            RhythmSeen::Organised | RhythmSeen::Unknown => {}
        }
    }

    /// What a result alone says of the rhythm: nothing new where it was named and agrees, nothing of
    /// the first one where others have shocked before us.
    fn called(&mut self, rhythm: RhythmSeen) {
        let shocked = |r| {
            matches!(
                r,
                RhythmSeen::Vf | RhythmSeen::Pvt | RhythmSeen::Shockable | RhythmSeen::AedShock
            )
        };
        if self
            .rhythm
            .is_none_or(|known| shocked(known) != shocked(rhythm))
        {
            self.rhythm = Some(rhythm);
        }
        if self.prior_shocks == 0 {
            self.first_rhythm.get_or_insert(rhythm);
        }
    }

    fn shock(&mut self, p: &Protocol, when: When, by: GivenBy, stacked: bool) {
        self.shocks = self.shocks.saturating_add(1);
        self.last_shock = Some(when.at);
        self.in_a_row = self.in_a_row.saturating_add(1);
        let most = u16::from(p.stack_most);
        let joins = self.in_pause > 0 && self.in_pause < most;
        if !(joins || stacked && self.in_pause > 0) {
            self.drug_shocks.push(when.at);
            self.in_pause = 0;
        }
        self.in_pause = self.in_pause.saturating_add(1);
        if by == GivenBy::Us {
            self.called(RhythmSeen::Shockable);
        }
    }

    fn result(&mut self, when: When) {
        self.shock_near = None;
        self.checks = self.checks.saturating_add(1);
        // With compressions running, the result itself ends the check.
        self.check_base = self.check_base.max(long(when.at));
        self.check_at_once = None;
        if self.is_off() {
            self.check = CheckPause::Answered;
        } else {
            self.check = CheckPause::None;
            (self.awake, self.in_pause) = (None, 0);
        }
    }
}
