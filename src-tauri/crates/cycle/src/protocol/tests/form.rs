//! The form of a file: no field is forgotten, one change changes one field, and nothing else is touched.

use alloc::{
    collections::{BTreeMap, BTreeSet},
    format,
    string::{String, ToString},
    vec::Vec,
};

use proptest::prelude::*;
use toml::de::DeTable;

use super::sheet::{ADULT, CHILD, NEWBORN, change, with_value};
use crate::protocol::{EditFault, FormField, Protocol, Rule, Slot};

fn field(text: &str, name: &str) -> FormField {
    let form = Protocol::form(text);
    let found = form.fields.into_iter().find(|field| field.field == name);
    found.unwrap_or_else(|| panic!("no field {name}"))
}

fn set(text: &str, name: &str, typed: &str) -> String {
    Protocol::with(text, name, Slot::Value, typed).unwrap()
}

fn told(field: &FormField) -> Vec<String> {
    field.faults.iter().map(ToString::to_string).collect()
}

/// Every key of a file with the way to it, a row of a list by its place; read here.
fn keys(way: &str, table: &DeTable<'_>, into: &mut Vec<String>) {
    for (key, value) in table {
        let here = format!("{way}{}", key.get_ref());
        let rows = value
            .get_ref()
            .as_array()
            .filter(|_| here == "drug" || here == "minute");
        if let Some(inner) = value.get_ref().as_table() {
            keys(&format!("{here}."), inner, into);
        } else if let Some(rows) = rows {
            for (row, n) in rows.iter().zip(1..) {
                let row = row.get_ref().as_table().unwrap();
                keys(&format!("{here}.{n}."), row, into);
            }
        } else {
            into.push(here);
        }
    }
}

#[test]
fn every_key_of_every_example_stands_in_its_form() {
    for (id, text) in Protocol::EXAMPLES {
        let form = Protocol::form(text);
        assert_eq!((&form.faults, id), (&Vec::new(), id));
        let mut all = Vec::new();
        keys("", DeTable::parse_recoverable(text).0.get_ref(), &mut all);
        assert!(all.len() > 60, "{id}: {}", all.len());
        for key in all {
            let known = |name: &str| form.fields.iter().find(|field| field.field == name);
            let (before, last) = key.rsplit_once('.').unwrap_or(("", &key));
            let found = match last {
                "value" | "lines" if known(before).is_some() => {
                    known(before).unwrap().value.clone()
                }
                "source" if known(before).is_some() => known(before).unwrap().source.clone(),
                "range" => known(before).unwrap().range.clone(),
                // A part: its table's field has it.
                _ => known(&key).map_or_else(
                    || {
                        let table = before.strip_suffix(".value").unwrap_or(before);
                        let parts = known(table).and_then(|field| field.value.clone());
                        parts.filter(|parts| parts.contains(&format!("{last} = ")))
                    },
                    |field| field.value.clone(),
                ),
            };
            assert!(
                found.is_some_and(|value| !value.is_empty() || last == "lines" || last == "value"),
                "{id}: {key}"
            );
        }
        for field in &form.fields {
            assert!(
                field.value.is_some() && told(field).is_empty(),
                "{id}: {field:?}"
            );
            assert!(!field.rule.allowed().is_empty(), "{id}: {}", field.field);
        }
    }
}

/// What may be typed in place of what stands there.
fn others(rule: &Rule) -> Vec<String> {
    match rule {
        Rule::Only(_) | Rule::Rows => Vec::new(),
        Rule::Whole(whole) => {
            let ends = [whole.low, whole.low + 1, whole.high];
            ends.iter().map(i64::to_string).collect()
        }
        Rule::OneOf(few) | Rule::Rising(few) => few.iter().map(u8::to_string).collect(),
        Rule::Yes => Vec::from(["true".into(), "false".into()]),
        Rule::Word(words) | Rule::Words(words) => words.iter().map(|w| (*w).into()).collect(),
        Rule::Text | Rule::Source => Vec::from(["Another".into()]),
        Rule::Key => Vec::from(["another".into()]),
        Rule::Lines(..) => Vec::from(["One".into(), "One\nTwo".into()]),
        Rule::RisingTo(_) => Vec::from(["1".into(), "2, 4".into()]),
        Rule::Parts => Vec::from(["one = One".into()]),
    }
}

