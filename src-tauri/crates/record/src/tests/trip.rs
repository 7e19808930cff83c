use cycle::{
    Entry, Fact, Ms, Seq,
    fact::{Deed, Source},
    mark::{Mark, RunMark},
};
use proptest::prelude::*;

use super::files::all_kinds;
use super::make::{Begun, fact, header, protocol, stamp};
use crate::{
    Body, Chain, EncodeError, Header, LINE_MAX, OpenError, PROTOCOL_MAX, ProtocolLine, RunKind,
    Schema, Wall, decode, encode, encode_header, encode_protocol, open,
};

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(1000) })]

    #[test]
    fn what_is_written_is_read_again(
        facts in proptest::collection::vec((fact(), 0..5000_u64, 0..2000_u64), 0..12)
    ) {
        let mut begun = Begun::new();
        let mut taken = 3000;
        let mut written = Vec::new();
        for ((src, fact), later, back) in facts {
            taken += later;
            written.push(begun.add(taken - back, taken, src, fact));
        }
        let record = open(&begun.bytes()).unwrap();
        prop_assert_eq!(&record.damage, &[]);
        prop_assert_eq!(&record.entries, &written);
        prop_assert_eq!(record.header, header());
        prop_assert_eq!(record.protocol, Some(protocol()));
        prop_assert_eq!(record.chain, begun.chain);
        for line in &begun.lines {
            prop_assert!(line.len() <= LINE_MAX || line == &begun.lines[1]);
            prop_assert_eq!(line.iter().position(|b| *b == b'\n'), Some(line.len() - 1));
        }
    }

    #[test]
    fn the_wall_stamp_is_read_again(ms in -62_167_132_800_000_i64..253_402_214_400_000, min in -1439..1440_i16) {
        let wall = Wall::new(ms, min).unwrap();
        let text = wall.to_string();
        prop_assert_eq!(text.len(), 29);
        prop_assert_eq!(text.parse::<Wall>(), Ok(wall));
    }
}

#[test]
fn every_kind_of_the_tables_is_written_and_read() {
    use proptest::{strategy::ValueTree, test_runner::TestRunner};
    let mut runner = TestRunner::deterministic();
    let mut seen = std::collections::BTreeSet::new();
    for _ in 0..4000 {
        let (_, fact) = fact().new_tree(&mut runner).unwrap().current();
        seen.insert(crate::line::kind_and_fields(&fact).unwrap().0);
    }
    assert_eq!(seen, all_kinds(&["amend"]));
}

#[test]
fn the_wall_stamp_never_is_z_and_always_has_milliseconds() {
    // RFC 3339, section 5.6, less what care records refuse.
    for wrong in [
        "2026-11-25T08:30:00.125Z",
        "2026-11-25T08:30:00-05:00",
        "2026-11-25T08:30:00.1-05:00",
        "2026-11-25 08:30:00.125-05:00",
        "2026-11-25T08:30:00.125-0500",
        "2026-11-25t08:30:00.125-05:00",
        "2026-13-25T08:30:00.125-05:00",
        "2026-02-30T08:30:00.125-05:00",
        "2026-11-25T24:30:00.125-05:00",
        "",
    ] {
        let error = wrong.parse::<Wall>().unwrap_err();
        assert!(error.to_string().contains(&format!("{wrong:?}")), "{error}");
    }
    // RFC 3339, section 5.8: this is 1937-01-01T11:40:27.87Z.
    let wall: Wall = "1937-01-01T12:00:27.870+00:20".parse().unwrap();
    // By `date -u -d 1937-01-01T11:40:27Z +%s`: -1041337173.
    assert_eq!(wall.unix_ms(), -1_041_337_173_000 + 870);
    assert_eq!(Wall::UNKNOWN.to_string(), "1970-01-01T00:00:00.000+00:00");
    assert!(Wall::new(i64::MAX, 0).is_err() && Wall::new(0, 1440).is_err());
}

fn entry(at: u64, taken: u64, src: Source, fact: Fact) -> Entry {
    Entry {
        seq: Seq(2),
        at: Ms(at),
        taken: Ms(taken),
        src,
        fact,
    }
}

#[test]
fn a_line_that_cannot_be_is_not_written() {
    let flag = || Fact::Mark(Mark::Run(RunMark::Flag {}));
    let begun = Begun::new();
    let refused = |entry: &Entry| {
        let mut chain = begun.chain;
        let error = encode(&mut chain, &stamp(9), entry).unwrap_err();
        assert_eq!(chain, begun.chain, "the chain moved");
        error.to_string()
    };
    let ahead = refused(&entry(10, 9, Source::Button, flag()));
    assert_eq!(
        ahead,
        "line: at = 10 ms, allowed: up to 9 ms, when it was taken"
    );
    let auto = refused(&entry(9, 9, Source::Auto, flag()));
    assert!(
        auto.contains("flag") && auto.contains("src = auto"),
        "{auto}"
    );
    let deed = Fact::Deed(Deed::Heartbeat {});
    let by_hand = refused(&entry(9, 9, Source::Button, deed));
    assert!(
        by_hand.contains("heartbeat") && by_hand.contains("src = button"),
        "{by_hand}"
    );
    let mut other = entry(9, 9, Source::Button, flag());
    other.seq = Seq(7);
    assert_eq!(refused(&other), "line: seq = 7, allowed: 2");
    let long = Fact::Deed(Deed::Fault {
        place: "x".to_owned(),
        what: "x".repeat(5000),
    });
    let long = refused(&entry(9, 9, Source::Auto, long));
    assert!(
        long.contains("fault") && long.contains("allowed: up to 4096"),
        "{long}"
    );
}

