//! Every mark that a crew may make has a key: on the card in one touch, or behind Mark in two. The lists
//! are written by hand; the kinds are those of `docs/record.md`.

use super::*;
use crate::{
    Entered, View,
    mark::{AirMark, CareMark, DeviceMark, FlowMark, Reason, kind_of},
};
use alloc::collections::BTreeSet;

/// A state that a run is in, and how it came there.
fn states() -> Vec<(&'static str, Walk)> {
    let device = || {
        let mut w = by_device();
        w.key(30_000, Act::CupGood);
        w
    };
    let with = |mut w: Walk, acts: &[(u64, Act)]| {
        for (t, act) in acts {
            w.key(*t, *act);
        }
        w
    };
    let unknown = {
        let mut w = started();
        w.until(10_000);
        let (from_seq, from) = w.log.last().map(|e| (e.seq, e.taken)).unwrap();
        w.back(20_000, from_seq, from);
        w
    };
    std::vec![
        ("by hand", with(started(), &[(80_000, Act::Flag)])),
        ("by hand, tube", with(started(), &[(80_000, Act::TubeIn)])),
        ("by device", with(device(), &[(80_000, Act::Flag)])),
        ("by device, tube", with(device(), &[(80_000, Act::TubeIn)])),
        ("off", with(started(), &[(80_000, Act::HandsOff)])),
        ("off, device", with(device(), &[(80_000, Act::Paused)])),
        ("check", with(started(), &[(80_000, Act::HandsOffCheck)])),
        (
            "check, device",
            with(device(), &[(80_000, Act::PausedCheck)]),
        ),
        ("fitting", with(started(), &[(80_000, Act::FitDevice)])),
        (
            "fit pause",
            with(
                started(),
                &[(80_000, Act::FitDevice), (85_000, Act::HandsOffFit)],
            ),
        ),
        ("moving", with(started(), &[(80_000, Act::Moving)])),
        ("moving, device", with(device(), &[(80_000, Act::Moving)])),
        ("cup", with(by_device(), &[(40_000, Act::Flag)])),
        ("pack out", with(device(), &[(80_000, Act::PowerSwap)])),
        ("stopped", with(device(), &[(80_000, Act::Stopped)])),
        (
            "pulse",
            with(
                started(),
                &[(80_000, Act::HandsOff), (85_000, Act::PulseBack)],
            ),
        ),
        ("unknown", unknown),
    ]
}

fn all_keys(view: &View) -> Vec<Act> {
    [view.main.as_slice(), &view.side, &view.sheet].concat()
}

/// The kinds that two touches reach: by a key of its own, or by one that opens an entry.
fn kinds(view: &View) -> BTreeSet<&'static str> {
    let mut kinds = BTreeSet::new();
    for act in all_keys(view) {
        let opens = match act {
            Act::Co2 => "etco2",
            Act::OtherDrug => "drug",
            Act::BeforeUs => "prior_care",
            Act::Levels => "sound",
            Act::FitParts | Act::FitReason => "fit",
            _ => {
                kinds.extend(act.marks().iter().map(kind_of));
                continue;
            }
        };
        kinds.insert(opens);
    }
    kinds
}

/// Marks that say something in any state of a live run.
const ANYWHERE: &str = "patient overlay leads times decision sound flag pads drug access airway \
                        breath_mode etco2 move procedure awake prior_care";
/// Where no pulse is known.
const IN_ARREST: &str = "charge rhythm shock no_shock";

