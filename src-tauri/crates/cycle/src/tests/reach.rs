//! Marks that are wanted at a moment have their key at hand in it: a drug that is due, a pulse that is felt,
//! another airway than the one that was marked.

use super::*;

/// While the drug by the clock is due its key is on the card, in the airway's place; given or heard, the
/// airway has it back, and meanwhile it is the likeliest behind Mark.
#[test]
fn a_drug_that_is_due_has_its_key_on_the_card() {
    let due = |mut w: Walk| {
        w.key(80_000, Act::HandsOff);
        w
    };
    let by_hand = {
        let mut w = due(started());
        w.key(85_000, Act::NoShockHand);
        w
    };
    let tube = {
        let mut w = due(started());
        w.key(82_000, Act::TubeIn).key(85_000, Act::NoShockHand);
        w
    };
    let device = {
        let mut w = by_device();
        w.key(30_000, Act::CupGood)
            .key(80_000, Act::Paused)
            .key(85_000, Act::NoShockDevice)
            .key(86_000, Act::CupGood);
        w
    };
    let rows = [
        (by_hand, Act::AirwayIn, Act::FitDevice),
        (tube, Act::AirwayLost, Act::FitDevice),
        (device, Act::AirwayIn, Act::Moving),
    ];
    for (mut w, airway, other) in rows {
        w.until(90_000);
        assert_eq!(w.drug("adrenaline"), DrugWord::Due);
        let view = w.run.view(w.now);
        assert_eq!(view.side, [Act::DrugByClock, other], "{airway:?}");
        assert_eq!(view.sheet[..2], [Act::HeardDrug, airway]);
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
        assert_eq!(heard.view(Ms(91_000)).side, [airway, other], "heard");
        w.key(92_000, Act::DrugByClock);
        assert_eq!(w.run.view(w.now).side, [airway, other], "given");
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
