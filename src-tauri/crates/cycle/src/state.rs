//! What the crew is said to be doing: a fold over the marks as amended, and nothing else.

mod air;
mod care;
mod check;
mod device;
mod flow;
mod run_marks;

use alloc::{string::String, vec::Vec};

use beat::Placed;

use crate::{
    Levels, Ms,
    fact::Way,
    input::Setup,
    mark::{
        AirwayDevice, ArrestBasis, BreathMode, By, Mark, Outcome, PatientClass, ProcedureWhat,
        Reason, RhythmSeen, Task, TempBand,
    },
    placing::{BEAT_OFF_DDB, LED_DDB, silent},
    prompts::Prompt,
    protocol::{LedBeat, Overlay, Protocol},
};

/// A moment that may lie before the run began, ms on the run clock.
pub(crate) type Long = i64;

/// The state line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Line {
    /// No run.
    Before,
    /// By hand or by device.
    Compressing(By),
    /// And why.
    HandsOff(Reason),
    /// Spontaneous circulation.
    Pulse,
    /// Not known.
    Unknown,
    /// The run is over.
    Ended,
}

/// Where the compression device is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Device {
    Away,
    /// Open and on beside the patient.
    Beside,
    On,
    /// Stopped by itself: out of use.
    OutOfUse,
}

/// The rhythm check within a pause.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum CheckPause {
    /// This is no check's pause.
    None,
    /// Marked; its result is not in.
    Open,
    /// The result is in; compressions have not begun again.
    Answered,
}

/// A question that waits for its answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Asked {
    pub(crate) prompt: Prompt,
    pub(crate) due: Ms,
}

/// The device without its pack.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct PackOut {
    pub(crate) since: Ms,
    /// The new pack came too late: the start position is lost.
    pub(crate) over: bool,
}

/// The pack in the device, known to have been full.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Pack {
    /// What was left of it at `since`.
    pub(crate) left: Ms,
    /// Running on it since then; on mains it rests.
    pub(crate) since: Option<Ms>,
}

/// Doses of one drug.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Doses {
    pub(crate) key: String,
    pub(crate) n: u16,
    pub(crate) last: Option<Long>,
    /// When this crew gave its own last one.
    pub(crate) ours: Option<Long>,
    /// The last one came before the window since the one before had opened.
    pub(crate) doubled: bool,
}

/// A pause that is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pause {
    /// Hands off.
    pub from: Ms,
    /// Compressions again, or circulation.
    pub to: Ms,
    /// What it was for.
    pub reason: Reason,
}

/// Breaths that come before the first compression.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct FirstBreaths {
    pub(crate) n: u8,
    pub(crate) since: Ms,
    /// The beat begins then by itself.
    pub(crate) until: Ms,
}

/// A line before a gap in the record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Gap {
    pub(crate) line: Line,
    pub(crate) since: Ms,
    /// Too long to go on as if nothing had been.
    pub(crate) long: bool,
}

impl Gap {
    /// Whether it makes two halves of the run: nobody knows whose run it is until the crew says so. With
    /// circulation back every gap does, for the patient may be with others by now.
    pub(crate) fn is_between_halves(self) -> bool {
        self.long || self.line == Line::Pulse
    }
}

/// Carbon dioxide as it was entered.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Etco2 {
    pub(crate) unit: String,
    pub(crate) first: String,
    pub(crate) low: String,
    pub(crate) now: String,
    pub(crate) at: Ms,
}

/// When a mark happened and when it was taken.
#[derive(Clone, Copy, Debug)]
pub(crate) struct When {
    pub(crate) at: Ms,
    pub(crate) taken: Ms,
}

/// A pulse shorter than this was a slip of the finger, set right from its own beginning on. Source:
/// common practice, no source; as short as the shortest pause that counts.
pub(crate) const LEAST_PULSE: Ms = Ms(1000);

/// A gap as long as this makes two halves of a run.
pub(crate) const LONG_GAP: Ms = Ms(300_000);

#[derive(Clone, Debug, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a switch of its own that a mark turns"
)]
pub(crate) struct State {
    pub(crate) way: Option<Way>,
    pub(crate) class: PatientClass,
    /// One rescuer alone.
    pub(crate) alone: bool,
    pub(crate) line: Line,
    pub(crate) since: Ms,
    /// When the first mark of the run fell.
    pub(crate) began: Option<Ms>,
    /// The touch that opened the state line, by its times: it is not taken back.
    pub(crate) opened: Option<(Ms, Ms)>,
    /// What made the last compressions.
    pub(crate) by: By,
    pub(crate) device: Device,
    pub(crate) airway: Option<AirwayDevice>,
    pub(crate) mode: BreathMode,
    pub(crate) first_breaths: Option<FirstBreaths>,

