//! The same screens in other languages: what differs from the reference's, for the page's layout tests.

use std::collections::BTreeMap;

use serde_json::Value;

use super::{faces, write};
use crate::{OPEN, PSEUDO, SHUT, Words};

/// Every text of a value with the way to it.
fn texts(way: &str, value: &Value, into: &mut Vec<(String, String)>) {
    match value {
        Value::String(text) => into.push((way.to_owned(), text.clone())),
        Value::Array(items) => {
            for (n, item) in items.iter().enumerate() {
                texts(&format!("{way}/{n}"), item, into);
            }
        }
        Value::Object(fields) => {
            for (name, field) in fields {
                texts(&format!("{way}/{name}"), field, into);
            }
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => {}
    }
}

/// Labels, pages and screens, each text with the way to it.
fn all(words: &Words) -> Vec<(String, String)> {
    let (beside, screens) = faces(words);
    let mut found = Vec::new();
    texts("", &beside, &mut found);
    for (name, screen) in &screens {
        texts(&format!("/screens/{name}"), screen, &mut found);
    }
    found
}

/// A language's texts as a list of pairs and, by the way to each, those that the pairs would get wrong.
fn differing(reference: &[(String, String)], other: &[(String, String)]) -> Value {
    assert_eq!(reference.len(), other.len(), "texts");
    let mut pairs: BTreeMap<&str, &str> = BTreeMap::new();
    for ((_, text), (_, theirs)) in reference.iter().zip(other) {
        if text != theirs {
            pairs.entry(text).or_insert(theirs);
        }
    }
    let mut apart: BTreeMap<&str, &str> = BTreeMap::new();
    for ((way, text), (same_way, theirs)) in reference.iter().zip(other) {
        assert_eq!(way, same_way);
        if pairs.get(text.as_str()).copied().unwrap_or(text) != theirs {
            apart.insert(way, theirs);
        }
    }
    serde_json::json!({ "texts": pairs, "apart": apart })
}

#[test]
fn the_faces_of_other_languages_are_written() {
    let reference = all(&Words::load("en-US").expect("en-US"));
    let others = Words::languages().filter(|lang| *lang != "en-US");
    let loaded = others.map(|lang| (lang, Words::load(lang).expect(lang)));
    let pseudo = [("pseudo", Words::pseudo().expect(PSEUDO))];
    let all_others: Vec<_> = loaded.chain(pseudo).collect();
    assert_eq!(all_others.len(), 4);
    for (name, words) in all_others {
        let found = differing(&reference, &all(&words));
        let text = serde_json::to_string_pretty(&found).expect("json");
        write(&format!("faces-{name}.json"), &format!("{text}\n"));
    }
}

/// Ways that end in one of these lead to words of the wire, not of the screen.
const WIRE: [&str; 20] = [
    "/act", "/banner", "/card", "/class", "/group", "/id", "/key", "/kind", "/lang", "/page",
    "/setting", "/state", "/theme", "/unit", "/value", "/airway", "/decimal", "/preset", "/phase",
    "/prompt",
];

/// With a language in which every text is in brackets, what has none did not come from a message file. What
/// else may stand there is the protocol's own text, figures, and names.
#[test]
fn every_text_of_the_screen_comes_from_a_message_file() {
    let is_hash = |text: &str| text.len() == 64 && text.chars().all(|c| c.is_ascii_hexdigit());
    let protocols: String = cycle::Protocol::EXAMPLES
        .iter()
        .map(|(_, text)| *text)
        .collect();
    let pseudo = Words::pseudo().expect("pseudo");
    assert_eq!(pseudo.lang(), PSEUDO);
    let found = all(&pseudo);
    assert!(found.len() > 1_000, "{} texts", found.len());
    let names: Vec<&str> = Words::languages().map(Words::own_name).collect();
    let strays: Vec<&(String, String)> = found
        .iter()
        .filter(|(way, text)| {
            let is_ours = text.contains(OPEN) && text.contains(SHUT);
            let is_wire = WIRE.iter().any(|end| way.ends_with(end))
                || way.contains("/keys/")
                || way.contains("/stays/")
                || way.contains("/screens/") && way.contains("/reasons/")
                || way.starts_with("/papers/protocol/");
            let is_text = text.chars().filter(|c| c.is_alphabetic()).count() > 2;
            is_text
                && !is_ours
                && !is_wire
                && !protocols.contains(text.as_str())
                && !names.contains(&text.as_str())
                && !is_hash(text)
        })
        .collect();
    assert!(strays.is_empty(), "{strays:#?}");
}
