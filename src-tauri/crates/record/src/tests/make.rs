//! Records to test with, and every kind of fact.

mod facts;

use cycle::{
    Entry, Fact, Ms, Prompt,
    fact::{Deed, Source},
    mark::{BreathMode, Mark, PatientClass, Ratio, RunMark},
};

use crate::{
    Answer, App, BreathSetting, Chain, ClockState, Digest, Header, Pack, Platform, ProtocolId,
    ProtocolLine, RunKind, Schema, Settings, Stamp, encode, encode_header, encode_protocol,
    encode_seal,
};
pub(crate) use facts::{fact, mark};

/// Uptime at which the runs of these tests begin.
pub(crate) const ZERO: u64 = 3_600_000;

pub(crate) fn stamp(run: u64) -> Stamp {
    Stamp {
        mono_ms: ZERO + run,
        boot: "a-boot".to_owned(),
        proc: 0,
        wall: crate::Wall::new(1_764_077_400_000 + i64::try_from(run).unwrap(), -300).unwrap(),
    }
}

pub(crate) fn protocol() -> ProtocolLine {
    ProtocolLine {
        toml: "name = \"an example\"\n".to_owned(),
        others: Vec::new(),
        pack: Pack {
            id: "en-US".to_owned(),
            sha256: Digest::of(b"a manifest"),
            clip_ms: Prompt::ALL
                .iter()
                .map(|prompt| (prompt.word().to_owned(), 900))
                .collect(),
        },
    }
}

pub(crate) fn header() -> Header {
    Header {
        schema: Schema::CURRENT,
        record_id: "0f9b6c1e-3c1d-4f0a-9d3e-5a7b8c9d0e1f".to_owned(),
        kind: RunKind::Test,
        app: App {
            name: "carrybeat".to_owned(),
            version: "0.1.0".to_owned(),
            build: "test".to_owned(),
        },
        platform: Platform {
            os: "linux".to_owned(),
            os_version: "12".to_owned(),
            model_class: "desktop".to_owned(),
        },
        tz: "America/New_York".to_owned(),
        clock: ClockState {
            auto_time: Answer::Unknown,
            last_sync_s: None,
        },
        metrics: "metrics/1.0.0".to_owned(),
        protocol: ProtocolId {
            id: "adult-example".to_owned(),
            version: "1".to_owned(),
            sha256: protocol().sha256(),
        },
        settings: Settings {
            rate_per_min: 110,
            breath_mode: BreathSetting {
                mode: BreathMode::Ratio,
                ratio: Some(Ratio::ThirtyTwo),
                every_ms: None,
                via: None,
            },
            cycle_s: 120,
            pause_min_ms: 2000,
            drug_windows: Vec::new(),
        },
        unit_code: None,
        crew_size: 2,
        patient_class: PatientClass::Adult,
        ems_witnessed: Answer::No,
        scenario: None,
        lang: "en-US".to_owned(),
    }
}

/// A record under way: its lines, each with its line feed.
pub(crate) struct Begun {
    pub(crate) chain: Chain,
    pub(crate) lines: Vec<Vec<u8>>,
}

impl Begun {
    pub(crate) fn new() -> Self {
        let mut chain = Chain::new();
        let lines = vec![
            encode_header(&mut chain, &stamp(0), &header()).unwrap(),
            encode_protocol(&mut chain, &stamp(0), &protocol()).unwrap(),
        ];
        Self { chain, lines }
    }

    pub(crate) fn add(&mut self, at: u64, taken: u64, src: Source, fact: Fact) -> Entry {
        let entry = Entry {
            seq: self.chain.next(),
            at: Ms(at),
            taken: Ms(taken),
            src,
            fact,
        };
        let line = encode(&mut self.chain, &stamp(taken), &entry).unwrap();
        self.lines.push(line);
        entry
    }

    pub(crate) fn seal(&mut self, taken: u64, rev: u32) {
        let line = encode_seal(&mut self.chain, &stamp(taken), rev).unwrap();
        self.lines.push(line);
    }

    pub(crate) fn bytes(&self) -> Vec<u8> {
        self.lines.concat()
    }
}

/// A finished record of so many lines: marks and deeds in turn, then the seal.
pub(crate) fn sealed(lines: usize) -> Begun {
    let mut begun = Begun::new();
    for n in 2..lines - 1 {
        let taken = u64::try_from(n).unwrap() * 1500;
        if n % 2 == 0 {
            begun.add(
                taken - 85,
                taken,
                Source::Button,
                Fact::Mark(Mark::Run(RunMark::Flag {})),
            );
        } else {
            begun.add(taken, taken, Source::Auto, Fact::Deed(Deed::Heartbeat {}));
        }
    }
    begun.seal(u64::try_from(lines).unwrap() * 1500, 1);
    assert_eq!(begun.lines.len(), lines);
    begun
}
