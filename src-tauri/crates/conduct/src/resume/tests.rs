#![expect(clippy::as_conversions, reason = "small numbers of these tests")]

use cycle::{
    Entry, Fact, Ms, Prompt, Seq,
    fact::{Deed, Source},
    mark::{Mark, RunMark},
};
use record::{Chain, DamageKind, Opened, encode, encode_header, encode_protocol, open};

use super::{Plan, ResumeError, plan};
use crate::{clock::Clock, fakes::FakeClock};

/// A record under way on a fake clock.
pub(crate) struct Sample {
    pub(crate) chain: Chain,
    pub(crate) lines: Vec<Vec<u8>>,
    proc: u32,
}

impl Sample {
    /// With header and protocol of the record that another program wrote, and all clips.
    pub(crate) fn begin(clock: &FakeClock) -> Self {
        let golden = include_bytes!("../../../record/golden/record-1.0.0.rec.jsonl");
        let golden = open(golden).unwrap();
        let mut protocol = golden.protocol.unwrap();
        protocol.pack.clip_ms = Prompt::ALL
            .iter()
            .map(|prompt| (prompt.word().to_owned(), 900))
            .collect();
        let mut chain = Chain::new();
        let stamp = clock.stamp(Ms::ZERO, 0);
        let lines = vec![
            encode_header(&mut chain, &stamp, &golden.header).unwrap(),
            encode_protocol(&mut chain, &stamp, &protocol).unwrap(),
        ];
        Self {
            chain,
            lines,
            proc: 0,
        }
    }

    pub(crate) fn bytes(&self) -> Vec<u8> {
        self.lines.concat()
    }

    fn add(&mut self, clock: &FakeClock, src: Source, fact: Fact) {
        let now = clock.now();
        let entry = Entry {
            seq: self.chain.next(),
            at: now,
            taken: now,
            src,
            fact,
        };
        let line = encode(&mut self.chain, &clock.stamp(now, self.proc), &entry).unwrap();
        self.lines.push(line);
    }

    fn flag(&mut self, clock: &FakeClock) {
        clock.advance(Ms(1500));
        self.add(
            clock,
            Source::Button,
            Fact::Mark(Mark::Run(RunMark::Flag {})),
        );
    }

    /// Goes on with a file as a new process does.
    fn go_on(file: &[u8], plan: &Plan, clock: &FakeClock) -> Self {
        let mut sample = Self {
            chain: plan.chain,
            lines: vec![file.to_vec(), plan.opening.to_vec()],
            proc: plan.proc,
        };
        let recovered = Deed::Recovered {
            gap_from_seq: plan.gap_from_seq,
            gap_from_ms: plan.gap_from,
            bad_bytes: plan.bad_bytes,
        };
        sample.add(clock, Source::Auto, Fact::Deed(recovered));
        sample
    }
}

fn run(clock: &FakeClock) -> Sample {
    let mut sample = Sample::begin(clock);
    for _ in 0..6 {
        sample.flag(clock);
    }
    sample
}

fn sound(read: &Opened) {
    let torn_only = |d: &&record::Damage| !matches!(d.what, DamageKind::Torn { .. });
    assert_eq!(read.damage.iter().find(torn_only), None);
}

