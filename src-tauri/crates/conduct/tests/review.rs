//! A review of a run's own file: what it adds, what it refuses, and what a kill in the middle leaves.
#![expect(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::arithmetic_side_effects,
    reason = "a test that meets an error fails, as it should"
)]

use conduct::{
    Clock, Store,
    fakes::{FakeClock, Fault, MemoryStore},
    past,
    review::{ReviewError, Session, look},
};
use cycle::{
    ClipLengths, Entry, Fact, Mark, Ms, Prompt, Seq,
    fact::{AmendOp, AmendReason, Deed, Source, Way},
    mark::{By, CareMark, FlowMark, Outcome, RunMark, SetState},
};
use record::{
    Chain, Opened, Stamp, Verdict, Wall,
    review::Gap,
    script::{Aim, Wanted, amendments},
};

const ID: &str = "2f0c6f0e-7a8e-4b5c-9d61-0d9f1f2a3b4c";
/// 2026-11-25T13:30:00Z, by `date -u -d 2026-11-25T13:30:00Z +%s`.
const BEGAN: i64 = 1_795_613_400_000;

fn stamp(run: u64) -> Stamp {
    Stamp {
        mono_ms: 3_600_000 + run,
        boot: "a-boot".to_owned(),
        proc: 0,
        wall: Wall::new(BEGAN + i64::try_from(run).unwrap(), -300).unwrap(),
    }
}

/// Six hours and a millisecond after the last line.
fn long_after(opened: &Opened) -> Box<dyn Clock> {
    let clock = FakeClock::new();
    clock.set_wall(opened.last.wall);
    let clock = clock.resume(&opened.base, &opened.last, opened.last_run);
    clock.set(opened.last_run.plus(Ms(21_600_001)));
    Box::new(clock)
}

/// An hour after the header, still.
#[derive(Debug)]
struct Later;

impl Clock for Later {
    fn mono_ns(&self) -> u64 {
        7_200_000_000_000
    }

    fn wall(&self) -> Wall {
        Wall::new(BEGAN + 3_600_000, -300).unwrap()
    }

    fn boot(&self) -> &'static str {
        "a-boot"
    }

    fn zero_ms(&self) -> i64 {
        3_600_000
    }
}

fn later(_: &Opened) -> Box<dyn Clock> {
    Box::new(Later)
}

fn compressing() -> Mark {
    Mark::Flow(FlowMark::ComprStart {
        by: By::Manual,
        mech_kind: None,
        basis: None,
    })
}

const fn state(state: SetState) -> Mark {
    Mark::Flow(FlowMark::StateSet { state })
}

const fn flag() -> Mark {
    Mark::Run(RunMark::Flag {})
}

fn note() -> Mark {
    let code = "bag_changed".to_owned();
    Mark::Run(RunMark::Note { code })
}

/// Lines 2 start, 3 compressions at 0 s, 4 a flag at 10 s, 5 a voice's drug at 15 s, 6 the app back at 60 s
/// after a kill at 20 s, 7 compressions at 65 s, 8 the end at 120 s, 9 the seal.
fn ended() -> Vec<u8> {
    let (mut chain, mut out) = opening();
    let drug = Mark::Care(CareMark::Drug {
        drug: "adrenaline".to_owned(),
        dose: None,
        unit: None,
        route: None,
        prior: false,
        by_other_unit: false,
    });
    let end = Mark::Run(RunMark::End {
        outcome: Outcome::Stopped,
        reason: None,
    });
    let back = Deed::Recovered {
        gap_from_seq: Seq(5),
        gap_from_ms: Ms(20_000),
        bad_bytes: 0,
    };
    let lines = [
        (0, Source::Auto, Fact::Deed(Deed::Start { way: Way::Hand })),
        (0, Source::Button, Fact::Mark(compressing())),
        (10_000, Source::Button, Fact::Mark(flag())),
        (15_000, Source::Voice, Fact::Mark(drug)),
        (60_000, Source::Auto, Fact::Deed(back)),
        (65_000, Source::Button, Fact::Mark(state(SetState::Manual))),
        (120_000, Source::Button, Fact::Mark(end)),
    ];
    for (n, (at, src, fact)) in (2..).zip(lines) {
        let entry = Entry {
            seq: Seq(n),
            at: Ms(at),
            taken: Ms(at),
            src,
            fact,
        };
        out.extend(record::encode(&mut chain, &stamp(at), &entry).unwrap());
    }
    out.extend(record::encode_seal(&mut chain, &stamp(121_000), 1).unwrap());
    out
}