#[test]
fn the_longest_lines_are_4096_bytes_and_64_kib() {
    let begun = Begun::new();
    let with = |n: usize| {
        let fault = Fact::Deed(Deed::Fault {
            place: String::new(),
            what: "x".repeat(n),
        });
        let mut chain = begun.chain;
        encode(&mut chain, &stamp(9), &entry(9, 9, Source::Auto, fault))
    };
    let least = with(0).unwrap().len();
    assert_eq!(with(4096 - least).unwrap().len(), 4096);
    assert!(with(4097 - least).is_err());
    let with = |n: usize| {
        let mut chain = Chain::new();
        encode_header(&mut chain, &stamp(0), &header()).unwrap();
        let line = ProtocolLine {
            toml: "#".repeat(n),
            ..protocol()
        };
        encode_protocol(&mut chain, &stamp(0), &line)
    };
    let least = with(0).unwrap().len();
    assert_eq!(with(65_536 - least).unwrap().len(), PROTOCOL_MAX);
    assert_eq!(
        with(65_537 - least).unwrap_err(),
        EncodeError::TooLong {
            ev: "protocol".to_owned(),
            bytes: 65_537,
            allowed: 65_536
        }
    );
}

#[test]
fn the_protocol_line_keeps_the_other_classes_and_says_when_they_are_too_long() {
    let with = |others: Vec<String>| {
        let mut chain = Chain::new();
        let mut bytes = encode_header(&mut chain, &stamp(0), &header()).unwrap();
        let line = ProtocolLine {
            others,
            ..protocol()
        };
        let line = encode_protocol(&mut chain, &stamp(0), &line)?;
        bytes.extend(line);
        Ok::<_, EncodeError>(open(&bytes).unwrap().protocol.unwrap().others)
    };
    let three = ["child = 1\n", "infant = \"x\"\n", ""].map(str::to_owned);
    assert_eq!(with(three.to_vec()).unwrap(), three);
    assert_eq!(with(Vec::new()).unwrap(), [""; 0]);
    let alone = String::from_utf8(Begun::new().lines[1].clone()).unwrap();
    assert!(!alone.contains("others"), "{alone}");
    let error = with(vec!["#".repeat(40_000), "#".repeat(30_000)]).unwrap_err();
    assert!(
        error.to_string().ends_with(
            "allowed: up to 65536; it holds the protocol files of all patient classes: \
                        shorten their texts or leave a class out"
        ),
        "{error}"
    );
}

fn raw(json: &str) -> Box<serde_json::value::RawValue> {
    serde_json::from_str(json).unwrap()
}

fn first_line(change: impl Fn(&mut serde_json::Value)) -> Vec<u8> {
    let mut line: serde_json::Value = serde_json::from_slice(&Begun::new().lines[0]).unwrap();
    change(&mut line);
    let mut bytes = serde_json::to_vec(&line).unwrap();
    bytes.push(b'\n');
    bytes
}

#[test]
fn a_file_that_is_no_record_says_what_it_is() {
    assert_eq!(open(b""), Err(OpenError::Empty));
    let foreign: [(&[u8], &str); 7] = [
        (b"\n", "not JSON"),
        (b"\0\0\0\0", "not JSON"),
        (b"%PDF-1.7\n", "not JSON"),
        (b"[1,2]\n", "not a header"),
        (b"{\"a\":1}\n", "not a header"),
        (b"{\"ev\":\"header\"}\n", "names no schema"),
        (
            b"{\"ev\":\"header\",\"d\":{\"schema\":\"log/1.0.0\"}}\n",
            "schema is \"log/1.0.0\"",
        ),
    ];
    for (bytes, what) in foreign {
        let error = open(bytes).unwrap_err();
        assert!(matches!(error, OpenError::Foreign { .. }), "{error}");
        assert!(error.to_string().contains(what), "{error}");
    }
}

