//! What stands in that record, line by line.

use cycle::{
    Around, Colours, CueId, Entry, Fact, Levels, Look, Ms, Overlay, Prompt, Route, Seq,
    fact::{
        Amend, AmendOp, AmendReason, ByRole, CueLine, CueOutcome, Deed, DrillLine, DrillWord,
        HeldWhy, PatternWord, ScoreLine, SettingName, SoundChange, Source, Way,
    },
    mark::*,
};

pub(super) fn facts() -> Vec<Fact> {
    [
        first_lines(),
        checks(),
        device_and_air(),
        last_lines(),
        the_end(),
    ]
    .concat()
}

pub(super) fn entries() -> Vec<Entry> {
    a_second_each(facts())
}

/// A line a second; marks 85 ms after the finger went down.
pub(super) fn a_second_each(facts: Vec<Fact>) -> Vec<Entry> {
    let entry = |(n, fact): (u64, Fact)| {
        let back = match &fact {
            Fact::Mark(Mark::Flow(FlowMark::StateSet { .. })) => 60_000,
            Fact::Mark(Mark::Run(RunMark::End { .. })) => 1500,
            Fact::Mark(_) => 85,
            Fact::Amend(_) | Fact::Deed(_) => 0,
        };
        let src = match &fact {
            Fact::Amend(amend)
                if amend.by_role.is_some() || amend.reason == AmendReason::Duplicate =>
            {
                Source::Review
            }
            Fact::Mark(_) | Fact::Amend(_) => Source::Button,
            Fact::Deed(_) => Source::Auto,
        };
        Entry {
            seq: Seq(n + 2),
            at: Ms(n * 1000 - back),
            taken: Ms(n * 1000),
            src,
            fact,
        }
    };
    (0..).zip(facts).map(entry).collect()
}

const LOW: Levels = Levels {
    beat_db: 6,
    breath_db: 12,
    voice_db: 18,
};

fn held(cue: u32, prompt: Prompt, why: HeldWhy) -> Fact {
    told(cue, prompt, (CueOutcome::Held, why))
}

fn told(cue: u32, prompt: Prompt, (outcome, why): (CueOutcome, HeldWhy)) -> Fact {
    Fact::Deed(Deed::Cue(CueLine {
        cue: CueId(cue),
        kind: "voice".to_owned(),
        id: Some(prompt),
        due_ms: Ms(5000),
        start_ms: Ms(5000),
        len_ms: 900,
        outcome,
        why: Some(why),
    }))
}

fn amend(target: u64, op: AmendOp, reason: AmendReason) -> Fact {
    Fact::Amend(Amend {
        target: Seq(target),
        op,
        reason,
        by_role: None,
    })
}

/// The line of the amendment that retracts line 22.
pub(super) const RETRACTS_22: u64 = 64;

fn reviewed(target: u64, op: AmendOp) -> Fact {
    Fact::Amend(Amend {
        by_role: Some(ByRole::Reviewer),
        ..Amend::of(Seq(target), op, AmendReason::CrewRecall)
    })
}

fn first_lines() -> Vec<Fact> {
    let run = |mark| Fact::Mark(Mark::Run(mark));
    let dose = |drug: &str, n, last_min| PriorDose {
        drug: drug.to_owned(),
        n,
        last_min,
    };
    vec![
        Fact::Deed(Deed::Start { way: Way::Earlier }),
        run(RunMark::Arrest {
            basis: Some(ArrestBasis::Witnessed),
        }),
        Fact::Mark(Mark::Flow(FlowMark::ComprStart {
            by: By::Mechanical,
            mech_kind: Some(MechKind::PistonArm),
            basis: Some(StartBasis::ConfirmedRunning),
        })),
        Fact::Deed(Deed::Score(ScoreLine {
            pattern: PatternWord::Ratio,
            per_minute: 110,
            beats: 30,
            window_ms: 4000,
            breaths: 2,
            breath_ms: 0,
            quiet_ddb: 0,
            anchor_ms: Ms(300),
            lead: 0,
            from_ms: Ms(200),
            breath_from_ms: Ms(0),
        })),
        run(RunMark::PriorCare(PriorCare {
            cpr: Some(PriorCpr::Bystander),
            began_min: Some(6),
            aed: Some(PriorAed::Shocked),
            shocks: Some(1),
            doses: vec![
                dose("adrenaline", 1, Some(2)),
                dose("antiarrhythmic", 0, None),
            ],
            airway: Some(AirwayDevice::Opa),
            by: Some(By::Manual),
        })),
        run(RunMark::Patient {
            class: PatientClass::Adult,
            rescuers: Some(2),
        }),
        run(RunMark::Overlay {
            kind: Overlay::Cold,
            on: true,
            temp_band: Some(TempBand::From30To35),
        }),
        run(RunMark::Leads { on: true }),
        held(1, Prompt::ChkNow, HeldWhy::Led),
        held(2, Prompt::DrugDue, HeldWhy::Merged),
        held(3, Prompt::CupNow, HeldWhy::Quiet),
        held(4, Prompt::Causes, HeldWhy::Screen),
        run(RunMark::Ack {
            task: Task::StillOff,
        }),
        run(RunMark::Times {
            which: TimesWhich::AlsArrival,
        }),
        run(RunMark::Decision {
            what: DecisionWhat::EcprCall,
            answer: Some("declined".to_owned()),
        }),
        run(RunMark::ClockMark {
            clock: ClockRef::Dispatch,
            shown: "08:31:05".to_owned(),
            precision_s: Some(1),
        }),
        run(RunMark::Note {
            code: "wet_floor_2".to_owned(),
        }),
        run(RunMark::Resume {
            choice: Resume::SamePatient,
        }),
        run(RunMark::Sound {
            what: SoundAct::VoiceOff2Min,
            levels: None,
            preset: None,
        }),
        Fact::Deed(Deed::Sound {
            what: SoundChange::Route,
        }),
        run(RunMark::Flag {}),
    ]
}

