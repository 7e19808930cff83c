//! A kill tears the last line; the file is never cut, and what was torn stays accounted for.

use cycle::{
    Entry, Fact, Ms, Seq,
    fact::{Deed, Source},
    mark::{Mark, RunMark},
};

use super::make::{Begun, ZERO, stamp};
use crate::{Chain, DamageKind, Opened, Stamp, Tail, Wall, encode, open};

fn flag() -> Fact {
    Fact::Mark(Mark::Run(RunMark::Flag {}))
}

fn begun() -> Begun {
    let mut begun = Begun::new();
    for n in 1..6 {
        begun.add(n * 1000, n * 1000, Source::Button, flag());
    }
    begun
}

/// Goes on with a file as a later process does: a line feed if needed, then `recovered`.
fn go_on(bytes: &mut Vec<u8>, read: &Opened, stamp: &Stamp, run: u64) -> Chain {
    if read.tail != Tail::Clean {
        bytes.push(b'\n');
    }
    let mut chain = read.chain;
    let entry = Entry {
        seq: chain.next(),
        at: Ms(run),
        taken: Ms(run),
        src: Source::Auto,
        fact: Fact::Deed(Deed::Recovered {
            gap_from_seq: Seq(chain.next().0 - 1),
            gap_from_ms: read.last_run,
            bad_bytes: read.bad_bytes,
        }),
    };
    bytes.extend(encode(&mut chain, stamp, &entry).unwrap());
    chain
}

#[test]
fn wherever_the_last_line_is_torn_all_lines_before_it_are_read() {
    let begun = begun();
    let whole = begun.bytes();
    let last = begun.lines.last().unwrap().len();
    for gone in 1..=last {
        let torn = &whole[..whole.len() - gone];
        let read = open(torn).unwrap();
        assert!(read.is_sound() && read.broken_at.is_none());
        // Without its line feed alone the line is whole: nothing of it is lost.
        let (lines, tail, bad) = match gone {
            1 => (5, Tail::NoLineFeed, 0),
            _ if gone == last => (4, Tail::Clean, 0),
            _ => (
                4,
                Tail::Torn(torn[whole.len() - last..].to_vec()),
                last - gone,
            ),
        };
        assert_eq!(
            (read.entries.len(), &read.tail),
            (lines, &tail),
            "{gone} bytes gone"
        );
        assert_eq!(read.bad_bytes, bad as u64);
        assert_eq!(read.chain.next(), Seq(2 + lines as u64));

        let mut bytes = torn.to_vec();
        let chain = go_on(&mut bytes, &read, &stamp(9000), 9000);
        let again = open(&bytes).unwrap();
        assert!(
            again.is_sound() && again.broken_at.is_none(),
            "{:?}",
            again.damage
        );
        assert_eq!(again.entries.len(), lines + 1);
        assert_eq!(again.chain, chain);
        let torn_lines = again
            .damage
            .iter()
            .filter(|d| matches!(d.what, DamageKind::Torn { .. }));
        assert_eq!(torn_lines.count(), usize::from(bad != 0));
    }
}

#[test]
fn torn_bytes_and_the_line_before_them_cannot_be_changed_unseen() {
    let begun = begun();
    let mut bytes = begun.bytes();
    let last = begun.lines.last().unwrap().len();
    let before = begun.lines[begun.lines.len() - 2].len();
    bytes.truncate(bytes.len() - 40);
    let from = bytes.len() - (last - 40) - before;
    let to = bytes.len();
    let read = open(&bytes).unwrap();
    go_on(&mut bytes, &read, &stamp(9000), 9000);
    assert!(open(&bytes).unwrap().is_sound());
    for at in from..to {
        let mut changed = bytes.clone();
        changed[at] ^= 1;
        assert!(
            !open(&changed).unwrap().is_sound(),
            "byte {at} changed unseen"
        );
    }
}

