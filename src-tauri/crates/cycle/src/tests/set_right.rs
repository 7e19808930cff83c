//! Set Right: the last six marks, earlier, removed, replaced, the true state since a while.

use super::*;
use crate::{
    fact::{Amend, AmendOp, AmendReason},
    mark::{By, FlowMark, Reason, SetState},
};

#[test]
fn the_last_six_acts_can_be_moved_and_the_first_touch_cannot() {
    let mut w = started();
    for n in 0..8 {
        w.key(10_000 + n * 2000, Act::Flag);
    }
    let last = w.run.view(w.now).last;
    let times: Vec<u64> = last.iter().map(|m| m.at.0).collect();
    assert_eq!(times, [24_000, 22_000, 20_000, 18_000, 16_000, 14_000]);
    assert!(
        last.iter()
            .all(|m| m.mark == Mark::Run(crate::mark::RunMark::Flag {}))
    );
    let w = started();
    assert_eq!(w.run.view(w.now).last, []);
}

/// A result puts hands back on and a slipped cup takes them off: that is not what the touch is told by.
#[test]
fn a_touch_is_told_by_what_was_found_not_by_the_hands() {
    let told = |acts: &[Act]| {
        let mut w = started();
        for (n, act) in (10_u64..).zip(acts) {
            w.key(n * 10_000, *act);
        }
        crate::mark::kind_of(&w.run.view(w.now).last[0].mark)
    };
    assert_eq!(told(&[Act::HandsOffCheck]), "compr_stop");
    assert_eq!(told(&[Act::HandsOffCheck, Act::ShockedHand]), "shock");
    assert_eq!(told(&[Act::HandsOffCheck, Act::NoShockHand]), "no_shock");
    assert_eq!(told(&[Act::HandsOff, Act::HandsOn]), "compr_start");
    assert_eq!(told(&[Act::AirwayIn]), "airway");
}

#[test]
fn earlier_moves_every_mark_of_the_touch_and_stops_at_the_one_before() {
    let mut w = started();
    w.key(100_000, Act::HandsOff).until(103_000);
    let off = w.run.view(w.now).last[0].seq;
    w.input(
        Ms(103_000),
        Input::Earlier {
            target: off,
            by: Ms(15_000),
        },
    );
    assert_eq!(w.run.view(w.now).state_since, Ms(85_000));
    // Thresholds that have passed meanwhile are missed; only the latest is spoken.
    w.until(106_000);
    let off: Vec<_> = w
        .heard
        .iter()
        .filter(|(_, n)| n.starts_with("off"))
        .cloned()
        .collect();
    assert_eq!(off, [(105_000, "off20".to_string())]);

    let mut w = started();
    w.key(100_000, Act::HandsOff).key(110_000, Act::HandsOn);
    let on = w.run.view(w.now).last[0].seq;
    w.input(
        Ms(111_000),
        Input::Earlier {
            target: on,
            by: Ms(30_000),
        },
    );
    let view = w.run.view(Ms(111_000));
    assert_eq!(
        (view.state, view.state_since),
        (StateWord::ByHand, Ms(100_001))
    );
    assert_eq!(view.hand_over.unwrap().longest, None, "1 ms is no pause");
}

#[test]
fn a_result_that_is_removed_takes_its_resume_with_it() {
    let mut w = started();
    w.key(120_000, Act::HandsOffCheck).until(126_000);
    let now = Ms(126_000);
    for mark in Act::ShockedHand.marks() {
        w.input(
            now,
            Input::Mark {
                at: now,
                mark,
                src: Source::Button,
            },
        );
    }
    w.key(130_000, Act::Flag);
    let shocked = w.run.view(w.now).last[1].seq;
    w.input(Ms(132_000), Input::Remove(shocked));
    let view = w.run.view(Ms(132_000));
    assert_eq!(
        (view.state, view.state_since),
        (StateWord::HandsOff, Ms(120_000))
    );
    assert_eq!(view.shocks, 0);
}

#[test]
fn a_mark_is_replaced_at_its_own_time() {
    let mut w = started();
    w.key(50_000, Act::HandsOff)
        .key(58_000, Act::HandsOn)
        .until(60_000);
    let on = w.run.view(w.now).last[0].seq;
    let new = Mark::Flow(FlowMark::ComprStart {
        by: By::Mechanical,
        mech_kind: None,
        basis: None,
    });
    let amend = Amend {
        target: on,
        op: AmendOp::Replace { new },
        reason: AmendReason::MisTap,
        by_role: None,
    };
    w.input(Ms(60_000), Input::Amend(amend));
    let view = w.run.view(Ms(60_000));
    assert_eq!(
        (view.state, view.state_since),
        (StateWord::ByDevice, Ms(58_000))
    );
}

#[test]
fn the_true_state_is_set_from_minutes_back_on() {
    for (back, since) in [
        (0, 300_000),
        (60_000, 240_000),
        (120_000, 180_000),
        (300_000, 1),
    ] {
        let mut w = started();
        w.until(300_000);
        let state = SetState::HandsOff;
        w.input(
            Ms(300_000),
            Input::SetRight {
                state,
                back: Ms(back),
            },
        );
        let view = w.run.view(Ms(300_000));
        assert_eq!(
            (view.state, view.state_since),
            (StateWord::HandsOff, Ms(since)),
            "{back}"
        );
        assert_eq!(view.reason, Some(Reason::Unknown));
    }
    // What cannot stand is kept as ignored, and nothing changes.
    let mut w = started();
    w.input(Ms(1000), Input::Remove(Seq(3)));
    assert_eq!(
        w.ignored(),
        ["no mark that stands in a live run"],
        "the touch that began the run"
    );
}

