//! Any fact: every kind, with any values.

use cycle::{
    Around, Colours, CueId, Fact, Levels, Look, Ms, Overlay, Prompt, Route, Seq,
    fact::{
        Amend, AmendOp, AmendReason, ByRole, CueLine, CueOutcome, Deed, DrillLine, DrillWord,
        HeldWhy, PatternWord, ScoreLine, SettingName, SoundChange, Source, Way,
    },
    mark::*,
};
use proptest::{option, prelude::*, sample::select, strategy::Union};

fn any<T: Copy + std::fmt::Debug + 'static>(all: &'static [T]) -> impl Strategy<Value = T> {
    select(all)
}

fn some<T: Copy + std::fmt::Debug + 'static>(
    all: &'static [T],
) -> impl Strategy<Value = Option<T>> {
    option::of(select(all))
}

fn ms() -> impl Strategy<Value = Ms> {
    any::<u64>(&[0, 1, 999, 120_545, 86_400_000, u64::MAX]).prop_map(Ms)
}

/// Text of any kind, quotes, line feeds and letters beyond ASCII included.
fn words() -> impl Strategy<Value = String> {
    "\\PC{0,40}|[\"\\\\\n\r\t]{1,5}"
}

fn few() -> impl Strategy<Value = u8> {
    0..=u8::MAX
}

/// A code of a list, mostly one that a script may hold.
fn code() -> impl Strategy<Value = String> {
    prop_oneof![4 => "[a-z0-9_]{1,40}", 1 => words()]
}

/// One of a few words, or another one.
fn one_of(known: &'static [&'static str]) -> impl Strategy<Value = String> {
    prop_oneof![4 => select(known).prop_map(str::to_owned), 1 => words()]
}

/// A number that is mostly small.
fn small() -> impl Strategy<Value = u8> {
    prop_oneof![4 => 0..=30_u8, 1 => few()]
}

fn minutes() -> impl Strategy<Value = u16> {
    prop_oneof![4 => 0..=600_u16, 1 => 0..=u16::MAX]
}

fn decimal() -> impl Strategy<Value = String> {
    prop_oneof![4 => "[0-9]{1,3}(\\.[0-9])?", 1 => words()]
}

fn clock() -> impl Strategy<Value = String> {
    prop_oneof![4 => "[012][0-3]:[0-5][0-9]:[0-5][0-9]", 1 => words()]
}

fn yes() -> impl Strategy<Value = bool> {
    proptest::bool::ANY
}

fn prior_dose() -> impl Strategy<Value = PriorDose> {
    (code(), small(), option::of(minutes())).prop_map(|(drug, n, last_min)| PriorDose {
        drug,
        n,
        last_min,
    })
}

fn prior_care() -> impl Strategy<Value = PriorCare> {
    (
        some(PriorCpr::ALL),
        option::of(minutes()),
        some(PriorAed::ALL),
        option::of(small()),
        proptest::collection::vec(prior_dose(), 0..4),
        some(AirwayDevice::ALL),
        some(By::ALL),
    )
        .prop_map(
            |(cpr, began_min, aed, shocks, doses, airway, by)| PriorCare {
                cpr,
                began_min,
                aed,
                shocks,
                doses,
                airway,
                by,
            },
        )
}

fn levels() -> impl Strategy<Value = Levels> {
    let db = || 0..=Levels::LOWEST_DB;
    (db(), db(), db()).prop_map(|(beat_db, breath_db, voice_db)| Levels {
        beat_db,
        breath_db,
        voice_db,
    })
}

fn sound(what: SoundAct) -> RunMark {
    let preset = (what == SoundAct::Preset).then_some(Preset::QuietRoom);
    let level = (what == SoundAct::Level).then_some(Levels {
        beat_db: 3,
        breath_db: 0,
        voice_db: 24,
    });
    RunMark::Sound {
        what,
        levels: level.or_else(|| preset.map(Preset::levels)),
        preset,
    }
}

