//! The invented runs: what is marked when, and the second at which the screen is looked at.

use cycle::{
    Act as A, Banner, Card, Input, Ms, Seq, SoundNews,
    mark::{CareMark, Mark, MoveAct, PriorCare, PriorCpr, PriorDose, RunMark},
};

/// What comes in at a second of the run.
pub(super) enum In {
    Key(A),
    Mark(Mark),
    Input(Input),
}

pub(super) struct Case {
    pub(super) name: &'static str,
    pub(super) card: Card,
    pub(super) protocol: &'static str,
    /// Text of the protocol that is replaced.
    pub(super) changes: &'static [(&'static str, &'static str)],
    pub(super) start: A,
    pub(super) ins: Vec<(u32, In)>,
    pub(super) until: u32,
    /// What the house says beside the run.
    pub(super) house: &'static [Banner],
}

impl Case {
    fn new(name: &'static str, card: Card, keys: &[(u32, A)], until: u32) -> Self {
        Self {
            name,
            card,
            protocol: "example-adult",
            changes: &[],
            start: A::StartByHand,
            ins: keys.iter().map(|(at, act)| (*at, In::Key(*act))).collect(),
            until,
            house: &[],
        }
    }

    fn from(mut self, start: A) -> Self {
        self.start = start;
        self
    }

    fn under(mut self, protocol: &'static str, changes: &'static [(&str, &str)]) -> Self {
        (self.protocol, self.changes) = (protocol, changes);
        self
    }

    fn house(mut self, house: &'static [Banner]) -> Self {
        self.house = house;
        self
    }

    fn with(mut self, at: u32, what: In) -> Self {
        self.ins.push((at, what));
        self.ins.sort_by_key(|(at, _)| *at);
        self
    }
}

/// By device from 55 s on, the cup looked at; then `more`.
fn fitted(more: &[(u32, A)]) -> Vec<(u32, A)> {
    let fitting = [
        (30, A::FitDevice),
        (40, A::HandsOffFit),
        (55, A::DeviceRunning),
        (60, A::CupGood),
    ];
    [&fitting, more].concat()
}

fn prior() -> In {
    In::Mark(Mark::Run(RunMark::PriorCare(PriorCare {
        cpr: Some(PriorCpr::Bystander),
        began_min: Some(6),
        shocks: Some(2),
        doses: vec![PriorDose {
            drug: "adrenaline".to_owned(),
            n: 1,
            last_min: Some(2),
        }],
        ..PriorCare::default()
    })))
}

/// Left by a kill so many seconds into the run, and taken up again later.
fn recovered(from: u32) -> In {
    In::Input(Input::Recovered {
        from_seq: Seq(8),
        from: Ms::secs(from),
        bad_bytes: 0,
    })
}

/// Every live state of a run.
pub(super) fn all() -> Vec<Case> {
    let case = Case::new;
    [by_hand(case), hands_off(case), by_device(case), house(case)]
        .into_iter()
        .flatten()
        .collect()
}