fn checks() -> Vec<Fact> {
    let flow = |mark| Fact::Mark(Mark::Flow(mark));
    let check = |mark| Fact::Mark(Mark::Check(mark));
    vec![
        flow(FlowMark::ComprStop {
            reason: Reason::RhythmCheck,
        }),
        flow(FlowMark::Why {
            reason: Reason::PulseCheck,
        }),
        flow(FlowMark::PulseCheck {
            result: Some(Pulse::Unclear),
        }),
        check(CheckMark::Pads {
            connected: true,
            position: Some(PadPosition::SecondSet),
        }),
        check(CheckMark::Charge {
            act: ChargeAct::Begun,
        }),
        check(CheckMark::Analysing {}),
        check(CheckMark::Rhythm {
            rhythm: RhythmSeen::Vf,
            first: Some(true),
        }),
        check(CheckMark::Shock {
            timed: true,
            by: GivenBy::Us,
            through: true,
            stacked: true,
            mode: Some(ShockMode::Manual),
            energy_j: Some(200),
        }),
        check(CheckMark::NoShock {}),
        check(CheckMark::HeartRate {
            band: HeartRate::Below60,
        }),
        flow(FlowMark::Rotate {}),
    ]
}

fn device_and_air() -> Vec<Fact> {
    let device = |mark| Fact::Mark(Mark::Device(mark));
    let air = |mark| Fact::Mark(Mark::Air(mark));
    vec![
        device(DeviceMark::Fit {
            step: "open_on".to_owned(),
            mode: Some(BreathMode::Continuous),
            reason: Some("transport".to_owned()),
        }),
        device(DeviceMark::FitRefused {
            reason: "too_small".to_owned(),
        }),
        device(DeviceMark::Cup {
            act: CupAct::Good,
            why: Some(CupWhy::Start),
        }),
        device(DeviceMark::Move {
            act: MoveAct::Begin,
            stage: Some(Stage::Stairs),
        }),
        device(DeviceMark::Power {
            act: PowerAct::SwapEnd,
            full: Some(true),
        }),
        device(DeviceMark::Power {
            act: PowerAct::Full,
            full: None,
        }),
        air(AirMark::Airway {
            act: AirwayAct::TryEnd,
            device: Some(AirwayDevice::Sga),
            attempt: Some(2),
            success: Some(true),
            technique: Some("first_pass".to_owned()),
        }),
        air(AirMark::AirwayConfirm {
            method: ConfirmBy::Waveform,
        }),
        air(AirMark::BreathMode {
            mode: BreathMode::Continuous,
            ratio: None,
            every_ms: Some(6000),
            via: Some(Via::Sga),
        }),
        air(AirMark::BreathMode {
            mode: BreathMode::Ratio,
            ratio: Some(Ratio::FifteenTwo),
            every_ms: None,
            via: None,
        }),
        air(AirMark::Vent {
            n: 2,
            via: Some(Via::Mask),
        }),
        air(AirMark::Etco2 {
            value: "3.5".to_owned(),
            unit: "kPa".to_owned(),
        }),
    ]
}