/// The members of a protocol as Rust itself writes them out, each with what stands there.
fn members(protocol: &Protocol) -> BTreeMap<String, Vec<String>> {
    let mut found: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut way: Vec<(usize, String)> = Vec::new();
    for line in format!("{protocol:#?}").lines() {
        let depth = line.chars().take_while(|c| *c == ' ').count();
        let said = line.trim();
        while way.last().is_some_and(|(at, _)| *at >= depth) {
            way.pop();
        }
        let is_name = |name: &str| name.chars().all(|c| c.is_ascii_lowercase() || c == '_');
        let (name, rest) = said.split_once(": ").unwrap_or(("", said));
        if !name.is_empty() && is_name(name) {
            way.push((depth, name.to_string()));
            let names: Vec<&str> = way.iter().map(|(_, name)| name.as_str()).collect();
            found
                .entry(names.join("."))
                .or_default()
                .push(rest.to_string());
        } else if !way.is_empty() {
            let names: Vec<&str> = way.iter().map(|(_, name)| name.as_str()).collect();
            found
                .entry(names.join("."))
                .or_default()
                .push(said.to_string());
        }
    }
    found
}

/// What no field moves by itself, and why.
const UNMOVED: [(&str, &str); 4] = [
    ("text", "the file itself"),
    ("class", "with another class other fields are asked for"),
    ("drugs.key", "its window says which drug it is"),
    ("overlays.kind", "the name of its table"),
];

/// Whoever adds a member to a protocol and no field to the form fails here: each member must be moved by a
/// field of it.
#[test]
fn every_member_of_a_protocol_is_moved_by_a_field_of_the_form() {
    let mut all: BTreeSet<String> = BTreeSet::new();
    let mut moved: BTreeSet<String> = BTreeSet::new();
    let mut files: Vec<String> = Vec::from([ADULT.into(), NEWBORN.into()]);
    // The change by a clock of its own is there only where it does not go with the check.
    files.push(set(ADULT, "check.rotate", "false"));
    for text in files {
        let before = members(&Protocol::parse(text.as_bytes()).unwrap());
        all.extend(before.keys().cloned());
        for field in Protocol::form(&text).fields {
            for typed in others(&field.rule) {
                let Ok(after) = Protocol::parse(set(&text, &field.field, &typed).as_bytes()) else {
                    continue;
                };
                let after = members(&after);
                let changed = before
                    .iter()
                    .filter(|(name, said)| after.get(*name) != Some(said));
                moved.extend(changed.map(|(name, _)| name.clone()));
            }
        }
    }
    // A device for a child: every field of it is asked for, and given.
    let child = with_device(CHILD);
    let (with, without) = (Protocol::parse(child.as_bytes()).unwrap(), CHILD.as_bytes());
    let (with, without) = (members(&with), members(&Protocol::parse(without).unwrap()));
    moved.extend(
        with.keys()
            .filter(|name| with.get(*name) != without.get(*name))
            .cloned(),
    );
    for (name, _) in UNMOVED {
        assert!(all.remove(name), "{name} is no member any more");
    }
    // What holds other members has nothing of its own.
    let whole = all.clone();
    all.retain(|name| {
        let within = format!("{name}.");
        !whole.iter().any(|other| other.starts_with(&within))
    });
    let forgotten: Vec<&String> = all.difference(&moved).collect();
    assert!(
        forgotten.is_empty(),
        "no field of the form moves {forgotten:?}"
    );
    assert!(all.len() > 70, "{}", all.len());
}

