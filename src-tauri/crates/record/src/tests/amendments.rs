//! Any row of amendments and take-backs, against a second fold that is written from docs/record.md alone:
//! it asks, for each mark, what the lines say, and knows nothing of the first.

use std::collections::BTreeMap;

use cycle::{
    Entry, Fact, Mark, Ms, Seq,
    fact::{Amend, AmendOp, AmendReason, Source},
    mark::{FlowMark, RunMark},
};
use proptest::prelude::*;

use crate::amended;

const MARKS: u64 = 4;

/// What is drawn: an operation and a number that picks its target.
type Drawn = (u8, u64, u64);

fn mark(n: u64) -> Mark {
    Mark::Run(RunMark::Note {
        code: format!("n{n}"),
    })
}

fn entry(seq: u64, at: u64, fact: Fact) -> Entry {
    Entry {
        seq: Seq(seq),
        at: Ms(at),
        taken: Ms(at),
        src: Source::Review,
        fact,
    }
}

/// Marks in lines 2 to 5, then a line an amendment.
fn log(drawn: &[Drawn]) -> Vec<Entry> {
    let mut out: Vec<Entry> = (0..MARKS)
        .map(|n| entry(n + 2, 100 * n, Fact::Mark(mark(n))))
        .collect();
    for (kind, pick, value) in drawn {
        let seq = u64::try_from(out.len()).unwrap() + 2;
        let target = 2 + pick % (seq - 2);
        let at_ms = Ms(value % 1000);
        let new = mark(value % 7);
        let (target, op) = match kind % 5 {
            0 => (target, AmendOp::Retract),
            1 => (target, AmendOp::Retime { at_ms }),
            2 => (target, AmendOp::Replace { new }),
            3 => (0, AmendOp::Add { at_ms, new }),
            _ => (target, AmendOp::Confirm),
        };
        let amend = Amend::of(Seq(target), op, AmendReason::CrewRecall);
        out.push(entry(seq, 5000, Fact::Amend(amend)));
    }
    out
}

/// By hand: is this line in force? A retraction of an amendment holds unless it is itself taken back later.
fn in_force(log: &[Entry], seq: u64) -> bool {
    let later = log.iter().filter(|e| e.seq.0 > seq);
    !later
        .filter(
            |e| matches!(&e.fact, Fact::Amend(a) if a.target.0 == seq && a.op == AmendOp::Retract),
        )
        .any(|e| in_force(log, e.seq.0))
}

/// By hand: line, time and code of what stands.
fn by_hand(log: &[Entry]) -> Vec<(u64, u64, String)> {
    let mut out = Vec::new();
    for entry in log {
        let code = |mark: &Mark| {
            let Mark::Run(RunMark::Note { code }) = mark else {
                panic!("{mark:?}");
            };
            code.clone()
        };
        let (mut at, mut what) = if let Fact::Mark(mark) = &entry.fact {
            (entry.at.0, code(mark))
        } else if let Fact::Amend(amend) = &entry.fact
            && let AmendOp::Add { at_ms, new } = &amend.op
        {
            (at_ms.0, code(new))
        } else {
            continue;
        };
        let mut stands = true;
        for later in log {
            let Fact::Amend(amend) = &later.fact else {
                continue;
            };
            if amend.target != entry.seq || !in_force(log, later.seq.0) {
                continue;
            }
            stands = amend.op != AmendOp::Retract;
            if let AmendOp::Retime { at_ms } = &amend.op {
                at = at_ms.0;
            } else if let AmendOp::Replace { new } = &amend.op {
                what = code(new);
            }
        }
        if stands {
            out.push((entry.seq.0, at, what));
        }
    }
    out.sort_by_key(|(seq, at, _)| (*at, *seq));
    out
}

proptest! {
    #[test]
    fn any_row_of_amendments_adds_up_as_by_hand(drawn in prop::collection::vec(any::<Drawn>(), 0..40)) {
        let log = log(&drawn);
        let before = log.clone();
        let found = amended(&log);
        prop_assert_eq!(&log, &before);
        let told: Vec<(u64, u64, String)> = found.entries.iter().map(|e| {
            let Fact::Mark(Mark::Run(RunMark::Note { code })) = &e.fact else {
                panic!("{:?}", e.fact);
            };
            (e.seq.0, e.at.0, code.clone())
        }).collect();
        prop_assert_eq!(told, by_hand(&log));
    }

    /// Taking back all amendments, the last first, leaves the run as recorded.
    #[test]
    fn all_taken_back_is_as_recorded(drawn in prop::collection::vec(any::<Drawn>(), 0..20)) {
        let mut all = log(&drawn);
        let recorded = amended(&all[..4]).entries;
        for seq in (6..all.len() + 2).rev() {
            let next = u64::try_from(all.len()).unwrap() + 2;
            let amend = Amend::of(Seq(u64::try_from(seq).unwrap()), AmendOp::Retract, AmendReason::MisTap);
            all.push(entry(next, 6000, Fact::Amend(amend)));
        }
        prop_assert_eq!(amended(&all).entries, recorded);
    }
}

/// The rows that are drawn reach what they are about.
#[test]
fn a_chain_of_take_backs_is_followed() {
    let undo = |seq: u64, target: u64| {
        entry(
            seq,
            6000,
            Fact::Amend(Amend::of(
                Seq(target),
                AmendOp::Retract,
                AmendReason::MisTap,
            )),
        )
    };
    let rosc = Fact::Mark(Mark::Flow(FlowMark::Rosc {}));
    let log = [
        entry(2, 10, rosc),
        undo(3, 2),
        undo(4, 3),
        undo(5, 4),
        undo(6, 5),
    ];
    let stands: BTreeMap<usize, usize> = (1..=5)
        .map(|n| (n, amended(&log[..n]).entries.len()))
        .collect();
    assert_eq!(
        stands,
        BTreeMap::from([(1, 1), (2, 0), (3, 1), (4, 0), (5, 1)])
    );
}
