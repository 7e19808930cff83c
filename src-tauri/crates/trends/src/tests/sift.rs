//! Which copies count, and what is left out.

use cycle::{Ms, fact::Source};
use record::Wall;

use crate::{Like, Weight, Why, like, why_left_out};

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

fn weight(bytes: &[u8]) -> Weight {
    Weight::of(&record::open(bytes).unwrap())
}

/// The first lines of a record, so many.
fn first(bytes: &[u8], lines: usize) -> Vec<u8> {
    let lines = bytes.split_inclusive(|b| *b == b'\n').take(lines);
    lines.flatten().copied().collect()
}

/// A record with a byte of its line 31, the shock's, changed: 200 J to 300.
fn changed(bytes: &[u8]) -> Vec<u8> {
    let text = std::str::from_utf8(bytes).unwrap();
    let changed = text.replace("\"energy_j\":200", "\"energy_j\":300");
    changed.into_bytes()
}

#[test]
fn of_weights_soundness_is_first_then_wholeness_revision_and_lines() {
    let of = |is_sound, whole, revision, lines| Weight {
        is_sound,
        whole,
        revision,
        lines,
    };
    assert!(of(true, false, 0, 3) > of(false, true, 2, 90));
    assert!(of(true, true, 0, 3) > of(true, false, 0, 90));
    assert!(of(true, true, 2, 3) > of(true, true, 1, 90));
    assert!(of(true, true, 1, 91) > of(true, true, 1, 90));
}

/// By hand: the record has 74 lines, the last its first seal. With a review's line torn behind it, it still has
/// that seal; a stub of three lines has none.
#[test]
fn a_copy_that_was_changed_or_is_a_stub_weighs_less_than_the_sealed_one() {
    let sealed = weight(WHOLE);
    let by_hand = Weight {
        is_sound: true,
        whole: true,
        revision: 1,
        lines: 74,
    };
    assert_eq!(sealed, by_hand);
    let bad = changed(WHOLE);
    assert!(bad.len() == WHOLE.len() && !weight(&bad).is_sound);
    assert!(weight(&bad) < sealed);
    // Changed and longer, it still weighs less.
    assert!(weight(&bad) < weight(&first(WHOLE, 73)));

    let mut review = WHOLE.to_vec();
    review.extend_from_slice(b"{\"seq\":");
    let stub = first(WHOLE, 3);
    assert_eq!(weight(&stub).revision, 0);
    assert!(weight(&review) > weight(&stub));
    assert_eq!(like(&review, &stub), Like::Earlier);
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
    assert_eq!(why(&first(WHOLE, 2)), Some(Why::Half));
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

/// Two days are 172,800,000 ms: so long a run may be, and a millisecond more it may not; a review may come years later.
#[test]
fn a_run_is_two_days_long_at_most() {
    let long = |ms: u64, src: Source| {
        let mut opened = record::open(WHOLE).unwrap();
        opened.last_run = Ms(ms);
        let last = opened.entries.last_mut().unwrap();
        (last.taken, last.src) = (Ms(ms), src);
        let late = now("2026-12-31T00:00:00.000+00:00");
        why_left_out(&opened, late).map(|(why, _)| why)
    };
    assert_eq!(long(172_800_000, Source::Button), None);
    assert_eq!(long(172_800_001, Source::Button), Some(Why::Clock));
    assert_eq!(long(1_728_000_000, Source::Review), None);
}
