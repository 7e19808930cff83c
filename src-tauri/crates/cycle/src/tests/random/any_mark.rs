//! Any mark of the record, with any fields.

use super::dice::Dice;
use crate::{
    Levels, Overlay,
    mark::{
        AirMark, AirwayAct, AirwayDevice, ArrestBasis, BreathMode, By, CareMark, ChargeAct,
        CheckMark, ClockRef, ConfirmBy, CupAct, CupWhy, DecisionWhat, DeviceMark, FlowMark,
        GivenBy, HeartRate, Mark, MechKind, MoveAct, Outcome, PadPosition, PatientClass, PowerAct,
        Preset, PriorAed, PriorCare, PriorCpr, PriorDose, ProcedureAct, ProcedureWhat, Pulse,
        Ratio, Reason, Resume, RhythmSeen, RunMark, SetState, ShockMode, SoundAct, Stage,
        StartBasis, Task, TempBand, TimesWhich, Via, kinds,
    },
};
use alloc::{string::ToString, vec::Vec};

pub(super) fn all_kinds() -> Vec<&'static str> {
    kinds::all().collect()
}

pub(super) fn any_mark(kind: &str, d: &mut Dice) -> Mark {
    if kinds::RUN.contains(&kind) {
        Mark::Run(run(kind, d))
    } else if kinds::FLOW.contains(&kind) {
        Mark::Flow(flow(kind, d))
    } else if kinds::AIR.contains(&kind) {
        Mark::Air(air(kind, d))
    } else if kinds::CHECK.contains(&kind) {
        Mark::Check(check(kind, d))
    } else if kinds::DEVICE.contains(&kind) {
        Mark::Device(device(kind, d))
    } else {
        Mark::Care(care(kind, d))
    }
}

fn prior_care(d: &mut Dice) -> PriorCare {
    let doses = if d.percent(50) {
        [PriorDose {
            drug: d.of(&["adrenaline", "antiarrhythmic"]).to_string(),
            n: d.of(&[0, 1, 2]),
            last_min: d.maybe(&[0, 1, 4, 12]),
        }]
        .to_vec()
    } else {
        Vec::new()
    };
    PriorCare {
        cpr: d.maybe(PriorCpr::ALL),
        began_min: d.maybe(&[0, 3, 9, 19]),
        aed: d.maybe(PriorAed::ALL),
        shocks: d.maybe(&[0, 1, 2, 3]),
        doses,
        airway: if d.percent(25) {
            d.maybe(AirwayDevice::ALL)
        } else {
            None
        },
        by: d.maybe(By::ALL),
    }
}

fn run(kind: &str, d: &mut Dice) -> RunMark {
    match kind {
        "arrest" => RunMark::Arrest {
            basis: d.maybe(ArrestBasis::ALL),
        },
        "prior_care" => RunMark::PriorCare(prior_care(d)),
        "patient" => RunMark::Patient {
            class: d.of(PatientClass::ALL),
            rescuers: d.maybe(&[1, 2]),
        },
        "overlay" => RunMark::Overlay {
            kind: d.of(Overlay::ALL),
            on: d.percent(70),
            temp_band: d.maybe(TempBand::ALL),
        },
        "leads" => RunMark::Leads { on: d.percent(40) },
        "ack" => RunMark::Ack {
            task: d.of(Task::ALL),
        },
        "times" => RunMark::Times {
            which: d.of(TimesWhich::ALL),
        },
        "decision" => RunMark::Decision {
            what: d.of(DecisionWhat::ALL),
            answer: d.maybe(&["yes".to_string()]),
        },
        "clock_mark" => RunMark::ClockMark {
            clock: d.of(ClockRef::ALL),
            shown: "12:34:56".to_string(),
            precision_s: d.maybe(&[1, 60]),
        },
        "note" => RunMark::Note {
            code: "family_present".to_string(),
        },
        "resume" => RunMark::Resume {
            choice: d.of(Resume::ALL),
        },
        "sound" => sound(d),
        "flag" => RunMark::Flag {},
        _ => RunMark::End {
            outcome: d.of(Outcome::ALL),
            reason: None,
        },
    }
}

fn sound(d: &mut Dice) -> RunMark {
    let what = d.of(&[
        SoundAct::VoiceOff,
        SoundAct::VoiceOff2Min,
        SoundAct::VoiceOn,
        SoundAct::VoiceOn,
        SoundAct::VoiceOn,
        SoundAct::BeatOff,
        SoundAct::BeatOn,
        SoundAct::Level,
        SoundAct::Preset,
    ]);
    let preset = (what == SoundAct::Preset).then(|| d.of(Preset::ALL));
    let level = (what == SoundAct::Level).then(|| Levels {
        beat_db: d.of(&[0, 3, 24]),
        breath_db: d.of(&[0, 6]),
        voice_db: d.of(&[0, 12]),
    });
    RunMark::Sound {
        what,
        levels: level.or_else(|| preset.map(Preset::levels)),
        preset,
    }
}