/// The file with a device, each missing field as the adult example has it.
fn with_device(text: &str) -> String {
    let mut text = set(text, "device.allowed", "true");
    let missing: Vec<FormField> = Protocol::form(&text).fields;
    let missing: Vec<_> = missing.into_iter().filter(|f| f.value.is_none()).collect();
    assert_eq!(missing.len(), 8, "{missing:?}");
    for one in missing {
        assert!(one.field.starts_with("device."), "{}", one.field);
        let like = field(ADULT, &one.field);
        text = set(&text, &one.field, &like.value.unwrap());
        let source = like.source.unwrap();
        text = Protocol::with(&text, &one.field, Slot::Source, &source).unwrap();
    }
    text
}

#[test]
fn a_value_typed_as_it_is_leaves_every_byte() {
    for (id, text) in Protocol::EXAMPLES {
        let mut seen = 0;
        for field in Protocol::form(text).fields {
            // A list in lines of its own may be laid out anew.
            if matches!(field.rule, Rule::Lines(..)) {
                continue;
            }
            seen += 1;
            let value = field.value.unwrap();
            assert!(
                set(text, &field.field, &value) == *text,
                "{id}: {}",
                field.field
            );
        }
        assert!(seen > 40, "{id}");
    }
}

#[test]
fn one_change_changes_one_line_and_keeps_every_comment() {
    let comment = "# said by the service";
    let commented: String = ADULT
        .lines()
        .map(|line| match line.split_once(" = ") {
            Some(("value" | "source" | "range", _)) => format!("{line} {comment}\n"),
            _ => format!("{line}\n"),
        })
        .collect();
    let all = commented.matches(comment).count();
    assert!(all > 100, "{all}");
    for (name, typed) in [
        ("beat.rate_per_min", "104"),
        ("check.form", "full"),
        ("hands_off.numbers_s", "10, 20"),
        ("voice.also_spoken", "causes, charge"),
    ] {
        let after = set(&commented, name, typed);
        let differ = commented.lines().zip(after.lines()).filter(|(a, b)| a != b);
        assert_eq!(differ.count(), 1, "{name}");
        assert_eq!(after.lines().count(), commented.lines().count(), "{name}");
        assert_eq!(after.matches(comment).count(), all, "{name}");
        assert_eq!(field(&after, name).value.as_deref(), Some(typed));
    }
    let moved = Protocol::with(
        &commented,
        "check.every_s",
        Slot::Source,
        "Ours \"7\" \\ 2026",
    )
    .unwrap();
    assert_eq!(moved.matches(comment).count(), all);
    let own = field(&moved, "check.every_s");
    assert_eq!(own.source.as_deref(), Some("Ours \"7\" \\ 2026"));
    assert!(Protocol::parse(moved.as_bytes()).is_ok());
}

/// The line is that of the file, counted here.
#[test]
fn what_is_wrong_stands_at_its_field_with_line_value_and_what_is_allowed() {
    let text = set(ADULT, "beat.rate_per_min", "fast");
    let line = text.lines().position(|l| l == "value = \"fast\"").unwrap() + 1;
    let own = field(&text, "beat.rate_per_min");
    assert_eq!(
        told(&own),
        [format!(
            "line {line}: beat.rate_per_min = \"fast\", allowed: a whole number 100 to 120 per minute"
        )]
    );
    assert_eq!(own.value.as_deref(), Some("fast"), "what was typed stays");
    let text = Protocol::with(ADULT, "check.every_s", Slot::Source, "").unwrap();
    assert!(
        told(&field(&text, "check.every_s"))[0]
            .contains("check.every_s.source = \"\", allowed: a source")
    );
    let text = set(ADULT, "drug.1.max_s", "100");
    assert!(told(&field(&text, "drug.1.max_s"))[0].contains("more than min_s, 180 s"));
    assert_eq!(Protocol::form(&text).faults, []);
    // What belongs to no field is told apart.
    let text = change(ADULT, "[cup.repeat_s]", "[cup.repeat_sec]");
    let form = Protocol::form(&text);
    let strays: Vec<&str> = form.faults.iter().map(|f| f.field.as_str()).collect();
    assert_eq!(strays, ["cup.repeat_sec"]);
    let missing = form
        .fields
        .iter()
        .find(|f| f.field == "cup.repeat_s")
        .unwrap();
    assert!(missing.value.is_none() && told(missing)[0].contains("missing"));
    assert_eq!(Protocol::form("[a").fields, []);
    assert!(!Protocol::form("[a").faults.is_empty());
}

