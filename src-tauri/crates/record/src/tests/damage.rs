//! Damage and change, done in full: what reading shows, what it still reads, and what only the fingerprint
//! from outside can show.

use std::ops::RangeInclusive;

use cycle::{
    Entry, Fact, Ms,
    fact::{Deed, Source},
    mark::{CheckMark, FlowMark, Mark, Reason, RhythmSeen, RunMark},
};

use super::make::{Begun, sealed, stamp};
use crate::{Digest, OpenError, Opened, Tail, Verdict, encode_seal, fingerprint, open, verify};

/// A finished record of so many lines in which no two neighbours are of one kind.
fn varied(lines: usize) -> Begun {
    let mut begun = Begun::new();
    for n in 2..lines - 1 {
        let taken = n as u64 * 1500;
        let (src, fact) = match n % 4 {
            0 => (Source::Button, Fact::Mark(Mark::Run(RunMark::Flag {}))),
            1 => (Source::Auto, Fact::Deed(Deed::Heartbeat {})),
            2 => {
                let reason = Reason::RhythmCheck;
                (
                    Source::Button,
                    Fact::Mark(Mark::Flow(FlowMark::ComprStop { reason })),
                )
            }
            _ => {
                let (rhythm, first) = (RhythmSeen::Vf, Some(false));
                (
                    Source::Voice,
                    Fact::Mark(Mark::Check(CheckMark::Rhythm { rhythm, first })),
                )
            }
        };
        let back = if src == Source::Auto { 0 } else { 85 };
        begun.add(taken - back, taken, src, fact);
    }
    begun.seal(lines as u64 * 1500, 1);
    assert_eq!(begun.lines.len(), lines);
    begun
}

/// The change of one byte shows, and all but the touched lines is read. A change of the last line may show in
/// the fingerprint alone.
fn found(whole: &Opened, changed: &[u8], touched: RangeInclusive<usize>, at: usize) {
    let n = *touched.start();
    let kept = fingerprint(whole);
    let seal = whole.entries.len() + 2;
    let read = match open(changed) {
        Ok(read) => read,
        Err(why) => {
            assert!(
                n == 0 && why != OpenError::Empty,
                "byte {at}, line {n}: {why}"
            );
            return;
        }
    };
    assert_eq!(verify(&read, kept), Verdict::Differs, "byte {at}, line {n}");
    let shows = !read.is_sound() || read.tail != Tail::Clean;
    assert!(shows || n == seal, "byte {at}, line {n}: shown by nothing");
    let gone =
        |entry: &&Entry| usize::try_from(entry.seq.0).is_ok_and(|seq| touched.contains(&seq));
    let mut lost = 0;
    for entry in whole.entries.iter().filter(|entry| !gone(entry)) {
        let same = read.entries.binary_search_by_key(&entry.seq, |e| e.seq);
        let same = same.map(|place| &read.entries[place]);
        // A header that says another time moves the run's zero, not what was said.
        if !same.is_ok_and(|same| same.fact == entry.fact && (n == 0 || same.taken == entry.taken))
        {
            lost += 1;
            // Two lines with one number: the first stands, and both are told.
            assert!(same.is_ok(), "byte {at}, line {n}: {entry:?} is not read");
        }
    }
    assert!(lost <= 1, "byte {at}, line {n}: {lost} lines lost");
}

/// Every `step`-th byte changed, once each, from byte `from` on.
fn every_byte(lines: usize, from: usize, step: usize, change: impl Fn(usize) -> u8) -> usize {
    let record = varied(lines);
    let bytes = record.bytes();
    let whole = open(&bytes).unwrap();
    assert!(whole.damage.is_empty() && whole.entries.len() == lines - 3);
    let mut other = bytes.clone();
    let mut tried = 0;
    for at in (from..bytes.len()).step_by(step) {
        let n = bytes[..at].split(|b| *b == b'\n').count() - 1;
        other[at] ^= change(at);
        // Without its line feed a line runs into the next one.
        let until = if bytes[at] == b'\n' { n + 1 } else { n };
        found(&whole, &other, n..=until, at);
        other[at] = bytes[at];
        tried += 1;
    }
    tried
}

/// Another change at each place, never none.
fn some_change(at: usize) -> u8 {
    u8::try_from(at * 97 % 255 + 1).unwrap()
}

#[test]
fn a_byte_changed_in_three_hundred_lines_is_found_and_the_rest_is_read() {
    let tried = every_byte(300, 11, 211, some_change);
    assert!(tried > 300, "{tried}");
}

#[test]
#[ignore = "minutes of computing: each byte of 300 lines"]
fn each_byte_changed_in_three_hundred_lines_is_found_and_the_rest_is_read() {
    let tried = every_byte(300, 0, 1, some_change);
    assert_eq!(tried, varied(300).bytes().len());
}

#[test]
fn some_bits_flipped_in_twenty_lines_are_found_and_the_rest_is_read() {
    for bit in 0..8 {
        every_byte(20, bit, 17, |_| 1 << bit);
    }
}