fn flow(kind: &str, d: &mut Dice) -> FlowMark {
    match kind {
        "compr_start" => FlowMark::ComprStart {
            by: d.of(By::ALL),
            mech_kind: d.maybe(MechKind::ALL),
            basis: d.maybe(StartBasis::ALL),
        },
        "compr_stop" => FlowMark::ComprStop {
            reason: d.of(Reason::ALL),
        },
        "why" => FlowMark::Why {
            reason: d.of(Reason::ALL),
        },
        "state_set" => FlowMark::StateSet {
            state: d.of(SetState::ALL),
        },
        "rotate" => FlowMark::Rotate {},
        "pulse_check" => FlowMark::PulseCheck {
            result: d.maybe(Pulse::ALL),
        },
        "rosc" => FlowMark::Rosc {},
        _ => FlowMark::Rearrest { by: d.of(By::ALL) },
    }
}

fn air(kind: &str, d: &mut Dice) -> AirMark {
    match kind {
        "airway" => AirMark::Airway {
            act: d.of(AirwayAct::ALL),
            device: d.maybe(AirwayDevice::ALL),
            attempt: d.maybe(&[1, 2, 3]),
            success: d.maybe(&[true, false]),
            technique: None,
        },
        "airway_confirm" => AirMark::AirwayConfirm {
            method: d.of(ConfirmBy::ALL),
        },
        "breath_mode" => AirMark::BreathMode {
            mode: d.of(BreathMode::ALL),
            ratio: d.maybe(Ratio::ALL),
            every_ms: d.maybe(&[6000]),
            via: d.maybe(Via::ALL),
        },
        "vent" => AirMark::Vent {
            n: d.of(&[1, 2, 5]),
            via: d.maybe(Via::ALL),
        },
        _ => AirMark::Etco2 {
            value: d.of(&["18", "24.5", "45", "4.1"]).to_string(),
            unit: d.of(&["mmHg", "mmHg", "kPa"]).to_string(),
        },
    }
}

fn check(kind: &str, d: &mut Dice) -> CheckMark {
    match kind {
        "pads" => CheckMark::Pads {
            connected: d.percent(85),
            position: d.maybe(PadPosition::ALL),
        },
        "charge" => CheckMark::Charge {
            act: d.of(ChargeAct::ALL),
        },
        "analysing" => CheckMark::Analysing {},
        "rhythm" => CheckMark::Rhythm {
            rhythm: d.of(RhythmSeen::ALL),
            first: d.maybe(&[true, false]),
        },
        "shock" => CheckMark::Shock {
            timed: d.percent(50),
            by: d.of(GivenBy::ALL),
            through: d.percent(20),
            stacked: d.percent(20),
            mode: d.maybe(ShockMode::ALL),
            energy_j: d.maybe(&[150, 200, 360]),
        },
        "no_shock" => CheckMark::NoShock {},
        _ => CheckMark::HeartRate {
            band: d.of(HeartRate::ALL),
        },
    }
}

fn device(kind: &str, d: &mut Dice) -> DeviceMark {
    match kind {
        "fit" => DeviceMark::Fit {
            step: d.of(&["open_on", "under", "over", "running"]).to_string(),
            mode: d.maybe(BreathMode::ALL),
            reason: d.maybe(&["transport".to_string(), "long".to_string()]),
        },
        "fit_refused" => DeviceMark::FitRefused {
            reason: d
                .of(&["too_small", "too_large", "local_list", "other"])
                .to_string(),
        },
        "cup" => DeviceMark::Cup {
            act: d.of(CupAct::ALL),
            why: d.maybe(CupWhy::ALL),
        },
        "move" => DeviceMark::Move {
            act: d.of(MoveAct::ALL),
            stage: d.maybe(Stage::ALL),
        },
        _ => DeviceMark::Power {
            act: d.of(PowerAct::ALL),
            full: d.maybe(&[true, false]),
        },
    }
}

fn care(kind: &str, d: &mut Dice) -> CareMark {
    match kind {
        "drug" => CareMark::Drug {
            drug: d
                .of(&["adrenaline", "adrenaline", "antiarrhythmic", "saline"])
                .to_string(),
            dose: d.maybe(&["1".to_string()]),
            unit: d.maybe(&["mg".to_string()]),
            route: d.maybe(&["iv".to_string(), "io".to_string()]),
            prior: d.percent(10),
            by_other_unit: d.percent(10),
        },
        "access" => CareMark::Access {
            kind: d.of(&["iv", "io"]).to_string(),
            site: None,
            attempt: d.maybe(&[1, 2]),
            success: d.maybe(&[true, false]),
        },
        "procedure" => CareMark::Procedure {
            act: d.of(ProcedureAct::ALL),
            what: d.of(ProcedureWhat::ALL),
        },
        _ => CareMark::Awake { on: d.percent(40) },
    }
}
