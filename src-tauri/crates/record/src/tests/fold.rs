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
        "amend in line 4: target = 3, allowed: the seq of a mark before it, or of an amendment before it \
         that is retracted; none for an add"
    );
}

fn add(seq: u64, at: u64) -> Entry {
    let new = Mark::Flow(FlowMark::Rosc {});
    let at_ms = Ms(at);
    change(seq, 0, AmendOp::Add { at_ms, new })
}

fn confirm(seq: u64, target: u64) -> Entry {
    change(seq, target, AmendOp::Confirm)
}

/// docs/record.md, amendments: a mark that was added is known by the line that adds it.
#[test]
fn an_added_mark_stands_at_its_time_and_can_be_moved_and_taken_back() {
    let log = [flag(2, 100), flag(3, 300), add(4, 200)];
    assert_eq!(standing(&log), [(2, 100), (4, 200), (3, 300)]);
    let log = [flag(2, 100), add(4, 200), retime(5, 4, 50)];
    assert_eq!(standing(&log), [(4, 50), (2, 100)]);
    let log = [flag(2, 100), add(4, 200), retract(5, 4)];
    assert_eq!(standing(&log), [(2, 100)]);
    let log = [flag(2, 100), add(4, 200), retract(5, 4), retract(6, 5)];
    assert_eq!(standing(&log), [(2, 100), (4, 200)]);
    // An add that names a target, and an amendment of line 0, cannot be.
    let mut odd = add(4, 200);
    if let Fact::Amend(amend) = &mut odd.fact {
        amend.target = Seq(2);
    }
    let found = amended(&[flag(2, 100), odd, retract(5, 0)]);
    assert_eq!(found.entries.len(), 1);
    let refused: Vec<_> = found
        .refused
        .iter()
        .map(|r| (r.seq.0, r.target.0))
        .collect();
    assert_eq!(refused, [(4, 2), (5, 0)]);
}

#[test]
fn an_amendment_is_taken_back_and_that_too() {
    let moved = [flag(2, 100), retime(3, 2, 50)];
    let log = |more: &[Entry]| standing(&[&moved[..], more].concat());
    assert_eq!(log(&[]), [(2, 50)]);
    assert_eq!(log(&[retract(4, 3)]), [(2, 100)]);
    assert_eq!(log(&[retract(4, 3), retract(5, 4)]), [(2, 50)]);
    // The last one in force wins: the second move falls, the first stands.
    assert_eq!(log(&[retime(4, 2, 70), retract(5, 4)]), [(2, 50)]);
    assert_eq!(log(&[retime(4, 2, 70), retract(5, 3)]), [(2, 70)]);
    // Only retract is said of an amendment.
    let found = amended(&[&moved[..], &[retime(4, 3, 9)]].concat());
    assert_eq!(found.refused.len(), 1);
    // Confirming moves nothing; it lets a mark stand that was retracted before.
    assert_eq!(log(&[confirm(4, 2)]), [(2, 50)]);
    assert_eq!(log(&[retract(4, 2), confirm(5, 2)]), [(2, 50)]);
}

/// docs/record.md: a gap begins at its last kept line, so a mark put into it stands after it.
#[test]
fn a_gap_has_its_place_at_its_beginning() {
    let back = Fact::Deed(Deed::Recovered {
        gap_from_seq: Seq(2),
        gap_from_ms: Ms(100),
        bad_bytes: 0,
    });
    let log = [flag(2, 100), entry(3, 900, back), flag(4, 950), add(5, 500)];
    assert_eq!(standing(&log), [(2, 100), (3, 900), (5, 500), (4, 950)]);
}