/// What else each state has to offer.
const HERE: &[(&str, &str)] = &[
    ("by hand", "compr_start compr_stop rotate fit fit_refused"),
    (
        "by hand, tube",
        "compr_start compr_stop rotate fit fit_refused airway_confirm",
    ),
    ("by device", "compr_start compr_stop cup power fit"),
    (
        "by device, tube",
        "compr_start compr_stop cup power fit airway_confirm",
    ),
    (
        "off",
        "compr_start why rosc pulse_check rotate fit fit_refused",
    ),
    (
        "off, device",
        "compr_start compr_stop why rosc pulse_check cup power fit",
    ),
    (
        "check",
        "compr_start why rosc pulse_check rotate fit fit_refused",
    ),
    (
        "check, device",
        "compr_start compr_stop why rosc pulse_check cup power fit",
    ),
    (
        "fitting",
        "compr_start compr_stop rotate fit fit_refused power",
    ),
    (
        "fit pause",
        "compr_start compr_stop why rosc pulse_check rotate fit fit_refused power",
    ),
    ("moving", "compr_start compr_stop rotate fit fit_refused"),
    ("moving, device", "compr_start compr_stop cup power fit"),
    ("cup", "compr_start compr_stop cup power fit ack"),
    (
        "pack out",
        "compr_start compr_stop why rosc pulse_check cup power fit",
    ),
    (
        "stopped",
        "compr_start why rosc pulse_check fit fit_refused",
    ),
    ("pulse", "rearrest pulse_check fit fit_refused"),
    ("unknown", "compr_start compr_stop resume fit fit_refused"),
];

#[test]
fn every_mark_is_two_touches_away_at_most() {
    for ((state, w), (name, here)) in states().iter().zip(HERE) {
        assert_eq!(state, name);
        let found = kinds(&w.run.view(w.now));
        let arrest = if *state == "pulse" { "" } else { IN_ARREST };
        for kind in [ANYWHERE, arrest, here].join(" ").split_whitespace() {
            assert!(found.contains(kind), "{state}: no way to {kind}: {found:?}");
        }
    }
}

/// A key that nothing takes would be a lie: each key's first mark can stand where it is offered.
#[test]
fn no_key_is_offered_where_its_mark_cannot_stand() {
    for (state, w) in states() {
        let view = w.run.view(w.now);
        let keys = all_keys(&view);
        for act in &keys {
            let refused = act.marks().first().and_then(|mark| w.run.check(mark).err());
            assert_eq!(refused, None, "{state}: {act:?}");
        }
        let twice: BTreeSet<_> = view.sheet.iter().map(|act| act.word()).collect();
        assert_eq!(twice.len(), view.sheet.len(), "{state}: {:?}", view.sheet);
        // Never while the device compresses.
        let by_device = view.state == StateWord::ByDevice;
        assert!(!by_device || !keys.contains(&Act::Rotate), "{state}");
    }
}

/// One tap, by state: what a crew marks most often there.
#[test]
fn the_frequent_marks_are_on_the_card() {
    use Act::{
        AirwayIn, AirwayLost, CupGood, DeviceRunning, FitDevice, HandsOff, HandsOn, Moving,
        NoShockDevice, NoShockHand, Paused, PulseBack, Reseat, SetDown, ShockNow, ShockedDevice,
        ShockedHand, Stopped, Swapped, WhyAirway, WhyCheck,
    };
    let one: &[(&str, &[Act])] = &[
        ("by hand", &[HandsOff, AirwayIn, FitDevice]),
        ("by hand, tube", &[HandsOff, AirwayLost, FitDevice]),
        ("by device", &[Paused, Stopped, Moving, AirwayIn]),
        ("by device, tube", &[Paused, Stopped, Moving, AirwayLost]),
        ("off", &[HandsOn, DeviceRunning, WhyCheck, WhyAirway]),
        (
            "off, device",
            &[HandsOn, DeviceRunning, WhyCheck, WhyAirway],
        ),
        ("check", &[ShockedHand, NoShockHand, PulseBack, ShockNow]),
        (
            "check, device",
            &[ShockedDevice, NoShockDevice, PulseBack, ShockNow],
        ),
        ("moving", &[SetDown]),
        ("moving, device", &[SetDown]),
        ("cup", &[CupGood, Reseat]),
        ("pack out", &[Swapped, HandsOn]),
        ("stopped", &[HandsOn]),
    ];
    let states = states();
    for (name, acts) in one {
        let (_, w) = states.iter().find(|(state, _)| state == name).unwrap();
        let view = w.run.view(w.now);
        let card = [view.main.as_slice(), &view.side].concat();
        for act in *acts {
            assert!(card.contains(act), "{name}: {act:?} of {card:?}");
        }
        assert!(view.main.len() <= 2 && view.side.len() <= 2, "{name}");
    }
}