fn opening() -> (Chain, Vec<u8>) {
    let clips = ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap();
    let setup = conduct::of_example("example-adult", clips)
        .unwrap()
        .unwrap();
    let heads = conduct::fakes::heads(ID);
    heads.open(&setup, &stamp(0)).unwrap()
}

fn kept() -> MemoryStore {
    let store = MemoryStore::new();
    store.put(ID, &ended());
    store
}

fn session(store: &MemoryStore) -> Session {
    Session::open(Box::new(store.clone()), ID, later).expect("a session")
}

fn opened(store: &MemoryStore) -> Opened {
    record::open(&store.read(ID).unwrap()).unwrap()
}

const WHY: AmendReason = AmendReason::CrewRecall;

fn retime(at: u64) -> AmendOp {
    AmendOp::Retime { at_ms: Ms(at) }
}

fn add(at: u64, new: Mark) -> AmendOp {
    let at_ms = Ms(at);
    AmendOp::Add { at_ms, new }
}

#[test]
fn a_session_adds_lines_and_a_seal_and_leaves_what_was_there() {
    let store = kept();
    let before = ended();
    let first = record::fingerprint(&record::open(&before).unwrap());
    let mut review = session(&store);
    let named = review.amend(Some(Seq(4)), AmendOp::Replace { new: note() }, WHY);
    assert_eq!(named, Ok(Seq(10)));
    assert_eq!(
        review.amend(Some(Seq(5)), AmendOp::Confirm, WHY),
        Ok(Seq(11))
    );
    assert_eq!(review.view().unwrap().revision.unsealed, 2);
    let last = review.close().unwrap();
    let bytes = store.read(ID).unwrap();
    assert!(bytes.starts_with(&before));
    let record = opened(&store);
    assert_eq!(record.damage, []);
    let seals: Vec<_> = record.seals.iter().map(|(s, _)| (s.rev, s.lines)).collect();
    assert_eq!(seals, [(1, 9), (2, 12)]);
    assert_eq!(record::fingerprint(&record), last);
    assert_eq!(record::verify(&record, first), Verdict::Extended { rev: 1 });
    let view = look(&store, ID).unwrap();
    assert_eq!((view.revision.rev, view.revision.unsealed), (2, 0));
    let of = |seq| view.marks.iter().find(|m| m.seq == Seq(seq)).unwrap();
    assert_eq!(of(4).recorded, Some((Ms(10_000), flag())));
    assert_eq!((of(4).kind(), of(4).is_nameless), ("note", false));
    assert_eq!(
        (of(5).is_unconfirmed, of(5).amended_by.as_slice()),
        (false, &[Seq(11)][..])
    );
    // The line as docs/record.md has it.
    let text = String::from_utf8(bytes).unwrap();
    assert!(
        text.contains(
            "\"src\":\"review\",\"d\":{\"target\":5,\"op\":\"confirm\",\"reason\":\"crew_recall\",\"by_role\":\"reviewer\"}"
        ),
        "{text}"
    );
    // The run ended when it did, not an hour later.
    let run = &past::runs(&store, 1).unwrap()[0];
    assert_eq!((run.length, run.revision.rev), (Ms(120_000), 2));
}

#[test]
fn before_a_review_it_is_told_what_is_open() {
    let store = kept();
    let before = store.read(ID).unwrap();
    let view = look(&store, ID).unwrap();
    let named: Vec<_> = view
        .marks
        .iter()
        .map(|m| (m.seq.0, m.at.0, m.kind()))
        .collect();
    assert_eq!(
        named,
        [
            (3, 0, "compr_start"),
            (4, 10_000, "flag"),
            (5, 15_000, "drug"),
            (7, 65_000, "state_set"),
            (8, 120_000, "end")
        ]
    );
    let nameless: Vec<_> = view
        .marks
        .iter()
        .filter(|m| m.is_nameless)
        .map(|m| m.seq.0)
        .collect();
    let unsure: Vec<_> = view
        .marks
        .iter()
        .filter(|m| m.is_unconfirmed)
        .map(|m| m.seq.0)
        .collect();
    assert_eq!((nameless, unsure), (vec![4], vec![5]));
    let gap = Gap {
        from: Ms(20_000),
        to: Ms(65_000),
    };
    assert_eq!(view.gaps, [gap]);
    assert_eq!((view.end, view.revision.rev), (Ms(120_000), 1));
    // A session without a change leaves the file as it is.
    session(&store).close().unwrap();
    assert_eq!(store.read(ID).unwrap(), before);
}