fn run_mark() -> impl Strategy<Value = Mark> {
    prop_oneof![
        some(ArrestBasis::ALL).prop_map(|basis| RunMark::Arrest { basis }),
        prior_care().prop_map(RunMark::PriorCare),
        (any(PatientClass::ALL), option::of(small()))
            .prop_map(|(class, rescuers)| RunMark::Patient { class, rescuers }),
        (any(Overlay::ALL), yes(), some(TempBand::ALL)).prop_map(|(kind, on, temp_band)| {
            RunMark::Overlay {
                kind,
                on,
                temp_band,
            }
        }),
        yes().prop_map(|on| RunMark::Leads { on }),
        any(Task::ALL).prop_map(|task| RunMark::Ack { task }),
        any(TimesWhich::ALL).prop_map(|which| RunMark::Times { which }),
        (any(DecisionWhat::ALL), option::of(code()))
            .prop_map(|(what, answer)| RunMark::Decision { what, answer }),
        (any(ClockRef::ALL), clock(), option::of(minutes())).prop_map(
            |(clock, shown, precision_s)| RunMark::ClockMark {
                clock,
                shown,
                precision_s,
            }
        ),
        code().prop_map(|code| RunMark::Note { code }),
        any(Resume::ALL).prop_map(|choice| RunMark::Resume { choice }),
        any(SoundAct::ALL).prop_map(sound),
        Just(RunMark::Flag {}),
        (any(Outcome::ALL), option::of(code()))
            .prop_map(|(outcome, reason)| RunMark::End { outcome, reason }),
    ]
    .prop_map(Mark::Run)
}

fn flow_mark() -> impl Strategy<Value = Mark> {
    prop_oneof![
        (any(By::ALL), some(MechKind::ALL), some(StartBasis::ALL)).prop_map(
            |(by, mech_kind, basis)| FlowMark::ComprStart {
                by,
                mech_kind,
                basis,
            }
        ),
        any(Reason::ALL).prop_map(|reason| FlowMark::ComprStop { reason }),
        any(Reason::ALL).prop_map(|reason| FlowMark::Why { reason }),
        any(SetState::ALL).prop_map(|state| FlowMark::StateSet { state }),
        Just(FlowMark::Rotate {}),
        some(Pulse::ALL).prop_map(|result| FlowMark::PulseCheck { result }),
        Just(FlowMark::Rosc {}),
        any(By::ALL).prop_map(|by| FlowMark::Rearrest { by }),
    ]
    .prop_map(Mark::Flow)
}

fn air_mark() -> impl Strategy<Value = Mark> {
    prop_oneof![
        (
            any(AirwayAct::ALL),
            some(AirwayDevice::ALL),
            option::of(small()),
            option::of(yes()),
            option::of(code())
        )
            .prop_map(|(act, device, attempt, success, technique)| {
                AirMark::Airway {
                    act,
                    device,
                    attempt,
                    success,
                    technique,
                }
            }),
        any(ConfirmBy::ALL).prop_map(|method| AirMark::AirwayConfirm { method }),
        (
            any(BreathMode::ALL),
            some(Ratio::ALL),
            option::of(prop_oneof![1000..=60_000_u32, 0..=u32::MAX]),
            some(Via::ALL)
        )
            .prop_map(|(mode, ratio, every_ms, via)| AirMark::BreathMode {
                mode,
                ratio,
                every_ms,
                via
            }),
        (small(), some(Via::ALL)).prop_map(|(n, via)| AirMark::Vent { n, via }),
        (decimal(), one_of(&["mmHg", "kPa", "pct"]))
            .prop_map(|(value, unit)| AirMark::Etco2 { value, unit }),
    ]
    .prop_map(Mark::Air)
}

fn check_mark() -> impl Strategy<Value = Mark> {
    prop_oneof![
        (yes(), some(PadPosition::ALL)).prop_map(|(connected, position)| CheckMark::Pads {
            connected,
            position
        }),
        any(ChargeAct::ALL).prop_map(|act| CheckMark::Charge { act }),
        Just(CheckMark::Analysing {}),
        (any(RhythmSeen::ALL), option::of(yes()))
            .prop_map(|(rhythm, first)| CheckMark::Rhythm { rhythm, first }),
        (
            yes(),
            any(GivenBy::ALL),
            yes(),
            yes(),
            some(ShockMode::ALL),
            option::of(0..=u16::MAX)
        )
            .prop_map(|(timed, by, through, stacked, mode, energy_j)| {
                CheckMark::Shock {
                    timed,
                    by,
                    through,
                    stacked,
                    mode,
                    energy_j,
                }
            }),
        Just(CheckMark::NoShock {}),
        any(HeartRate::ALL).prop_map(|band| CheckMark::HeartRate { band }),
    ]
    .prop_map(Mark::Check)
}

