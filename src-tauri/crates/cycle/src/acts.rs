//! What a key on the screen means: each act is named as the mark it makes.

use alloc::{vec, vec::Vec};

use serde::{Deserialize, Serialize};

use crate::{
    fact::Way,
    mark::{
        AirMark, AirwayAct, AirwayDevice, ArrestBasis, BreathMode, By, CareMark, ChargeAct,
        CheckMark, ConfirmBy, CupAct, DecisionWhat, DeviceMark, FlowMark, GivenBy, HeartRate, Mark,
        MoveAct, Outcome, PatientClass, PowerAct, ProcedureAct, ProcedureWhat, Pulse, Reason,
        Resume, RhythmSeen, RunMark, SoundAct, Stage, StartBasis, Task, TempBand, TimesWhich,
        closed,
    },
    protocol::{DRUG_BY_CLOCK, DRUG_BY_SHOCKS, Overlay},
};

closed! {
    /// A key of the screen. Its word is its name for the page and the key of its label.
    Act {
        #[doc = "Start by hand."] StartByHand = "start_by_hand",
        #[doc = "Hands off, reason not said."] HandsOff = "hands_off",
        #[doc = "Hands off for the rhythm check that is due."] HandsOffCheck = "hands_off_check",
        #[doc = "Hands off to fit the device."] HandsOffFit = "hands_off_fit",
        #[doc = "Compressing by hand."] HandsOn = "hands_on",
        #[doc = "The device runs."] DeviceRunning = "device_running",
        #[doc = "The device is paused, reason not said."] Paused = "paused",
        #[doc = "The device is paused for the rhythm check that is due."] PausedCheck = "paused_check",
        #[doc = "The device stopped by itself."] Stopped = "stopped",
        #[doc = "An airway device is in."] AirwayIn = "airway_in",
        #[doc = "The airway device is out or leaks."] AirwayLost = "airway_lost",
        #[doc = "A tube is in."] TubeIn = "tube_in",
        #[doc = "The waveform confirms the airway."] AirwaySeen = "airway_seen",
        #[doc = "Breaths in pauses of the compressions, whatever the airway."] BreathsBetween = "breaths_between",
        #[doc = "Breaths without a pause, whatever the airway."] BreathsThrough = "breaths_through",
        #[doc = "No breaths for now."] BreathsNone = "breaths_none",
        #[doc = "Opens the entry of carbon dioxide."] Co2 = "co2",
        #[doc = "The device is open and on beside the patient."] FitDevice = "fit_device",
        #[doc = "The device is not fitted now."] NotNow = "not_now",
        #[doc = "Shocked, compressions go on by hand."] ShockedHand = "shocked_hand",
        #[doc = "Shocked, the device goes on."] ShockedDevice = "shocked_device",
        #[doc = "No shock, compressions go on by hand."] NoShockHand = "no_shock_hand",
        #[doc = "No shock, the device goes on."] NoShockDevice = "no_shock_device",
        #[doc = "The shock's own moment."] ShockNow = "shock_now",
        #[doc = "One more shock in the same pause."] ShockAgain = "shock_again",
        #[doc = "Spontaneous circulation."] PulseBack = "pulse_back",
        #[doc = "Arrest again, by hand."] ArrestAgainHand = "arrest_again_hand",
        #[doc = "Arrest again, by device."] ArrestAgainDevice = "arrest_again_device",
        #[doc = "The pause is for the check."] WhyCheck = "why_check",
        #[doc = "The pause is for the airway."] WhyAirway = "why_airway",
        #[doc = "The pause is for a pulse check."] WhyPulse = "why_pulse",
        #[doc = "The pause is for breaths."] WhyBreaths = "why_breaths",
        #[doc = "The pause is for a line."] WhyLine = "why_line",
        #[doc = "The pause is for another procedure."] WhyOther = "why_other",
        #[doc = "The pause is to change the compressor."] WhyRotate = "why_rotate",
        #[doc = "The pause is to move the patient."] WhyMove = "why_move",
        #[doc = "The pause is to fit the device."] WhyFit = "why_fit",
        #[doc = "The pause is to seat the cup again."] WhyReseat = "why_reseat",
        #[doc = "The pause is to take the device off."] WhyDeviceOff = "why_device_off",
        #[doc = "The pause is for the device's power."] WhyPower = "why_power",
        #[doc = "The move begins."] Moving = "moving",
        #[doc = "A move on the scoop begins."] MoveScoop = "move_scoop",
        #[doc = "A move on the stairs begins."] MoveStairs = "move_stairs",
        #[doc = "A move on the stretcher begins."] MoveStretcher = "move_stretcher",
        #[doc = "In the vehicle."] Loaded = "loaded",
        #[doc = "A move is decided on: limbs, straps, lines, cup."] MoveSoon = "move_soon",
        #[doc = "Set down."] SetDown = "set_down",
        #[doc = "The cup is in place."] CupGood = "cup_good",
        #[doc = "The cup slipped: hands off to seat it again."] Reseat = "reseat",
        #[doc = "The pack comes out."] PowerSwap = "power_swap",
        #[doc = "The new pack is in."] Swapped = "swapped",
        #[doc = "Pads are on."] PadsOn = "pads_on",
        #[doc = "The compressor was changed."] Rotate = "rotate",
        #[doc = "A bare time."] Flag = "flag",
        #[doc = "Voice off."] VoiceOff = "voice_off",
        #[doc = "Voice on."] VoiceOn = "voice_on",
        #[doc = "Beat off."] BeatOff = "beat_off",
        #[doc = "Beat on."] BeatOn = "beat_on",
        #[doc = "After a restart: as it was before."] AsBefore = "as_before",
        #[doc = "Arrest; breaths come first."] StartWithBreaths = "start_with_breaths",
        #[doc = "The run begins with the device running."] DeviceAlreadyOn = "device_already_on",
        #[doc = "The run began before this crew."] BeganEarlier = "began_earlier",
        #[doc = "The run begins without sound, on a second phone."] StartQuiet = "start_quiet",
        #[doc = "Two first breaths given, hands on."] BreathsGiven2 = "breaths_given_2",
        #[doc = "Five first breaths given, hands on."] BreathsGiven5 = "breaths_given_5",
        #[doc = "Shocked while the device ran."] ShockThrough = "shock_through",
        #[doc = "No shock, the device ran on."] NoShockThrough = "no_shock_through",
        #[doc = "Charging."] Charge = "charge",
        #[doc = "The charge was dumped."] ChargeDumped = "charge_dumped",
        #[doc = "The defibrillator analyses."] Analysing = "analysing",
        #[doc = "A defibrillator that speaks leads."] ItLeads = "it_leads",
        #[doc = "It leads no more."] LeadsNoMore = "leads_no_more",
        #[doc = "The rhythm is shockable."] Shockable = "shockable",
        #[doc = "It is not."] NotShockable = "not_shockable",
        #[doc = "The drug by the clock was given."] DrugByClock = "drug_by_clock",
        #[doc = "The drug by shocks was given."] DrugByShocks = "drug_by_shocks",
        #[doc = "Opens the service's other drugs."] OtherDrug = "other_drug",
        #[doc = "Opens what was done before this crew."] BeforeUs = "before_us",
        #[doc = "Opens the parts of the device."] FitParts = "fit_parts",
        #[doc = "Opens the reasons for the device."] FitReason = "fit_reason",
        #[doc = "A line in bone is in."] LineBone = "line_bone",
        #[doc = "A line is in."] LineIn = "line_in",
        #[doc = "Signs of life under compressions."] SignsOfLife = "signs_of_life",
        #[doc = "They are gone."] SignsGone = "signs_gone",
        #[doc = "Too small for the device."] TooSmall = "too_small",
        #[doc = "Too large for it."] TooLarge = "too_large",
        #[doc = "Not for the device by the service's list."] NotSuited = "not_suited",
        #[doc = "A full pack is in."] FullPack = "full_pack",
        #[doc = "On mains."] MainsOn = "mains_on",
        #[doc = "Off mains."] MainsOff = "mains_off",
        #[doc = "An airway try begins."] AirwayTry = "airway_try",
        #[doc = "Ultrasound begins."] Ultrasound = "ultrasound",
        #[doc = "Decompression of the chest begins."] Decompression = "decompression",
        #[doc = "Another procedure begins."] OtherTask = "other_task",
        #[doc = "The procedure is over."] ProcedureDone = "procedure_done",
        #[doc = "The advanced crew is here."] AlsHere = "als_here",
        #[doc = "The control room was called."] CallMade = "call_made",
        #[doc = "Extracorporeal help was called."] EcprCalled = "ecpr_called",
        #[doc = "Left the scene."] LeftScene = "left_scene",
        #[doc = "Voice off for two minutes."] VoiceOff2Min = "voice_off_2_min",
        #[doc = "Opens the levels of beats, breath tones and voice."] Levels = "levels",
        #[doc = "After a long gap: the same patient."] SamePatient = "same_patient",
        #[doc = "After a gap: another patient."] NewPatient = "new_patient",
        #[doc = "Yes, still off."] StillOff = "still_off",
        #[doc = "Yes, still running."] StillRunning = "still_running",
        #[doc = "The check that is due was heard."] HeardCheck = "heard_check",
        #[doc = "The cup's question was heard."] HeardCup = "heard_cup",
        #[doc = "The drug that is due was heard."] HeardDrug = "heard_drug",
        #[doc = "The compressor's change was heard."] HeardRotate = "heard_rotate",
        #[doc = "The device's power was heard."] HeardPower = "heard_power",
        #[doc = "The checkpoint was heard."] HeardMinute = "heard_minute",
        #[doc = "The look at the heart rate was heard."] HeardHeart = "heard_heart",
        #[doc = "No pulse was felt."] PulseNone = "pulse_none",
        #[doc = "The pulse is still there."] PulseStill = "pulse_still",
        #[doc = "Heart rate below 60."] HeartBelow60 = "heart_below_60",
        #[doc = "Heart rate 60 to 100."] HeartFrom60 = "heart_from_60",
        #[doc = "Heart rate above 100."] HeartAbove100 = "heart_above_100",
        #[doc = "An adult after all."] ClassAdult = "class_adult",
        #[doc = "A child."] ClassChild = "class_child",
        #[doc = "An infant."] ClassInfant = "class_infant",
        #[doc = "A newborn."] ClassNewborn = "class_newborn",
        #[doc = "Pregnant."] OverlayPregnancy = "overlay_pregnancy",
        #[doc = "Cold, below 30 degrees."] OverlayCold30 = "overlay_cold_30",
        #[doc = "Cold, 30 to 35 degrees."] OverlayCold35 = "overlay_cold_35",
        #[doc = "Was cold, and is above 35 degrees now."] OverlayColdAbove = "overlay_cold_above",
        #[doc = "Drowned."] OverlayDrowning = "overlay_drowning",
        #[doc = "Opioid."] OverlayOpioid = "overlay_opioid",
        #[doc = "Trauma."] OverlayTrauma = "overlay_trauma",
        #[doc = "Asthma or anaphylaxis."] OverlayAsthma = "overlay_asthma",
        #[doc = "Not pregnant after all."] PregnancyOff = "pregnancy_off",
        #[doc = "Not cold after all."] ColdOff = "cold_off",
        #[doc = "Not drowned after all."] DrowningOff = "drowning_off",
        #[doc = "No opioid after all."] OpioidOff = "opioid_off",
        #[doc = "No trauma after all."] TraumaOff = "trauma_off",
        #[doc = "No asthma and no anaphylaxis after all."] AsthmaOff = "asthma_off",
        #[doc = "The run ended: handed over."] EndHandedOver = "end_handed_over",
        #[doc = "The run ended: stopped."] EndStopped = "end_stopped",
        #[doc = "The run ended: circulation."] EndPulse = "end_pulse",
        #[doc = "The run ended: it was no arrest."] EndNoArrest = "end_no_arrest",
    }
}