#[test]
fn a_gap_is_resolved_from_where_the_review_says_on() {
    let store = kept();
    let mut review = session(&store);
    review
        .amend(None, add(30_000, state(SetState::HandsOff)), WHY)
        .unwrap();
    let gaps = |review: &Session| {
        let gaps = review.view().unwrap().gaps;
        gaps.iter().map(|g| (g.from.0, g.to.0)).collect::<Vec<_>>()
    };
    assert_eq!(gaps(&review), [(20_000, 30_000)]);
    // Known from its beginning: no gap is left. Taken back, it is there again.
    review.amend(Some(Seq(10)), retime(20_000), WHY).unwrap();
    assert_eq!(gaps(&review), [(0, 0); 0]);
    assert_eq!(review.take_back(), Ok(Seq(11)));
    assert_eq!(gaps(&review), [(20_000, 30_000)]);
    assert_eq!(review.take_back(), Ok(Seq(10)));
    assert_eq!(gaps(&review), [(20_000, 65_000)]);
    assert_eq!(review.take_back(), Err(ReviewError::NoChange));
    review.close().unwrap();
    // The pauses of the debrief follow: off the chest from 30 s to 65 s.
    let mut review = session(&store);
    review
        .amend(None, add(30_000, state(SetState::HandsOff)), WHY)
        .unwrap();
    review.close().unwrap();
    let opened = record::open(&store.read(ID).unwrap()).unwrap();
    let run = cycle::Run::replay(past::setup(&opened).unwrap(), &opened.entries).unwrap();
    let pauses: Vec<_> = run.pauses().iter().map(|p| (p.from.0, p.to.0)).collect();
    assert_eq!(pauses, [(30_000, 65_000)]);
    assert_eq!(record::review::revision(&opened).rev, 3);
}

