//! Marks that are wanted at a moment have their key at hand in it: a drug that is due, a pulse that is felt,
//! another airway than the one that was marked.

use super::*;
use crate::Card;

/// A first dose fell due at the check of this walk.
fn due(mut w: Walk, airway: Option<Act>, answer: Act) -> Walk {
    w.key(80_000, Act::HandsOff);
    if let Some(airway) = airway {
        w.key(82_000, airway);
    }
    w.key(85_000, answer);
    w
}

fn on_device(airway: Option<Act>) -> Walk {
    let mut w = by_device();
    w.key(30_000, Act::CupGood);
    due(w, airway, Act::NoShockDevice)
}

/// While the drug by the clock is due its key is on the card. Until an airway is in, that one keeps its key: a hand
/// that has learnt it would mark a dose. Given or heard, what gave way has its place back, and meanwhile it comes
/// straight after the answer behind Mark.
#[test]
fn a_drug_that_is_due_has_its_key_on_the_card() {
    let by_hand = |airway| due(started(), airway, Act::NoShockHand);
    let infant = setup_of("example-infant", &[]);
    let no_device = due(started_with(infant), None, Act::NoShockHand);
    let fitting = {
        let mut w = started();
        w.key(70_000, Act::FitDevice);
        due(w, None, Act::NoShockHand)
    };
    let (drug, airway) = (Act::DrugByClock, Act::AirwayIn);
    let rows = [
        (
            "by hand",
            by_hand(None),
            [airway, drug],
            [airway, Act::FitDevice],
        ),
        (
            "no device",
            no_device,
            [airway, drug],
            [airway, Act::LineIn],
        ),
        ("fitting", fitting, [airway, drug], [airway, Act::NotNow]),
        (
            "tube",
            by_hand(Some(Act::TubeIn)),
            [drug, Act::FitDevice],
            [Act::AirwayLost, Act::FitDevice],
        ),
        (
            "by device, airway in",
            on_device(Some(Act::AirwayIn)),
            [drug, Act::Moving],
            [Act::AirwayLost, Act::Moving],
        ),
        (
            "by device",
            on_device(None),
            [airway, Act::Moving],
            [airway, Act::Moving],
        ),
    ];
    for (name, mut w, asked, usual) in rows {
        if name.starts_with("by device") {
            w.key(86_000, Act::CupGood);
        }
        w.until(90_000);
        assert_eq!(w.drug("adrenaline"), DrugWord::Due, "{name}");
        let view = w.run.view(w.now);
        assert_eq!(view.side, asked, "{name}");
        let away = usual.into_iter().find(|act| !asked.contains(act));
        assert_eq!(
            view.sheet[..2],
            [Act::HeardDrug, away.unwrap_or(drug)],
            "{name}"
        );
        let mut heard = w.run.clone();
        for mark in Act::HeardDrug.marks() {
            heard.handle(
                Ms(91_000),
                Input::Mark {
                    at: Ms(91_000),
                    mark,
                    src: Source::Button,
                },
            );
        }
        assert_eq!(heard.view(Ms(91_000)).side, usual, "{name}, heard");
        w.key(92_000, drug);
        assert_eq!(w.run.view(w.now).side, usual, "{name}, given");
    }
}

/// Neither the classes of a run's first minute nor rhythm and charge, where the service marks them at each check, come
/// before the mark whose key the drug has taken.
#[test]
fn what_gave_way_to_the_drug_comes_first_behind_mark_at_any_time() {
    let mut new = started();
    new.key(10_000, Act::HandsOff)
        .key(15_000, Act::NoShockHand)
        .until(20_000);
    let full = setup_of(
        "example-adult",
        &[(
            "[check.form]\nvalue = \"short\"",
            "[check.form]\nvalue = \"full\"",
        )],
    );
    let mut full = due(started_with(full), None, Act::NoShockHand);
    full.until(200_000);
    assert_eq!(full.run.view(full.now).card, Card::CheckDue);
    for (name, w, answer) in [
        ("first minute", new, Act::HeardDrug),
        ("full form", full, Act::HeardDrug),
    ] {
        let view = w.run.view(w.now);
        assert_eq!(view.side, [Act::AirwayIn, Act::DrugByClock], "{name}");
        assert_eq!(view.sheet[..2], [answer, Act::FitDevice], "{name}");
    }
}

/// Whoever feels a pulse in a pause finds its key on the card of that pause, and under Rhythm, Pulse as well.
#[test]
fn a_pulse_in_a_check_has_its_key_on_the_card_and_behind_mark() {
    for why in [Act::WhyCheck, Act::WhyPulse] {
        let mut w = started();
        w.key(80_000, Act::HandsOff);
        assert!(
            w.run.view(w.now).sheet.contains(&Act::PulseBack),
            "no reason"
        );
        w.key(82_000, why);
        let view = w.run.view(w.now);
        assert_eq!(view.side.get(1), Some(&Act::PulseBack), "{why:?}");
        assert!(view.sheet.contains(&Act::PulseBack), "{why:?} behind Mark");
    }
}

/// The airway's key names no device: the screen says what was marked and how a tube is, as long as Undo
/// takes that mark back.
#[test]
fn after_the_airway_key_the_screen_says_how_a_tube_is_marked() {
    let asks = |w: &Walk| w.run.view(w.now).asks.contains(&crate::Ask::TubeInstead);
    let mut w = started();
    assert!(!asks(&w));
    w.key(20_000, Act::AirwayIn);
    w.until(49_000);
    assert!(asks(&w));
    w.until(51_000);
    assert!(!asks(&w), "half a minute is over");
    let mut w = started();
    w.key(20_000, Act::AirwayIn).key(25_000, Act::Flag);
    assert!(!asks(&w), "Undo would take back another mark");
    let mut w = started();
    w.key(20_000, Act::TubeIn);
    assert!(!asks(&w), "it was a tube");
}
