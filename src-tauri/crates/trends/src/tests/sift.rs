//! Which copies count, and what is left out.

use crate::{Like, Weight, Why, like, why_left_out};
use record::Wall;

/// A sealed record, and one that was killed again and again and ends within a line: the reader's own checks.
const WHOLE: &[u8] = include_bytes!("../../../record/golden/record-1.4.0.rec.jsonl");
const KILLED: &[u8] = include_bytes!("../../../record/golden/killed-1.2.0.rec.jsonl");

fn now(text: &str) -> Wall {
    text.parse().unwrap()
}

#[test]
fn a_copy_is_the_same_an_earlier_state_or_another() {
    assert_eq!(like(b"one\ntwo\n", b"one\ntwo\n"), Like::Same);
    assert_eq!(like(b"one\ntwo\n", b"one\n"), Like::Earlier);
    assert_eq!(like(b"one\ntwo\n", b"one\ntoo\n"), Like::Differs);
    assert_eq!(like(b"one\n", b"one\ntwo\n"), Like::Differs);
}

#[test]
fn a_whole_last_line_weighs_more_than_a_seal_and_a_seal_more_than_lines() {
    let of = |whole, revision, lines| Weight {
        whole,
        revision,
        lines,
    };
    assert!(of(true, 0, 3) > of(false, 2, 90));
    assert!(of(true, 2, 3) > of(true, 1, 90));
    assert!(of(true, 1, 91) > of(true, 1, 90));
}

#[test]
fn a_record_without_its_end_is_half_written_and_a_clock_of_another_year_is_off() {
    let opened = record::open(WHOLE).unwrap();
    let began = debrief::began(&opened).unwrap().to_string();
    let late = now("2026-12-31T00:00:00.000+00:00");
    assert_eq!(why_left_out(&opened, late), None, "{began}");
    let (why, what) = why_left_out(&opened, now("2025-01-02T00:00:00.000+00:00")).unwrap();
    assert_eq!(why, Why::Clock);
    assert!(
        what.contains(&began) && what.contains("2025-01-02"),
        "{what}"
    );

    let opened = record::open(KILLED).unwrap();
    assert!(!Weight::of(&opened).whole);
    let why = |bytes: &[u8]| {
        let opened = record::open(bytes).unwrap();
        why_left_out(&opened, late).map(|(why, _)| why)
    };
    assert_eq!(why(KILLED), Some(Why::Half));
    // With its last half line taken away it is a run that went on to its last line.
    let end = KILLED.iter().rposition(|b| *b == b'\n').unwrap();
    assert_eq!(why(&KILLED[..=end]), None);
    // Header and protocol alone say nothing.
    let heads: Vec<u8> = WHOLE
        .split_inclusive(|b| *b == b'\n')
        .take(2)
        .flatten()
        .copied()
        .collect();
    assert_eq!(why(&heads), Some(Why::Half));
    // A review that broke off after the seal leaves the run whole.
    let mut review = WHOLE.to_vec();
    review.extend_from_slice(b"{\"seq\":");
    assert_eq!(why(&review), None);
}

/// A day after the desk's clock is allowed, a moment more is not; so is the first day of 2025.
#[test]
fn a_clock_may_be_a_day_ahead() {
    let opened = record::open(WHOLE).unwrap();
    let began = debrief::began(&opened).unwrap().unix_ms();
    let why = |now: i64| why_left_out(&opened, Wall::new(now, 0).unwrap()).is_some();
    assert!(!why(began - 86_400_000));
    assert!(why(began - 86_400_001));
}
