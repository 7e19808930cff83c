//! What the crew is said to be doing: a fold over the marks as amended, and nothing else.

use beat::Placed;

use crate::{
    Ms,
    fact::Way,
    mark::{
        AirMark, AirwayAct, AirwayDevice, BreathMode, By, ChargeAct, CheckMark, CupAct, DeviceMark,
        FlowMark, Mark, MoveAct, Outcome, PowerAct, Reason, RhythmSeen, RunMark, SetState,
        SoundAct,
    },
    placing::{BEAT_OFF_DDB, silent, unbroken},
    prompts::Prompt,
    protocol::Protocol,
};

/// The state line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Line {
    /// No run.
    Before,
    Compressing(By),
    HandsOff(Reason),
    Pulse,
    Unknown,
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

/// When a mark happened and when it was taken.
#[derive(Clone, Copy, Debug)]
pub(crate) struct When {
    pub(crate) at: Ms,
    pub(crate) taken: Ms,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct State {
    pub(crate) way: Option<Way>,
    pub(crate) line: Line,
    pub(crate) since: Ms,
    /// What made the last compressions.
    pub(crate) by: By,
    pub(crate) device: Device,
    pub(crate) airway: Option<AirwayDevice>,
    pub(crate) mode: BreathMode,
    /// What the two minutes count from.
    pub(crate) check_base: Ms,
    pub(crate) check: CheckPause,
    pub(crate) moving: Option<Ms>,
    pub(crate) cup: Option<Asked>,
    pub(crate) pack_out: Option<PackOut>,
    /// Charged or shockable since.
    pub(crate) shock_near: Option<Ms>,
    pub(crate) shocks: u16,
    pub(crate) voice_off: bool,
    pub(crate) beat_off: bool,
    /// The latest spoken answer to a touch.
    pub(crate) answer: Option<Asked>,
    /// The line before a gap in the record, and since when.
    pub(crate) before_gap: Option<(Line, Ms)>,
    pub(crate) outcome: Option<Outcome>,
    /// What should sound, as the marks have it.
    pub(crate) score: Placed,
}

impl State {
    pub(crate) fn new(protocol: &Protocol) -> Self {
        Self {
            way: None,
            line: Line::Before,
            since: Ms::ZERO,
            by: By::Manual,
            device: Device::Away,
            airway: None,
            mode: BreathMode::Ratio,
            check_base: Ms::ZERO,
            check: CheckPause::None,
            moving: None,
            cup: None,
            pack_out: None,
            shock_near: None,
            shocks: 0,
            voice_off: false,
            beat_off: false,
            answer: None,
            before_gap: None,
            outcome: None,
            score: silent(
                protocol.rate,
                0,
                When {
                    at: Ms::ZERO,
                    taken: Ms::ZERO,
                },
            ),
        }
    }

    pub(crate) fn is_live(&self) -> bool {
        !matches!(self.line, Line::Before | Line::Ended)
    }

    /// The state line, or what it was before a gap that nobody has answered for.
    pub(crate) fn known_line(&self) -> Line {
        let before = self.before_gap.map(|(line, _)| line);
        before
            .filter(|_| self.line == Line::Unknown)
            .unwrap_or(self.line)
    }

    /// The score to sound: the marks' own, without its beats where the crew switched them off.
    pub(crate) fn wanted_score(&self) -> Placed {
        let mut placed = self.score;
        if self.beat_off {
            placed.score.quiet_ddb = BEAT_OFF_DDB;
        }
        placed
    }

    pub(crate) fn started(&mut self, way: Way) {
        self.way = Some(way);
    }

    /// The app came back: what lies between is not known, and what sounded sounds on.
    pub(crate) fn recovered(&mut self, from: Ms) {
        if self.is_live() {
            // A second kill does not move the first gap.
            if self.line != Line::Unknown {
                self.before_gap.get_or_insert((self.line, self.since));
                (self.line, self.since) = (Line::Unknown, from);
            }
        }
    }

    pub(crate) fn mark(&mut self, p: &Protocol, when: When, mark: &Mark) {
        match mark {
            Mark::Run(mark) => self.run_mark(p, when, mark),
            Mark::Flow(mark) => self.flow_mark(p, when, mark),
            Mark::Air(mark) => self.air_mark(p, when, mark),
            Mark::Check(mark) => self.check_mark(when, mark),
            Mark::Device(mark) => self.device_mark(p, when, mark),
            Mark::Care(_) => {}
        }
    }