type New = fn(&'static str, Card, &[(u32, A)], u32) -> Case;

fn by_hand(case: New) -> Vec<Case> {
    vec![
        case("hand_ratio", Card::HandRatio, &[], 12),
        case(
            "hand_continuous",
            Card::HandContinuous,
            &[(20, A::AirwayIn)],
            30,
        ),
        case("began_earlier", Card::HandRatio, &[], 12)
            .from(A::BeganEarlier)
            .with(8, prior()),
        case("start_quiet", Card::HandRatio, &[], 12).from(A::StartQuiet),
        case("device_on", Card::Cup, &[], 12).from(A::DeviceAlreadyOn),
        case("first_breaths", Card::FirstBreaths, &[], 4)
            .from(A::StartWithBreaths)
            .under("example-child", &[]),
        case("child", Card::HandRatio, &[(5, A::ClassChild)], 12),
        case("newborn", Card::HandRatio, &[(32, A::HandsOn)], 65)
            .from(A::StartWithBreaths)
            .under("example-newborn", &[]),
        case("pads_on", Card::CheckDue, &[(40, A::PadsOn)], 43),
        case("fitting", Card::Fitting, &[(20, A::FitDevice)], 25),
        case("check_due", Card::CheckDue, &[], 121),
        case("check_over", Card::CheckDue, &[], 145),
        case(
            "drug_due",
            Card::HandRatio,
            &[
                (121, A::HandsOffCheck),
                (128, A::NoShockHand),
                (150, A::LineIn),
            ],
            160,
        ),
        case(
            "drug_late",
            Card::HandRatio,
            &[
                (10, A::DrugByClock),
                (121, A::HandsOffCheck),
                (128, A::NoShockHand),
                (250, A::HandsOffCheck),
                (256, A::NoShockHand),
            ],
            330,
        ),
        case(
            "refractory",
            Card::HandRatio,
            &[
                (121, A::HandsOffCheck),
                (128, A::ShockedHand),
                (250, A::HandsOffCheck),
                (256, A::ShockedHand),
                (378, A::HandsOffCheck),
                (384, A::ShockedHand),
            ],
            395,
        ),
        case("overlay", Card::HandRatio, &[(20, A::OverlayPregnancy)], 30),
        case("cold", Card::HandRatio, &[(20, A::OverlayCold30)], 30),
        case(
            "signs_of_life",
            Card::HandRatio,
            &[(20, A::SignsOfLife)],
            30,
        ),
        case("minute_list", Card::CheckDue, &[(590, A::Flag)], 640),
        case(
            "refused",
            Card::HandRatio,
            &[(20, A::FitDevice), (26, A::TooLarge)],
            30,
        ),
    ]
}

fn hands_off(case: New) -> Vec<Case> {
    vec![
        case("hands_off", Card::HandsOff, &[(20, A::HandsOff)], 36),
        case("still_off", Card::HandsOff, &[(20, A::HandsOff)], 95),
        case(
            "airway_try",
            Card::HandsOff,
            &[(20, A::HandsOff), (22, A::WhyAirway)],
            36,
        ),
        case(
            "ultrasound",
            Card::HandsOff,
            &[(20, A::HandsOff), (23, A::Ultrasound)],
            36,
        ),
        case("check", Card::Check, &[(121, A::HandsOffCheck)], 125),
        case("check_full", Card::Check, &[(121, A::HandsOffCheck)], 125).under(
            "example-adult",
            &[(
                "[check.form]\nvalue = \"short\"",
                "[check.form]\nvalue = \"full\"",
            )],
        ),
        case(
            "check_answered",
            Card::Check,
            &[(121, A::HandsOffCheck), (127, A::ShockNow)],
            129,
        ),
        case("it_leads", Card::HandRatio, &[(20, A::ItLeads)], 30),
        case(
            "pulse",
            Card::Pulse,
            &[(121, A::HandsOffCheck), (126, A::PulseBack)],
            140,
        ),
        case(
            "pulse_again",
            Card::Pulse,
            &[(121, A::HandsOffCheck), (126, A::PulseBack)],
            260,
        ),
        case(
            "arrest_again",
            Card::HandRatio,
            &[
                (121, A::HandsOffCheck),
                (126, A::PulseBack),
                (180, A::ArrestAgainHand),
            ],
            184,
        ),
        case(
            "fit_pause",
            Card::FitPause,
            &[(30, A::FitDevice), (40, A::HandsOffFit)],
            47,
        ),
        case(
            "ended",
            Card::Ended,
            &[
                (121, A::HandsOffCheck),
                (128, A::ShockedHand),
                (200, A::EndHandedOver),
            ],
            201,
        ),
    ]
}

fn by_device(case: New) -> Vec<Case> {
    vec![
        case("device_ratio", Card::DeviceRatio, &fitted(&[]), 70),
        case(
            "device_continuous",
            Card::DeviceContinuous,
            &fitted(&[(70, A::AirwayIn)]),
            72,
        ),
        case(
            "on_mains",
            Card::DeviceRatio,
            &fitted(&[(70, A::MainsOn)]),
            80,
        ),
        case("device_check", Card::CheckDue, &fitted(&[]), 121),
        case(
            "device_check_off",
            Card::Check,
            &fitted(&[(121, A::PausedCheck)]),
            126,
        ),
        case("paused", Card::HandsOff, &fitted(&[(70, A::Paused)]), 84),
        case("moving", Card::Moving, &fitted(&[(65, A::Moving)]), 80),
        case("loaded", Card::Cup, &fitted(&[(65, A::Moving)]), 80).with(
            72,
            In::Mark(Mark::Device(cycle::mark::DeviceMark::Move {
                act: MoveAct::Loaded,
                stage: None,
            })),
        ),
        case(
            "cup",
            Card::Cup,
            &fitted(&[(65, A::Moving), (80, A::SetDown)]),
            82,
        ),
        case(
            "reseating",
            Card::Reseating,
            &fitted(&[(65, A::Reseat)]),
            70,
        ),
        case("power", Card::Power, &fitted(&[(70, A::PowerSwap)]), 85),
        case(
            "power_out",
            Card::PowerLate,
            &fitted(&[(62, A::PowerSwap)]),
            125,
        ),
        case(
            "power_late",
            Card::PowerLate,
            &fitted(&[(62, A::PowerSwap), (125, A::Swapped)]),
            127,
        ),
        case("stopped", Card::Stopped, &fitted(&[(70, A::Stopped)]), 72),
        case(
            "drug_by_device",
            Card::DeviceRatio,
            &fitted(&[(70, A::DrugByClock)]),
            80,
        )
        .with(
            75,
            In::Mark(Mark::Care(CareMark::Access {
                kind: "io".to_owned(),
                site: None,
                attempt: None,
                success: Some(true),
            })),
        ),
    ]
}

fn house(case: New) -> Vec<Case> {
    vec![
        case("sound_lost", Card::HandRatio, &[], 30)
            .with(20, In::Input(Input::Sound(SoundNews::Lost))),
        case("voice_off", Card::HandRatio, &[(20, A::VoiceOff)], 30),
        case("beat_off", Card::HandRatio, &[(20, A::BeatOff)], 30),
        case("not_saving", Card::HandRatio, &[], 30).house(&[Banner::NotSaving]),
        case("prompts_stopped", Card::HandRatio, &[], 30).house(&[Banner::PromptsStopped]),
        case("pack_damaged", Card::HandRatio, &[], 30).house(&[Banner::PackDamaged]),
        case("drill", Card::HandRatio, &[], 30).house(&[Banner::Drill]),
        case("resumed", Card::Unknown, &[(20, A::Flag)], 90).with(85, recovered(30)),
        case("resumed_long", Card::Unknown, &[(20, A::Flag)], 900).with(890, recovered(30)),
        case("still_running", Card::CheckDue, &[(20, A::Flag)], 1_845),
        // The fullest card: every line over it, the longest sentence in it.
        case(
            "stopped_full",
            Card::Stopped,
            &fitted(&[(62, A::VoiceOff), (64, A::BeatOff), (70, A::Stopped)]),
            72,
        )
        .house(&[Banner::NoSound, Banner::NotSaving]),
    ]
}