/// Reasons that a pause can be given, where each can be the true one. A shock, circulation and the end
/// have marks of their own, and a stopped device is told by Stopped.
#[test]
fn every_reason_of_a_pause_can_be_given() {
    let reasons = |w: &Walk| -> BTreeSet<Reason> {
        all_keys(&w.run.view(w.now))
            .iter()
            .flat_map(|act| act.marks())
            .filter_map(|mark| match mark {
                Mark::Flow(FlowMark::Why { reason }) => Some(reason),
                _ => None,
            })
            .collect()
    };
    let always = [
        Reason::RhythmCheck,
        Reason::PulseCheck,
        Reason::Airway,
        Reason::Access,
        Reason::Ventilation,
        Reason::Procedure,
        Reason::Move,
    ];
    let mut w = started();
    w.key(20_000, Act::HandsOff);
    for reason in always.into_iter().chain([Reason::Rotate]) {
        assert!(reasons(&w).contains(&reason), "by hand: {reason:?}");
    }
    let mut w = by_device();
    w.key(30_000, Act::CupGood).key(40_000, Act::Paused);
    let of_device = [
        Reason::Power,
        Reason::DeviceFit,
        Reason::DeviceReseat,
        Reason::DeviceOff,
    ];
    for reason in always.into_iter().chain(of_device) {
        assert!(reasons(&w).contains(&reason), "by device: {reason:?}");
    }
    w.key(41_000, Act::WhyMove);
    assert_eq!(w.run.view(w.now).reason, Some(Reason::Move));
    assert!(!reasons(&w).contains(&Reason::Move), "it has it already");
}

#[test]
fn the_breath_mode_changes_without_the_airway() {
    // A supraglottic that leaks: ratio again, and it stays in.
    let mut w = started();
    w.key(20_000, Act::AirwayIn).until(30_000);
    assert!(w.run.view(w.now).sheet.contains(&Act::BreathsBetween));
    assert!(!w.run.view(w.now).sheet.contains(&Act::BreathsThrough));
    w.key(30_000, Act::BreathsBetween).until(31_000);
    let card = w.run.view(w.now).hand_over.unwrap();
    assert_eq!(
        (card.airway, card.breaths),
        (Some(AirwayDevice::Sga), crate::mark::BreathMode::Ratio)
    );
    // A mask with compressions that do not pause.
    let mut w = started();
    w.key(20_000, Act::BreathsThrough).until(33_000);
    let card = w.run.view(w.now).hand_over.unwrap();
    assert_eq!(
        (card.airway, card.breaths),
        (None, crate::mark::BreathMode::Continuous)
    );
    let since: Vec<u64> = w.breaths().into_iter().filter(|t| *t > 20_000).collect();
    assert_eq!(since, [26_000, 32_000]);
}

