//! What the crew has said, folded a second time: written from what each mark is to move and from what `docs/record.md`
//! says of the state line, and sharing nothing with the rules' own fold.

mod marks;

use super::super::*;
use crate::fact::AmendOp;
use crate::mark::{BreathMode, By, CareMark, ProcedureAct, ProcedureWhat, Reason, Task, TempBand};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Line {
    Before,
    Hand,
    Device,
    Off(Reason),
    Pulse,
    Unknown,
    Ended,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Check {
    No,
    Open,
    Answered,
}

#[derive(Clone, Debug)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a switch of its own that a mark turns"
)]
pub(super) struct Told {
    /// Start Quiet: no sound; the crew may switch voice or beat on.
    pub(super) quiet_way: bool,
    earlier: bool,
    opened: Option<u64>,
    pub(super) line: Line,
    pub(super) since: u64,
    pub(super) reason: Option<Reason>,
    /// Line and time before a kill that nobody has answered for.
    pub(super) gap: Option<(Line, u64, bool)>,
    pub(super) class: PatientClass,
    pub(super) class_changed: bool,
    pub(super) alone: bool,
    pub(super) airway: Option<AirwayDevice>,
    pub(super) mode: BreathMode,
    pub(super) by: By,
    pub(super) device_on: bool,
    pub(super) lead_in: bool,
    /// Breaths alone until then.
    pub(super) breaths_until: Option<u64>,
    /// The cup is looked at after fitting, re-seat, stop and swap, whatever else was done.
    pub(super) off_seat: bool,
    pub(super) shocks: u64,
    pub(super) in_a_row: u64,
    pub(super) prior_shocks: u64,
    pub(super) last_shock: Option<u64>,
    pub(super) moving: Option<u64>,
    pub(super) cup: Option<(Prompt, u64)>,
    /// Since when the pack is out, and whether its window was missed.
    pub(super) pack_out: Option<(u64, bool)>,
    /// Charged or shockable since.
    pub(super) near: Option<u64>,
    pub(super) leads: bool,
    pub(super) drowned: bool,
    pub(super) cold: Option<TempBand>,
    pub(super) check: Check,
    pub(super) base: i64,
    pub(super) hr_base: i64,
    pads: bool,
    results: u64,
    pub(super) voice_off: Option<u64>,
    beat_off: bool,
    /// Circulation was said to be back, and nothing since has said that it was lost.
    pulse_since: Option<u64>,
    pub(super) acks: Vec<(Task, u64)>,
    doses: Vec<(String, i64)>,
    prior: Vec<(String, u64, Option<i64>)>,
}

fn signed(t: u64) -> i64 {
    i64::try_from(t).unwrap()
}

/// Pauses in which the cup leaves its place.
pub(super) const OFF_SEAT: [Reason; 5] = [
    Reason::DeviceFit,
    Reason::DeviceReseat,
    Reason::DeviceFault,
    Reason::DeviceOff,
    Reason::Power,
];

impl Told {
    fn new(setup: &Setup) -> Self {
        Self {
            quiet_way: false,
            earlier: false,
            opened: None,
            line: Line::Before,
            since: 0,
            reason: None,
            gap: None,
            class: setup.class,
            class_changed: false,
            alone: false,
            airway: None,
            mode: setup.protocol.mask_mode,
            by: By::Manual,
            device_on: false,
            lead_in: false,
            breaths_until: None,
            off_seat: false,
            shocks: 0,
            in_a_row: 0,
            prior_shocks: 0,
            last_shock: None,
            moving: None,
            pulse_since: None,
            beat_off: false,
            cup: None,
            pack_out: None,
            near: None,
            leads: false,
            drowned: false,
            cold: None,
            check: Check::No,
            base: 0,
            hr_base: 0,
            pads: false,
            results: 0,
            voice_off: None,
            acks: Vec::new(),
            doses: Vec::new(),
            prior: Vec::new(),
        }
    }

    /// The line, or the one before a gap.
    pub(super) fn known(&self) -> Line {
        let before = self.gap.filter(|_| self.line == Line::Unknown);
        before.map_or(self.line, |(line, _, _)| line)
    }

    pub(super) fn live(&self) -> bool {
        !matches!(self.line, Line::Before | Line::Ended)
    }

    /// When the last dose of a drug was given, if one was and its time is known.
    pub(super) fn last_dose(&self, key: &str) -> Option<i64> {
        let ours = self
            .doses
            .iter()
            .filter(|(k, _)| k == key)
            .map(|(_, at)| *at);
        let before = self.prior.iter().filter(|(k, n, _)| k == key && *n > 0);
        ours.chain(before.filter_map(|(_, _, at)| *at)).max()
    }

