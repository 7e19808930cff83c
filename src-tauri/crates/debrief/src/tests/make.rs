//! Records from the lines of a worked case.

use cycle::{
    Entry, Fact, Mark, Ms, Prompt, Protocol,
    fact::{Amend, Deed, Source, Way},
    mark::{BreathMode, PatientClass, Ratio},
};
use record::{
    Answer, App, BreathSetting, Chain, ClockState, Digest, Header, Pack, Platform, ProtocolId,
    ProtocolLine, RunKind, Schema, Settings, Stamp, Wall,
};
use serde::Deserialize;
use serde_json::{Value, json};

/// 08:30:00 at five hours behind UTC.
const BEGAN: i64 = 1_764_077_400_000;

#[derive(Deserialize)]
#[serde(untagged)]
pub(crate) enum CaseLine {
    Seal(String),
    Line(f64, String, Value),
    Late(f64, String, Value, f64),
}

pub(crate) fn stamp(run: u64) -> Stamp {
    Stamp {
        mono_ms: 3_600_000 + run,
        boot: "a-boot".to_owned(),
        proc: 0,
        wall: Wall::new(BEGAN + i64::try_from(run).unwrap(), -300).unwrap(),
    }
}

/// The example with another value of a field.
fn edited(text: &str, field: &str, from: u32, to: u32) -> String {
    let line = |value: u32| format!("[{field}]\nvalue = {value}\n");
    let out = text.replacen(&line(from), &line(to), 1);
    assert!(out.contains(&line(to)), "the field was found");
    out
}

pub(crate) fn protocol(window_s: Option<u32>) -> ProtocolLine {
    protocol_at(110, window_s)
}

/// The example with another rate, and another window for breaths.
pub(crate) fn protocol_at(per_minute: u32, window_s: Option<u32>) -> ProtocolLine {
    let text = Protocol::example("example-adult").unwrap();
    let toml = edited(text, "beat.rate_per_min", 110, per_minute);
    let toml = match window_s {
        Some(s) => edited(&toml, "breaths.window_s", 4, s),
        None => toml,
    };
    ProtocolLine {
        toml,
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

pub(crate) fn header(protocol: &ProtocolLine) -> Header {
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
        metrics: crate::VERSION.to_owned(),
        protocol: ProtocolId {
            id: "example-adult".to_owned(),
            version: "1".to_owned(),
            sha256: protocol.sha256(),
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
            pause_min_ms: 1000,
            drug_windows: Vec::new(),
        },
        unit_code: Some("unit-7".to_owned()),
        crew_size: 2,
        patient_class: PatientClass::Adult,
        ems_witnessed: Answer::No,
        scenario: None,
        lang: "en-US".to_owned(),
    }
}

/// Whole milliseconds of seconds with up to three places.
fn ms(seconds: f64) -> u64 {
    format!("{:.0}", seconds * 1000.0).parse().unwrap()
}

fn fact(ev: &str, d: &Value) -> Fact {
    let both = json!({"ev": ev, "d": d});
    match ev {
        "amend" => Fact::Amend(serde_json::from_value::<Amend>(d.clone()).unwrap()),
        "recovered" | "check_unmarked" | "heartbeat" => {
            Fact::Deed(serde_json::from_value::<Deed>(both).unwrap())
        }
        _ => Fact::Mark(
            serde_json::from_value::<Mark>(both.clone()).unwrap_or_else(|e| panic!("{both}: {e}")),
        ),
    }
}

/// The record of a case, as bytes.
pub(crate) fn record(lines: &[CaseLine], protocol: &ProtocolLine) -> Vec<u8> {
    record_with(lines, protocol, &header(protocol))
}

pub(crate) fn record_with(lines: &[CaseLine], protocol: &ProtocolLine, head: &Header) -> Vec<u8> {
    record_on(lines, protocol, head, stamp)
}

/// The record of a case whose lines are stamped by another clock.
pub(crate) fn record_on(
    lines: &[CaseLine],
    protocol: &ProtocolLine,
    head: &Header,
    stamp: fn(u64) -> Stamp,
) -> Vec<u8> {
    let mut maker = Maker::new(protocol, head, stamp);
    let mut rev = 0;
    for line in lines {
        match line {
            CaseLine::Line(at, ev, d) => maker.add(fact(ev, d), ms(*at), ms(*at)),
            CaseLine::Late(at, ev, d, taken) => maker.add(fact(ev, d), ms(*at), ms(*taken)),
            CaseLine::Seal(word) => {
                assert_eq!(word, "seal");
                rev += 1;
                let stamp = stamp(maker.last);
                let seal = record::encode_seal(&mut maker.chain, &stamp, rev).unwrap();
                maker.out.extend(seal);
            }
        }
    }
    maker.out
}

struct Maker {
    chain: Chain,
    out: Vec<u8>,
    last: u64,
    stamp: fn(u64) -> Stamp,
}

impl Maker {
    fn new(protocol: &ProtocolLine, header: &Header, stamp: fn(u64) -> Stamp) -> Self {
        let mut chain = Chain::new();
        let mut out = record::encode_header(&mut chain, &stamp(0), header).unwrap();
        out.extend(record::encode_protocol(&mut chain, &stamp(0), protocol).unwrap());
        let last = 0;
        let mut maker = Self {
            chain,
            out,
            last,
            stamp,
        };
        maker.add(Fact::Deed(Deed::Start { way: Way::Hand }), 0, 0);
        maker
    }

    fn add(&mut self, fact: Fact, at: u64, taken: u64) {
        let src = match &fact {
            Fact::Deed(_) => Source::Auto,
            Fact::Amend(_) => Source::Review,
            Fact::Mark(_) => Source::Button,
        };
        let entry = Entry {
            seq: self.chain.next(),
            at: Ms(at),
            taken: Ms(taken),
            src,
            fact,
        };
        self.last = taken;
        let line = record::encode(&mut self.chain, &(self.stamp)(taken), &entry).unwrap();
        self.out.extend(line);
    }
}