#[test]
#[expect(clippy::too_many_lines, reason = "a table of what is refused")]
fn what_makes_no_sense_is_refused_with_place_value_and_remedy() {
    let store = kept();
    let before = store.read(ID).unwrap();
    let mut review = session(&store);
    let drug = || {
        Mark::Care(CareMark::Access {
            kind: "im".to_owned(),
            site: None,
            attempt: None,
            success: None,
        })
    };
    let cases: Vec<(Option<u64>, AmendOp, &[&str])> = vec![
        // Deeds, the header, the seal, and lines that are not there.
        (
            Some(2),
            AmendOp::Retract,
            &["target = 2 (a deed)", "never amended"],
        ),
        (
            Some(6),
            retime(1),
            &["target = 6 (a deed)", "never amended"],
        ),
        (Some(0), AmendOp::Retract, &["target = 0", "go to 9"]),
        (Some(9), AmendOp::Confirm, &["target = 9", "go to 9"]),
        (
            Some(77),
            AmendOp::Retract,
            &["target = 77", "the seq of a mark"],
        ),
        (
            None,
            AmendOp::Retract,
            &["target = null", "the seq of a mark"],
        ),
        (
            Some(4),
            add(5, note()),
            &["target = 4", "none where a mark is added"],
        ),
        // Times.
        (
            Some(4),
            retime(120_001),
            &["at_ms = 120001", "0 (the header) to 120000"],
        ),
        (
            None,
            add(120_001, compressing()),
            &["at_ms = 120001", "to 120000"],
        ),
        (
            Some(8),
            retime(64_999),
            &["at_ms = 65000 (line 7)", "the end at 64999", "move the end"],
        ),
        // Kinds and values.
        (
            Some(4),
            AmendOp::Replace { new: flag() },
            &["new = flag", "confirm"],
        ),
        (
            Some(5),
            AmendOp::Replace { new: compressing() },
            &["new.ev = compr_start", "drug, access"],
        ),
        (
            Some(8),
            AmendOp::Replace { new: note() },
            &["new.ev = note", "end in place of end"],
        ),
        (
            Some(5),
            AmendOp::Replace { new: drug() },
            &["new.d.kind = \"im\"", "iv, io"],
        ),
        (None, add(5, flag()), &["new.ev = flag", "state_set"]),
        (
            None,
            add(
                110_000,
                Mark::Run(RunMark::End {
                    outcome: Outcome::Rosc,
                    reason: None,
                }),
            ),
            &["new.ev = end", "one end"],
        ),
    ];
    for (target, op, wanted) in cases {
        let error = review
            .amend(target.map(Seq), op.clone(), WHY)
            .expect_err("refused");
        let said = error.to_string();
        for part in wanted {
            assert!(said.contains(part), "{op:?}: {said}: no {part:?}");
        }
    }
    assert_eq!(store.read(ID).unwrap(), before);
    // A mark that was retracted is first made to stand again; an amendment is taken back once.
    review.amend(Some(Seq(4)), AmendOp::Retract, WHY).unwrap();
    let said = review
        .amend(Some(Seq(4)), retime(9), WHY)
        .unwrap_err()
        .to_string();
    assert!(said.contains("retract that amendment first"), "{said}");
    let said = review
        .amend(Some(Seq(10)), retime(9), WHY)
        .unwrap_err()
        .to_string();
    assert!(said.contains("retime of 10 (an amendment)"), "{said}");
    review.amend(Some(Seq(10)), AmendOp::Retract, WHY).unwrap();
    let said = review
        .amend(Some(Seq(10)), AmendOp::Retract, WHY)
        .unwrap_err()
        .to_string();
    assert!(said.contains("this one was taken back"), "{said}");
    review.amend(Some(Seq(4)), retime(9), WHY).unwrap();
}

#[test]
fn a_clock_may_be_told_after_the_run_and_a_time_of_the_mission_for_a_day() {
    let store = kept();
    let mut review = session(&store);
    let text = br##"{"amendments": [
        {"op": "add", "at_ms": 3600000, "reason": "late_entry",
         "new": {"ev": "clock_mark", "d": {"ref": "dispatch", "shown": "09:31:00", "precision_s": 60}}},
        {"op": "add", "at_ms": 3000000, "reason": "late_entry",
         "new": {"ev": "times", "d": {"which": "family_told"}}},
        {"op": "retime", "target": "#2", "at_ms": 3100000, "reason": "late_entry"}
    ]}"##;
    let wanted = amendments(text).unwrap();
    assert_eq!(wanted.len(), 3);
    let made = review.amend_all(&wanted).unwrap();
    assert_eq!(made, [Seq(10), Seq(11), Seq(12)]);
    let future = Wanted {
        aim: Aim::Line(Seq(11)),
        op: retime(3_600_001),
        reason: WHY,
    };
    let good = Wanted {
        op: AmendOp::Confirm,
        ..future.clone()
    };
    // All or none.
    let before = store.read(ID).unwrap();
    let (n, error) = review.amend_all(&[good, future]).unwrap_err();
    assert_eq!(n, 2);
    assert!(error.to_string().contains("3600001"), "{error}");
    assert_eq!(store.read(ID).unwrap(), before);
}

#[test]
fn a_run_that_is_not_over_is_not_reviewed() {
    let whole = ended();
    let end = whole.len() - 1;
    let seal = whole[..end].iter().rposition(|b| *b == b'\n').unwrap() + 1;
    let store = MemoryStore::new();
    store.put(ID, &whole[..seal]);
    let error = Session::open(Box::new(store.clone()), ID, later).unwrap_err();
    assert!(error.to_string().contains("end it first"), "{error}");
    assert!(look(&store, ID).is_ok());
    // No app takes it up again once six hours have passed; it is sealed by its first review.
    let mut left = Session::open(Box::new(store.clone()), ID, long_after).unwrap();
    left.amend(Some(Seq(4)), AmendOp::Retract, WHY).unwrap();
    left.close().unwrap();
    let read = opened(&store);
    assert!(read.is_sound() && read.sealed);
    assert_eq!(read.seals.last().unwrap().0.rev, 1);
}

