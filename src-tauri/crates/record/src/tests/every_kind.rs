//! The newest record that another program wrote: every kind, with every field.

use std::collections::BTreeSet;

use cycle::{
    Around, Colours, CueId, Entry, Fact, Levels, Look, Ms, Overlay, Prompt, Route, Seq,
    fact::{
        Amend, AmendOp, AmendReason, ByRole, CueLine, CueOutcome, Deed, DrillLine, DrillWord,
        HeldWhy, PatternWord, ScoreLine, SettingName, SoundChange, Source, Way,
    },
    mark::*,
};
use serde_json::{Value, json};

use super::files::{V1_1, V1_2, V1_3, V1_4, V1_5, V1_6, V1_7, all_kinds};
use crate::{
    amended, open,
    script::{Script, from_record},
};

const LOW: Levels = Levels {
    beat_db: 6,
    breath_db: 12,
    voice_db: 18,
};

fn held(cue: u32, prompt: Prompt, why: HeldWhy) -> Fact {
    Fact::Deed(Deed::Cue(CueLine {
        cue: CueId(cue),
        kind: "voice".to_owned(),
        id: Some(prompt),
        due_ms: Ms(5000),
        start_ms: Ms(5000),
        len_ms: 900,
        outcome: CueOutcome::Held,
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
const RETRACTS_22: u64 = 64;

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
    ]
}

fn drill(line: DrillLine) -> Fact {
    Fact::Deed(Deed::Drill(line))
}

fn around(change: Around) -> Fact {
    Fact::Deed(Deed::Around(change))
}

fn facts() -> Vec<Fact> {
    [
        first_lines(),
        checks(),
        device_and_air(),
        last_lines(),
        the_end(),
    ]
    .concat()
}

fn entries() -> Vec<Entry> {
    a_second_each(facts())
}

/// A line a second; marks 85 ms after the finger went down.
fn a_second_each(facts: Vec<Fact>) -> Vec<Entry> {
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

#[test]
fn every_kind_and_field_that_another_program_wrote_is_read() {
    let record = V1_7.reads_as(&entries());
    let protocol = record.protocol.as_ref().unwrap();
    assert_eq!(
        protocol.others,
        ["name = \"another example\"\n", "name = \"a third\"\n"]
    );
}

#[test]
fn every_kind_and_field_is_written_as_another_program_did() {
    V1_7.is_written_by(&entries());
}

#[test]
fn a_record_of_a_version_before_is_read_as_it_was() {
    let of_review = |fact: &Fact| matches!(fact, Fact::Amend(amend) if amend.by_role.is_some());
    let phone = |fact: &Fact| matches!(fact, Fact::Deed(Deed::Phone { .. }));
    let of_levels = |fact: &Fact| match fact {
        Fact::Mark(Mark::Run(RunMark::Sound { levels, .. })) => levels.is_some(),
        Fact::Deed(deed) => matches!(deed, Deed::Setting { .. }),
        Fact::Mark(_) | Fact::Amend(_) => false,
    };
    let is_later = |line: &DrillLine| {
        let later = [
            DrillWord::Injected,
            DrillWord::NoiseOn,
            DrillWord::NoiseOff,
            DrillWord::Stopped,
        ];
        line.crew.is_some() || later.contains(&line.what)
    };
    let of_instructor =
        |fact: &Fact| matches!(fact, Fact::Deed(Deed::Drill(line)) if is_later(line));
    let without_instructor = || facts().into_iter().filter(|fact| !of_instructor(fact));
    let record = V1_6.reads_as(&a_second_each(without_instructor().collect()));
    assert_eq!(record.header.schema.to_string(), "record/1.6.0");
    let of_latest = |fact: &Fact| matches!(fact, Fact::Deed(Deed::Screen(_) | Deed::Drill(_)));
    let without_latest = || without_instructor().filter(|fact| !of_latest(fact));
    let record = V1_5.reads_as(&a_second_each(without_latest().collect()));
    assert_eq!(record.header.schema.to_string(), "record/1.5.0");
    let of_phone = |fact: &Fact| matches!(fact, Fact::Deed(Deed::Around(_)));
    let without_around = || without_latest().filter(|fact| !of_phone(fact));
    let record = V1_4.reads_as(&a_second_each(without_around().collect()));
    assert_eq!(record.header.schema.to_string(), "record/1.4.0");
    let without_levels = || without_around().filter(|fact| !of_levels(fact));
    let record = V1_3.reads_as(&a_second_each(without_levels().collect()));
    assert_eq!(record.header.schema.to_string(), "record/1.3.0");
    let before = || without_levels().filter(|fact| !of_review(fact));
    let record = V1_2.reads_as(&a_second_each(before().collect()));
    assert_eq!(record.header.schema.to_string(), "record/1.2.0");
    let record = V1_1.reads_as(&a_second_each(
        before().filter(|fact| !phone(fact)).collect(),
    ));
    assert_eq!(record.header.schema.to_string(), "record/1.1.0");
}

#[test]
fn the_newest_golden_record_holds_every_kind_and_every_field() {
    let all = all_kinds(&["amend", "header", "protocol", "seal"]);
    let lines: Vec<Value> = V1_7
        .bytes
        .split(|b| *b == b'\n')
        .filter(|line| !line.is_empty())
        .map(|line| serde_json::from_slice(line).unwrap())
        .collect();
    let held: BTreeSet<String> = lines
        .iter()
        .map(|line| line["ev"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(held, all);
    // Fields that may be absent stand in at least one line of their kind.
    for (ev, field) in [
        ("arrest", "basis"),
        ("prior_care", "cpr"),
        ("prior_care", "began_min"),
        ("prior_care", "aed"),
        ("prior_care", "shocks"),
        ("prior_care", "doses"),
        ("prior_care", "airway"),
        ("prior_care", "by"),
        ("patient", "rescuers"),
        ("overlay", "temp_band"),
        ("decision", "answer"),
        ("clock_mark", "precision_s"),
        ("end", "reason"),
        ("compr_start", "mech_kind"),
        ("compr_start", "basis"),
        ("pulse_check", "result"),
        ("airway", "device"),
        ("airway", "attempt"),
        ("airway", "success"),
        ("airway", "technique"),
        ("breath_mode", "ratio"),
        ("breath_mode", "every_ms"),
        ("breath_mode", "via"),
        ("vent", "via"),
        ("pads", "position"),
        ("rhythm", "first"),
        ("shock", "through"),
        ("shock", "stacked"),
        ("shock", "mode"),
        ("shock", "energy_j"),
        ("fit", "mode"),
        ("fit", "reason"),
        ("cup", "why"),
        ("move", "stage"),
        ("power", "full"),
        ("sound", "levels"),
        ("sound", "preset"),
        ("drug", "dose"),
        ("drug", "unit"),
        ("drug", "route"),
        ("drug", "prior"),
        ("drug", "by_other_unit"),
        ("access", "site"),
        ("access", "attempt"),
        ("access", "success"),
        ("amend", "new"),
        ("amend", "at_ms"),
        ("amend", "by_role"),
        ("cue", "why"),
        ("protocol", "others"),
    ] {
        let there = |line: &Value| line["ev"] == ev && !line["d"][field].is_null();
        assert!(lines.iter().any(there), "{ev}.{field}");
    }
}

#[test]
fn as_amended_the_new_mark_stands_where_the_old_one_was_put() {
    let amended = amended(&open(V1_7.bytes).unwrap().entries);
    assert_eq!(amended.refused, []);
    assert_eq!(amended.amendments, 6);
    // Its retraction was taken back.
    assert!(amended.entries.iter().any(|e| e.seq == Seq(22)));
    let note = amended
        .entries
        .iter()
        .find(|e| e.at == Ms(5000) && e.src == Source::Review);
    let code = "bag_changed".to_owned();
    let note = note.map(|e| (e.seq.0, e.taken, e.fact.clone()));
    assert_eq!(
        note,
        Some((
            RETRACTS_22 + 1,
            Ms(5000),
            Fact::Mark(Mark::Run(RunMark::Note { code }))
        ))
    );
    let stop = amended.entries.iter().find(|e| e.seq == Seq(23)).unwrap();
    assert_eq!(stop.at, Ms(20_500));
    let airway = FlowMark::ComprStop {
        reason: Reason::Airway,
    };
    assert_eq!(stop.fact, Fact::Mark(Mark::Flow(airway)));
}

#[test]
fn a_record_of_every_kind_is_told_as_a_script_and_read_again() {
    let record = open(V1_7.bytes).unwrap();
    let script = from_record("every kind", None, &record.header, &record.entries).unwrap();
    let again = Script::parse(script.to_json().to_string().as_bytes());
    assert_eq!(again, Ok(script));
}

/// Every text of a mark, put in the place of which a name stands.
fn with_a_name(d: &Value) -> Vec<Value> {
    let mut out = Vec::new();
    let fields: Vec<(String, Value)> = match d {
        Value::String(_) => return vec![json!("Jo Doe")],
        Value::Object(fields) => fields.clone().into_iter().collect(),
        Value::Array(list) => {
            for (n, one) in list.iter().enumerate() {
                for other in with_a_name(one) {
                    let mut list = list.clone();
                    list[n] = other;
                    out.push(Value::Array(list));
                }
            }
            return out;
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => return out,
    };
    for (key, value) in fields {
        for other in with_a_name(&value) {
            let mut d = d.clone();
            d[&key] = other;
            out.push(d);
        }
    }
    out
}

#[test]
fn no_text_of_any_mark_takes_a_name() {
    let mut tried = 0;
    for entry in entries() {
        let Fact::Mark(mark) = &entry.fact else {
            continue;
        };
        let mark = serde_json::to_value(mark).unwrap();
        let script = |d: &Value| {
            let script = json!({"name": "a test", "marks": [
                {"at_s": 0, "ev": "arrest"},
                {"at_s": 9, "ev": mark["ev"], "d": d},
            ]});
            Script::parse(script.to_string().as_bytes())
        };
        assert!(script(&mark["d"]).is_ok(), "{mark}");
        for other in with_a_name(&mark["d"]) {
            assert!(script(&other).is_err(), "{} {other}", mark["ev"]);
            tried += 1;
        }
    }
    assert!(tried > 60, "only {tried} texts");
}