    /// What the two minutes count from.
    pub(crate) check_base: Long,
    /// What a newborn's heart rate counts from.
    pub(crate) heart_base: Long,
    pub(crate) check: CheckPause,
    /// A check that fell due with the pads: it has no heads-up.
    pub(crate) check_at_once: Option<Ms>,
    pub(crate) pads: Option<Ms>,
    /// Checks with a result.
    pub(crate) checks: u16,
    pub(crate) leads: bool,
    pub(crate) rhythm: Option<RhythmSeen>,
    pub(crate) first_rhythm: Option<RhythmSeen>,
    /// Charged or shockable since.
    pub(crate) shock_near: Option<Ms>,
    /// Charged, neither shocked nor dumped since: a rhythm that is named leaves the charge where it is.
    pub(crate) is_charged: bool,
    /// Shocks by this crew and before it.
    pub(crate) shocks: u16,
    pub(crate) prior_shocks: u16,
    pub(crate) last_shock: Option<Ms>,
    /// Shocks as the drugs count them: several in one pause may be one. When each of ours was given.
    pub(crate) drug_shocks: Vec<Ms>,
    /// Shocks in a row, with no other rhythm between.
    pub(crate) in_a_row: u16,
    /// Shocks in the open pause.
    pub(crate) in_pause: u16,

    pub(crate) doses: Vec<Doses>,
    /// When a rhythm that is not shocked asked for the first dose.
    pub(crate) first_not_shocked: Option<Ms>,
    /// Signs of life, until the next check.
    pub(crate) awake: Option<Ms>,
    pub(crate) lines_in: u16,
    pub(crate) overlays: Vec<(Overlay, Option<TempBand>)>,
    pub(crate) etco2: Option<Etco2>,
    pub(crate) procedure: Option<(ProcedureWhat, Ms)>,

    pub(crate) fit_reason: Option<String>,
    pub(crate) refused: Option<String>,
    pub(crate) device_since: Option<Ms>,
    /// It stopped by itself then, and has not run since.
    pub(crate) device_out: Option<Ms>,
    pub(crate) moving: Option<Ms>,
    pub(crate) cup: Option<Asked>,
    pub(crate) cups_good: u16,
    /// The cup has been off its place since it was last looked at.
    pub(crate) seat_lost: bool,
    pub(crate) pack_out: Option<PackOut>,
    pub(crate) pack: Option<Pack>,
    pub(crate) mains: bool,

    pub(crate) arrest: Option<Long>,
    pub(crate) arrest_basis: Option<ArrestBasis>,
    pub(crate) prior: Option<crate::mark::PriorCare>,
    pub(crate) als: Option<Ms>,
    pub(crate) pulses: Vec<(Ms, Option<Ms>)>,
    /// When the pulse was last felt.
    pub(crate) pulse_felt: Option<Ms>,
    pub(crate) pauses: u16,
    pub(crate) longest: Option<Pause>,
    /// Every one that is over.
    pub(crate) closed: Vec<Pause>,
    pub(crate) last_mark: Ms,
    pub(crate) acks: Vec<(Task, Ms)>,

    /// When the fitting was planned, until the device runs or is refused.
    pub(crate) fit_planned: Option<Ms>,
    /// Pauses for it since then.
    pub(crate) fit_pauses: u8,
    /// When a move was decided on, until it begins.
    pub(crate) move_planned: Option<Ms>,
    /// When the one who compresses by hand began.
    pub(crate) chest_since: Ms,
    pub(crate) voice_off: bool,
    /// The voice comes back by itself then.
    pub(crate) voice_back: Option<Ms>,
    pub(crate) beat_off: bool,
    /// As the crew set them in this run.
    pub(crate) levels: Option<Levels>,
    /// Spoken answers to touches, the latest of each prompt: one does not push another out.
    pub(crate) answers: Vec<Asked>,
    /// The line before a gap in the record that nobody has answered for.
    pub(crate) gap: Option<Gap>,
    pub(crate) outcome: Option<Outcome>,
    /// What should sound, as the marks have it.
    pub(crate) score: Placed,
    /// What should sound before it: breaths alone.
    pub(crate) score_before: Option<Placed>,
}

