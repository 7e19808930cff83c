//! The run as a whole: class, what was done before, special situations, sound, the end.

use beat::Pattern;

use super::{Doses, Gap, Line, Long, State, When, long, minutes};
use crate::{
    Levels, Ms,
    input::Setup,
    mark::{
        By, DecisionWhat, Outcome, PatientClass, PriorCare, Resume, RunMark, SoundAct, TimesWhich,
    },
    placing::{silent, with_pulse},
    prompts::Prompt,
    protocol::{Overlay, Protocol},
};

/// Voice off for a while.
const VOICE_OFF: Ms = Ms(120_000);

impl State {
    pub(super) fn run_mark(&mut self, setup: &Setup, when: When, mark: &RunMark) {
        let p = setup.protocol_of(self.class);
        match mark {
            RunMark::Arrest { basis } => {
                self.arrest_basis = self.arrest_basis.or(*basis);
                self.arrest(p, when);
            }
            RunMark::PriorCare(prior) => self.prior_care(p, when, prior),
            RunMark::Patient { class, rescuers } => self.patient(setup, when, *class, *rescuers),
            RunMark::Overlay {
                kind,
                on,
                temp_band,
            } => {
                self.overlays.retain(|(known, _)| known != kind);
                if *on {
                    self.overlays.push((*kind, *temp_band));
                }
            }
            RunMark::Leads { on } => self.leads = *on,
            RunMark::Ack { task } => {
                self.acks.retain(|(known, _)| known != task);
                self.acks.push((*task, when.taken));
            }
            RunMark::Times { which } => {
                if *which == TimesWhich::AlsArrival {
                    self.als.get_or_insert(when.at);
                }
            }
            RunMark::Decision {
                what: DecisionWhat::Transport,
                ..
            } => {
                if self.moving.is_none() {
                    self.move_planned = Some(when.taken);
                }
            }
            RunMark::Flag {}
            | RunMark::Decision { .. }
            | RunMark::ClockMark { .. }
            | RunMark::Note { .. } => {}
            RunMark::Resume { choice } => self.resume(p, when, *choice),
            RunMark::Sound { what, levels, .. } => self.sound_act(when, *what, *levels),
            RunMark::End { outcome, .. } => {
                self.outcome = Some(*outcome);
                self.set_line(Line::Ended, when);
                self.rest(p, when);
            }
        }
    }

    /// Where a service starts with breaths, arrest alone begins the run, hands off the chest.
    fn arrest(&mut self, p: &Protocol, when: When) {
        self.arrest.get_or_insert_with(|| long(when.at));
        if self.line == Line::Before {
            let n = self.first_breaths_wanted(p);
            if n > 0 || p.newborn.is_some() {
                self.begin_with_breaths(p, when, n);
            }
        }
    }

    /// How many breaths come before the first compression.
    pub(crate) fn first_breaths_wanted(&self, p: &Protocol) -> u8 {
        let drowned = p
            .overlay(Overlay::Drowning)
            .filter(|_| self.has_overlay(Overlay::Drowning))
            .and_then(|rule| rule.first_breaths);
        drowned.unwrap_or(p.first_breaths)
    }

    fn prior_care(&mut self, p: &Protocol, when: When, prior: &PriorCare) {
        // Said again, it takes the place of what was said before.
        let before = self.prior.take().unwrap_or_default();
        if let Some(began) = prior.began_min {
            self.arrest = Some(long(when.at).saturating_sub(minutes(began)));
        }
        let shocks = u16::from(prior.shocks.unwrap_or(0));
        let had = u16::from(before.shocks.unwrap_or(0));
        self.prior_shocks = shocks;
        self.shocks = self.shocks.saturating_sub(had).saturating_add(shocks);
        for dose in &before.doses {
            if let Some(known) = self.doses.iter_mut().find(|d| d.key == dose.drug) {
                known.n = known.n.saturating_sub(u16::from(dose.n));
                known.last = known.ours;
            }
        }
        for dose in prior.doses.iter().filter(|d| d.n > 0) {
            let last = dose
                .last_min
                .map(|min| long(when.at).saturating_sub(minutes(min)));
            self.dose(&dose.drug, u16::from(dose.n), last, false);
        }
        if let Some(device) = prior.airway {
            self.airway = Some(device);
            self.set_mode(p, when, p.mode_for(device));
        }
        if let Some(by) = prior.by {
            self.begun_by(p, when, by);
        }
        self.prior = Some(prior.clone());
    }