#[test]
fn a_file_may_narrow_a_range_and_take_it_back() {
    let ranged = |text: &str, typed: &str| {
        Protocol::with(text, "breaths.window_s", Slot::Range, typed).unwrap()
    };
    let narrow = ranged(ADULT, "3, 5");
    assert_eq!(
        field(&narrow, "breaths.window_s").range.as_deref(),
        Some("3, 5")
    );
    assert!(Protocol::parse(set(&narrow, "breaths.window_s", "6").as_bytes()).is_err());
    let wide = ranged(&narrow, " ");
    assert_eq!(field(&wide, "breaths.window_s").range, None);
    assert!(Protocol::parse(set(&wide, "breaths.window_s", "6").as_bytes()).is_ok());
    assert_eq!(ranged(&wide, ""), wide);
    // Where there was none, it is put in.
    assert!(Protocol::parse(ranged(&wide, "4 8").as_bytes()).is_ok());
    let odd = ranged(ADULT, "8, 4");
    assert!(told(&field(&odd, "breaths.window_s"))[0].contains("breaths.window_s.range = [8, 4]"));
}

#[test]
fn rows_come_and_go_and_what_is_said_of_the_next_one_stays() {
    let noted = change(
        ADULT,
        "[overlay.drowning]",
        "# of drowning\n[overlay.drowning]",
    );
    let without = Protocol::without(&noted, "overlay.cold").unwrap();
    let p = Protocol::parse(without.as_bytes()).unwrap();
    assert_eq!(p.overlays.len(), 5);
    assert_eq!(
        without.matches("# of drowning\n[overlay.drowning]").count(),
        1
    );
    let again = Protocol::with_row(&without, "overlay.cold").unwrap();
    assert_eq!(Protocol::parse(again.as_bytes()).unwrap().overlays.len(), 6);
    assert!(
        Protocol::with_row(&again, "overlay.cold").is_err(),
        "it is there already"
    );
    let fewer = Protocol::without(ADULT, "minute.2").unwrap();
    let p = Protocol::parse(fewer.as_bytes()).unwrap();
    assert_eq!(
        p.minutes
            .iter()
            .map(|m| m.at.0 / 60_000)
            .collect::<Vec<_>>(),
        [10, 30, 40]
    );
    let more = Protocol::with_row(&fewer, "minute").unwrap();
    assert_eq!(field(&more, "minute.4.at_min").value.as_deref(), Some("10"));
    let none = Protocol::without(ADULT, "drug.1").unwrap();
    assert_eq!(
        field(&none, "drug.1.key").value.as_deref(),
        Some("antiarrhythmic")
    );
    let both = Protocol::with_row(&none, "drug.adrenaline").unwrap();
    assert_eq!(Protocol::parse(both.as_bytes()).unwrap().drugs.len(), 2);
    assert_eq!(Protocol::example_rows().len(), 9);
    for row in Protocol::example_rows() {
        assert!(
            Protocol::with_row(NEWBORN, &row).is_ok() || NEWBORN.contains(&row),
            "{row}"
        );
    }
    // A stray field goes as well.
    let stray = change(
        ADULT,
        "[cup.repeat_s]",
        "[cup.repeat_sec]\nvalue = 1\n\n[cup.repeat_s]",
    );
    assert_eq!(Protocol::without(&stray, "cup.repeat_sec").unwrap(), ADULT);
}