#[test]
#[ignore = "a minute of computing: each bit of 20 lines"]
fn each_bit_flipped_in_twenty_lines_is_found_and_the_rest_is_read() {
    for bit in 0..8 {
        every_byte(20, 0, 1, |_| 1 << bit);
    }
}

fn shows(read: &Result<Opened, OpenError>) -> bool {
    !read
        .as_ref()
        .is_ok_and(|record| record.is_sound() && record.tail == Tail::Clean)
}

/// Every two lines swapped, every line moved to another place, every run of lines left out.
fn moved(lines: usize, step: usize) {
    let record = varied(lines);
    let lines = &record.lines;
    let kept = record.chain.head();
    for n in (0..lines.len()).step_by(step) {
        for m in n + 1..lines.len() {
            let mut swapped = lines.clone();
            swapped.swap(n, m);
            assert!(shows(&open(&swapped.concat())), "lines {n} and {m} swapped");
            let mut repeated = lines.clone();
            repeated.insert(m + 1, lines[n].clone());
            assert!(shows(&open(&repeated.concat())), "line {n} again after {m}");
            let mut less = lines.clone();
            less.drain(n..m);
            let read = open(&less.concat());
            assert!(shows(&read), "lines {n} to {m} left out");
            // The rest of it, all but what was left out, is read.
            if let (Ok(read), true) = (&read, n >= 2) {
                let gone = (m - n).min(lines.len() - 1 - n);
                assert_eq!(read.entries.len(), lines.len() - 3 - gone, "{n} to {m}");
                assert_eq!(verify(read, kept), Verdict::Differs);
            }
        }
    }
}

#[test]
fn lines_swapped_repeated_or_left_out_anywhere_show() {
    moved(30, 1);
}

#[test]
#[ignore = "minutes of computing: any two of 300 lines"]
fn lines_swapped_repeated_or_left_out_anywhere_in_three_hundred_show() {
    moved(300, 10);
}

/// The file as somebody makes it who has changed a line and then written every `prev` after it anew.
fn chained_anew(mut lines: Vec<Vec<u8>>, from: usize) -> Vec<u8> {
    const DIGITS: usize = 64;
    for n in from + 1..lines.len() {
        let before = lines[n - 1].strip_suffix(b"\n").unwrap();
        let prev = Digest::of(before).to_string();
        let end = lines[n].len() - br#""}"#.len() - 1;
        lines[n].splice(end - DIGITS..end, prev.into_bytes());
    }
    lines.concat()
}

#[test]
fn a_file_chained_anew_is_not_proven_and_is_found_false_by_the_fingerprint() {
    let record = sealed(30);
    let kept = record.chain.head();
    let whole = open(&record.bytes()).unwrap();
    assert_eq!(verify(&whole, None), Verdict::NotProven);
    assert_eq!(verify(&whole, kept), Verdict::Whole);
    for n in (2..29).step_by(2) {
        let mut lines = record.lines.clone();
        let text = String::from_utf8(lines[n].clone()).unwrap();
        let other = text.replace(r#""back_ms":85}"#, r#""back_ms":95}"#);
        assert_ne!(text, other, "line {n} is a mark with its age");
        lines[n] = other.into_bytes();
        let forged = open(&chained_anew(lines, n)).unwrap();
        assert!(
            forged.is_sound() && forged.sealed,
            "nothing in the file shows it"
        );
        assert_eq!(verify(&forged, None), Verdict::NotProven, "line {n}");
        assert_eq!(verify(&forged, kept), Verdict::Differs, "line {n}");
    }
}

#[test]
fn a_file_with_a_mark_left_out_and_all_written_anew_is_not_proven_either() {
    let record = sealed(30);
    let kept = record.chain.head();
    let whole = open(&record.bytes()).unwrap();
    for n in 2..29 {
        let mut forged = Begun::new();
        for entry in whole.entries.iter().filter(|entry| entry.seq.0 != n) {
            forged.add(entry.at.0, entry.taken.0, entry.src, entry.fact.clone());
        }
        forged.seal(45_000, 1);
        let forged = open(&forged.bytes()).unwrap();
        assert!(forged.is_sound() && forged.sealed);
        assert_eq!(verify(&forged, None), Verdict::NotProven);
        assert_eq!(verify(&forged, kept), Verdict::Differs, "line {n}");
    }
    // The same facts in the same order, written again: the same bytes.
    let mut again = Begun::new();
    for entry in &whole.entries {
        again.add(entry.at.0, entry.taken.0, entry.src, entry.fact.clone());
    }
    again
        .lines
        .push(encode_seal(&mut again.chain, &stamp(45_000), 1).unwrap());
    assert_eq!(verify(&open(&again.bytes()).unwrap(), kept), Verdict::Whole);
}

#[test]
fn a_broken_file_is_found_false_without_a_fingerprint() {
    let mut lines = varied(30).lines;
    lines.remove(9);
    assert_eq!(
        verify(&open(&lines.concat()).unwrap(), None),
        Verdict::Differs
    );
    let whole = open(&varied(30).bytes()).unwrap();
    assert_eq!((whole.last_run, whole.entries.len()), (Ms(45_000), 27));
}