    /// Adds doses; the latest of all times is the last dose's.
    pub(super) fn dose(&mut self, key: &str, n: u16, at: Option<Long>, doubled: bool) {
        match self.doses.iter_mut().find(|d| d.key == key) {
            Some(known) => {
                known.n = known.n.saturating_add(n);
                known.last = known.last.max(at);
                known.doubled = doubled;
            }
            None => self.doses.push(Doses {
                key: key.into(),
                n,
                last: at,
                ours: None,
                doubled,
            }),
        }
    }

    fn patient(&mut self, setup: &Setup, when: When, class: PatientClass, rescuers: Option<u8>) {
        let before = (self.class, self.alone);
        self.class = class;
        if let Some(n) = rescuers {
            self.alone = n == 1;
        }
        if before == (self.class, self.alone) {
            return;
        }
        let p = setup.protocol_of(class);
        if self.airway.is_none() {
            self.mode = p.mask_mode;
        }
        self.other_class(p, when);
    }

    /// What sounds goes on by the new class's numbers: no interval of one class in another.
    fn other_class(&mut self, p: &Protocol, when: When) {
        match (self.known_line(), self.first_breaths) {
            (_, Some(first)) => self.score_breaths(p, when, first.until.max(when.taken)),
            (Line::Compressing(by), None) => self.score = self.anew(p, when, by),
            (Line::Pulse, None) => self.score = with_pulse(p, when),
            // What the crew calls unknown goes on as it sounded.
            (Line::Unknown, None) => match self.score.score.pattern {
                Pattern::Silent { breath_ms: 0 } => {}
                Pattern::Silent { .. } => {
                    self.score = silent(p.rate, self.breath_ms(p), when);
                }
                Pattern::Continuous { .. } | Pattern::Ratio { .. } => {
                    self.score = self.anew(p, when, By::Manual);
                }
            },
            (Line::Before | Line::HandsOff(_) | Line::Ended, None) => {}
        }
    }

    fn resume(&mut self, p: &Protocol, when: When, choice: Resume) {
        let Some(gap) = self.gap.take() else {
            return;
        };
        match choice {
            Resume::AsBefore => self.go_on(p, when, gap),
            // A short gap has not changed it: no mark has said that circulation was lost.
            Resume::SamePatient if gap.line == Line::Pulse && !gap.long => {
                self.go_on(p, when, gap);
            }
            // The second half: what goes on now is still to be said.
            Resume::SamePatient => {
                self.count_from(when.at);
                self.check_at_once = None;
            }
            Resume::NewPatient => {
                self.outcome = Some(Outcome::HandedOver);
                self.set_line(Line::Ended, when);
                self.rest(p, when);
            }
        }
    }

    /// The line goes on from before the gap.
    fn go_on(&mut self, p: &Protocol, when: When, gap: Gap) {
        (self.line, self.since) = (gap.line, gap.since);
        // Silent until it was known whose run it is.
        if gap.line == Line::Pulse {
            self.score = with_pulse(p, when);
        }
    }

    fn sound_act(&mut self, when: When, what: SoundAct, levels: Option<Levels>) {
        let prompt = match what {
            SoundAct::VoiceOff | SoundAct::VoiceOff2Min => {
                // A quiet run does not find its voice by itself.
                let comes_back = what == SoundAct::VoiceOff2Min && !self.is_quiet();
                self.voice_off = true;
                self.voice_back = comes_back.then(|| when.at.plus(VOICE_OFF));
                Prompt::VoiceOff
            }
            SoundAct::VoiceOn => {
                (self.voice_off, self.voice_back) = (false, None);
                Prompt::VoiceOn
            }
            SoundAct::BeatOff => {
                self.beat_off = true;
                Prompt::BeatOff
            }
            SoundAct::BeatOn => {
                self.beat_off = false;
                return;
            }
            // The receipt that answers the touch is heard at the new level.
            SoundAct::Level | SoundAct::Preset => {
                self.levels = levels.map(Levels::within).or(self.levels);
                return;
            }
        };
        self.ask(prompt, when);
    }
}
