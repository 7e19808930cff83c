//! The newest record that another program wrote: every kind, with every field.

mod lines;

use std::collections::BTreeSet;

use cycle::{
    Fact, Ms, Seq,
    fact::{AmendReason, Deed, DrillLine, DrillWord, HeldWhy, Source},
    mark::{FlowMark, Mark, Reason, RunMark},
};
use serde_json::{Value, json};

use super::files::{V1_1, V1_2, V1_3, V1_4, V1_5, V1_6, V1_7, V1_8, all_kinds};
use crate::{
    amended, open,
    script::{Script, from_record},
};
use lines::{RETRACTS_22, a_second_each, entries, facts};

#[test]
fn every_kind_and_field_that_another_program_wrote_is_read() {
    let record = V1_8.reads_as(&entries());
    let protocol = record.protocol.as_ref().unwrap();
    assert_eq!(
        protocol.others,
        ["name = \"another example\"\n", "name = \"a third\"\n"]
    );
}

#[test]
fn every_kind_and_field_is_written_as_another_program_did() {
    V1_8.is_written_by(&entries());
}

#[test]
fn a_record_of_a_version_before_is_read_as_it_was() {
    let of_review = |fact: &Fact| matches!(fact, Fact::Amend(amend) if amend.by_role.is_some());
    let phone = |fact: &Fact| matches!(fact, Fact::Deed(Deed::Phone { .. }));
    let of_levels = |fact: &Fact| match fact {
        Fact::Mark(Mark::Run(RunMark::Sound { levels, .. })) => levels.is_some(),
        Fact::Deed(deed) => matches!(deed, Deed::Setting { .. }),
        Fact::Mark(_) | Fact::Amend(_) => false,
    };
    let is_later = |line: &DrillLine| {
        let later = [
            DrillWord::Injected,
            DrillWord::NoiseOn,
            DrillWord::NoiseOff,
            DrillWord::Stopped,
        ];
        line.crew.is_some() || later.contains(&line.what)
    };
    let of_unsaid = |fact: &Fact| match fact {
        Fact::Deed(Deed::Cue(line)) => line.why == Some(HeldWhy::NoSound),
        Fact::Amend(amend) => amend.reason == AmendReason::NotStated,
        Fact::Deed(Deed::TouchIgnored { why, .. }) => why == "held",
        Fact::Mark(_) | Fact::Deed(_) => false,
    };
    let without_unsaid = || facts().into_iter().filter(|fact| !of_unsaid(fact));
    let record = V1_7.reads_as(&a_second_each(without_unsaid().collect()));
    assert_eq!(record.header.schema.to_string(), "record/1.7.0");
    let of_instructor =
        |fact: &Fact| matches!(fact, Fact::Deed(Deed::Drill(line)) if is_later(line));
    let without_instructor = || without_unsaid().filter(|fact| !of_instructor(fact));
    let record = V1_6.reads_as(&a_second_each(without_instructor().collect()));
    assert_eq!(record.header.schema.to_string(), "record/1.6.0");
    let of_latest = |fact: &Fact| matches!(fact, Fact::Deed(Deed::Screen(_) | Deed::Drill(_)));
    let without_latest = || without_instructor().filter(|fact| !of_latest(fact));
    let record = V1_5.reads_as(&a_second_each(without_latest().collect()));
    assert_eq!(record.header.schema.to_string(), "record/1.5.0");
    let of_phone = |fact: &Fact| matches!(fact, Fact::Deed(Deed::Around(_)));
    let without_around = || without_latest().filter(|fact| !of_phone(fact));
    let record = V1_4.reads_as(&a_second_each(without_around().collect()));
    assert_eq!(record.header.schema.to_string(), "record/1.4.0");
    let without_levels = || without_around().filter(|fact| !of_levels(fact));
    let record = V1_3.reads_as(&a_second_each(without_levels().collect()));
    assert_eq!(record.header.schema.to_string(), "record/1.3.0");
    let before = || without_levels().filter(|fact| !of_review(fact));
    let record = V1_2.reads_as(&a_second_each(before().collect()));
    assert_eq!(record.header.schema.to_string(), "record/1.2.0");
    let record = V1_1.reads_as(&a_second_each(
        before().filter(|fact| !phone(fact)).collect(),
    ));
    assert_eq!(record.header.schema.to_string(), "record/1.1.0");
}

