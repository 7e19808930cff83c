//! After a kill or a stall.

use super::*;

#[test]
fn after_a_kill_the_state_is_unknown_and_the_beat_goes_on_in_its_phase() {
    let mut w = started();
    w.until(10_000);
    let last = w.log.last().unwrap().clone();
    let mut again = Walk::new();
    again.run = Run::replay(setup(), &w.log).unwrap();
    again.now = Ms(15_000);
    again.input(
        Ms(15_000),
        Input::Recovered {
            from_seq: last.seq,
            from: last.taken,
            bad_bytes: 0,
        },
    );
    assert_eq!(again.run.view(Ms(15_000)).state, StateWord::Unknown);
    assert_eq!(again.run.view(Ms(15_000)).state_since, last.taken);
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
    let last = w.log.last().unwrap().clone();
    let mut again = Walk::new();
    again.run = Run::replay(setup(), &w.log).unwrap();
    again.now = Ms(88_000);
    again.input(
        Ms(88_000),
        Input::Recovered {
            from_seq: last.seq,
            from: last.taken,
            bad_bytes: 0,
        },
    );
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