#[test]
fn parts_are_lines_of_a_key_and_words() {
    let after = set(ADULT, "device.parts", "strap = The \"strap\"\ncup=Cup on\n");
    let p = Protocol::parse(after.as_bytes()).unwrap();
    let parts: Vec<(&str, &str)> = p
        .device
        .parts
        .iter()
        .map(|(k, w)| (k.as_str(), w.as_str()))
        .collect();
    assert_eq!(parts, [("strap", "The \"strap\""), ("cup", "Cup on")]);
    assert_eq!(p.device.landmarks.len(), 2, "the next table stands");
    let bad = set(ADULT, "drugs.other", "Two Words = x");
    assert!(told(&field(&bad, "drugs.other"))[0].contains("1 to 24 characters out of a-z and _"));
    let none = set(ADULT, "drugs.other", "");
    assert_eq!(Protocol::parse(none.as_bytes()).unwrap().other_drugs, []);
}

#[test]
fn a_file_written_in_another_way_is_changed_in_place_or_refused_and_never_spoilt() {
    let (inline, _) = with_value(ADULT, "beat.rate_per_min", "110");
    let header = "[beat.rate_per_min]\nvalue = 110\n";
    assert_eq!(inline.matches(header).count(), 1);
    let inline = inline.replace(header, "[beat]\nrate_per_min.value = 110\nrate_per_min.");
    assert!(Protocol::parse(inline.as_bytes()).is_ok());
    assert!(set(&inline, "beat.rate_per_min", "105").contains("rate_per_min.value = 105\n"));
    let refused = Protocol::with(&inline, "beat.rate_per_min", Slot::Range, "100, 110");
    assert!(
        matches!(refused, Err(EditFault::Written { .. })),
        "{refused:?}"
    );
    let broken = Protocol::with("format = 1\nid = \n", "id", Slot::Value, "a");
    assert_eq!(broken, Err(EditFault::NoToml { line: 2 }));
    let unknown = Protocol::with(ADULT, "beat.colour", Slot::Value, "red").unwrap_err();
    assert!(unknown.to_string().contains("beat.colour"), "{unknown}");
}

#[test]
fn who_the_file_is_of_can_be_written_where_it_is_missing() {
    let text = change(ADULT, "version = \"1\"\n", "");
    let whole = set(&text, "version", "2");
    assert_eq!(Protocol::parse(whole.as_bytes()).unwrap().version, "2");
    let empty = Protocol::form("# nothing yet\n");
    assert!(empty.fields.len() > 50);
    assert!(
        Protocol::form(&set("# nothing yet\n", "id", "ours"))
            .fields
            .iter()
            .any(|f| { f.field == "id" && f.value.as_deref() == Some("ours") })
    );
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn whatever_is_typed_stands_there_and_nowhere_else(
        which in 0_usize..5,
        at in any::<prop::sample::Index>(),
        typed in prop_oneof![".{0,40}", "[a-z0-9 ,=\"\\\\\n#\\[\\]]{0,30}"],
        slot in prop_oneof![Just(Slot::Value), Just(Slot::Source), Just(Slot::Range)],
    ) {
        let text = Protocol::EXAMPLES[which].1;
        let before = Protocol::form(text).fields;
        let one = &before[at.index(before.len())];
        prop_assume!(slot == Slot::Value || one.has_source);
        prop_assume!(slot != Slot::Range || one.rule.has_range());
        // A part whose key is written twice is no table.
        let Ok(after) = Protocol::with(text, &one.field, slot, &typed) else {
            prop_assert!(matches!(one.rule, Rule::Parts), "{}: {:?}", one.field, typed);
            return Ok(());
        };
        prop_assert!(DeTable::parse_recoverable(&after).1.is_empty());
        let now = Protocol::form(&after).fields;
        for field in &before {
            // Other fields may be asked for then; what is there is as it was.
            let Some(same) = now.iter().find(|f| f.field == field.field) else { continue };
            if field.field == one.field {
                let is_text = matches!(field.rule, Rule::Text | Rule::Key | Rule::Word(_));
                if slot == Slot::Value && is_text {
                    prop_assert_eq!(same.value.as_deref(), Some(typed.trim()));
                }
                if slot == Slot::Source {
                    prop_assert_eq!(same.source.as_deref(), Some(typed.trim()));
                }
            } else {
                prop_assert_eq!((&same.value, &same.source, &same.range), (&field.value, &field.source, &field.range));
            }
        }
    }
}