#[test]
fn a_run_killed_at_any_byte_goes_on_with_all_its_whole_lines_and_its_clock() {
    let first = FakeClock::new();
    let sample = run(&first);
    let whole = sample.bytes();
    let heads = sample.lines[..2].concat().len();
    let entries = open(&whole).unwrap().entries;
    for end in heads..=whole.len() {
        let file = &whole[..end];
        let plan = plan(open(file).unwrap(), first.boot()).unwrap();
        // Whole lines, with or without the last line feed.
        let lines = file.split(|b| *b == b'\n').count() - 3;
        let lines = lines + usize::from(whole[end..].starts_with(b"\n"));
        assert_eq!(plan.entries, entries[..lines], "killed at byte {end}");
        assert_eq!(plan.gap_from_seq, Seq(lines as u64 + 1));
        assert_eq!(plan.gap_from, Ms(lines as u64 * 1500));
        assert_eq!((plan.proc, plan.same_boot), (1, true));

        // Four seconds after the last line, a new process.
        let clock = FakeClock::new();
        clock.advance(Ms(13_000));
        let clock = clock.resume(&plan.base, &plan.last, plan.gap_from);
        assert_eq!(
            clock.now(),
            Ms(13_000),
            "the clock counts the time of the kill"
        );
        let mut later = Sample::go_on(file, &plan, &clock);
        later.flag(&clock);
        let read = open(&later.bytes()).unwrap();
        sound(&read);
        assert_eq!(read.entries[..lines], entries[..lines]);
        let taken: Vec<Ms> = read.entries[lines..].iter().map(|e| e.taken).collect();
        assert_eq!(taken, [Ms(13_000), Ms(14_500)]);
        assert_eq!(read.last.proc, 1);
        assert_eq!(read.chain, later.chain);
    }
}

#[test]
fn a_run_goes_on_after_a_restart_of_the_machine_by_the_wall_clock() {
    let first = FakeClock::new();
    let file = run(&first).bytes();
    let booted = first.reboot("boot-1", Ms(30_000));
    let plan = plan(open(&file).unwrap(), booted.boot()).unwrap();
    assert!(!plan.same_boot);
    let clock = booted.resume(&plan.base, &plan.last, plan.gap_from);
    assert_eq!(clock.now(), Ms(9000 + 30_000));
    let mut later = Sample::go_on(&file, &plan, &clock);
    later.flag(&clock);
    let read = open(&later.bytes()).unwrap();
    sound(&read);
    let taken: Vec<u64> = read.entries.iter().map(|e| e.taken.0).collect();
    assert_eq!(taken[5..], [9000, 39_000, 40_500]);

    // A third process in that boot reads the same clock from the file.
    let third = super::plan(read, "boot-1").unwrap();
    assert!(third.same_boot);
    clock.advance(Ms(2000));
    let again = clock.resume(&third.base, &third.last, third.gap_from);
    assert_eq!(again.now(), Ms(42_500));
    assert_eq!(third.proc, 2);
}

#[test]
fn a_run_that_cannot_go_on_says_why() {
    let clock = FakeClock::new();
    let mut sample = run(&clock);
    let header = open(&sample.lines[0]).unwrap();
    assert_eq!(plan(header, "boot-0"), Err(ResumeError::NoProtocol));
    let mut few = open(&sample.bytes()).unwrap();
    let pack = &mut few.protocol.as_mut().unwrap().pack;
    pack.clip_ms.remove("chk_now");
    let error = plan(few, "boot-0").unwrap_err();
    assert_eq!(error, ResumeError::Clip(Prompt::ChkNow));
    assert!(error.to_string().contains("chk_now"), "{error}");
    let line = record::encode_seal(&mut sample.chain, &clock.stamp(Ms(9000), 0), 1).unwrap();
    sample.lines.push(line);
    assert_eq!(
        plan(open(&sample.bytes()).unwrap(), "boot-0"),
        Err(ResumeError::Sealed)
    );
}

#[test]
fn a_damaged_record_goes_on_and_its_damage_is_named() {
    let clock = FakeClock::new();
    let mut lines = run(&clock).lines;
    lines[4] = b"{\"seq\":4,\"ev\":\"fl\n".to_vec();
    let plan = plan(open(&lines.concat()).unwrap(), clock.boot()).unwrap();
    assert_eq!((plan.entries.len(), plan.gap_from_seq), (5, Seq(7)));
    assert_eq!(plan.damage[0].line, 4);
    let later = Sample::go_on(&lines.concat(), &plan, &clock);
    let read = open(&later.bytes()).unwrap();
    assert_eq!(read.broken_at, Some(5), "only where it was broken before");
    assert_eq!(read.entries.len(), 6);
}
