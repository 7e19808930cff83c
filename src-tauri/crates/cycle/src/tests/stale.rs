//! A line of what was said goes with the mark that answers it, makes it untrue or comes after a receipt;
//! left alone it stands for its six seconds.

use super::*;

/// What the screen has of what was said.
fn line(w: &Walk) -> Option<Prompt> {
    w.run.view(w.now).said.map(|said| said.prompt)
}

fn device_going() -> Walk {
    let mut w = by_device();
    w.key(30_000, Act::CupGood);
    w
}

/// A walk before a line, when it comes, what it is, and the key that makes it stale. None of these keys is answered by
/// words of its own: another line would take the place of the stale one by itself.
fn cases() -> Vec<(Walk, u64, Prompt, Act)> {
    let drug = || {
        let mut w = started();
        w.key(20_000, Act::HandsOff).key(25_000, Act::NoShockHand);
        w
    };
    let moved = || {
        let mut w = device_going();
        w.key(40_000, Act::Moving).key(50_000, Act::SetDown);
        w
    };
    let key = |mut w: Walk, t: u64, act: Act| {
        w.key(t, act);
        w
    };
    let undone = {
        let mut w = started();
        w.key(10_000, Act::Flag).undo(20_000);
        w
    };
    std::vec![
        (started(), 60_000, Prompt::PadsNow, Act::ItLeads),
        (started(), 120_000, Prompt::ChkNow, Act::HeardCheck),
        (started(), 90_000, Prompt::Chk30, Act::HeardCheck),
        (drug(), 25_000, Prompt::DrugDue, Act::DrugByClock),
        (moved(), 50_000, Prompt::CupDown, Act::CupGood),
        (
            key(device_going(), 50_000, Act::AirwayIn),
            50_000,
            Prompt::DevCont,
            Act::BreathsNone
        ),
        (
            key(started(), 10_000, Act::VoiceOff),
            10_000,
            Prompt::VoiceOff,
            Act::Flag
        ),
        (
            key(started(), 10_000, Act::BeatOff),
            10_000,
            Prompt::BeatOff,
            Act::BeatOn
        ),
        (undone, 20_000, Prompt::Undo, Act::Flag),
        (
            key(started(), 20_000, Act::FitDevice),
            20_000,
            Prompt::FitPlan,
            Act::NotNow
        ),
    ]
}

#[test]
fn a_line_goes_with_the_mark_that_makes_it_stale() {
    for (mut w, from, prompt, act) in cases() {
        w.until(from + 1_500);
        assert_eq!(line(&w), Some(prompt), "{prompt:?} is said");
        w.key(from + 2_000, act);
        assert_eq!(line(&w), None, "{prompt:?} after {act:?}");
        w.until(from + 3_000);
        assert_eq!(line(&w), None, "{prompt:?} a second later");
    }
}

#[test]
fn a_line_that_nothing_answers_stands_for_its_six_seconds() {
    for (mut w, from, prompt, _) in cases() {
        w.until(from + 5_400);
        assert_eq!(line(&w), Some(prompt), "{prompt:?}");
        w.until(from + 7_100);
        assert_eq!(line(&w), None, "{prompt:?} is over");
    }
}

/// Hands off and on again within its time: the check has been made, and is not asked for once more.
#[test]
fn a_check_that_was_made_is_not_asked_for_again() {
    let mut w = started();
    w.until(120_500);
    assert_eq!(line(&w), Some(Prompt::ChkNow));
    w.key(121_000, Act::HandsOffCheck)
        .key(124_000, Act::ShockedHand)
        .until(124_500);
    assert_eq!(line(&w), None);
}

/// A mark that has nothing to do with a question leaves it: it is still asked.
#[test]
fn a_question_stays_that_another_mark_does_not_answer() {
    let mut w = device_going();
    w.key(40_000, Act::Moving).key(50_000, Act::SetDown);
    w.key(51_500, Act::Flag);
    assert_eq!(line(&w), Some(Prompt::CupDown));
}

/// What was held back through a pause is said after the mark that ended it, and is read as well.
#[test]
fn a_receipt_that_a_pause_held_back_is_shown_when_it_is_said() {
    let mut w = started();
    w.key(30_000, Act::HandsOff);
    w.until(31_000);
    w.input(
        Ms(31_000),
        Input::Phone {
            battery_pct: 15,
            charging: false,
        },
    );
    w.until(36_000);
    assert_eq!(line(&w), None, "not in the pause");
    w.key(37_000, Act::HandsOn).until(41_000);
    let said = w.said("phone_low");
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(said[0] >= 37_000, "{said:?}");
    w.until(said[0] + 5_000);
    assert_eq!(line(&w), Some(Prompt::PhoneLow));
    let at = said[0] + 5_200;
    w.key(at, Act::Flag);
    assert_eq!(line(&w), None, "the next mark takes it away");
}

/// A finger that has gone is not told: the line stands no longer than the rest of the hold, 1.5 s after 0.8 s.
#[test]
fn that_the_end_key_is_held_stands_as_long_as_the_hold_takes() {
    let mut w = started();
    w.until(30_000);
    w.input(Ms(30_000), Input::EndHeld);
    let Some((start, _)) = w.cues.first().copied() else {
        panic!("not said");
    };
    assert!(start < Ms(30_300), "{start}");
    w.until(start.0 + 600);
    assert_eq!(line(&w), Some(Prompt::HoldEnd));
    w.until(start.0 + 700);
    assert_eq!(line(&w), None);
}
