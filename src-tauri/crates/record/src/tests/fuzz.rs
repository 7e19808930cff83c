//! Any bytes at all: the reader never panics, says the same twice, and reads all that stands before the damage.

use proptest::{collection::vec, prelude::*, sample::Index};

use super::{
    files::{V1_0, V1_2},
    make::sealed,
    tear::torn_twice,
};
use crate::{OpenError, open};

/// One thing done to a file.
#[derive(Clone, Debug)]
enum Change {
    Flip(Index, u8),
    Put(Index, Vec<u8>),
    Take(Index, usize),
    Again(Index, Index, usize),
    LineFeed(Index),
    /// A number of the text made another one.
    Digit(Index, u8),
    Cut(Index),
}

fn change() -> impl Strategy<Value = Change> {
    prop_oneof![
        4 => (any::<Index>(), 1..=u8::MAX).prop_map(|(at, with)| Change::Flip(at, with)),
        2 => (any::<Index>(), vec(any::<u8>(), 1..40)).prop_map(|(at, what)| Change::Put(at, what)),
        2 => (any::<Index>(), 1..900_usize).prop_map(|(at, n)| Change::Take(at, n)),
        2 => (any::<Index>(), any::<Index>(), 1..900_usize)
            .prop_map(|(from, to, n)| Change::Again(from, to, n)),
        1 => any::<Index>().prop_map(Change::LineFeed),
        3 => (any::<Index>(), b'0'..=b'9').prop_map(|(at, digit)| Change::Digit(at, digit)),
        1 => any::<Index>().prop_map(Change::Cut),
    ]
}

impl Change {
    /// Does it, and gives the first byte that may be another one now.
    fn to(&self, bytes: &mut Vec<u8>) -> usize {
        if bytes.is_empty() {
            return 0;
        }
        let within = |at: &Index| at.index(bytes.len());
        match self {
            Self::Flip(at, with) => {
                let at = within(at);
                bytes[at] ^= with;
                at
            }
            Self::Put(at, what) => {
                let at = within(at);
                bytes.splice(at..at, what.iter().copied());
                at
            }
            Self::Take(at, n) => {
                let at = within(at);
                bytes.drain(at..(at + n).min(bytes.len()));
                at
            }
            Self::Again(from, to, n) => {
                let (from, to) = (within(from), within(to));
                let piece = bytes[from..(from + n).min(bytes.len())].to_vec();
                bytes.splice(to..to, piece);
                to
            }
            Self::LineFeed(at) => {
                let at = within(at);
                bytes.insert(at, b'\n');
                at
            }
            Self::Digit(at, digit) => {
                let at = within(at);
                let place = bytes.iter().skip(at).position(u8::is_ascii_digit);
                let place = at + place.unwrap_or(0);
                bytes[place] = *digit;
                place
            }
            Self::Cut(at) => {
                let at = within(at);
                bytes.truncate(at);
                at
            }
        }
    }
}

fn files() -> [Vec<u8>; 4] {
    [
        V1_0.bytes.to_vec(),
        V1_2.bytes.to_vec(),
        sealed(20).bytes(),
        torn_twice(),
    ]
}

fn holds_of(file: &[u8], changes: &[Change]) -> Result<(), TestCaseError> {
    let mut bytes = file.to_vec();
    let first = changes.iter().map(|change| change.to(&mut bytes)).min();
    let first = first.unwrap_or(0).min(bytes.len());
    let read = open(&bytes);
    prop_assert_eq!(&read, &open(&bytes), "read twice");
    // The lines that end before the first change.
    let sound = file[..first].iter().rposition(|b| *b == b'\n');
    let sound = sound.map_or(&file[..0], |end| &file[..=end]);
    let read = match read {
        Ok(read) => read,
        Err(why) => {
            prop_assert_eq!(bytes.is_empty(), why == OpenError::Empty);
            prop_assert!(sound.is_empty(), "{}", why);
            return Ok(());
        }
    };
    let numbers = || read.entries.iter().map(|entry| entry.seq);
    prop_assert!(numbers().is_sorted_by(|a, b| a < b));
    prop_assert_eq!(read.entries.len(), read.stamps.len());
    if sound.is_empty() {
        return Ok(());
    }
    let before = open(sound).unwrap();
    for (entry, stamp) in before.entries.iter().zip(&before.stamps) {
        let place = read.entries.binary_search_by_key(&entry.seq, |e| e.seq);
        let place = place.map_err(|_| TestCaseError::fail(format!("{entry:?} is not read")))?;
        prop_assert_eq!(&read.entries[place], entry);
        prop_assert_eq!(&read.stamps[place], stamp);
    }
    prop_assert!(before.protocol.is_none() || before.protocol == read.protocol);
    prop_assert!(read.unknown.len() >= before.unknown.len());
    Ok(())
}

fn fuzz(cases: u32) {
    let files = files();
    let mut runner = proptest::test_runner::TestRunner::new(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::with_cases(cases)
    });
    let tried = runner.run(&(0..files.len(), vec(change(), 1..5)), |(file, changes)| {
        holds_of(&files[file], &changes)
    });
    if let Err(why) = tried {
        panic!("{why}");
    }
}

#[test]
fn a_file_changed_anyhow_is_read_up_to_the_change() {
    fuzz(3000);
}

#[test]
#[ignore = "minutes of computing: 100,000 changed files"]
fn a_hundred_thousand_files_changed_anyhow_are_read_up_to_the_change() {
    fuzz(100_000);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    #[test]
    fn the_reader_takes_any_bytes(bytes in vec(any::<u8>(), 0..600)) {
        drop(open(&bytes));
    }
}