/// The rule: anything wrong can be set right at any time; only End needs a hold.
#[test]
fn an_end_by_mistake_is_taken_back_and_nothing_else_of_a_run_that_is_over() {
    let mut w = started();
    touch(&mut w, 125_000, Act::HandsOff);
    touch(&mut w, 130_000, Act::HandsOn);
    let beat = w.run.sounding();
    touch(&mut w, 200_000, Act::EndStopped);
    assert!(w.run.is_over() && w.run.view(Ms(200_000)).undo);
    let hands_on = w.run.view(Ms(200_000)).last.get(1).map(|mark| mark.seq);
    w.input(Ms(210_000), Input::Remove(hands_on.expect("two marks")));
    assert_eq!(w.ignored(), ["no mark that stands in a live run"]);
    w.input(Ms(215_000), Input::Undo);
    let view = w.run.view(Ms(215_000));
    assert_eq!(
        (view.state, view.state_since),
        (StateWord::ByHand, Ms(130_000))
    );
    assert!(w.run.is_live());
    let grid = |placed: Option<beat::Placed>| placed.map(|p| (p.score, p.anchor_ms));
    assert_eq!(grid(w.run.sounding()), grid(beat), "on its old grid");
    touch(&mut w, 220_000, Act::EndHandedOver);
    assert!(w.run.is_over());
}

/// Marks of one touch.
fn touch(w: &mut Walk, t: u64, act: Act) {
    w.until(t);
    for mark in act.marks() {
        let (at, src) = (Ms(t), Source::Button);
        w.input(Ms(t), Input::Mark { at, mark, src });
    }
}

#[test]
fn a_shock_and_its_resume_move_together() {
    let mut w = started();
    w.key(100_000, Act::HandsOffCheck);
    touch(&mut w, 106_000, Act::ShockedHand);
    w.until(108_000);
    let target = w.run.view(w.now).last[0].seq;
    let by = Ms(15_000);
    w.input(Ms(108_000), Input::Earlier { target, by });
    // The resume cannot go before the stop at 100 s, and the shock does not go without it.
    let view = w.run.view(w.now);
    let shock = view.hand_over.unwrap().last_shock;
    assert_eq!((view.state_since, shock), (Ms(100_001), Some(Ms(100_001))));
}

#[test]
fn a_reason_does_not_leave_the_pause_it_was_said_in() {
    let mut w = started();
    w.key(100_000, Act::HandsOff).key(110_000, Act::WhyAirway);
    let target = w.run.view(w.now).last[0].seq;
    let by = Ms(15_000);
    w.input(Ms(111_000), Input::Earlier { target, by });
    assert_eq!(w.run.view(w.now).reason, Some(Reason::Airway));
}

fn pulse_at_26() -> Walk {
    let mut w = started();
    w.key(20_000, Act::HandsOff).key(26_000, Act::PulseBack);
    w
}

fn set_right(w: &mut Walk, t: u64, state: SetState, back: u64) {
    w.until(t);
    let back = Ms(back);
    w.input(Ms(t), Input::SetRight { state, back });
}

#[test]
fn a_pulse_that_the_state_set_right_ends_is_over_on_the_card() {
    for (state, back, end) in [
        (SetState::Manual, 0, 300_000),
        (SetState::Mechanical, 120_000, 180_000),
        (SetState::HandsOff, 60_000, 240_000),
    ] {
        let mut w = pulse_at_26();
        set_right(&mut w, 300_000, state, back);
        let card = w.run.view(w.now).hand_over.unwrap();
        assert_eq!(card.pulses, [(Ms(26_000), Some(Ms(end)))], "{state:?}");
    }
    // By way of Unknown it is not known when, until hands are on.
    let mut w = pulse_at_26();
    set_right(&mut w, 300_000, SetState::Unknown, 0);
    let card = w.run.view(w.now).hand_over.unwrap();
    assert_eq!(card.pulses, [(Ms(26_000), None)]);
    w.key(310_000, Act::HandsOn);
    let card = w.run.view(w.now).hand_over.unwrap();
    assert_eq!(card.pulses, [(Ms(26_000), Some(Ms(310_000)))]);
}

#[test]
fn the_two_minutes_count_from_the_end_of_a_pulse_however_it_is_said() {
    let mut w = pulse_at_26();
    set_right(&mut w, 300_000, SetState::Manual, 0);
    w.until(421_000);
    assert_eq!(w.said("chk_now"), [420_000]);
    let unmarked = |e: &&Entry| matches!(e.fact, Fact::Deed(Deed::CheckUnmarked { .. }));
    assert_eq!(w.log.iter().filter(unmarked).count(), 0, "none was due");
}

#[test]
fn a_pulse_set_right_from_its_beginning_never_was() {
    let mut w = pulse_at_26();
    set_right(&mut w, 30_000, SetState::Manual, 60_000);
    w.until(121_000);
    let view = w.run.view(w.now);
    assert_eq!(view.state_since, Ms(26_001));
    assert_eq!(view.hand_over.unwrap().pulses, []);
    assert_eq!(w.said("chk_now"), [120_000], "the cycle goes on");
}