impl State {
    pub(crate) fn new(setup: &Setup) -> Self {
        let p = setup.protocol_of(setup.class);
        let zero = When {
            at: Ms::ZERO,
            taken: Ms::ZERO,
        };
        Self {
            way: None,
            class: setup.class,
            alone: false,
            line: Line::Before,
            since: Ms::ZERO,
            began: None,
            opened: None,
            by: By::Manual,
            device: Device::Away,
            airway: None,
            mode: p.mask_mode,
            first_breaths: None,
            check_base: 0,
            heart_base: 0,
            check: CheckPause::None,
            check_at_once: None,
            pads: None,
            checks: 0,
            leads: false,
            rhythm: None,
            first_rhythm: None,
            shock_near: None,
            is_charged: false,
            shocks: 0,
            prior_shocks: 0,
            last_shock: None,
            drug_shocks: Vec::new(),
            in_a_row: 0,
            in_pause: 0,
            doses: Vec::new(),
            first_not_shocked: None,
            awake: None,
            lines_in: 0,
            overlays: Vec::new(),
            etco2: None,
            procedure: None,
            fit_reason: None,
            refused: None,
            device_since: None,
            device_out: None,
            moving: None,
            cup: None,
            cups_good: 0,
            seat_lost: false,
            pack_out: None,
            pack: None,
            mains: false,
            arrest: None,
            arrest_basis: None,
            prior: None,
            als: None,
            pulses: Vec::new(),
            pulse_felt: None,
            pauses: 0,
            longest: None,
            closed: Vec::new(),
            last_mark: Ms::ZERO,
            acks: Vec::new(),
            fit_planned: None,
            fit_pauses: 0,
            move_planned: None,
            chest_since: Ms::ZERO,
            voice_off: false,
            voice_back: None,
            beat_off: false,
            levels: None,
            answers: Vec::new(),
            gap: None,
            outcome: None,
            score: silent(p.rate, 0, zero),
            score_before: None,
        }
    }

    pub(crate) fn is_live(&self) -> bool {
        !matches!(self.line, Line::Before | Line::Ended)
    }

    /// The device stands open beside the patient and has not run yet.
    pub(crate) fn is_being_fitted(&self) -> bool {
        self.device == Device::Beside && self.device_since.is_none()
    }

    pub(crate) fn is_off(&self) -> bool {
        matches!(self.line, Line::HandsOff(_))
    }

    /// The second phone of a crew: it shows and records, and makes no sound until its crew switches
    /// voice or beat on.
    pub(crate) fn is_quiet(&self) -> bool {
        self.is_without_score() && self.voice_off && self.voice_back.is_none()
    }

    /// In a run that began quiet neither beat nor breath tone sounds before the beat is switched on:
    /// two phones out of step help nobody.
    pub(crate) fn is_without_score(&self) -> bool {
        self.way == Some(Way::Quiet) && self.beat_off
    }

    pub(crate) fn has_voice(&self, now: Ms) -> bool {
        !self.voice_off || self.voice_back.is_some_and(|back| now >= back)
    }

    /// A gap between two halves that nobody has answered for.
    pub(crate) fn is_between_halves(&self) -> bool {
        self.gap.is_some_and(Gap::is_between_halves)
    }

    /// The state line, or what it was before a gap that nobody has answered for.
    pub(crate) fn known_line(&self) -> Line {
        let before = self.gap.map(|gap| gap.line);
        before
            .filter(|_| self.line == Line::Unknown)
            .unwrap_or(self.line)
    }

    /// Breaths alone come first, and their time is not over.
    pub(crate) fn is_first_breaths(&self, now: Ms) -> bool {
        self.first_breaths.is_some_and(|first| now < first.until)
    }

    /// The score to sound: the marks' own, without its beats where the crew switched them off, and
    /// stepped back where a defibrillator that speaks leads.
    pub(crate) fn wanted_score(&self, p: &Protocol, now: Ms) -> Placed {
        let mut placed = self.score;
        if self.is_first_breaths(now)
            && let Some(before) = self.score_before
        {
            placed = before;
        }
        if self.is_without_score() {
            return silent(
                p.rate,
                0,
                When {
                    at: Ms::ZERO,
                    taken: Ms::ZERO,
                },
            );
        }
        if self.beat_off {
            placed.score.quiet_ddb = BEAT_OFF_DDB;
        } else if self.leads {
            placed.score.quiet_ddb = match p.led_beat {
                LedBeat::On => 0,
                LedBeat::Quiet => LED_DDB,
                LedBeat::Off => BEAT_OFF_DDB,
            };
        }
        placed
    }

    /// Shocks before this crew and by it, as the drugs count them.
    pub(crate) fn total_drug_shocks(&self) -> u16 {
        let ours = u16::try_from(self.drug_shocks.len()).unwrap_or(u16::MAX);
        self.prior_shocks.saturating_add(ours)
    }

    /// When the shock with this number was given by us; `None` if it was given before us.
    pub(crate) fn drug_shock(&self, number: u16) -> Option<Ms> {
        let ours = number.checked_sub(self.prior_shocks)?.checked_sub(1)?;
        self.drug_shocks.get(usize::from(ours)).copied()
    }

    pub(crate) fn doses_of(&self, key: &str) -> Option<&Doses> {
        self.doses.iter().find(|d| d.key == key)
    }

