//! After a kill or a stall.

use super::*;

#[test]
fn after_a_kill_the_state_is_unknown_and_the_beat_goes_on_in_its_phase() {
    let mut w = started();
    w.until(10_000);
    let last = w.log.last().unwrap().taken;
    let mut again = w.replayed(15_000);
    assert_eq!(again.run.view(Ms(15_000)).state, StateWord::Unknown);
    assert_eq!(again.run.view(Ms(15_000)).state_since, last);
    again.until(16_000);
    // 25 + 28 * 545.45 = 15,297.
    assert_eq!(again.beats_between(15_000, 15_400), [15_297]);
    again.tap(16_000, Act::AsBefore);
    assert_eq!(again.run.view(Ms(16_000)).state, StateWord::ByHand);
}

#[test]
fn after_a_kill_in_hands_off_no_order_is_spoken_and_the_phone_shows_life() {
    let mut w = started();
    w.tap(85_000, Act::HandsOff).until(87_000);
    let mut again = w.replayed(88_000);
    again.until(125_000);
    assert_eq!(again.voices(), []);
    assert!(again.heard.iter().any(|(_, n)| n == "life"));
    assert!(again.run.view(again.now).sheet.contains(&Act::HandsOff));
}

#[test]
fn a_stall_over_a_whole_round_is_written_down_as_missed() {
    let mut w = started();
    w.until(100_000);
    w.now = Ms(400_000);
    w.input(Ms(400_000), Input::Wake);
    let missed: Vec<_> = w
        .log
        .iter()
        .filter_map(|e| match &e.fact {
            Fact::Deed(Deed::Cue(c)) if c.outcome == CueOutcome::Missed => {
                c.id.map(|p| (c.due_ms.0, p.word()))
            }
            _ => None,
        })
        .collect();
    assert!(missed.contains(&(120_000, "chk_now")), "{missed:?}");
    assert!(missed.contains(&(240_000, "chk_now")), "{missed:?}");
    let unmarked = w
        .log
        .iter()
        .filter(|e| matches!(e.fact, Fact::Deed(Deed::CheckUnmarked { .. })))
        .count();
    assert_eq!(unmarked, 2);
}

/// An interruption longer than five minutes, or with a pulse, makes two halves of the run.
#[test]
fn a_gap_with_circulation_back_asks_whose_run_it_is() {
    let back = |choice: Option<Act>| {
        let mut w = started();
        w.key(20_000, Act::HandsOff)
            .key(26_000, Act::PulseBack)
            .until(40_000);
        let mut again = w.replayed(60_000);
        if let Some(choice) = choice {
            again.key(62_000, choice).until(63_000);
        }
        again
    };
    let w = back(None);
    let view = w.run.view(w.now);
    assert_eq!(view.state, StateWord::Unknown);
    assert_eq!(view.main, [Act::SamePatient, Act::NewPatient]);
    let w = back(Some(Act::AsBefore));
    assert_eq!(
        w.ignored(),
        ["the gap makes two halves: same_patient or new_patient"]
    );
    // Nobody said that circulation was lost.
    let w = back(Some(Act::SamePatient));
    let view = w.run.view(w.now);
    assert_eq!(
        (view.state, view.state_since),
        (StateWord::Pulse, Ms(26_000))
    );
    let pulses = view.hand_over.unwrap().pulses;
    assert_eq!(pulses, [(Ms(26_000), None)]);
    let w = back(Some(Act::NewPatient));
    assert_eq!(w.run.view(w.now).state, StateWord::Ended);
}

#[test]
fn after_a_long_gap_by_device_the_phone_shows_life() {
    let mut w = by_device();
    w.key(30_000, Act::CupGood)
        .key(40_000, Act::AirwayIn)
        .until(60_000);
    w.back(400_000, Seq(40), Ms(60_000));
    w.until(440_000);
    let life = w.heard.iter().filter(|(t, n)| *t >= 400_000 && n == "life");
    assert!(life.count() >= 3, "{:?}", w.heard);
}

#[test]
fn the_state_set_right_after_a_gap_is_so_from_the_gap_on() {
    let mut w = started();
    w.until(60_000);
    w.back(90_000, Seq(40), Ms(60_000));
    w.until(95_000);
    let state = crate::mark::SetState::Mechanical;
    let back = Ms(120_000);
    w.input(Ms(95_000), Input::SetRight { state, back });
    let view = w.run.view(w.now);
    assert_eq!(
        (view.state, view.state_since),
        (StateWord::ByDevice, Ms(90_001))
    );
}
