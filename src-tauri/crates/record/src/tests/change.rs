//! A changed record shows it; a cut tail shows only in the fingerprint.

use super::make::{Begun, sealed, stamp};
use crate::{Digest, OpenError, Opened, Tail, Verdict, fingerprint, open, verify};

/// Whether reading alone shows that something is wrong.
fn shows(read: &Result<Opened, OpenError>) -> bool {
    match read {
        Err(_) => true,
        Ok(record) => !record.is_sound() || record.tail != Tail::Clean,
    }
}

fn without(lines: &[Vec<u8>], gone: usize) -> Vec<u8> {
    let kept: Vec<_> = lines
        .iter()
        .enumerate()
        .filter(|(n, _)| *n != gone)
        .collect();
    kept.into_iter()
        .flat_map(|(_, line)| line.clone())
        .collect()
}

/// Changes every byte, and gives those at which reading showed nothing.
fn unseen(record: &Begun, changes: impl Fn(usize) -> Vec<u8>) -> Vec<(usize, Vec<u8>)> {
    let whole = record.bytes();
    let mut out = Vec::new();
    for at in 0..whole.len() {
        for change in changes(at) {
            let mut other = whole.clone();
            other[at] ^= change;
            if !shows(&open(&other)) {
                out.push((at, other));
            }
        }
    }
    out
}

/// No line names the last one: a change there shows only against the fingerprint.
fn only_in_the_last_line(record: &Begun, unseen: &[(usize, Vec<u8>)]) {
    let kept = fingerprint(&open(&record.bytes()).unwrap());
    let last = record.bytes().len() - record.lines.last().unwrap().len();
    assert!(
        !unseen.is_empty(),
        "a chain cannot show a change of its last line"
    );
    for (at, changed) in unseen {
        assert!(*at >= last, "byte {at} changed unseen");
        assert_eq!(
            verify(&open(changed).unwrap(), kept),
            Verdict::Differs,
            "byte {at}"
        );
    }
}

#[test]
fn any_byte_of_thirty_lines_changed_shows() {
    let record = sealed(30);
    // Another change at each place, never none.
    let unseen = unseen(&record, |at| vec![u8::try_from(at * 97 % 255 + 1).unwrap()]);
    // Some change of the last line is one that can still be read.
    let with_digit = |at: usize| vec![if at.is_multiple_of(2) { 1 } else { 3 }];
    only_in_the_last_line(
        &record,
        &[unseen, self::unseen(&record, with_digit)].concat(),
    );
}

#[test]
fn any_bit_of_eight_lines_changed_shows() {
    let record = sealed(8);
    let unseen = unseen(&record, |_| (0..8).map(|bit| 1 << bit).collect());
    only_in_the_last_line(&record, &unseen);
}

#[test]
fn a_line_deleted_swapped_or_repeated_shows() {
    let record = sealed(30);
    let lines = &record.lines;
    for n in 0..lines.len() - 1 {
        assert!(shows(&open(&without(lines, n))), "line {n} deleted");
        let mut swapped = lines.clone();
        swapped.swap(n, n + 1);
        assert!(
            shows(&open(&swapped.concat())),
            "lines {n} and {} swapped",
            n + 1
        );
    }
    for n in 0..lines.len() {
        let mut repeated = lines.clone();
        repeated.insert(n, lines[n].clone());
        assert!(shows(&open(&repeated.concat())), "line {n} repeated");
    }
}

#[test]
fn a_cut_tail_shows_only_in_the_fingerprint() {
    let record = sealed(30);
    let kept = fingerprint(&open(&record.bytes()).unwrap());
    assert_eq!(
        verify(&open(&record.bytes()).unwrap(), kept),
        Verdict::Whole
    );
    for lines in 2..30 {
        let cut = open(&record.lines[..lines].concat()).unwrap();
        assert!(
            cut.is_sound() && cut.tail == Tail::Clean,
            "a chain shows no cut"
        );
        assert!(!cut.sealed, "the seal went with the tail");
        assert_eq!(
            verify(&cut, kept),
            Verdict::Differs,
            "cut after {lines} lines"
        );
    }
}

#[test]
fn what_can_be_read_is_read_past_a_break() {
    let record = sealed(30);
    let whole = open(&record.bytes()).unwrap();
    for n in 2..29 {
        let mut lines = record.lines.clone();
        lines[n] = b"{\"seq\":broken\n".to_vec();
        let read = open(&lines.concat()).unwrap();
        let rest: Vec<_> = whole
            .entries
            .iter()
            .filter(|e| e.seq.0 != n as u64)
            .collect();
        assert_eq!(
            read.entries.iter().collect::<Vec<_>>(),
            rest,
            "line {n} broken"
        );
        assert_eq!(read.broken_at, Some(n + 1));
        assert_eq!(verify(&read, fingerprint(&whole)), Verdict::Differs);
    }
}

#[test]
fn lines_after_a_seal_leave_that_seal_in_force() {
    let mut record = sealed(12);
    let kept = record.chain.head();
    record.seal(90_000, 2);
    let read = open(&record.bytes()).unwrap();
    assert_eq!(read.damage, []);
    assert_eq!(verify(&read, kept), Verdict::Extended { rev: 1 });
    assert_eq!(verify(&read, record.chain.head()), Verdict::Whole);
    assert_eq!(verify(&read, Digest::ZERO), Verdict::Differs);
    record.seal(91_000, 2);
    let text = open(&record.bytes()).unwrap().damage[0].to_string();
    assert_eq!(
        text,
        "line 13: seal: rev = 2, lines = 13; expected rev 3 and 13 lines"
    );
}

#[test]
fn a_first_line_that_names_a_line_before_it_shows() {
    let mut begun = Begun::new();
    let mut chain = crate::Chain::at(Digest::of(b"cut away"), cycle::Seq(0));
    begun.lines = vec![
        crate::encode_header(&mut chain, &stamp(0), &super::make::header()).unwrap(),
        crate::encode_protocol(&mut chain, &stamp(0), &super::make::protocol()).unwrap(),
    ];
    let read = open(&begun.bytes()).unwrap();
    assert_eq!((read.broken_at, read.damage.len()), (Some(0), 1));
}

#[test]
fn a_protocol_that_is_not_the_headers_shows() {
    let mut begun = Begun::new();
    let mut chain = crate::Chain::new();
    let mut header = super::make::header();
    header.protocol.sha256 = Digest::ZERO;
    begun.lines = vec![
        crate::encode_header(&mut chain, &stamp(0), &header).unwrap(),
        crate::encode_protocol(&mut chain, &stamp(0), &super::make::protocol()).unwrap(),
    ];
    let text = open(&begun.bytes()).unwrap().damage[0].to_string();
    assert!(text.contains("line 1: protocol: its SHA-256 is"), "{text}");
}