#[test]
fn a_newer_major_version_is_refused_and_a_newer_minor_one_read() {
    let newer = first_line(|line| line["d"]["schema"] = "record/2.0.0".into());
    let error = open(&newer).unwrap_err();
    assert_eq!(
        error.to_string(),
        "the record is record/2.0.0, written by a newer app; this app reads record/1.x: use the \
         newer app"
    );
    let older = first_line(|line| line["d"]["schema"] = "record/0.9.0".into());
    assert!(
        open(&older)
            .unwrap_err()
            .to_string()
            .contains("reads record/1.x only")
    );
    let minor = first_line(|line| {
        line["d"]["schema"] = "record/1.99.0".into();
        line["d"]["mood"] = "fine".into();
        line["later"] = 1.into();
    });
    let record = open(&minor).unwrap();
    assert!(record.newer_minor);
    assert_eq!(record.header.schema.to_string(), "record/1.99.0");
    assert!(Schema::CURRENT < record.header.schema);
}

#[test]
fn unknown_kinds_are_kept_and_counted() {
    let mut begun = Begun::new();
    let line = crate::line::write_line(
        &mut begun.chain,
        &stamp(5),
        ("hum", &raw(r#"{"hz":440}"#)),
        (None, Source::Sensor),
        LINE_MAX,
    );
    begun.lines.push(line.unwrap());
    begun.add(
        9,
        9,
        Source::Button,
        Fact::Mark(Mark::Run(RunMark::Flag {})),
    );
    let record = open(&begun.bytes()).unwrap();
    assert_eq!(record.damage, []);
    assert_eq!(record.unknown.len(), 1);
    assert_eq!(
        (record.unknown[0].seq, record.unknown[0].ev.as_str()),
        (Seq(2), "hum")
    );
    assert_eq!(record.unknown[0].d["hz"], 440);
    assert_eq!(record.entries.len(), 1);
}

#[test]
fn a_known_kind_with_wrong_fields_is_damage_and_kept() {
    for (ev, d, src, says) in [
        ("vent", r#"{"n":300}"#, Source::Button, "300"),
        ("compr_stop", r#"{"reason":"tea"}"#, Source::Button, "tea"),
        ("flag", "{}", Source::Auto, "src = auto"),
        ("heartbeat", "{}", Source::Button, "src = button"),
        ("sound", r#"{"what":"lost"}"#, Source::Button, "lost"),
        ("seal", r#"{"rev":1,"lines":9}"#, Source::Auto, "9"),
        ("heart_rate", r#"{"band":"60"}"#, Source::Button, "60"),
        ("prior_care", r#"{"shocks":-1}"#, Source::Button, "-1"),
        (
            "amend",
            r#"{"target":1,"op":"replace","new":{"ev":"compr_stop","d":{"reason":"tea"}},"reason":"mis_tap"}"#,
            Source::Button,
            "tea",
        ),
        (
            "amend",
            r#"{"target":1,"op":"replace","reason":"mis_tap"}"#,
            Source::Button,
            "new",
        ),
    ] {
        let mut begun = Begun::new();
        let line = crate::line::write_line(
            &mut begun.chain,
            &stamp(5),
            (ev, &raw(d)),
            (None, src),
            LINE_MAX,
        );
        begun.lines.push(line.unwrap());
        let record = open(&begun.bytes()).unwrap();
        assert_eq!(record.damage.len(), 1, "{ev}");
        let text = record.damage[0].to_string();
        assert!(
            text.contains("line 2") && text.contains(ev) && text.contains(says),
            "{text}"
        );
        assert!(record.entries.is_empty());
    }
}

#[test]
fn a_wrong_header_names_field_and_value() {
    let cases: [(&str, serde_json::Value); 9] = [
        ("record_id", "7".into()),
        ("record_id", "0F9B6C1E-3C1D-4F0A-9D3E-5A7B8C9D0E1F".into()),
        ("kind", "walk".into()),
        ("crew_size", 300.into()),
        ("patient_class", "elf".into()),
        ("settings", serde_json::json!({ "rate_per_min": -1 })),
        ("clock", serde_json::json!({ "auto_time": "maybe" })),
        (
            "protocol",
            serde_json::json!({ "id": "a", "version": "1", "sha256": "00" }),
        ),
        ("lang", 5.into()),
    ];
    for (field, value) in cases {
        let bytes = first_line(|line| line["d"][field] = value.clone());
        let text = open(&bytes).unwrap_err().to_string();
        assert!(
            text.contains(field) && text.contains(&value.to_string()),
            "{text}"
        );
    }
    let Body::Header(fields) = decode(Begun::new().lines[0].trim_ascii_end()).unwrap().body else {
        panic!("no header");
    };
    for field in fields.keys() {
        let mut less = fields.clone();
        less.remove(field);
        let text = Header::parse(&less).unwrap_err().to_string();
        assert_eq!(text, format!("header: {field} is missing"));
    }
}

/// The schema's words are told in one other place: for folders, tables and lists.
#[test]
fn a_kind_of_run_is_named_as_it_is_written() {
    use RunKind::{Drill, Rehearsal, Run, Test};
    for kind in [Run, Drill, Rehearsal, Test] {
        assert_eq!(serde_json::to_value(kind).unwrap(), kind.word());
    }
}