fn device_mark() -> impl Strategy<Value = Mark> {
    prop_oneof![
        (code(), some(BreathMode::ALL), option::of(code()))
            .prop_map(|(step, mode, reason)| DeviceMark::Fit { step, mode, reason }),
        one_of(&["too_small", "too_large", "local_list", "other"])
            .prop_map(|reason| DeviceMark::FitRefused { reason }),
        (any(CupAct::ALL), some(CupWhy::ALL)).prop_map(|(act, why)| DeviceMark::Cup { act, why }),
        (any(MoveAct::ALL), some(Stage::ALL))
            .prop_map(|(act, stage)| DeviceMark::Move { act, stage }),
        (any(PowerAct::ALL), option::of(yes()))
            .prop_map(|(act, full)| DeviceMark::Power { act, full }),
    ]
    .prop_map(Mark::Device)
}

fn care_mark() -> impl Strategy<Value = Mark> {
    prop_oneof![
        (
            code(),
            option::of(decimal()),
            option::of(one_of(&["mg", "mcg", "mEq", "mL", "g"])),
            option::of(one_of(&["iv", "io", "im", "in", "et"])),
            yes(),
            yes()
        )
            .prop_map(|(drug, dose, unit, route, prior, by_other_unit)| {
                CareMark::Drug {
                    drug,
                    dose,
                    unit,
                    route,
                    prior,
                    by_other_unit,
                }
            }),
        (
            one_of(&["iv", "io"]),
            option::of(code()),
            option::of(small()),
            option::of(yes())
        )
            .prop_map(|(kind, site, attempt, success)| CareMark::Access {
                kind,
                site,
                attempt,
                success
            }),
        (any(ProcedureAct::ALL), any(ProcedureWhat::ALL))
            .prop_map(|(act, what)| CareMark::Procedure { act, what }),
        yes().prop_map(|on| CareMark::Awake { on }),
    ]
    .prop_map(Mark::Care)
}

fn score() -> impl Strategy<Value = Deed> {
    (
        any(PatternWord::ALL),
        0..=u16::MAX,
        0..=u32::MAX,
        few(),
        ms(),
    )
        .prop_map(|(pattern, word, long, breaths, at)| {
            Deed::Score(ScoreLine {
                pattern,
                per_minute: word,
                beats: word,
                window_ms: long,
                breaths,
                breath_ms: long,
                quiet_ddb: word,
                anchor_ms: at,
                lead: long,
                from_ms: at,
                breath_from_ms: at,
            })
        })
}

fn cue() -> impl Strategy<Value = Deed> {
    (
        words(),
        some(Prompt::ALL),
        ms(),
        any(CueOutcome::ALL),
        some(HeldWhy::ALL),
        0..=u32::MAX,
    )
        .prop_map(|(kind, id, due_ms, outcome, why, n)| {
            Deed::Cue(CueLine {
                cue: CueId(n),
                kind,
                id,
                due_ms,
                start_ms: due_ms,
                len_ms: n,
                outcome,
                why,
            })
        })
}