#[test]
fn a_second_kill_while_going_on_is_gone_on_from_too() {
    let mut bytes = begun().bytes();
    bytes.truncate(bytes.len() - 40);
    let first = open(&bytes).unwrap();
    let mut twice = bytes.clone();
    go_on(&mut twice, &first, &stamp(9000), 9000);
    // At every moment of the second process's write.
    for end in bytes.len()..twice.len() {
        let mut bytes = twice[..end].to_vec();
        let second = open(&bytes).unwrap();
        let bad = second.bad_bytes;
        let chain = go_on(&mut bytes, &second, &stamp(12_000), 12_000);
        let read = open(&bytes).unwrap();
        assert!(
            read.is_sound() && read.broken_at.is_none(),
            "{:?}",
            read.damage
        );
        assert_eq!(read.chain, chain);
        let first = twice.len() - end == 1;
        assert_eq!(read.entries.len(), if first { 6 } else { 5 });
        assert!(first || bad >= first_bad(&read), "{bad}");
    }
}

/// A record of three processes: two were killed within a line.
pub(crate) fn torn_twice() -> Vec<u8> {
    let mut bytes = begun().bytes();
    for (kill, run) in [(0, 9000), (1, 12_000)] {
        bytes.truncate(bytes.len() - 40);
        let read = open(&bytes).unwrap();
        let mut stamp = stamp(run);
        stamp.proc = kill + 1;
        go_on(&mut bytes, &read, &stamp, run);
    }
    bytes
}

fn first_bad(read: &Opened) -> u64 {
    let torn = read.damage.iter().map(|d| match d.what {
        DamageKind::Torn { bytes } => bytes as u64,
        DamageKind::Unfinished { .. }
        | DamageKind::Unreadable { .. }
        | DamageKind::Chain { .. }
        | DamageKind::Seq { .. }
        | DamageKind::Content { .. } => 0,
    });
    torn.sum()
}

#[test]
fn only_the_first_line_without_its_line_feed_is_a_record_without_a_protocol() {
    let begun = Begun::new();
    let first = &begun.lines[0];
    for end in 1..first.len() {
        let read = open(&first[..end]);
        assert_eq!(
            read.is_ok(),
            end == first.len() - 1,
            "{end} bytes: {read:?}"
        );
    }
    let read = open(&first[..first.len() - 1]).unwrap();
    assert_eq!((read.tail, read.protocol), (Tail::NoLineFeed, None));
    assert_eq!(read.chain.next(), Seq(1));
}

#[test]
fn run_time_goes_on_in_the_same_boot_and_by_the_wall_clock_across_boots() {
    let mut bytes = begun().bytes();
    // 7 s after the last line, a new process of the same boot.
    let read = open(&bytes).unwrap();
    let mut second = stamp(12_000);
    second.proc = 1;
    go_on(&mut bytes, &read, &second, 12_000);
    // 30 s later by the wall clock, in a new boot that is 4 s old.
    let read = open(&bytes).unwrap();
    assert_eq!(
        (read.last_run, read.base.run_at(ZERO + 13_000)),
        (Ms(12_000), Ms(13_000))
    );
    let third = Stamp {
        mono_ms: 4000,
        boot: "another-boot".to_owned(),
        proc: 2,
        wall: Wall::new(second.wall.unix_ms() + 30_000, -300).unwrap(),
    };
    go_on(&mut bytes, &read, &third, 42_000);
    let read = open(&bytes).unwrap();
    assert_eq!(read.last_run, Ms(42_000));
    assert_eq!(read.base.run_at(4500), Ms(42_500));
    let taken: Vec<u64> = read.entries.iter().map(|e| e.taken.0).collect();
    assert_eq!(taken, [1000, 2000, 3000, 4000, 5000, 12_000, 42_000]);
    assert_eq!(read.damage, []);
}

#[test]
fn a_wall_clock_set_back_between_boots_does_not_turn_time_back() {
    let mut bytes = begun().bytes();
    let read = open(&bytes).unwrap();
    let back = Stamp {
        mono_ms: 4000,
        boot: "another-boot".to_owned(),
        proc: 1,
        wall: Wall::new(stamp(5000).wall.unix_ms() - 86_400_000, -300).unwrap(),
    };
    go_on(&mut bytes, &read, &back, 5000);
    assert_eq!(open(&bytes).unwrap().last_run, Ms(5000));
}