    pub(crate) fn has_overlay(&self, kind: Overlay) -> bool {
        self.overlays.iter().any(|(known, _)| *known == kind)
    }

    /// How cold the patient is, if that was said.
    pub(crate) fn cold(&self) -> Option<TempBand> {
        self.overlays
            .iter()
            .find(|(known, _)| *known == Overlay::Cold)
            .and_then(|(_, band)| *band)
    }

    /// The last time a prompt of this task was answered without a mark.
    pub(crate) fn acked(&self, task: Task) -> Option<Ms> {
        self.acks
            .iter()
            .rev()
            .find(|(known, _)| *known == task)
            .map(|(_, at)| *at)
    }

    pub(crate) fn started(&mut self, way: Way) {
        self.way = Some(way);
        if way == Way::Quiet {
            (self.voice_off, self.beat_off) = (true, true);
        }
    }

    /// The app came back: what lies between is not known, and what sounded sounds on if it was not
    /// away for long.
    pub(crate) fn recovered(&mut self, p: &Protocol, from: Ms, taken: Ms) {
        if !self.is_live() {
            return;
        }
        let long = taken.since(from) >= LONG_GAP;
        match &mut self.gap {
            // A second kill does not move the first gap.
            Some(gap) if self.line == Line::Unknown => gap.long |= long,
            _ => {
                self.gap = Some(Gap {
                    line: self.line,
                    since: self.since,
                    long,
                });
                (self.line, self.since) = (Line::Unknown, from);
            }
        }
        if self.is_between_halves() {
            self.score = silent(p.rate, 0, When { at: from, taken });
        }
    }

    pub(crate) fn mark(&mut self, setup: &Setup, when: When, mark: &Mark) {
        let p = setup.protocol_of(self.class);
        self.began.get_or_insert(when.at);
        self.last_mark = self.last_mark.max(when.taken);
        match mark {
            Mark::Run(mark) => self.run_mark(setup, when, mark),
            Mark::Flow(mark) => self.flow_mark(p, when, mark),
            Mark::Air(mark) => self.air_mark(p, when, mark),
            Mark::Check(mark) => self.check_mark(p, when, mark),
            Mark::Device(mark) => self.device_mark(p, when, mark),
            Mark::Care(mark) => self.care_mark(p, when, mark),
        }
    }

    /// The check and the heart rate count from here.
    pub(crate) fn count_from(&mut self, at: Ms) {
        (self.check_base, self.heart_base) = (long(at), long(at));
    }

    pub(crate) fn set_line(&mut self, line: Line, when: When) {
        if matches!(line, Line::Compressing(_) | Line::HandsOff(_)) {
            self.end_pulse(when.at);
        }
        (self.line, self.since) = (line, when.at);
        self.gap = None;
    }

    /// A spoken answer to a touch. Between two halves nothing is due but the question whose run it is.
    pub(crate) fn ask(&mut self, prompt: Prompt, when: When) {
        if self.is_between_halves() {
            return;
        }
        self.answers.retain(|asked| asked.prompt != prompt);
        self.answers.push(Asked {
            prompt,
            due: when.taken,
        });
    }

    /// However the crew says that circulation is lost, the card of the hand-over says when, and the two
    /// minutes count from there. One set right from its own beginning on never was.
    fn end_pulse(&mut self, at: Ms) {
        let Some((from, end)) = self.pulses.last_mut().filter(|(_, end)| end.is_none()) else {
            return;
        };
        if at.since(*from) < LEAST_PULSE {
            self.pulses.pop();
        } else {
            *end = Some(at);
            self.count_from(at);
            self.check_at_once = None;
        }
    }

    pub(crate) fn rest(&mut self, p: &Protocol, when: When) {
        (self.check, self.moving, self.move_planned) = (CheckPause::None, None, None);
        (self.cup, self.pack_out, self.shock_near) = (None, None, None);
        self.is_charged = false;
        (self.first_breaths, self.procedure, self.awake) = (None, None, None);
        self.score = silent(p.rate, 0, when);
    }

    pub(crate) fn breath_ms(&self, p: &Protocol) -> u32 {
        match self.mode {
            BreathMode::Continuous => u32::try_from(p.breath_every.0).unwrap_or(0),
            BreathMode::Ratio | BreathMode::None => 0,
        }
    }
}

/// A time of the run as one that may lie before it.
pub(crate) fn long(at: Ms) -> Long {
    i64::try_from(at.0).unwrap_or(i64::MAX)
}

/// A time that may lie before the run, as one of the run: 0 if it does.
pub(crate) fn short(at: Long) -> Ms {
    Ms(u64::try_from(at).unwrap_or(0))
}

/// `min` whole minutes.
pub(crate) fn minutes(min: u16) -> Long {
    i64::from(min).saturating_mul(60_000)
}