/// How loud it is, then the end.
fn the_end() -> Vec<Fact> {
    let run = |mark| Fact::Mark(Mark::Run(mark));
    let flow = |mark| Fact::Mark(Mark::Flow(mark));
    vec![
        run(RunMark::Sound {
            what: SoundAct::Level,
            levels: Some(LOW),
            preset: None,
        }),
        run(RunMark::Sound {
            what: SoundAct::Preset,
            levels: Some(Levels::default()),
            preset: Some(Preset::Vehicle),
        }),
        Fact::Deed(Deed::Setting {
            name: SettingName::Levels,
            value: LOW,
        }),
        around(Around::Call { on: true }),
        around(Around::Taken { on: true }),
        around(Around::Route {
            to: Route::Wireless,
        }),
        around(Around::Volume { pct: 40 }),
        around(Around::Silent { on: false }),
        around(Around::Saving { on: false }),
        around(Around::Held { on: false }),
        around(Around::Lit { on: false }),
        around(Around::Locked { on: false }),
        around(Around::Front { on: false }),
        around(Around::Page { on: false }),
        drill(DrillLine {
            seed: Some(7),
            ..DrillLine::of(DrillWord::Begun)
        }),
        drill(DrillLine {
            id: Some("at_side".to_owned()),
            ..DrillLine::of(DrillWord::Cue)
        }),
        drill(DrillLine {
            id: Some("roles".to_owned()),
            ..DrillLine::of(DrillWord::Ticked)
        }),
        drill(DrillLine {
            id: Some("roles".to_owned()),
            ..DrillLine::of(DrillWord::Unticked)
        }),
        drill(DrillLine {
            seed: Some(7),
            crew: Some("B".to_owned()),
            ..DrillLine::of(DrillWord::Begun)
        }),
        drill(DrillLine {
            id: Some("noise".to_owned()),
            ..DrillLine::of(DrillWord::Injected)
        }),
        drill(DrillLine::of(DrillWord::NoiseOn)),
        drill(DrillLine::of(DrillWord::NoiseOff)),
        drill(DrillLine::of(DrillWord::Stopped)),
        told(5, Prompt::DevStop, (CueOutcome::Cut, HeldWhy::NoSound)),
        drill(DrillLine {
            of: Some("0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1f".to_owned()),
            from_ms: Some(Ms(50_000)),
            ..DrillLine::of(DrillWord::Again)
        }),
        Fact::Deed(Deed::Screen(Look {
            colours: Colours::Glare,
            by_light: true,
            covered: false,
        })),
        Fact::Deed(Deed::Screen(Look {
            colours: Colours::Night,
            by_light: false,
            covered: true,
        })),
        flow(FlowMark::StateSet {
            state: SetState::HandsOff,
        }),
        Fact::Mark(Mark::Run(RunMark::End {
            outcome: Outcome::Stopped,
            reason: Some("local_rule_3".to_owned()),
        })),
    ]
}

fn last_lines() -> Vec<Fact> {
    let flow = |mark| Fact::Mark(Mark::Flow(mark));
    let care = |mark| Fact::Mark(Mark::Care(mark));
    vec![
        care(CareMark::Drug {
            drug: "adrenaline".to_owned(),
            dose: Some("0.5".to_owned()),
            unit: Some("mg".to_owned()),
            route: Some("io".to_owned()),
            prior: true,
            by_other_unit: true,
        }),
        care(CareMark::Access {
            kind: "io".to_owned(),
            site: Some("tibia_left".to_owned()),
            attempt: Some(1),
            success: Some(true),
        }),
        care(CareMark::Procedure {
            act: ProcedureAct::Begin,
            what: ProcedureWhat::Ultrasound,
        }),
        care(CareMark::Awake { on: true }),
        flow(FlowMark::Rosc {}),
        flow(FlowMark::Rearrest { by: By::Mechanical }),
        Fact::Deed(Deed::Count {
            beats: 110,
            frames: 2_880_000,
            underruns: 0,
        }),
        Fact::Deed(Deed::Ignored {
            kind: "compr_stop".to_owned(),
            why: "hands are off already: why gives the reason".to_owned(),
        }),
        Fact::Deed(Deed::CheckUnmarked { due_ms: Ms(20_000) }),
        Fact::Deed(Deed::Gap { ms: 2500 }),
        Fact::Deed(Deed::Recovered {
            gap_from_seq: Seq(55),
            gap_from_ms: Ms(54_000),
            bad_bytes: 0,
        }),
        Fact::Deed(Deed::TouchIgnored {
            n: 3,
            why: "burst".to_owned(),
        }),
        Fact::Deed(Deed::Fault {
            place: "rules".to_owned(),
            what: "an invented fault".to_owned(),
        }),
        Fact::Deed(Deed::Heartbeat {}),
        Fact::Deed(Deed::WallJump { delta_ms: -1500 }),
        Fact::Deed(Deed::Phone {
            battery_pct: 12,
            low: true,
        }),
        amend(
            23,
            AmendOp::Replace {
                new: Mark::Flow(FlowMark::ComprStop {
                    reason: Reason::Airway,
                }),
            },
            AmendReason::MisTap,
        ),
        amend(
            23,
            AmendOp::Retime { at_ms: Ms(20_500) },
            AmendReason::CrewRecall,
        ),
        amend(22, AmendOp::Retract, AmendReason::Duplicate),
        reviewed(
            0,
            AmendOp::Add {
                at_ms: Ms(5000),
                new: Mark::Run(RunMark::Note {
                    code: "bag_changed".to_owned(),
                }),
            },
        ),
        reviewed(23, AmendOp::Confirm),
        reviewed(RETRACTS_22, AmendOp::Retract),
        Fact::Amend(Amend {
            by_role: Some(ByRole::Reviewer),
            ..Amend::of(Seq(23), AmendOp::Confirm, AmendReason::NotStated)
        }),
        Fact::Deed(Deed::TouchIgnored {
            n: 1,
            why: "held".to_owned(),
        }),
    ]
}

fn drill(line: DrillLine) -> Fact {
    Fact::Deed(Deed::Drill(line))
}

fn around(change: Around) -> Fact {
    Fact::Deed(Deed::Around(change))
}