#[test]
fn a_reading_is_entered_with_its_unit_and_starts_from_the_last_one() {
    let mut w = started();
    w.until(10_000);
    let start = w.run.view(w.now).entries.co2.unwrap();
    assert_eq!((&*start.value, &*start.unit), ("20", "mmHg"));
    let enter = |w: &Walk, value: &str, unit: &str| {
        let (value, unit) = (value.to_string(), unit.to_string());
        w.run.entered(&Entered::Co2 { value, unit })
    };
    let mark = enter(&w, "3.5", "kPa").unwrap();
    assert_eq!(
        mark,
        Mark::Air(AirMark::Etco2 {
            value: "3.5".into(),
            unit: "kPa".into()
        })
    );
    w.mark(11_000, mark).until(12_000);
    let next = w.run.view(w.now).entries.co2.unwrap();
    assert_eq!((&*next.value, &*next.unit), ("3.5", "kPa"));
    for good in ["0", "760", "760.0", "45.5"] {
        assert!(enter(&w, good, "mmHg").is_ok(), "{good}");
    }
    for bad in [
        "", "-1", "761", "760.1", "4.55", "4.", ".5", "1e2", "4,5", "0760",
    ] {
        let fault = enter(&w, bad, "mmHg").unwrap_err();
        let allowed = "a number 0 to 760 with one place after the point at most";
        assert_eq!(
            (fault.field, fault.allowed.as_str()),
            ("co2", allowed),
            "{bad}"
        );
    }
    let fault = enter(&w, "30", "pct").unwrap_err();
    assert_eq!(fault.to_string(), "unit = pct, allowed: mmHg, kPa");
}

#[test]
fn other_drugs_come_from_the_service_s_list() {
    let mut w = started();
    w.until(10_000);
    let drugs = w.run.view(w.now).entries.drugs;
    let words: Vec<_> = drugs.iter().map(|d| d.words.as_str()).collect();
    let list = ["Bicarbonate", "Calcium", "Glucose", "Magnesium", "Naloxone"];
    assert_eq!(words, list);
    let calcium = Entered::Drug {
        key: "calcium".into(),
    };
    let mark = w.run.entered(&calcium).unwrap();
    assert!(matches!(&mark, Mark::Care(CareMark::Drug { drug, .. }) if drug == "calcium"));
    w.mark(11_000, mark);
    let doses = w.run.view(w.now).hand_over.unwrap().doses;
    assert_eq!(
        (doses[0].key.as_str(), doses[0].name.as_str()),
        ("calcium", "Calcium")
    );
    let tea = Entered::Drug { key: "tea".into() };
    let fault = w.run.entered(&tea).unwrap_err();
    let allowed = "bicarbonate, calcium, glucose, magnesium, naloxone";
    assert_eq!(
        fault.to_string(),
        std::format!("drug = tea, allowed: {allowed}")
    );
}

#[test]
fn a_move_is_told_by_its_stage_and_loaded_ends_it() {
    use crate::mark::{MoveAct, Stage};
    let mut w = by_device();
    w.key(30_000, Act::CupGood).key(40_000, Act::MoveStairs);
    let view = w.run.view(w.now);
    assert_eq!(view.card, crate::Card::Moving);
    assert!(view.sheet.contains(&Act::Loaded) && !view.sheet.contains(&Act::MoveScoop));
    let told = w.log.iter().any(|e| {
        e.fact
            == Fact::Mark(Mark::Device(DeviceMark::Move {
                act: MoveAct::Begin,
                stage: Some(Stage::Stairs),
            }))
    });
    assert!(told);
    w.key(60_000, Act::Loaded).until(62_000);
    assert_eq!(w.said("cup_down"), [60_000]);
}

#[test]
fn what_the_screen_asks_can_be_answered_without_a_mark() {
    let mut w = started();
    w.until(95_000);
    assert!(
        w.run.view(w.now).sheet.contains(&Act::HeardCheck),
        "in its heads-up"
    );
    w.key(95_000, Act::HeardCheck).until(125_000);
    assert!(w.said("chk_now").is_empty());
    let mut w = started();
    w.key(20_000, Act::HandsOff).until(85_000);
    assert_eq!(w.run.view(w.now).sheet[0], Act::StillOff);
    let mut w = started();
    w.until(31 * 60_000);
    assert!(w.run.view(w.now).sheet.contains(&Act::StillRunning));
    w.key(31 * 60_000, Act::StillRunning);
    assert!(!w.run.view(w.now).sheet.contains(&Act::StillRunning));
}

