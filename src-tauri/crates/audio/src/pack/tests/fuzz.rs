//! Any bytes at all as a clip or as a manifest: no panic, no more room than the file has, and every fault
//! names its place and what to do.

#![expect(
    clippy::arithmetic_side_effects,
    reason = "small numbers of the tests; an overflow fails the test"
)]

use proptest::{collection::vec, prelude::*, sample::Index};

use super::*;

/// One thing done to a file.
#[derive(Clone, Debug)]
enum Change {
    Flip(Index, u8),
    Put(Index, Vec<u8>),
    Take(Index, usize),
    Again(Index, Index, usize),
    /// A number of the header made another one, often one at the end of its range.
    Number(usize, u32),
    Cut(Index),
}

fn change() -> impl Strategy<Value = Change> {
    let number = prop_oneof![
        any::<u32>(),
        0_u32..6,
        (0_u32..6).prop_map(|n| u32::MAX - n),
        (0_u32..32).prop_map(|n| 1 << n),
    ];
    prop_oneof![
        3 => (any::<Index>(), 1..=u8::MAX).prop_map(|(at, with)| Change::Flip(at, with)),
        2 => (any::<Index>(), vec(any::<u8>(), 1..40)).prop_map(|(at, what)| Change::Put(at, what)),
        2 => (any::<Index>(), 1..200_usize).prop_map(|(at, n)| Change::Take(at, n)),
        1 => (any::<Index>(), any::<Index>(), 1..200_usize)
            .prop_map(|(from, to, n)| Change::Again(from, to, n)),
        5 => (0..44_usize, number).prop_map(|(at, number)| Change::Number(at, number)),
        1 => any::<Index>().prop_map(Change::Cut),
    ]
}

impl Change {
    fn to(&self, bytes: &mut Vec<u8>) {
        if bytes.is_empty() {
            return;
        }
        let within = |at: &Index| at.index(bytes.len());
        match self {
            Self::Flip(at, with) => {
                let at = within(at);
                bytes[at] ^= with;
            }
            Self::Put(at, what) => {
                let at = within(at);
                bytes.splice(at..at, what.iter().copied());
            }
            Self::Take(at, n) => {
                let at = within(at);
                bytes.drain(at..(at + n).min(bytes.len()));
            }
            Self::Again(from, to, n) => {
                let (from, to) = (within(from), within(to));
                let piece = bytes[from..(from + n).min(bytes.len())].to_vec();
                bytes.splice(to..to, piece);
            }
            Self::Number(at, number) => {
                let number = number.to_le_bytes();
                for (place, byte) in bytes.iter_mut().skip(*at).zip(number) {
                    *place = byte;
                }
            }
            Self::Cut(at) => {
                let at = within(at);
                bytes.truncate(at);
            }
        }
    }
}

fn runner(cases: u32) -> proptest::test_runner::TestRunner {
    proptest::test_runner::TestRunner::new(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::with_cases(cases)
    })
}

/// A clip of the pack that is cut off, a whole one, one of another width (which has the longer header), and one
/// with a chunk that nobody knows.
fn clips() -> Vec<Vec<u8>> {
    let cut = embedded::VOICES[0]
        .2
        .iter()
        .find(|(name, _)| *name == "chk_cd2.wav")
        .map(|(_, bytes)| bytes[..3000].to_vec())
        .unwrap();
    let own = wav(SPEC, 300);
    let wide = wav(
        hound::WavSpec {
            bits_per_sample: 24,
            ..SPEC
        },
        100,
    );
    let mut odd = own.clone();
    odd.splice(12..12, *b"LIST\x06\x00\x00\x00INFO\x00\x00");
    vec![cut, own, wide, odd]
}

fn holds_of_clip(bytes: &[u8]) -> Result<(), TestCaseError> {
    let read = decode(bytes).map(|clip| (clip.samples, clip.hz));
    let again = decode(bytes).map(|clip| (clip.samples, clip.hz));
    prop_assert_eq!(&read, &again, "read twice");
    match read {
        Ok((samples, hz)) => {
            prop_assert!(!samples.is_empty() && samples.len() * 2 <= bytes.len());
            prop_assert!(samples.capacity() <= bytes.len().max(8));
            prop_assert!((8000..=192_000).contains(&hz));
        }
        Err(wrong) => {
            let (id, file) = ("undo", "voice/undo.wav".to_owned());
            holds_of_fault(&ClipFault { id, file, wrong })?;
        }
    }
    Ok(())
}

fn holds_of_fault(fault: &ClipFault) -> Result<(), TestCaseError> {
    let text = fault.to_string();
    for wanted in [fault.id, &fault.file, "install the sounds again"] {
        prop_assert!(text.contains(wanted), "{}", text);
    }
    Ok(())
}

fn fuzz_clips(cases: u32) {
    let files = clips();
    let tried = runner(cases).run(&(0..files.len(), vec(change(), 1..5)), |(file, changes)| {
        let mut bytes = files[file].clone();
        for change in changes {
            change.to(&mut bytes);
        }
        holds_of_clip(&bytes)
    });
    if let Err(why) = tried {
        panic!("{why}");
    }
}

fn fuzz_manifests(cases: u32) {
    let place = Place::Inside("sounds/tones", embedded::TONES);
    let whole = place.read("manifest.json", LARGEST_MANIFEST).unwrap();
    let ids = || SCORE.into_iter().chain(Tone::ALL.iter().map(|t| t.word()));
    let own = listed(&place, Ok(&whole), ids(), &mut Vec::new());
    let tried = runner(cases).run(&vec(change(), 1..4), |changes| {
        let mut bytes = whole.to_vec();
        for change in changes {
            change.to(&mut bytes);
        }
        let mut faults = Vec::new();
        let read = listed(&place, Ok(&bytes), ids(), &mut faults);
        let missing = read.iter().filter(|clip| clip.is_none()).count();
        prop_assert_eq!(missing, faults.len());
        for fault in &faults {
            holds_of_fault(fault)?;
        }
        for clip in read.iter().flatten() {
            // The hash stands between a name that was changed and another clip.
            let mut known = own.iter().flatten();
            prop_assert!(known.any(|known| known.samples == clip.samples));
        }
        Ok(())
    });
    if let Err(why) = tried {
        panic!("{why}");
    }
}

#[test]
fn a_clip_changed_anyhow_is_read_or_told() {
    fuzz_clips(4000);
}

#[test]
fn a_manifest_changed_anyhow_is_read_or_told() {
    fuzz_manifests(300);
}

#[test]
#[ignore = "minutes of computing: 300,000 changed clips and 10,000 manifests"]
fn very_many_clips_and_manifests_changed_anyhow_are_read_or_told() {
    fuzz_clips(300_000);
    fuzz_manifests(10_000);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(2000) })]

    #[test]
    fn any_bytes_are_taken_for_a_clip_or_a_manifest(bytes in vec(any::<u8>(), 0..300)) {
        holds_of_clip(&bytes)?;
        let place = Place::Inside("sounds/tones", embedded::TONES);
        let mut faults = Vec::new();
        listed(&place, Ok(&bytes), ["beat"].into_iter(), &mut faults);
        for fault in &faults {
            holds_of_fault(fault)?;
        }
    }
}
