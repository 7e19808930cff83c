use cycle::{
    Entry, Fact, Ms, Seq,
    fact::{Amend, AmendOp, AmendReason, Deed, Source},
    mark::{FlowMark, Mark, RunMark},
};

use crate::{RefusedAmend, amended};

fn entry(seq: u64, at: u64, fact: Fact) -> Entry {
    Entry {
        seq: Seq(seq),
        at: Ms(at),
        taken: Ms(at),
        src: Source::Button,
        fact,
    }
}

fn flag(seq: u64, at: u64) -> Entry {
    entry(seq, at, Fact::Mark(Mark::Run(RunMark::Flag {})))
}

fn retract(seq: u64, target: u64) -> Entry {
    change(seq, target, AmendOp::Retract)
}

fn retime(seq: u64, target: u64, at: u64) -> Entry {
    change(seq, target, AmendOp::Retime { at_ms: Ms(at) })
}

fn replace(seq: u64, target: u64) -> Entry {
    let new = Mark::Flow(FlowMark::Rosc {});
    change(seq, target, AmendOp::Replace { new })
}

fn change(seq: u64, target: u64, op: AmendOp) -> Entry {
    let amend = Amend {
        target: Seq(target),
        op,
        reason: AmendReason::CrewRecall,
        by_role: None,
    };
    entry(seq, 90_000, Fact::Amend(amend))
}

fn standing(entries: &[Entry]) -> Vec<(u64, u64)> {
    let amended = amended(entries);
    amended.entries.iter().map(|e| (e.seq.0, e.at.0)).collect()
}

#[test]
fn without_amendments_the_order_is_by_event_time_then_number() {
    let log = [flag(2, 500), flag(3, 400), flag(4, 400)];
    assert_eq!(standing(&log), [(3, 400), (4, 400), (2, 500)]);
}

#[test]
fn a_retracted_mark_is_gone_and_a_retimed_one_moves() {
    let log = [
        flag(2, 100),
        flag(3, 200),
        flag(4, 300),
        retract(5, 3),
        retime(6, 4, 50),
    ];
    assert_eq!(standing(&log), [(4, 50), (2, 100)]);
    assert_eq!(amended(&log).amendments, 2);
}

#[test]
fn the_last_amendment_of_a_mark_wins() {
    assert_eq!(
        standing(&[flag(2, 100), retime(3, 2, 50), retract(4, 2)]),
        []
    );
    assert_eq!(
        standing(&[flag(2, 100), retract(3, 2), retime(4, 2, 50)]),
        [(2, 50)]
    );
    assert_eq!(
        standing(&[flag(2, 100), retime(3, 2, 50), retime(4, 2, 70)]),
        [(2, 70)]
    );
}

/// Number, time, and whether it is the new mark.
fn replaced(log: &[Entry]) -> Vec<(u64, u64, bool)> {
    let rosc = Fact::Mark(Mark::Flow(FlowMark::Rosc {}));
    let amended = amended(log);
    let all = amended.entries.iter();
    all.map(|e| (e.seq.0, e.at.0, e.fact == rosc)).collect()
}

#[test]
fn a_replaced_mark_is_the_new_one_at_the_old_place() {
    let log = [flag(2, 100), flag(3, 200), replace(4, 2)];
    assert_eq!(replaced(&log), [(2, 100, true), (3, 200, false)]);
}

#[test]
fn a_moved_mark_that_is_replaced_stays_where_it_was_moved_and_the_reverse() {
    let moved_first = [flag(2, 100), retime(3, 2, 50), replace(4, 2)];
    assert_eq!(replaced(&moved_first), [(2, 50, true)]);
    let replaced_first = [flag(2, 100), replace(3, 2), retime(4, 2, 50)];
    assert_eq!(replaced(&replaced_first), [(2, 50, true)]);
    assert_eq!(replaced(&[flag(2, 100), replace(3, 2), retract(4, 2)]), []);
    let back = [flag(2, 100), retract(3, 2), replace(4, 2)];
    assert_eq!(replaced(&back), [(2, 100, true)]);
}

#[test]
fn the_order_of_amendments_is_by_number() {
    let log = [flag(2, 100), retime(4, 2, 50), retime(3, 2, 70)];
    assert_eq!(standing(&log), [(2, 50)]);
}

#[test]
fn only_a_mark_before_it_can_be_amended() {
    let deed = entry(3, 150, Fact::Deed(Deed::Heartbeat {}));
    let log = [
        flag(2, 100),
        deed,
        retract(4, 3),
        retract(5, 6),
        flag(6, 300),
        retract(7, 4),
    ];
    let amended = amended(&log);
    let refused = |seq, target| RefusedAmend {
        seq: Seq(seq),
        target: Seq(target),
    };
    assert_eq!(
        amended.refused,
        [refused(4, 3), refused(5, 6), refused(7, 4)]
    );
    assert_eq!(amended.entries.len(), 3);
    assert_eq!(amended.amendments, 0);
    assert_eq!(
        amended.refused[0].to_string(),
        "amend in line 4: target = 3, allowed: the seq of a mark before it"
    );
}
