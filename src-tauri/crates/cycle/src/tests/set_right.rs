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
    assert!(last.iter().all(|m| m.kind == "flag"));
    let w = started();
    assert_eq!(w.run.view(w.now).last, []);
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