#[test]
fn the_newest_golden_record_holds_every_kind_and_every_field() {
    let all = all_kinds(&["amend", "header", "protocol", "seal"]);
    let lines: Vec<Value> = V1_8
        .bytes
        .split(|b| *b == b'\n')
        .filter(|line| !line.is_empty())
        .map(|line| serde_json::from_slice(line).unwrap())
        .collect();
    let held: BTreeSet<String> = lines
        .iter()
        .map(|line| line["ev"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(held, all);
    // Fields that may be absent stand in at least one line of their kind.
    for (ev, field) in [
        ("arrest", "basis"),
        ("prior_care", "cpr"),
        ("prior_care", "began_min"),
        ("prior_care", "aed"),
        ("prior_care", "shocks"),
        ("prior_care", "doses"),
        ("prior_care", "airway"),
        ("prior_care", "by"),
        ("patient", "rescuers"),
        ("overlay", "temp_band"),
        ("decision", "answer"),
        ("clock_mark", "precision_s"),
        ("end", "reason"),
        ("compr_start", "mech_kind"),
        ("compr_start", "basis"),
        ("pulse_check", "result"),
        ("airway", "device"),
        ("airway", "attempt"),
        ("airway", "success"),
        ("airway", "technique"),
        ("breath_mode", "ratio"),
        ("breath_mode", "every_ms"),
        ("breath_mode", "via"),
        ("vent", "via"),
        ("pads", "position"),
        ("rhythm", "first"),
        ("shock", "through"),
        ("shock", "stacked"),
        ("shock", "mode"),
        ("shock", "energy_j"),
        ("fit", "mode"),
        ("fit", "reason"),
        ("cup", "why"),
        ("move", "stage"),
        ("power", "full"),
        ("sound", "levels"),
        ("sound", "preset"),
        ("drug", "dose"),
        ("drug", "unit"),
        ("drug", "route"),
        ("drug", "prior"),
        ("drug", "by_other_unit"),
        ("access", "site"),
        ("access", "attempt"),
        ("access", "success"),
        ("amend", "new"),
        ("amend", "at_ms"),
        ("amend", "by_role"),
        ("cue", "why"),
        ("protocol", "others"),
    ] {
        let there = |line: &Value| line["ev"] == ev && !line["d"][field].is_null();
        assert!(lines.iter().any(there), "{ev}.{field}");
    }
}

#[test]
fn as_amended_the_new_mark_stands_where_the_old_one_was_put() {
    let amended = amended(&open(V1_8.bytes).unwrap().entries);
    assert_eq!(amended.refused, []);
    assert_eq!(amended.amendments, 7);
    // Its retraction was taken back.
    assert!(amended.entries.iter().any(|e| e.seq == Seq(22)));
    let note = amended
        .entries
        .iter()
        .find(|e| e.at == Ms(5000) && e.src == Source::Review);
    let code = "bag_changed".to_owned();
    let note = note.map(|e| (e.seq.0, e.taken, e.fact.clone()));
    assert_eq!(
        note,
        Some((
            RETRACTS_22 + 1,
            Ms(5000),
            Fact::Mark(Mark::Run(RunMark::Note { code }))
        ))
    );
    let stop = amended.entries.iter().find(|e| e.seq == Seq(23)).unwrap();
    assert_eq!(stop.at, Ms(20_500));
    let airway = FlowMark::ComprStop {
        reason: Reason::Airway,
    };
    assert_eq!(stop.fact, Fact::Mark(Mark::Flow(airway)));
}

#[test]
fn a_record_of_every_kind_is_told_as_a_script_and_read_again() {
    let record = open(V1_8.bytes).unwrap();
    let script = from_record("every kind", None, &record.header, &record.entries).unwrap();
    let again = Script::parse(script.to_json().to_string().as_bytes());
    assert_eq!(again, Ok(script));
}

/// Every text of a mark, put in the place of which a name stands.
fn with_a_name(d: &Value) -> Vec<Value> {
    let mut out = Vec::new();
    let fields: Vec<(String, Value)> = match d {
        Value::String(_) => return vec![json!("Jo Doe")],
        Value::Object(fields) => fields.clone().into_iter().collect(),
        Value::Array(list) => {
            for (n, one) in list.iter().enumerate() {
                for other in with_a_name(one) {
                    let mut list = list.clone();
                    list[n] = other;
                    out.push(Value::Array(list));
                }
            }
            return out;
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => return out,
    };
    for (key, value) in fields {
        for other in with_a_name(&value) {
            let mut d = d.clone();
            d[&key] = other;
            out.push(d);
        }
    }
    out
}

#[test]
fn no_text_of_any_mark_takes_a_name() {
    let mut tried = 0;
    for entry in entries() {
        let Fact::Mark(mark) = &entry.fact else {
            continue;
        };
        let mark = serde_json::to_value(mark).unwrap();
        let script = |d: &Value| {
            let script = json!({"name": "a test", "marks": [
                {"at_s": 0, "ev": "arrest"},
                {"at_s": 9, "ev": mark["ev"], "d": d},
            ]});
            Script::parse(script.to_string().as_bytes())
        };
        assert!(script(&mark["d"]).is_ok(), "{mark}");
        for other in with_a_name(&mark["d"]) {
            assert!(script(&other).is_err(), "{} {other}", mark["ev"]);
            tried += 1;
        }
    }
    assert!(tried > 60, "only {tried} texts");
}
