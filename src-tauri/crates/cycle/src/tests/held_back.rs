//! What could not be said when it fell due: called when that is over, or written down with the reason.

use super::*;

/// What the record says of a prompt: when it was due, what became of it, why.
fn told(w: &Walk, prompt: Prompt) -> Vec<(u64, CueOutcome, Option<HeldWhy>)> {
    w.log
        .iter()
        .filter_map(|e| match &e.fact {
            Fact::Deed(Deed::Cue(c)) if c.id == Some(prompt) => {
                Some((c.due_ms.0, c.outcome, c.why))
            }
            Fact::Deed(_) | Fact::Mark(_) | Fact::Amend(_) => None,
        })
        .filter(|(_, outcome, _)| *outcome != CueOutcome::Asked)
        .collect()
}

/// The first dose asked for at 26 s and given at 30 s: due from 210 s, once more at 240 s, late at
/// 330 s.
fn with_a_dose() -> Walk {
    let mut w = started();
    w.key(20_000, Act::HandsOffCheck)
        .key(26_000, Act::NoShockHand)
        .key(30_000, Act::DrugByClock);
    w
}

/// The rules: a move holds the voices, and what falls due is spoken or written down with the reason why it was not.
#[test]
fn a_drug_that_falls_due_in_a_long_move_is_called_after_it() {
    let mut w = with_a_dose();
    w.key(200_000, Act::Moving)
        .key(300_000, Act::SetDown)
        .until(325_000);
    let held = |due| (due, CueOutcome::Held, Some(HeldWhy::Moving));
    let in_the_pause = (26_000, CueOutcome::Held, Some(HeldWhy::HandsOff));
    let spoken = |due| (due, CueOutcome::Spoken, None);
    assert_eq!(
        told(&w, Prompt::DrugDue),
        [
            in_the_pause,
            spoken(26_000),
            held(210_000),
            held(240_000),
            spoken(240_000)
        ]
    );
    // The check that was held goes first, from 266 s; a second of words, then the spacing.
    assert_eq!(w.said("chk_now"), [146_000, 300_000]);
    assert_eq!(w.said("drug_due"), [26_000, 302_500]);
}

#[test]
fn a_drug_that_falls_due_with_circulation_back_is_called_at_arrest_again() {
    let mut w = with_a_dose();
    w.key(190_000, Act::HandsOff)
        .key(196_000, Act::PulseBack)
        .key(400_000, Act::ArrestAgainHand)
        .until(410_000);
    let withheld = |due| (due, CueOutcome::Held, Some(HeldWhy::Withheld));
    assert_eq!(
        told(&w, Prompt::DrugDue)[2..4],
        [withheld(210_000), withheld(240_000)]
    );
    assert_eq!(told(&w, Prompt::DrugLate), [withheld(330_000)]);
    // Its words say five minutes, and six have passed: the plain call takes their place.
    assert_eq!(w.said("arrest_again"), [400_000]);
    assert_eq!(w.said("drug_due"), [26_000, 402_500]);
}

#[test]
fn a_drug_that_is_late_when_it_may_be_called_is_called_late_and_once() {
    let mut w = with_a_dose();
    w.key(190_000, Act::HandsOff)
        .key(196_000, Act::PulseBack)
        .key(350_000, Act::ArrestAgainHand)
        .until(600_000);
    assert_eq!(w.said("drug_late"), [352_500]);
    assert_eq!(w.said("drug_due"), [26_000]);
}

#[test]
fn a_drug_that_falls_due_under_signs_of_life_is_called_when_they_are_gone() {
    let mut w = with_a_dose();
    w.key(200_000, Act::SignsOfLife)
        .key(320_000, Act::SignsGone)
        .until(325_000);
    let withheld = |due| (due, CueOutcome::Held, Some(HeldWhy::Withheld));
    assert_eq!(
        told(&w, Prompt::DrugDue)[2..4],
        [withheld(210_000), withheld(240_000)]
    );
    assert_eq!(w.said("drug_due"), [26_000, 320_000]);
}

#[test]
fn a_pulse_taken_back_leaves_no_drug_uncalled() {
    let mut w = with_a_dose();
    w.key(190_000, Act::HandsOff)
        .key(196_000, Act::PulseBack)
        .undo(300_000)
        .key(301_000, Act::HandsOn)
        .until(310_000);
    // The check of 266 s first.
    assert_eq!(w.said("chk_now"), [146_000, 301_000]);
    assert_eq!(w.said("drug_due"), [26_000, 303_500]);
}

#[test]
fn a_drug_that_nobody_marks_is_called_twice_and_late_and_no_more() {
    let mut w = with_a_dose();
    w.until(1_900_000);
    assert_eq!(w.said("drug_due"), [26_000, 210_000, 240_000]);
    assert_eq!(w.said("drug_late").len(), 1);
}

/// The rule: a prompt that was cut is said again once only, if still true and less than 5 s old.
#[test]
fn a_voice_that_a_more_pressing_one_breaks_off_is_said_again() {
    let mut w = started();
    w.key(20_000, Act::HandsOff)
        .key(26_000, Act::PulseBack)
        .key(60_000, Act::VoiceOn)
        .key(60_400, Act::ArrestAgainHand)
        .until(70_000);
    assert_eq!(w.said("arrest_again"), [60_400]);
    // A second of words to 61.4 s, then the spacing.
    assert_eq!(w.said("voice_on"), [60_000, 62_900]);
    assert_eq!(
        told(&w, Prompt::VoiceOn)[1],
        (60_000, CueOutcome::Cut, Some(HeldWhy::Pressed))
    );
}

#[test]
fn a_voice_broken_off_is_not_said_again_when_five_seconds_have_passed() {
    let mut setup = setup();
    let long = Prompt::ALL.iter().map(|p| {
        (
            *p,
            if *p == Prompt::ArrestAgain {
                3200
            } else {
                1000
            },
        )
    });
    setup.clips = ClipLengths::new(long.collect()).unwrap();
    let mut w = started_with(setup);
    w.key(20_000, Act::HandsOff)
        .key(26_000, Act::PulseBack)
        .key(60_000, Act::VoiceOn)
        .key(60_400, Act::ArrestAgainHand)
        .until(70_000);
    // 60.4 + 3.2 + 1.5 s is 5.1 s after it began.
    assert_eq!(w.said("voice_on"), [60_000]);
}

fn device_in_ratio() -> Walk {
    let mut w = by_device();
    w.key(30_000, Act::CupGood).key(50_000, Act::VoiceOn);
    w
}

#[test]
fn an_answer_to_one_touch_does_not_push_out_the_answer_to_another() {
    let mut w = device_in_ratio();
    w.key(50_500, Act::AirwayIn)
        .key(51_000, Act::BeatOff)
        .until(60_000);
    assert_eq!(
        w.voices()[1..],
        [
            (50_000, "voice_on"),
            (52_500, "dev_cont"),
            (55_000, "beat_off")
        ]
    );
}

/// The rule: what falls due is spoken or written down with the reason why it was not.
#[test]
fn what_is_answered_while_it_waits_its_turn_is_written_down_as_answered() {
    let mut w = device_in_ratio();
    w.key(50_500, Act::AirwayIn)
        .key(51_500, Act::AirwayLost)
        .until(60_000);
    assert_eq!(
        told(&w, Prompt::DevCont),
        [(50_500, CueOutcome::Held, Some(HeldWhy::Answered))]
    );
    assert_eq!(w.said("dev_ratio"), [52_500]);
}