    /// Whether the file allows one more dose of the drug by the clock.
    pub(super) fn may_have_another(&self, p: &Protocol) -> bool {
        let most = p.drug("adrenaline").map_or(0, |d| u64::from(d.most));
        let before = self.prior.iter().filter(|(k, ..)| k == "adrenaline");
        let ours = self.doses.iter().filter(|(k, _)| k == "adrenaline").count();
        most == 0 || u64::try_from(ours).unwrap() + before.map(|(_, n, _)| n).sum::<u64>() < most
    }

    pub(super) fn acked(&self, task: Task, from: u64) -> bool {
        self.acks.iter().any(|(t, at)| *t == task && *at >= from)
    }

    /// The due time of the check the screen speaks of.
    pub(super) fn check_due(&self, p: &Protocol, now: u64) -> Option<u64> {
        let open = self.class != PatientClass::Newborn
            && self.live()
            && self.known() != Line::Pulse
            && self.check == Check::No;
        let every = signed(p.check_every.0);
        let into = signed(now) + signed(p.check_heads_up.0) - self.base;
        let n = (into / every).max(1);
        open.then(|| u64::try_from(self.base + n * every).unwrap())
    }

    /// An interruption of five minutes, or one with a pulse before it, makes two halves.
    pub(super) fn halves(&self) -> bool {
        self.gap
            .is_some_and(|(line, _, long)| long || line == Line::Pulse)
    }

    /// No voice and no tone at all.
    pub(super) fn quiet(&self) -> bool {
        self.without_score() && self.voice_off == Some(u64::MAX)
    }

    /// Neither beat nor breath tone.
    pub(super) fn without_score(&self) -> bool {
        self.quiet_way && self.beat_off
    }

    /// Ten minutes into a move that nobody has ended the run goes on untended.
    pub(super) fn move_holds(&self, t: u64) -> bool {
        self.moving.is_some_and(|since| t < since + 600_000)
    }

    /// Circulation is lost, in whatever way it was said: the two minutes count from there. One of less
    /// than a second never was.
    fn pulse_lost(&mut self, at: u64) {
        if let Some(since) = self.pulse_since.take()
            && at.saturating_sub(since) >= 1000
        {
            (self.base, self.hr_base) = (signed(at), signed(at));
        }
    }

    fn compress(&mut self, at: u64, taken: u64, by: By) {
        if self.line == Line::Before || self.breaths_until.take().is_some() {
            (self.base, self.hr_base) = (signed(at), signed(at));
        }
        if self.check != Check::No {
            self.base = self.base.max(signed(at));
        }
        self.pulse_lost(at);
        let starts = by == By::Mechanical && (self.by == By::Manual || self.off_seat);
        self.line = if by == By::Manual {
            Line::Hand
        } else {
            Line::Device
        };
        (self.since, self.gap) = (at, None);
        (self.pack_out, self.near, self.check, self.lead_in) = (None, None, Check::No, false);
        if by == By::Manual {
            (self.cup, self.device_on) = (None, false);
        } else {
            (self.device_on, self.off_seat) = (true, false);
            if starts {
                self.cup = Some((Prompt::CupNow, taken));
            }
        }
        self.by = by;
    }

    fn off(&mut self, at: u64, reason: Reason) {
        if !matches!(self.line, Line::Off(_)) {
            (self.since, self.gap, self.check) = (at, None, Check::No);
            self.pulse_lost(at);
        }
        self.line = Line::Off(reason);
        self.off_seat |= OFF_SEAT.contains(&reason);
        if reason == Reason::RhythmCheck && self.check == Check::No {
            self.check = Check::Open;
        }
        self.lead_in = reason == Reason::DeviceFault;
        if reason == Reason::DeviceFault {
            (self.device_on, self.cup) = (false, None);
        }
        if reason == Reason::DeviceReseat {
            self.cup = None;
        }
    }

    fn rest(&mut self, line: Line, at: u64) {
        (self.line, self.since, self.gap) = (line, at, None);
        (self.check, self.moving, self.cup) = (Check::No, None, None);
        (self.pack_out, self.near, self.breaths_until) = (None, None, None);
        self.lead_in = false;
    }

    fn pulse(&mut self, at: u64) {
        self.rest(Line::Pulse, at);
        self.pulse_since.get_or_insert(at);
        (self.in_a_row, self.leads) = (0, false);
    }

    fn result(&mut self, at: u64) {
        self.near = None;
        self.results += 1;
        self.base = self.base.max(signed(at));
        self.check = if matches!(self.line, Line::Off(_)) {
            Check::Answered
        } else {
            Check::No
        };
    }