/// Once a question is open its answer comes before all other keys, and it is one key alone.
#[test]
fn an_answer_comes_first_and_alone() {
    let answers = [
        Act::StillOff,
        Act::StillRunning,
        Act::HeardCheck,
        Act::HeardCup,
        Act::HeardDrug,
        Act::HeardRotate,
        Act::HeardPower,
        Act::HeardMinute,
        Act::HeardHeart,
    ];
    let mut w = started();
    // Off past the check: both are asked.
    w.key(100_000, Act::HandsOff).until(165_000);
    let view = w.run.view(w.now);
    assert!(view.asks.contains(&crate::Ask::StillOff), "{:?}", view.asks);
    let at = |view: &View| -> Vec<usize> {
        let keys = view.sheet.iter().enumerate();
        keys.filter(|(_, act)| answers.contains(act))
            .map(|(n, _)| n)
            .collect()
    };
    assert_eq!((at(&view), view.sheet[0]), (std::vec![0], Act::StillOff));
    w.key(166_000, Act::StillOff).until(167_000);
    let view = w.run.view(w.now);
    assert_eq!((at(&view), view.sheet[0]), (std::vec![0], Act::HeardCheck));
}

/// The likeliest marks behind Mark, written by hand from `docs/taps.md`: shock, drug, access, airway try and
/// flag by hand; by device what feeds and seats it beside them; what is said once makes room.
#[test]
fn the_likeliest_marks_come_first_behind_mark() {
    use Act::{
        AirwayIn, AirwayTry, DeviceRunning, DrugByClock, Flag, FullPack, LineIn, Moving, PadsOn,
        PowerSwap, PulseBack, PulseNone, PulseStill, Reseat, ShockNow, Stopped, TooLarge, TooSmall,
    };
    let first: &[(&str, &[Act])] = &[
        (
            "by hand",
            &[PadsOn, DrugByClock, ShockNow, LineIn, AirwayTry],
        ),
        ("by hand, tube", &[PadsOn, DrugByClock, ShockNow, LineIn]),
        (
            "by device",
            &[DrugByClock, PowerSwap, Reseat, ShockNow, Flag],
        ),
        (
            "off",
            &[PulseBack, ShockNow, AirwayIn, PulseNone, DrugByClock],
        ),
        (
            "off, device",
            &[PulseBack, ShockNow, AirwayIn, PowerSwap, PulseNone],
        ),
        (
            "check",
            &[Act::Charge, PulseNone, Act::HandsOn, DeviceRunning],
        ),
        ("fitting", &[Act::HandsOff, TooSmall, TooLarge]),
        (
            "moving, device",
            &[Act::Loaded, Reseat, AirwayIn, PowerSwap],
        ),
        // In its first minute: the answer, then the class.
        (
            "cup",
            &[
                Act::HeardCup,
                Act::ClassChild,
                Act::ClassInfant,
                Act::ClassNewborn,
                DrugByClock,
                AirwayIn,
            ],
        ),
        ("pack out", &[DeviceRunning, Stopped, PulseBack, ShockNow]),
        (
            "stopped",
            &[PulseBack, ShockNow, AirwayIn, DrugByClock, Flag],
        ),
        ("pulse", &[PulseStill, AirwayIn, Act::Co2, Moving, Flag]),
    ];
    let states = states();
    let of = |name: &str| {
        let (_, w) = states.iter().find(|(state, _)| *state == name).unwrap();
        w.run.view(w.now).sheet
    };
    for (name, acts) in first {
        let sheet = of(name);
        assert_eq!(&sheet[..acts.len()], *acts, "{name}");
    }
    let mut w = started();
    w.key(80_000, PadsOn).key(90_000, Act::HandsOffCheck);
    w.key(95_000, Act::NoShockHand).key(100_000, LineIn);
    let sheet = w.run.view(w.now).sheet;
    // The drug that is due has the place of Fit Device on the card.
    let first = [Act::HeardDrug, Act::FitDevice, ShockNow, AirwayTry];
    assert_eq!(sheet[..4], first);
    assert!(sheet.contains(&PadsOn) && sheet.contains(&LineIn));
    assert!(
        of("by device").contains(&FullPack),
        "it can be said all the same"
    );
}