impl Act {
    /// The way into a run that this key is, if it is one.
    #[expect(
        clippy::wildcard_enum_match_arm,
        reason = "few keys begin a run; the others are marks in it"
    )]
    pub const fn way(self) -> Option<Way> {
        match self {
            Self::StartByHand | Self::StartWithBreaths => Some(Way::Hand),
            Self::DeviceAlreadyOn => Some(Way::Device),
            Self::BeganEarlier => Some(Way::Earlier),
            Self::StartQuiet => Some(Way::Quiet),
            _ => None,
        }
    }

    /// The marks it makes, in order, all at the same touch.
    #[expect(clippy::too_many_lines, reason = "one table, one row an act")]
    pub fn marks(self) -> Vec<Mark> {
        let off = |reason| Mark::Flow(FlowMark::ComprStop { reason });
        let on = |by| {
            Mark::Flow(FlowMark::ComprStart {
                by,
                mech_kind: None,
                basis: None,
            })
        };
        let arrest = |basis| Mark::Run(RunMark::Arrest { basis: Some(basis) });
        let shocked = |timed, through, stacked| {
            Mark::Check(CheckMark::Shock {
                timed,
                by: GivenBy::Us,
                through,
                stacked,
                mode: None,
                energy_j: None,
            })
        };
        let shock = |timed| shocked(timed, false, false);
        let rhythm = |rhythm| {
            vec![Mark::Check(CheckMark::Rhythm {
                rhythm,
                first: None,
            })]
        };
        let charge = |act| vec![Mark::Check(CheckMark::Charge { act })];
        let drug = |key: &str| {
            vec![Mark::Care(CareMark::Drug {
                drug: key.into(),
                dose: None,
                unit: None,
                route: None,
                prior: false,
                by_other_unit: false,
            })]
        };
        let refused = |reason: &str| {
            vec![Mark::Device(DeviceMark::FitRefused {
                reason: reason.into(),
            })]
        };
        let power = |act, full| vec![Mark::Device(DeviceMark::Power { act, full })];
        let ack = |task| vec![Mark::Run(RunMark::Ack { task })];
        let times = |which| vec![Mark::Run(RunMark::Times { which })];
        let why = |reason| vec![Mark::Flow(FlowMark::Why { reason })];
        let breath_mode = |mode| {
            vec![Mark::Air(AirMark::BreathMode {
                mode,
                ratio: None,
                every_ms: None,
                via: None,
            })]
        };
        let begin = |stage| {
            vec![Mark::Device(DeviceMark::Move {
                act: MoveAct::Begin,
                stage: Some(stage),
            })]
        };
        let decision = |what| vec![Mark::Run(RunMark::Decision { what, answer: None })];
        let access = |kind: &str| {
            vec![Mark::Care(CareMark::Access {
                kind: kind.into(),
                site: None,
                attempt: None,
                success: Some(true),
            })]
        };
        let pulse_check = |felt| vec![Mark::Flow(FlowMark::PulseCheck { result: Some(felt) })];
        let heart = |band| vec![Mark::Check(CheckMark::HeartRate { band })];
        let class = |class| {
            vec![Mark::Run(RunMark::Patient {
                class,
                rescuers: None,
            })]
        };
        let situation = |kind, on, temp_band| {
            vec![Mark::Run(RunMark::Overlay {
                kind,
                on,
                temp_band,
            })]
        };
        let overlay = |kind, temp_band| situation(kind, true, temp_band);
        let overlay_off = |kind| situation(kind, false, None);
        let breaths = |n| vec![Mark::Air(AirMark::Vent { n, via: None }), on(By::Manual)];
        let procedure = |act, what| vec![Mark::Care(CareMark::Procedure { act, what })];
        let resume = |choice| vec![Mark::Run(RunMark::Resume { choice })];
        let airway = |act, device| {
            Mark::Air(AirMark::Airway {
                act,
                device,
                attempt: None,
                success: None,
                technique: None,
            })
        };
        let end = |outcome| {
            vec![Mark::Run(RunMark::End {
                outcome,
                reason: None,
            })]
        };
        let sound = |what| {
            vec![Mark::Run(RunMark::Sound {
                what,
                levels: None,
                preset: None,
            })]
        };
        match self {
            Self::StartByHand | Self::StartQuiet => {
                vec![arrest(ArrestBasis::Recognised), on(By::Manual)]
            }
            Self::StartWithBreaths => vec![arrest(ArrestBasis::Recognised)],
            Self::DeviceAlreadyOn => vec![
                arrest(ArrestBasis::Reported),
                Mark::Flow(FlowMark::ComprStart {
                    by: By::Mechanical,
                    mech_kind: None,
                    basis: Some(StartBasis::ConfirmedRunning),
                }),
            ],
            Self::BeganEarlier => vec![arrest(ArrestBasis::Reported), on(By::Manual)],
            Self::BreathsGiven2 => breaths(2),
            Self::BreathsGiven5 => breaths(5),
            Self::ShockThrough => vec![shocked(true, true, false)],
            Self::NoShockThrough => vec![Mark::Check(CheckMark::NoShock {})],
            Self::Charge => charge(ChargeAct::Begun),
            Self::ChargeDumped => charge(ChargeAct::Dumped),
            Self::Analysing => vec![Mark::Check(CheckMark::Analysing {})],
            Self::ItLeads => vec![Mark::Run(RunMark::Leads { on: true })],
            Self::LeadsNoMore => vec![Mark::Run(RunMark::Leads { on: false })],
            Self::Shockable => rhythm(RhythmSeen::Shockable),
            Self::NotShockable => rhythm(RhythmSeen::NotShockable),
            Self::DrugByClock => drug(DRUG_BY_CLOCK),
            Self::DrugByShocks => drug(DRUG_BY_SHOCKS),
            // What they open makes the mark.
            Self::Co2
            | Self::OtherDrug
            | Self::BeforeUs
            | Self::FitParts
            | Self::FitReason
            | Self::Levels => Vec::new(),
            Self::LineIn => access("iv"),
            Self::LineBone => access("io"),
            Self::SignsOfLife => vec![Mark::Care(CareMark::Awake { on: true })],
            Self::SignsGone => vec![Mark::Care(CareMark::Awake { on: false })],
            Self::TooSmall => refused("too_small"),
            Self::NotSuited => refused("local_list"),
            Self::TooLarge => refused("too_large"),
            Self::FullPack => power(PowerAct::Full, Some(true)),
            Self::MainsOn => power(PowerAct::MainsOn, None),
            Self::MainsOff => power(PowerAct::MainsOff, None),
            Self::AirwayTry => vec![airway(AirwayAct::TryBegin, None)],
            Self::Ultrasound => procedure(ProcedureAct::Begin, ProcedureWhat::Ultrasound),
            Self::Decompression => procedure(ProcedureAct::Begin, ProcedureWhat::Decompression),
            Self::OtherTask => procedure(ProcedureAct::Begin, ProcedureWhat::Other),
            Self::ProcedureDone => procedure(ProcedureAct::End, ProcedureWhat::Other),
            Self::AlsHere => times(TimesWhich::AlsArrival),
            Self::LeftScene => times(TimesWhich::LeftScene),
            Self::CallMade => decision(DecisionWhat::CallControl),
            Self::EcprCalled => decision(DecisionWhat::EcprCall),
            Self::MoveSoon => decision(DecisionWhat::Transport),
            Self::VoiceOff2Min => sound(SoundAct::VoiceOff2Min),
            Self::SamePatient => resume(Resume::SamePatient),
            Self::NewPatient => resume(Resume::NewPatient),
            Self::StillOff => ack(Task::StillOff),
            Self::StillRunning => ack(Task::Still),
            Self::HeardCheck => ack(Task::Check),
            Self::HeardCup => ack(Task::Cup),
            Self::HeardDrug => ack(Task::Drug),
            Self::HeardRotate => ack(Task::Rotate),
            Self::HeardPower => ack(Task::Power),
            Self::HeardMinute => ack(Task::Minute),
            Self::HeardHeart => ack(Task::HeartRate),
            Self::PulseStill => pulse_check(Pulse::Present),
            Self::PulseNone => pulse_check(Pulse::Absent),
            Self::HeartBelow60 => heart(HeartRate::Below60),
            Self::HeartFrom60 => heart(HeartRate::From60),
            Self::HeartAbove100 => heart(HeartRate::Above100),
            Self::ClassAdult => class(PatientClass::Adult),
            Self::ClassChild => class(PatientClass::Child),
            Self::ClassInfant => class(PatientClass::Infant),
            Self::ClassNewborn => class(PatientClass::Newborn),
            Self::OverlayPregnancy => overlay(Overlay::Pregnancy, None),
            Self::OverlayCold30 => overlay(Overlay::Cold, Some(TempBand::Below30)),
            Self::OverlayCold35 => overlay(Overlay::Cold, Some(TempBand::From30To35)),
            Self::OverlayColdAbove => overlay(Overlay::Cold, Some(TempBand::Above35)),
            Self::OverlayDrowning => overlay(Overlay::Drowning, None),
            Self::OverlayOpioid => overlay(Overlay::Opioid, None),
            Self::OverlayTrauma => overlay(Overlay::Trauma, None),
            Self::OverlayAsthma => overlay(Overlay::AsthmaAnaphylaxis, None),
            Self::PregnancyOff => overlay_off(Overlay::Pregnancy),
            Self::ColdOff => overlay_off(Overlay::Cold),
            Self::DrowningOff => overlay_off(Overlay::Drowning),
            Self::OpioidOff => overlay_off(Overlay::Opioid),
            Self::TraumaOff => overlay_off(Overlay::Trauma),
            Self::AsthmaOff => overlay_off(Overlay::AsthmaAnaphylaxis),
            Self::HandsOff | Self::Paused => vec![off(Reason::Unknown)],
            Self::HandsOffCheck | Self::PausedCheck => vec![off(Reason::RhythmCheck)],
            Self::HandsOffFit => vec![off(Reason::DeviceFit)],
            Self::HandsOn => vec![on(By::Manual)],
            Self::DeviceRunning => vec![on(By::Mechanical)],
            Self::Stopped => vec![off(Reason::DeviceFault)],
            Self::AirwayIn => vec![airway(AirwayAct::In, Some(AirwayDevice::Sga))],
            Self::TubeIn => vec![airway(AirwayAct::In, Some(AirwayDevice::Ett))],
            Self::AirwaySeen => vec![Mark::Air(AirMark::AirwayConfirm {
                method: ConfirmBy::Waveform,
            })],
            Self::BreathsBetween => breath_mode(BreathMode::Ratio),
            Self::BreathsThrough => breath_mode(BreathMode::Continuous),
            Self::BreathsNone => breath_mode(BreathMode::None),
            Self::AirwayLost => vec![airway(AirwayAct::Lost, None)],
            Self::FitDevice => vec![Mark::Device(DeviceMark::Fit {
                step: "open_on".into(),
                mode: None,
                reason: None,
            })],
            Self::NotNow => refused("other"),
            Self::ShockedHand => vec![shock(false), on(By::Manual)],
            Self::ShockedDevice => vec![shock(false), on(By::Mechanical)],
            Self::NoShockHand => vec![Mark::Check(CheckMark::NoShock {}), on(By::Manual)],
            Self::NoShockDevice => vec![Mark::Check(CheckMark::NoShock {}), on(By::Mechanical)],
            Self::ShockNow => vec![shock(true)],
            Self::ShockAgain => vec![shocked(true, false, true)],
            Self::PulseBack => vec![Mark::Flow(FlowMark::Rosc {})],
            Self::ArrestAgainHand => vec![Mark::Flow(FlowMark::Rearrest { by: By::Manual })],
            Self::ArrestAgainDevice => vec![Mark::Flow(FlowMark::Rearrest { by: By::Mechanical })],
            Self::WhyCheck => why(Reason::RhythmCheck),
            Self::WhyAirway => why(Reason::Airway),
            Self::WhyPulse => why(Reason::PulseCheck),
            Self::WhyBreaths => why(Reason::Ventilation),
            Self::WhyLine => why(Reason::Access),
            Self::WhyOther => why(Reason::Procedure),
            Self::WhyRotate => why(Reason::Rotate),
            Self::WhyMove => why(Reason::Move),
            Self::WhyFit => why(Reason::DeviceFit),
            Self::WhyReseat => why(Reason::DeviceReseat),
            Self::WhyDeviceOff => why(Reason::DeviceOff),
            Self::WhyPower => why(Reason::Power),
            Self::MoveScoop => begin(Stage::Scoop),
            Self::MoveStairs => begin(Stage::Stairs),
            Self::MoveStretcher => begin(Stage::Stretcher),
            Self::Loaded => vec![Mark::Device(DeviceMark::Move {
                act: MoveAct::Loaded,
                stage: Some(Stage::Vehicle),
            })],
            Self::Moving => {
                vec![Mark::Device(DeviceMark::Move {
                    act: MoveAct::Begin,
                    stage: None,
                })]
            }
            Self::SetDown => {
                vec![Mark::Device(DeviceMark::Move {
                    act: MoveAct::SetDown,
                    stage: None,
                })]
            }
            Self::CupGood => vec![Mark::Device(DeviceMark::Cup {
                act: CupAct::Good,
                why: None,
            })],
            Self::Reseat => vec![
                Mark::Device(DeviceMark::Cup {
                    act: CupAct::Reseat,
                    why: None,
                }),
                off(Reason::DeviceReseat),
            ],
            Self::PowerSwap => power(PowerAct::SwapBegin, None),
            Self::Swapped => power(PowerAct::SwapEnd, None),
            Self::PadsOn => vec![Mark::Check(CheckMark::Pads {
                connected: true,
                position: None,
            })],
            Self::Rotate => vec![Mark::Flow(FlowMark::Rotate {})],
            Self::Flag => vec![Mark::Run(RunMark::Flag {})],
            Self::VoiceOff => sound(SoundAct::VoiceOff),
            Self::VoiceOn => sound(SoundAct::VoiceOn),
            Self::BeatOff => sound(SoundAct::BeatOff),
            Self::BeatOn => sound(SoundAct::BeatOn),
            Self::AsBefore => resume(Resume::AsBefore),
            Self::EndHandedOver => end(Outcome::HandedOver),
            Self::EndStopped => end(Outcome::Stopped),
            Self::EndPulse => end(Outcome::Rosc),
            Self::EndNoArrest => end(Outcome::NoArrest),
        }
    }
}