    fn run_mark(&mut self, p: &Protocol, when: When, mark: &RunMark) {
        match mark {
            RunMark::Arrest { .. } | RunMark::Patient { .. } | RunMark::Flag {} => {}
            RunMark::Resume { .. } => {
                if let Some((line, since)) = self.before_gap.take() {
                    (self.line, self.since) = (line, since);
                }
            }
            RunMark::Sound { what } => match what {
                SoundAct::VoiceOff => self.voice_off = true,
                SoundAct::VoiceOn => self.voice_off = false,
                SoundAct::BeatOff => self.beat_off = true,
                SoundAct::BeatOn => self.beat_off = false,
            },
            RunMark::End { outcome, .. } => {
                self.outcome = Some(*outcome);
                self.set_line(Line::Ended, when);
                self.rest(p, when);
            }
        }
    }

    fn flow_mark(&mut self, p: &Protocol, when: When, mark: &FlowMark) {
        match mark {
            FlowMark::ComprStart { by, .. } => self.compress(p, when, *by),
            FlowMark::ComprStop { reason } => self.hands_off(p, when, *reason),
            FlowMark::Why { reason } => {
                self.line = Line::HandsOff(*reason);
                self.check = match reason {
                    Reason::RhythmCheck if self.check == CheckPause::None => CheckPause::Open,
                    Reason::RhythmCheck => self.check,
                    Reason::PulseCheck
                    | Reason::Shock
                    | Reason::Ventilation
                    | Reason::Airway
                    | Reason::Access
                    | Reason::Ultrasound
                    | Reason::Procedure
                    | Reason::DeviceFit
                    | Reason::DeviceReseat
                    | Reason::DeviceOff
                    | Reason::DeviceFault
                    | Reason::Power
                    | Reason::Move
                    | Reason::Rotate
                    | Reason::Rosc
                    | Reason::StopCare
                    | Reason::Unknown => CheckPause::None,
                };
            }
            FlowMark::StateSet { state } => match state {
                SetState::Manual => self.compress(p, when, By::Manual),
                SetState::Mechanical => self.compress(p, when, By::Mechanical),
                SetState::HandsOff => self.hands_off(p, when, Reason::Unknown),
                SetState::Pulse => self.pulse(p, when),
                SetState::Unknown => self.set_line(Line::Unknown, when),
            },
            FlowMark::Rotate {} | FlowMark::PulseCheck { .. } => {}
            FlowMark::Rosc {} => self.pulse(p, when),
            FlowMark::Rearrest { by } => {
                self.check_base = when.at;
                self.compress(p, when, *by);
            }
        }
    }

