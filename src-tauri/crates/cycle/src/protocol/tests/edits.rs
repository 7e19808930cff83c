//! Whatever the bytes, the parser answers: with a protocol in range or with faults, never with a panic.

use alloc::{string::String, vec::Vec};

use proptest::prelude::*;

use crate::protocol::Protocol;

fn answers(bytes: &[u8]) {
    match Protocol::parse(bytes) {
        Ok(p) => {
            assert!((100..=120).contains(&p.rate.per_minute()));
            assert!(p.window.0 > 0 && p.breath_every.0 > 0 && p.check_every.0 >= 60_000);
            assert_eq!(p.text.as_bytes(), bytes);
        }
        Err(faults) => {
            assert!(!faults.is_empty(), "refused without a fault");
            let lines = bytes.split(|b| *b == b'\n').count();
            for fault in faults {
                assert!(fault.line <= lines, "{fault:?}");
                assert!(
                    !fault.found.is_empty() && !fault.allowed.is_empty(),
                    "{fault:?}"
                );
            }
        }
    }
}

/// Pieces of TOML that an edit puts in, beside arbitrary text.
fn piece() -> impl Strategy<Value = String> {
    prop_oneof![
        ".{0,12}",
        "[0-9.e_+-]{1,8}",
        Just("[[drug]]\n".into()),
        Just("\n[overlay.cold]\n".into()),
        Just("value = {a = [1, \"b\"]}\n".into()),
        Just("lines = [[\"a\"]]\n".into()),
        Just("class = \"newborn\"".into()),
        Just("device.allowed = false\n".into()),
        Just("9223372036854775808".into()),
        Just("\"\"\"".into()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        answers(&bytes);
    }

    #[test]
    fn no_edits_of_an_example_make_it_panic(
        which in 0_usize..5,
        edits in proptest::collection::vec((any::<prop::sample::Index>(), 0_usize..60, piece()), 1..5),
    ) {
        let mut text: Vec<char> = Protocol::EXAMPLES[which].1.chars().collect();
        for (at, len, with) in edits {
            let from = at.index(text.len().max(1)).min(text.len());
            let to = from.saturating_add(len).min(text.len());
            text.splice(from..to, with.chars());
        }
        let text: String = text.into_iter().collect();
        answers(text.as_bytes());
    }

    #[test]
    fn no_lines_out_of_order_make_it_panic(
        which in 0_usize..5,
        swaps in proptest::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>()), 1..8),
    ) {
        let mut lines: Vec<&str> = Protocol::EXAMPLES[which].1.lines().collect();
        for (a, b) in swaps {
            let (a, b) = (a.index(lines.len()), b.index(lines.len()));
            lines.swap(a, b);
        }
        answers(lines.join("\n").as_bytes());
    }
}

#[test]
fn neither_depth_nor_number_makes_it_fall() {
    let deep = |open: &str, close: &str| {
        let n = 40_000 / (open.len() + close.len());
        ["a = ", &open.repeat(n), "1", &close.repeat(n)].concat()
    };
    answers(deep("[", "]").as_bytes());
    answers(deep("{a=", "}").as_bytes());
    answers(["a", &".a".repeat(20_000), " = 1"].concat().as_bytes());
    answers("[[drug]]\n".repeat(5000).as_bytes());
    answers("[[minute]]\n".repeat(4000).as_bytes());
}