    fn recovered(&mut self, from: u64, taken: u64) {
        if !self.live() {
            return;
        }
        let long = taken - from >= 300_000;
        match &mut self.gap {
            Some(gap) if self.line == Line::Unknown => gap.2 |= long,
            _ => {
                self.gap = Some((self.line, self.since, long));
                (self.line, self.since) = (Line::Unknown, from);
            }
        }
    }

    fn mark(&mut self, setup: &Setup, at: u64, taken: u64, mark: &Mark) {
        let p = setup.protocol_of(self.class);
        match mark {
            Mark::Run(m) => self.run_mark(setup, p, at, taken, m),
            Mark::Flow(m) => self.flow_mark(at, taken, m),
            Mark::Air(m) => match m {
                AirMark::Airway {
                    act: AirwayAct::In,
                    device,
                    ..
                } => {
                    let device = device.unwrap_or(AirwayDevice::Sga);
                    (self.airway, self.mode) = (Some(device), p.mode_for(device));
                }
                AirMark::Airway {
                    act: AirwayAct::Lost,
                    ..
                } => {
                    (self.airway, self.mode) = (None, p.mask_mode);
                }
                AirMark::Airway {
                    act: AirwayAct::TryBegin,
                    ..
                } => self.named(Reason::Airway),
                AirMark::BreathMode { mode, .. } => self.mode = *mode,
                _ => {}
            },
            Mark::Check(m) => self.check_mark(p, at, taken, m),
            Mark::Device(m) => self.device_mark(p, at, taken, m),
            Mark::Care(CareMark::Drug { drug, .. }) => self.doses.push((drug.clone(), signed(at))),
            Mark::Care(CareMark::Procedure {
                act: ProcedureAct::Begin,
                what,
            }) => {
                self.named(match what {
                    ProcedureWhat::Ultrasound => Reason::Ultrasound,
                    _ => Reason::Procedure,
                });
            }
            Mark::Care(_) => {}
        }
    }

    /// What begins in a pause that nobody has named names it.
    fn named(&mut self, reason: Reason) {
        if self.line == Line::Off(Reason::Unknown) {
            self.line = Line::Off(reason);
        }
    }
}

enum Said<'a> {
    Start(Way),
    Back(u64),
    Mark(&'a Mark),
}

/// The state after a log: its marks as amended, by time and then by line.
pub(super) fn told(setup: &Setup, log: &[Entry]) -> Told {
    let mut said: Vec<(u64, u64, u64, Said<'_>)> = Vec::new();
    for e in log {
        let what = match &e.fact {
            Fact::Mark(mark) => Said::Mark(mark),
            Fact::Deed(Deed::Start { way }) => Said::Start(*way),
            Fact::Deed(Deed::Recovered { gap_from_ms, .. }) => Said::Back(gap_from_ms.0),
            Fact::Deed(_) => continue,
            Fact::Amend(amend) => {
                let of = |s: &&mut (u64, u64, u64, Said<'_>)| s.1 == amend.target.0;
                match &amend.op {
                    AmendOp::Retract => said.retain(|s| s.1 != amend.target.0),
                    AmendOp::Retime { at_ms } => {
                        said.iter_mut()
                            .find(of)
                            .into_iter()
                            .for_each(|s| s.0 = at_ms.0);
                    }
                    AmendOp::Replace { new } => {
                        said.iter_mut()
                            .find(of)
                            .into_iter()
                            .for_each(|s| s.3 = Said::Mark(new));
                    }
                    // A run takes no mark in that way.
                    AmendOp::Add { .. } | AmendOp::Confirm => {}
                }
                continue;
            }
        };
        said.push((e.at.0, e.seq.0, e.taken.0, what));
    }
    said.sort_by_key(|(at, seq, _, _)| (*at, *seq));
    let mut told = Told::new(setup);
    for (at, _, taken, what) in &said {
        match what {
            Said::Start(Way::Quiet) => {
                (told.quiet_way, told.beat_off, told.voice_off) = (true, true, Some(u64::MAX));
            }
            Said::Start(way) => told.earlier |= *way == Way::Earlier,
            Said::Back(from) => told.recovered(*from, *taken),
            Said::Mark(mark) => {
                told.mark(setup, *at, *taken, mark);
                if told.line != Line::Before {
                    told.opened.get_or_insert(*at);
                }
            }
        }
    }
    told.reason = match told.line {
        Line::Off(reason) => Some(reason),
        _ => None,
    };
    told
}