    fn air_mark(&mut self, p: &Protocol, when: When, mark: &AirMark) {
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
                self.set_mode(p, when, BreathMode::Ratio);
            }
            AirMark::BreathMode { mode, .. } => self.set_mode(p, when, *mode),
            AirMark::Airway {
                act: AirwayAct::TryBegin | AirwayAct::TryEnd,
                ..
            }
            | AirMark::Vent { .. }
            | AirMark::Etco2 { .. } => {}
        }
    }

    fn check_mark(&mut self, when: When, mark: &CheckMark) {
        let hands_off = matches!(self.line, Line::HandsOff(_));
        match mark {
            CheckMark::Charge {
                act: ChargeAct::Begun,
            } => self.shock_near = Some(when.at),
            CheckMark::Charge {
                act: ChargeAct::Dumped,
            } => self.shock_near = None,
            CheckMark::Rhythm { rhythm, .. } => match rhythm {
                RhythmSeen::Vf | RhythmSeen::Pvt | RhythmSeen::Shockable | RhythmSeen::AedShock => {
                    self.shock_near = Some(when.at);
                }
                RhythmSeen::Pea
                | RhythmSeen::Asystole
                | RhythmSeen::Organised
                | RhythmSeen::NotShockable
                | RhythmSeen::AedNoShock
                | RhythmSeen::Unknown => {}
            },
            CheckMark::Analysing {} if hands_off => self.check = CheckPause::Open,
            CheckMark::Pads { .. } | CheckMark::Analysing {} => {}
            CheckMark::Shock { .. } | CheckMark::NoShock {} => {
                if matches!(mark, CheckMark::Shock { .. }) {
                    self.shocks = self.shocks.saturating_add(1);
                }
                self.shock_near = None;
                // With compressions running, the result itself ends the check.
                self.check_base = self.check_base.max(when.at);
                self.check = if hands_off {
                    CheckPause::Answered
                } else {
                    CheckPause::None
                };
            }
        }
    }

    fn device_mark(&mut self, p: &Protocol, when: When, mark: &DeviceMark) {
        match mark {
            DeviceMark::Fit { .. } => {
                if self.device != Device::On {
                    self.device = Device::Beside;
                }
            }
            DeviceMark::FitRefused { .. } => self.device = Device::Away,
            DeviceMark::Cup {
                act: CupAct::Good | CupAct::Reseat,
                ..
            } => self.cup = None,
            DeviceMark::Move {
                act: MoveAct::Begin,
                ..
            } => self.moving = Some(when.at),
            DeviceMark::Move {
                act: MoveAct::SetDown | MoveAct::Loaded,
                ..
            } => {
                self.moving = None;
                if self.device == Device::On {
                    self.ask_cup(Prompt::CupDown, when);
                }
            }
            DeviceMark::Power { act, .. } => self.power_mark(p, when, *act),
        }
    }

    fn power_mark(&mut self, p: &Protocol, when: When, act: PowerAct) {
        match act {
            PowerAct::SwapBegin => {
                self.hands_off(p, when, Reason::Power);
                self.pack_out = Some(PackOut {
                    since: when.at,
                    over: false,
                });
            }
            PowerAct::SwapEnd => match self.pack_out {
                Some(out) if when.at.since(out.since) <= p.swap_window => {
                    self.compress(p, when, By::Mechanical);
                }
                Some(out) => {
                    self.pack_out = Some(PackOut { over: true, ..out });
                    self.answer = Some(Asked {
                        prompt: Prompt::PowerOver,
                        due: when.taken,
                    });
                }
                None => {}
            },
            PowerAct::MainsOn | PowerAct::MainsOff => {}
        }
    }

    fn set_line(&mut self, line: Line, when: When) {
        (self.line, self.since) = (line, when.at);
        self.before_gap = None;
    }

    fn compress(&mut self, p: &Protocol, when: When, by: By) {
        if self.line == Line::Before {
            self.check_base = when.at;
        }
        let before = self.known_line();
        if self.check != CheckPause::None {
            self.check_base = self.check_base.max(when.at);
        }
        let seated_anew = matches!(
            before,
            Line::HandsOff(
                Reason::DeviceFit
                    | Reason::DeviceReseat
                    | Reason::DeviceFault
                    | Reason::DeviceOff
                    | Reason::Power
            )
        );
        let device_start = by == By::Mechanical && (self.by != By::Mechanical || seated_anew);
        self.set_line(Line::Compressing(by), when);
        (self.pack_out, self.shock_near, self.check) = (None, None, CheckPause::None);
        match by {
            By::Manual => {
                self.cup = None;
                if self.device == Device::On {
                    self.device = Device::Beside;
                }
                // After a gap the beat goes on where it is.
                if before != Line::Compressing(By::Manual) {
                    self.score = self.by_hand(p, when, before);
                }
            }
            By::Mechanical => {
                self.device = Device::On;
                if device_start {
                    self.ask_cup(Prompt::CupNow, when);
                }
                self.score = silent(p.rate, self.breath_ms(p), when);
            }
        }
        self.by = by;
    }

    fn hands_off(&mut self, p: &Protocol, when: When, reason: Reason) {
        if matches!(self.line, Line::HandsOff(_)) {
            // The clock goes on: hands have been off all along.
            self.line = Line::HandsOff(reason);
        } else {
            self.set_line(Line::HandsOff(reason), when);
            self.check = CheckPause::None;
        }
        if reason == Reason::RhythmCheck && self.check == CheckPause::None {
            self.check = CheckPause::Open;
        }
        self.score = silent(p.rate, 0, when);
        match reason {
            Reason::DeviceFault => {
                self.device = Device::OutOfUse;
                self.cup = None;
                self.answer = Some(Asked {
                    prompt: Prompt::DevStop,
                    due: when.taken,
                });
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

    fn pulse(&mut self, p: &Protocol, when: When) {
        self.set_line(Line::Pulse, when);
        self.rest(p, when);
    }

    fn rest(&mut self, p: &Protocol, when: When) {
        (self.check, self.moving) = (CheckPause::None, None);
        (self.cup, self.pack_out, self.shock_near) = (None, None, None);
        self.score = silent(p.rate, 0, when);
    }

    fn ask_cup(&mut self, prompt: Prompt, when: When) {
        self.cup = Some(Asked {
            prompt,
            due: when.taken,
        });
    }

    pub(crate) fn breath_ms(&self, p: &Protocol) -> u32 {
        match self.mode {
            BreathMode::Continuous => u32::try_from(p.breath_every.0).unwrap_or(0),
            BreathMode::Ratio | BreathMode::None => 0,
        }
    }

    fn set_mode(&mut self, p: &Protocol, when: When, mode: BreathMode) {
        let before = self.mode;
        self.mode = mode;
        if before == mode {
            return;
        }
        match self.known_line() {
            Line::Compressing(By::Manual) => self.score = self.other_mode(p, when),
            Line::Compressing(By::Mechanical) => {
                self.score = silent(p.rate, self.breath_ms(p), when);
                let prompt = match mode {
                    BreathMode::Continuous => Some(Prompt::DevCont),
                    BreathMode::Ratio => Some(Prompt::DevRatio),
                    BreathMode::None => None,
                };
                self.answer = prompt.map(|prompt| Asked {
                    prompt,
                    due: when.taken,
                });
            }
            Line::Before | Line::HandsOff(_) | Line::Pulse | Line::Unknown | Line::Ended => {}
        }
    }
}