#[test]
fn two_sessions_on_one_run_do_not_write_over_each_other() {
    let store = kept();
    let (mut one, mut two) = (session(&store), session(&store));
    one.amend(Some(Seq(4)), AmendOp::Retract, WHY).unwrap();
    let refused = two.amend(Some(Seq(5)), AmendOp::Retract, WHY);
    assert!(matches!(refused, Err(ReviewError::Changed { .. })));
    one.close().unwrap();
    assert_eq!(opened(&store).damage, []);
}

/// A write or a sync fails, or the power goes within a line: the file can be read, what is not sealed is
/// told, and the next session goes on and seals.
#[test]
fn a_review_that_breaks_off_leaves_a_file_that_can_be_read() {
    let mut unsealed = std::collections::BTreeSet::new();
    for call in 1..=6 {
        for torn in [0, 1, 7, 100, 10_000] {
            let store = kept();
            store.fail_at(
                call,
                if torn == 7 {
                    Fault::Full
                } else {
                    Fault::Device
                },
            );
            let mut review = session(&store);
            let made = [
                review.amend(Some(Seq(4)), AmendOp::Replace { new: note() }, WHY),
                review.amend(Some(Seq(5)), AmendOp::Confirm, WHY),
            ];
            let closed = review.close();
            assert!(
                made.iter().any(Result::is_err) || closed.is_err(),
                "call {call}"
            );
            store.cut(torn);
            let found = opened(&store);
            assert!(
                found.is_sound(),
                "call {call}, torn {torn}: {:?}",
                found.damage
            );
            assert!(store.read(ID).unwrap().starts_with(&ended()));
            let kept = made.iter().take_while(|m| m.is_ok()).count();
            assert!(found.unsealed() >= kept || found.seals.len() == 2);
            unsealed.insert(found.unsealed());
            let mut next = session(&store);
            next.amend(None, add(40_000, state(SetState::Manual)), WHY)
                .unwrap();
            next.close().unwrap();
            let whole = opened(&store);
            assert!(whole.is_sound() && whole.sealed, "{:?}", whole.damage);
            assert_eq!(whole.unsealed(), 0);
            let view = look(&store, ID).unwrap();
            let of = |seq| {
                view.marks
                    .iter()
                    .any(|m| m.at == Ms(40_000) && m.seq.0 > seq)
            };
            assert!(of(9));
        }
    }
    assert!(
        unsealed.contains(&0) && unsealed.contains(&1) && unsealed.contains(&2),
        "{unsealed:?}"
    );
}

#[test]
fn a_reviewed_run_hides_no_run_that_was_killed_after_it() {
    let store = kept();
    // A second run, killed: its lines are a day later.
    let later_by = |run: u64| stamp(run + 86_400_000);
    let clips = ClipLengths::new(Prompt::ALL.iter().map(|p| (*p, 1000)).collect()).unwrap();
    let setup = conduct::of_example("example-adult", clips)
        .unwrap()
        .unwrap();
    let heads = conduct::fakes::heads(ID);
    let (mut chain, mut bytes) = heads.open(&setup, &later_by(0)).unwrap();
    let entry = Entry {
        seq: Seq(2),
        at: Ms(0),
        taken: Ms(0),
        src: Source::Button,
        fact: Fact::Mark(compressing()),
    };
    bytes.extend(record::encode(&mut chain, &later_by(0), &entry).unwrap());
    store.put("killed", &bytes);
    let found = |store: &MemoryStore| store.last_unfinished().unwrap().found.map(|run| run.0);
    assert_eq!(found(&store), Some("killed".to_owned()));
    let mut review = session(&store);
    review.amend(Some(Seq(4)), AmendOp::Retract, WHY).unwrap();
    review.close().unwrap();
    assert_eq!(store.list().unwrap()[0], ID);
    assert_eq!(found(&store), Some("killed".to_owned()));
    // One that was killed before the reviewed run stays hidden, as it was.
    store.put("killed", &ended()[..ended().len() - 200]);
    let mut review = session(&store);
    review.amend(Some(Seq(5)), AmendOp::Retract, WHY).unwrap();
    review.close().unwrap();
    assert_eq!(found(&store), None);
}