/// In the first minute the class comes before all others; then it is set right as any fact of the patient.
#[test]
fn the_class_comes_first_in_the_first_minute() {
    let mut w = started();
    w.until(20_000);
    let classes = [Act::ClassChild, Act::ClassInfant, Act::ClassNewborn];
    assert_eq!(w.run.view(w.now).sheet[..3], classes);
    w.until(60_000);
    let sheet = w.run.view(w.now).sheet;
    assert!(!classes.contains(&sheet[0]) && sheet.contains(&classes[0]));
}

/// What is named of the rhythm does not take the charge out of the defibrillator: by hand, in the order in which crews
/// say it.
#[test]
fn a_charge_can_be_dumped_until_it_was_given_and_made_after_the_rhythm_was_named() {
    let offered = |w: &Walk| {
        let sheet = w.run.view(w.now).sheet;
        (
            sheet.contains(&Act::Charge),
            sheet.contains(&Act::ChargeDumped),
        )
    };
    let check = |acts: &[(u64, Act)]| {
        let mut w = started();
        w.key(100_000, Act::Flag).key(120_000, Act::HandsOffCheck);
        for (t, act) in acts {
            w.key(*t, *act);
        }
        offered(&w)
    };
    assert_eq!(check(&[]), (true, false));
    assert_eq!(check(&[(121_000, Act::Charge)]), (false, true));
    assert_eq!(
        check(&[(121_000, Act::Shockable)]),
        (true, false),
        "named before it was charged"
    );
    for named in [Act::NotShockable, Act::NoShockThrough] {
        let dump = [(121_000, Act::Charge), (123_000, named)];
        assert_eq!(check(&dump), (true, true), "{named:?}");
        let dumped = [dump.as_slice(), &[(124_000, Act::ChargeDumped)]].concat();
        assert_eq!(check(&dumped), (true, false), "{named:?}, dumped");
    }
    for given in [Act::ShockNow, Act::ShockedHand, Act::NoShockHand] {
        let over = [(121_000, Act::Charge), (123_000, given)];
        assert_eq!(check(&over), (true, false), "{given:?}");
    }
}

/// A crew that forgot to say that the device lies ready can still say what hands are off for.
#[test]
fn a_pause_can_be_told_as_the_fitting_wherever_there_is_a_device() {
    let mut w = started();
    w.key(75_000, Act::HandsOff);
    assert!(w.run.view(w.now).sheet.contains(&Act::WhyFit));
    w.key(76_000, Act::WhyFit);
    let view = w.run.view(w.now);
    assert_eq!(
        (view.card, view.main),
        (
            crate::Card::FitPause,
            std::vec![Act::HandsOn, Act::DeviceRunning]
        )
    );
    let mut w = started_with(setup_of("example-infant", &[]));
    w.key(75_000, Act::HandsOff);
    assert!(!w.run.view(w.now).sheet.contains(&Act::WhyFit));
}

/// The card that is read out says no rhythm of the arrest of a patient who has a pulse.
#[test]
fn with_a_pulse_the_rhythm_of_the_arrest_is_no_longer_said() {
    let mut w = started();
    w.key(100_000, Act::Flag).key(120_000, Act::HandsOffCheck);
    w.key(121_000, Act::Shockable)
        .key(125_000, Act::ShockedHand);
    let card = |w: &Walk| w.run.view(w.now).hand_over.unwrap();
    let shockable = Some(crate::mark::RhythmSeen::Shockable);
    assert_eq!(
        (card(&w).first_rhythm, card(&w).rhythm),
        (shockable, shockable)
    );
    w.key(130_000, Act::HandsOff).key(131_000, Act::PulseBack);
    assert_eq!((card(&w).first_rhythm, card(&w).rhythm), (shockable, None));
}
