use std::collections::BTreeSet;

use cycle::{Protocol, Rule, Slot};

use super::*;

fn example(id: &str) -> &'static str {
    Protocol::example(id).expect("example")
}

fn shown(lang: &str, text: &str) -> DraftOpen {
    let facts = DraftFacts {
        of: "Example, adult".to_owned(),
        place: "/invented/ours.toml".to_owned(),
        can_take_back: false,
        situations: Situation::ALL.to_vec(),
    };
    let words = Words::load(lang).expect(lang);
    let draft = words.draft(Vec::new(), Some((&Protocol::form(text), &facts)));
    draft.open.expect("open")
}

fn field<'a>(open: &'a DraftOpen, name: &str) -> &'a DraftField {
    let mut fields = open.groups.iter().flat_map(|group| &group.fields);
    fields.find(|field| field.field == name).expect(name)
}

#[test]
fn every_field_of_every_form_has_words_and_no_words_are_left_over() {
    let mut pages = BTreeSet::new();
    for (id, text) in Protocol::EXAMPLES {
        for field in Protocol::form(text).fields {
            assert!(
                FIELDS.contains(&field.page.as_str()),
                "{id}: {}",
                field.page
            );
            if let Rule::Whole(whole) = &field.rule {
                assert!(
                    UNITS.iter().any(|(unit, _)| *unit == whole.unit),
                    "{}",
                    whole.unit
                );
            }
            pages.insert(field.page);
        }
    }
    let vain: Vec<_> = FIELDS
        .iter()
        .filter(|page| !pages.contains(**page))
        .collect();
    assert!(vain.is_empty(), "{vain:?}");
}

#[test]
fn every_word_that_can_be_chosen_is_said() {
    for (id, text) in Protocol::EXAMPLES {
        // In English some words are what the file has.
        let open = shown("es-419", text);
        assert!(open.is_sound, "{id}: {}", open.said);
        for field in open.groups.iter().flat_map(|group| &group.fields) {
            assert!(
                !field.label.is_empty() && !field.allowed.is_empty(),
                "{}",
                field.field
            );
            let (DraftInput::Choice { options } | DraftInput::Several { options }) = &field.input
            else {
                continue;
            };
            for option in options {
                let is_figure = option.value.starts_with(|c: char| c.is_ascii_digit());
                assert!(
                    is_figure || option.label != option.value,
                    "{}: {option:?}",
                    field.field
                );
            }
            if matches!(field.input, DraftInput::Choice { .. }) {
                assert_eq!(
                    options.iter().filter(|o| o.on).count(),
                    1,
                    "{}",
                    field.field
                );
            }
        }
    }
}

#[test]
fn a_table_s_fields_stand_together_with_unit_range_and_source() {
    let open = shown("en-US", example("example-adult"));
    let names: Vec<&str> = open.groups.iter().map(|group| group.id.as_str()).collect();
    assert_eq!(names[..4], ["head", "beat", "breaths", "start"]);
    let unique: BTreeSet<&&str> = names.iter().collect();
    assert_eq!(unique.len(), names.len(), "{names:?}");
    let rate = field(&open, "beat.rate_per_min");
    assert_eq!(
        (rate.label.as_str(), rate.value.as_str(), rate.unit.as_str()),
        ("Beats a minute", "110", "a minute")
    );
    assert_eq!(rate.allowed, "100 to 120 a minute; in this file 100, 120");
    assert_eq!(rate.range.as_deref(), Some("100, 120"));
    assert!(
        rate.source
            .as_deref()
            .expect("source")
            .starts_with("100-120 a minute")
    );
    let drug = open
        .groups
        .iter()
        .find(|group| group.id == "drug.1")
        .expect("drug");
    assert_eq!(drug.label, "Drug: Epinephrine");
    assert_eq!(drug.take_out.as_deref(), Some("drug.1"));
    let cold = open
        .groups
        .iter()
        .find(|group| group.id == "overlay.cold")
        .expect("cold");
    assert_eq!(cold.label, "Special situation: cold");
    // What it has, but a checkpoint, cannot be added once more.
    let rows: Vec<&str> = open.rows.iter().map(|row| row.row.as_str()).collect();
    assert_eq!(rows, ["minute"]);
}

#[test]
fn what_is_wrong_is_said_at_its_field_in_the_language_of_the_screen() {
    let write = |text: &str, name: &str, slot, typed: &str| {
        Protocol::with(text, name, slot, typed).expect("written")
    };
    let text = write(
        example("example-adult"),
        "beat.rate_per_min",
        Slot::Value,
        "170",
    );
    let text = write(&text, "check.form", Slot::Source, "");
    let text = write(&text, "drug.1.max_s", Slot::Value, "100");
    let open = shown("es-419", &text);
    assert_eq!((open.is_sound, open.said.as_str()), (false, "Fallas: 3"));
    let line = text.lines().position(|l| l == "value = 170").expect("line") + 1;
    assert_eq!(
        field(&open, "beat.rate_per_min").faults,
        [format!(
            "Línea {line}. Hay: 170. Permitido: 100 a 120 por minuto."
        )]
    );
    assert!(field(&open, "check.form").faults[0].contains("de dónde viene el valor"));
    // What two fields say together is a detail in English, as everywhere.
    assert!(field(&open, "drug.1.max_s").faults[0].contains("more than min_s, 180 s"));
    let beat = open
        .groups
        .iter()
        .find(|group| group.id == "beat")
        .expect("beat");
    assert_eq!(beat.said, "Fallas: 1");
}

#[test]
fn a_stray_key_can_be_taken_out_and_a_missing_one_filled() {
    let text = example("example-adult").replace("[cup.repeat_s]", "[cup.repeat_sec]");
    let open = shown("en-US", &text);
    let cup = open
        .groups
        .iter()
        .find(|group| group.id == "cup")
        .expect("cup");
    assert_eq!(cup.faults.len(), 1);
    assert_eq!(cup.faults[0].take_out.as_deref(), Some("cup.repeat_sec"));
    let missing = field(&open, "cup.repeat_s");
    assert!(!missing.is_there && missing.value.is_empty());
    assert!(
        missing.faults[0].contains("not in the file"),
        "{:?}",
        missing.faults
    );
    let broken = shown("en-US", "[a");
    assert!(broken.groups.is_empty() && !broken.faults.is_empty());
    let none = shown(
        "en-US",
        &Protocol::without(example("example-adult"), "drug.1").expect("gone"),
    );
    assert!(
        none.rows.iter().any(|row| row.row == "drug.adrenaline"),
        "{:?}",
        none.rows
    );
}

/// With a language in which every text is in brackets, what has none is the file's own.
#[test]
fn every_text_of_the_editor_comes_from_a_message_file() {
    let words = Words::pseudo().expect("pseudo");
    let text = example("example-adult").replace("value = 110", "value = 170");
    let facts = DraftFacts {
        of: "x".to_owned(),
        place: "/x.toml".to_owned(),
        can_take_back: true,
        situations: Situation::ALL.to_vec(),
    };
    let open = words.draft(Vec::new(), Some((&Protocol::form(&text), &facts)));
    let open = open.open.expect("open");
    let mut said = vec![open.title, open.said];
    said.extend(open.situations.into_iter().map(|one| one.label));
    for group in open.groups {
        said.push(group.label);
        for field in group.fields {
            said.extend([field.label, field.allowed]);
            said.extend(field.faults);
        }
    }
    said.retain(|text| !text.contains(crate::OPEN));
    assert_eq!(said, Vec::<String>::new());
}