fn deed() -> impl Strategy<Value = Fact> {
    prop_oneof![
        any(Way::ALL).prop_map(|way| Deed::Start { way }),
        score(),
        cue(),
        any(SoundChange::ALL).prop_map(|what| Deed::Sound { what }),
        (0..=u64::MAX, 0..=u64::MAX, 0..=u64::MAX).prop_map(|(beats, frames, underruns)| {
            Deed::Count {
                beats,
                frames,
                underruns,
            }
        }),
        (words(), words()).prop_map(|(kind, why)| Deed::Ignored { kind, why }),
        ms().prop_map(|due_ms| Deed::CheckUnmarked { due_ms }),
        (0..=u64::MAX).prop_map(|ms| Deed::Gap { ms }),
        (0..=u64::MAX, ms()).prop_map(|(n, gap_from_ms)| Deed::Recovered {
            gap_from_seq: Seq(n),
            gap_from_ms,
            bad_bytes: n
        }),
        (0..=u32::MAX, words()).prop_map(|(n, why)| Deed::TouchIgnored { n, why }),
        (words(), words()).prop_map(|(place, what)| Deed::Fault { place, what }),
        Just(Deed::Heartbeat {}),
        (i64::MIN..=i64::MAX).prop_map(|delta_ms| Deed::WallJump { delta_ms }),
        (0..=u8::MAX, yes()).prop_map(|(battery_pct, low)| Deed::Phone { battery_pct, low }),
        around().prop_map(Deed::Around),
        drill().prop_map(Deed::Drill),
        look().prop_map(Deed::Screen),
        levels().prop_map(|value| Deed::Setting {
            name: SettingName::Levels,
            value,
        }),
    ]
    .prop_map(Fact::Deed)
}

fn drill() -> impl Strategy<Value = DrillLine> {
    let name = || option::of(words());
    (any(DrillWord::ALL), name(), 0..=u32::MAX, name(), ms()).prop_map(
        |(what, id, seed, of, at)| DrillLine {
            what,
            id,
            seed: (seed % 2 == 0).then_some(seed),
            crew: (seed % 5 == 0).then(|| "B7".to_owned()),
            of,
            from_ms: (seed % 3 == 0).then_some(at),
        },
    )
}

fn look() -> impl Strategy<Value = Look> {
    let colours = select(Colours::ALL.to_vec());
    (colours, yes(), yes()).prop_map(|(colours, by_light, covered)| Look {
        colours,
        by_light,
        covered,
    })
}

fn around() -> impl Strategy<Value = Around> {
    let switch = (0..10_u8, yes()).prop_map(|(n, on)| match n {
        0 => Around::Call { on },
        1 => Around::Taken { on },
        2 => Around::Silent { on },
        3 => Around::Saving { on },
        4 => Around::Held { on },
        5 => Around::Lit { on },
        6 => Around::Locked { on },
        7 => Around::Front { on },
        _ => Around::Page { on },
    });
    let route = select(Route::ALL.to_vec()).prop_map(|to| Around::Route { to });
    let volume = (0..=u8::MAX).prop_map(|pct| Around::Volume { pct });
    Union::new([switch.boxed(), route.boxed(), volume.boxed()])
}

pub(crate) fn mark() -> impl Strategy<Value = Mark> {
    Union::new([
        run_mark().boxed(),
        flow_mark().boxed(),
        air_mark().boxed(),
        check_mark().boxed(),
        device_mark().boxed(),
        care_mark().boxed(),
    ])
}

fn amend() -> impl Strategy<Value = Fact> {
    let op = prop_oneof![
        1 => Just(AmendOp::Retract),
        1 => ms().prop_map(|at_ms| AmendOp::Retime { at_ms }),
        2 => mark().prop_map(|new| AmendOp::Replace { new }),
        2 => (ms(), mark()).prop_map(|(at_ms, new)| AmendOp::Add { at_ms, new }),
        1 => Just(AmendOp::Confirm),
    ];
    let by_role = prop_oneof![Just(None), Just(Some(ByRole::Reviewer))];
    let whose = (any(AmendReason::ALL), by_role);
    (0..=u64::MAX, op, whose).prop_map(|(target, op, (reason, by_role))| {
        Fact::Amend(Amend {
            target: Seq(target),
            op,
            reason,
            by_role,
        })
    })
}

/// Any fact, with a source that may say it.
pub(crate) fn fact() -> impl Strategy<Value = (Source, Fact)> {
    let crew = any(&[
        Source::Button,
        Source::Voice,
        Source::Sensor,
        Source::Import,
        Source::Review,
    ]);
    prop_oneof![
        4 => (crew, prop_oneof![3 => mark().prop_map(Fact::Mark), 1 => amend()]),
        2 => deed().prop_map(|deed| (Source::Auto, deed)),
    ]
}
