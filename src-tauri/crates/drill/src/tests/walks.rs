use cycle::{
    Mark, Ms,
    mark::{FlowMark, Reason, RunMark},
};
use proptest::prelude::*;
use serde_json::json;

use super::{back, parsed, s, small, stop};
use crate::{Heard, Outcome, Walked, walk, walk_over};

/// Marks, and what becomes of the two that are expected.
type Case<'a> = (&'a [(Ms, Mark)], [Outcome; 2]);

/// Cues that were told, and when.
type Told<'a> = &'a [(&'a str, u32)];

fn walked(marks: &[(Ms, Mark)]) -> Walked {
    walk(&parsed(&small()), 0, marks, &Heard::default())
}

fn outcomes(walked: &Walked) -> Vec<Outcome> {
    walked
        .marks
        .iter()
        .flatten()
        .map(crate::Met::outcome)
        .collect()
}

#[test]
fn a_cue_follows_its_mark_and_comes_at_the_latest_where_that_never_comes() {
    assert_eq!(walked(&[]).cues, [s(20), s(60)]);
    assert_eq!(walked(&[stop(25)]).cues, [s(20), s(28)]);
    // Later than its latest, it has come already.
    assert_eq!(walked(&[stop(50)]).cues, [s(20), s(53)]);
}

#[test]
fn in_time_late_in_the_wrong_order_and_forgotten_are_told_apart_at_their_limits() {
    let cases: [Case<'_>; 7] = [
        (&[stop(30), back(38)], [Outcome::InTime, Outcome::InTime]),
        (&[stop(31), back(40)], [Outcome::Late, Outcome::Late]),
        // Three times its limit: up to here it counts.
        (&[stop(50), back(68)], [Outcome::Late, Outcome::Late]),
        (&[stop(51)], [Outcome::Forgotten, Outcome::Forgotten]),
        (&[], [Outcome::Forgotten, Outcome::Forgotten]),
        // Nobody marked the stop: the order is not judged, and the cue comes at 60.
        (&[back(63)], [Outcome::Forgotten, Outcome::InTime]),
        (&[stop(19), back(62)], [Outcome::Forgotten, Outcome::InTime]),
    ];
    for (marks, expected) in cases {
        assert_eq!(outcomes(&walked(marks)), expected, "{marks:?}");
    }
}

#[test]
fn what_stands_before_what_it_needs_is_in_the_wrong_order() {
    let mut value = small();
    value["cues"][1] = json!({"id": "then", "after_s": 20, "say": {"en": "Then."}});
    let scenario = parsed(&value);
    let of = |marks: &[(Ms, Mark)]| outcomes(&walk(&scenario, 0, marks, &Heard::default()));
    assert_eq!(
        of(&[stop(22), back(24)]),
        [Outcome::InTime, Outcome::InTime]
    );
    assert_eq!(
        of(&[back(23), stop(24)]),
        [Outcome::InTime, Outcome::WrongOrder]
    );
    let late = walk(&scenario, 0, &[back(27), stop(28)], &Heard::default());
    let points: Vec<u32> = late
        .marks
        .iter()
        .flatten()
        .map(crate::Met::points)
        .collect();
    assert_eq!(points, [2, 0], "late and in the wrong order: nothing");
    // At the same time: in order.
    assert_eq!(
        of(&[stop(23), back(23)]),
        [Outcome::InTime, Outcome::InTime]
    );
}

#[test]
fn a_mark_counts_once_and_only_the_mark_that_is_wanted() {
    let mut value = small();
    value["expect"][1] = value["expect"][0].clone();
    value["expect"][1]["id"] = json!("again");
    value["cues"][1]["from"] = json!("off");
    let scenario = parsed(&value);
    let found = walk(&scenario, 0, &[stop(21), stop(26)], &Heard::default());
    let at: Vec<Option<Ms>> = found.marks.iter().flatten().map(|met| met.at).collect();
    assert_eq!(at, [Some(s(21)), Some(s(26))]);
    let flag = (s(22), Mark::Run(RunMark::Flag {}));
    assert_eq!(walked(&[flag]).marks[0].unwrap().at, None);
}

/// Hands come off, and the crew says why once it has a hand free: the stop has its own time and that reason.
#[test]
fn a_reason_that_was_given_after_the_stop_is_the_stops() {
    let off = Mark::Flow(FlowMark::ComprStop {
        reason: Reason::Unknown,
    });
    let why = |reason| Mark::Flow(FlowMark::Why { reason });
    let said = [(s(25), off.clone()), (s(33), why(Reason::RhythmCheck))];
    let found = walked(&said);
    assert_eq!(found.marks[0].unwrap().took(), Some(s(5)));
    let other = [(s(25), off.clone()), (s(27), why(Reason::Move))];
    assert_eq!(walked(&other).marks[0].unwrap().at, None);
    // Hands are on again: it names no stop any more.
    let over = [(s(25), off), back(26), (s(27), why(Reason::RhythmCheck))];
    assert_eq!(walked(&over).marks[0].unwrap().at, None);
}

#[test]
fn what_was_told_by_hand_counts_from_then_on() {
    let scenario = parsed(&small());
    let mut heard = Heard::default();
    heard.0.insert("go".to_owned(), s(5));
    let found = walk(&scenario, 0, &[stop(9)], &heard);
    assert_eq!(found.cues, [s(5), s(12)]);
    assert_eq!(found.marks[0].unwrap().took(), Some(s(4)));
}

fn heard(list: &[(&str, u32)]) -> Heard {
    Heard(
        list.iter()
            .map(|(id, at)| ((*id).to_owned(), s(*at)))
            .collect(),
    )
}

/// A drill that is over: what was told, when it ended, and what became of the two marks.
#[test]
fn what_was_never_told_or_had_no_time_left_is_not_reached() {
    let none: &[(&str, u32)] = &[];
    let first: &[(&str, u32)] = &[("go", 20)];
    let both: &[(&str, u32)] = &[("go", 20), ("then", 28)];
    let gone = Outcome::NotReached;
    let cases: [(Told<'_>, u32, Case<'_>); 9] = [
        (none, 100, (&[], [gone, gone])),
        // Nobody told it to: it is no answer to a cue.
        (none, 100, (&[stop(25), back(30)], [gone, gone])),
        (first, 29, (&[], [gone, gone])),
        // It had its ten seconds.
        (first, 30, (&[], [Outcome::Forgotten, gone])),
        (first, 27, (&[stop(25)], [Outcome::InTime, gone])),
        (both, 32, (&[stop(25)], [Outcome::InTime, gone])),
        (
            both,
            33,
            (&[stop(25)], [Outcome::InTime, Outcome::Forgotten]),
        ),
        (
            both,
            31,
            (&[stop(25), back(30)], [Outcome::InTime, Outcome::InTime]),
        ),
        (
            both,
            31,
            (&[back(30)], [Outcome::Forgotten, Outcome::InTime]),
        ),
    ];
    for (told, over, (marks, expected)) in cases {
        let found = walk_over(&parsed(&small()), 0, marks, &heard(told), s(over));
        assert_eq!(outcomes(&found), expected, "{told:?} {over} {marks:?}");
        let points = found
            .marks
            .iter()
            .flatten()
            .map(|met| (met.reached, met.points()));
        assert!(
            points
                .into_iter()
                .all(|(reached, points)| reached || points == 0)
        );
    }
}

/// A mark that counts from one for which there was no time had none either; from one that was forgotten it had.
#[test]
fn what_follows_a_mark_that_was_not_reached_is_not_reached() {
    let mut value = small();
    value["expect"][1]["from"] = json!("off");
    let scenario = parsed(&value);
    let of = |over| {
        outcomes(&walk_over(
            &scenario,
            0,
            &[],
            &heard(&[("go", 20)]),
            s(over),
        ))
    };
    assert_eq!(of(29), [Outcome::NotReached, Outcome::NotReached]);
    assert_eq!(of(34), [Outcome::Forgotten, Outcome::NotReached]);
    let untold = walk_over(&scenario, 0, &[], &heard(&[]), s(100));
    assert_eq!(
        outcomes(&untold),
        [Outcome::NotReached, Outcome::NotReached]
    );
    // The stop's time was over at 30, and five seconds more.
    assert_eq!(of(35), [Outcome::Forgotten, Outcome::Forgotten]);
}

#[test]
fn what_came_before_it_was_due_is_early_and_has_the_point_for_the_order_alone() {
    let mut value = small();
    value["expect"][0]["earliest_s"] = json!(4);
    let scenario = parsed(&value);
    let of = |at| {
        let met = walk(&scenario, 0, &[stop(at)], &Heard::default()).marks[0].unwrap();
        (met.outcome(), met.points())
    };
    assert_eq!(of(23), (Outcome::Early, 1));
    assert_eq!(of(24), (Outcome::InTime, 2));
    assert_eq!(of(30), (Outcome::InTime, 2));
    assert_eq!(of(31), (Outcome::Late, 1));
    value["expect"][0]["needs"] = json!(["on"]);
    value["cues"][1] = json!({"id": "then", "after_s": 20, "say": {"en": "Then."}});
    value["expect"][1]["needs"] = json!([]);
    let both = walk(&parsed(&value), 0, &[stop(22), back(23)], &Heard::default());
    let met = both.marks[0].unwrap();
    assert_eq!((met.outcome(), met.points()), (Outcome::WrongOrder, 0));
}

#[test]
fn the_next_and_the_last_cue_are_found_from_any_moment() {
    let found = walked(&[stop(25)]);
    assert_eq!(found.next_cue(s(19)), Some((0, s(20))));
    assert_eq!(found.last_cue(s(19)), None);
    assert_eq!(
        (found.last_cue(s(20)), found.next_cue(s(20))),
        (Some((0, s(20))), Some((1, s(28))))
    );
    assert_eq!(
        (found.last_cue(s(99)), found.next_cue(s(28))),
        (Some((1, s(28))), None)
    );
}

proptest! {
    /// Rebuilt from the marks up to a moment, a try is what it was at that moment: nothing that came later has
    /// changed what was told before it.
    #[test]
    fn what_was_told_up_to_a_moment_does_not_hang_on_what_came_after(
        times in proptest::collection::vec(0_u32..100, 0..12),
        seed in 0_u32..50,
        now in 0_u32..100,
    ) {
        let scenario = parsed(&small());
        let mut times = times;
        times.sort_unstable();
        let marks: Vec<(Ms, Mark)> = times.iter().enumerate()
            .map(|(n, at)| if n % 2 == 0 { stop(*at) } else { back(*at) })
            .collect();
        let up_to: Vec<(Ms, Mark)> = marks.iter().filter(|(at, _)| *at <= s(now)).cloned().collect();
        let whole = walk(&scenario, seed, &marks, &Heard::default());
        let part = walk(&scenario, seed, &up_to, &Heard::default());
        for (a, b) in whole.cues.iter().zip(&part.cues) {
            prop_assert!(a == b || (*a > s(now) && *b > s(now)), "{a} {b} at {now}");
        }
        prop_assert_eq!(&walk(&scenario, seed, &marks, &Heard::default()), &whole);
    }

    /// Nothing counts more than it weighs, and nothing that did not come counts.
    #[test]
    fn points_lie_within_their_bounds(times in proptest::collection::vec(0_u32..100, 0..12)) {
        let mut times = times;
        times.sort_unstable();
        let marks: Vec<(Ms, Mark)> = times.iter().enumerate()
            .map(|(n, at)| if n % 2 == 0 { stop(*at) } else { back(*at) })
            .collect();
        for met in walked(&marks).marks.iter().flatten() {
            prop_assert!(met.points() <= 2);
            prop_assert_eq!(met.points() == 2, met.outcome() == Outcome::InTime);
            prop_assert!(met.at.is_some() || met.points() == 0);
        }
    }
}
