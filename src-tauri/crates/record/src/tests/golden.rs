use cycle::{
    Entry, Fact, Ms, Seq,
    fact::{Amend, AmendOp, AmendReason, Deed, SoundChange, Source, Way},
    mark::{
        ArrestBasis, By, CheckMark, FlowMark, GivenBy, Mark, Outcome, Reason, RunMark, SoundAct,
    },
};

use super::files::{V1_0, V1_2};
use crate::{Digest, Tail};

#[test]
fn a_digest_is_sha_256() {
    // FIPS 180-4 example "abc", and the empty message of the same standard's test vectors.
    assert_eq!(
        Digest::of(b"abc").to_string(),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
    assert_eq!(
        Digest::of(b"").to_string(),
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    );
}

#[test]
fn a_digest_is_read_in_lower_case_only() {
    for wrong in [
        "",
        "ab",
        &"AB".repeat(32),
        &"ab".repeat(33),
        &"g0".repeat(32),
    ] {
        assert!(wrong.parse::<Digest>().is_err(), "{wrong}");
    }
    assert_eq!("00".repeat(32).parse(), Ok(Digest::ZERO));
}

fn shock() -> CheckMark {
    CheckMark::Shock {
        timed: false,
        by: GivenBy::Us,
        through: false,
        stacked: false,
        mode: None,
        energy_j: None,
    }
}

fn entries() -> Vec<Entry> {
    let entry = |seq, taken, back, src, fact| Entry {
        seq: Seq(seq),
        at: Ms(taken - back),
        taken: Ms(taken),
        src,
        fact,
    };
    let flow = |mark| Fact::Mark(Mark::Flow(mark));
    let run = |mark| Fact::Mark(Mark::Run(mark));
    let on = || {
        flow(FlowMark::ComprStart {
            by: By::Manual,
            mech_kind: None,
            basis: None,
        })
    };
    let amend = |target, op, reason| {
        Fact::Amend(Amend {
            target: Seq(target),
            op,
            reason,
            by_role: None,
        })
    };
    let (auto, button) = (Source::Auto, Source::Button);
    vec![
        entry(2, 0, 0, auto, Fact::Deed(Deed::Start { way: Way::Hand })),
        entry(
            3,
            0,
            0,
            button,
            run(RunMark::Arrest {
                basis: Some(ArrestBasis::Recognised),
            }),
        ),
        entry(4, 0, 0, button, on()),
        entry(5, 10_000, 0, auto, Fact::Deed(Deed::Heartbeat {})),
        entry(
            6,
            15_085,
            85,
            button,
            flow(FlowMark::ComprStop {
                reason: Reason::RhythmCheck,
            }),
        ),
        entry(7, 21_000, 120, button, Fact::Mark(Mark::Check(shock()))),
        entry(8, 21_000, 120, button, on()),
        entry(
            9,
            22_500,
            0,
            button,
            amend(7, AmendOp::Retract, AmendReason::MisTap),
        ),
        entry(
            10,
            90_000,
            0,
            Source::Review,
            amend(
                6,
                AmendOp::Retime { at_ms: Ms(14_000) },
                AmendReason::CrewRecall,
            ),
        ),
        entry(
            11,
            91_000,
            0,
            auto,
            Fact::Deed(Deed::Sound {
                what: SoundChange::Lost,
            }),
        ),
        entry(
            12,
            92_000,
            0,
            button,
            run(RunMark::Sound {
                what: SoundAct::VoiceOff,
                levels: None,
                preset: None,
            }),
        ),
        entry(
            13,
            99_000,
            1500,
            button,
            run(RunMark::End {
                outcome: Outcome::HandedOver,
                reason: None,
            }),
        ),
    ]
}

#[test]
fn reads_what_another_program_wrote() {
    let record = V1_0.reads_as(&entries());
    assert_eq!(record.tail, Tail::Clean);
    assert_eq!(record.header.settings.rate_per_min, 110);
    assert_eq!(
        record.protocol.as_ref().unwrap().pack.clip_ms["chk_now"],
        900
    );
    assert_eq!(
        record.last.wall.to_string(),
        "2026-11-25T08:31:39.001-05:00"
    );
}

#[test]
fn writes_the_same_bytes_as_another_program() {
    V1_0.is_written_by(&entries());
}

#[test]
fn the_quick_way_to_read_a_line_says_what_the_slow_one_says() {
    let mut by_quick = 0;
    for file in [V1_0, V1_2] {
        for line in file
            .bytes
            .split(|b| *b == b'\n')
            .filter(|line| !line.is_empty())
        {
            let (quick, slow) = crate::line::both_ways(line).unwrap();
            if quick.is_some() {
                assert_eq!(quick, slow);
                by_quick += 1;
            }
        }
    }
    assert!(by_quick > 60, "{by_quick}");
    // What only the slow way may judge: a field twice, a kind without its field, the wrong source.
    for (src, ev, d) in [
        ("button", "vent", r#"{"n":1,"n":2}"#),
        ("button", "compr_stop", "{}"),
        ("auto", "flag", "{}"),
        ("button", "heartbeat", "{}"),
        ("button", "nothing_we_know", "{}"),
        ("button", "prior_care", "[]"),
    ] {
        let prev = "0".repeat(64);
        let line = format!(
            r#"{{"seq":9,"ev":"{ev}","mono_ms":1,"boot":"b","proc":0,"wall":"2026-11-25T08:30:00.000-05:00","src":"{src}","d":{d},"prev":"{prev}"}}"#
        );
        let (quick, _) = crate::line::both_ways(line.as_bytes()).unwrap();
        assert_eq!(quick, None, "{line}");
    }
}
