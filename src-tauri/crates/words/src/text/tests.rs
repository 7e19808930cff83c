use super::*;

fn en() -> &'static str {
    FILES[0].1
}

fn without(key: &str) -> String {
    let kept: Vec<&str> = en()
        .lines()
        .filter(|line| !line.starts_with(&format!("{key} =")))
        .collect();
    kept.join("\n")
}

#[test]
fn every_language_has_every_text_and_no_other() {
    for lang in Words::languages() {
        let words = Words::load(lang).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(words.lang(), lang);
        assert_eq!(words.plain.len(), keys::all().len());
    }
}

#[test]
fn a_missing_text_is_named() {
    let found = Words::read("en-US", &without("prompt-off20"));
    assert_eq!(
        found.err(),
        Some(WordsError::Gap {
            lang: "en-US",
            key: "prompt-off20".to_owned()
        })
    );
}

#[test]
fn a_stray_text_is_named() {
    let found = Words::read("en-US", &format!("{}\nact-sunshine = Charge\n", en()));
    assert_eq!(
        found.err(),
        Some(WordsError::Stray {
            lang: "en-US",
            key: "act-sunshine".to_owned()
        })
    );
}

#[test]
fn a_text_that_asks_for_an_unknown_value_is_named() {
    let source = format!("{}\ncard-cup = {{ $colour }} cup?\n", without("card-cup"));
    assert_eq!(
        Words::read("en-US", &source).err(),
        Some(WordsError::Gap {
            lang: "en-US",
            key: "card-cup".to_owned()
        })
    );
}

#[test]
fn a_text_given_twice_is_refused() {
    let source = format!("{}\ncard-cup = Cup?\n", en());
    assert!(matches!(
        Words::read("en-US", &source),
        Err(WordsError::Damaged { .. })
    ));
}

#[test]
fn a_file_that_is_no_message_file_is_refused() {
    for source in ["= ?", "\u{0}\u{1}", "act-flag\n= = ="] {
        let error = Words::read("en-US", source).err();
        assert!(
            matches!(error, Some(WordsError::Damaged { .. })),
            "{source:?}: {error:?}"
        );
    }
}

#[test]
fn an_unknown_language_is_told_with_the_known_ones() {
    let error = Words::load("xx").err().map(|error| error.to_string());
    assert_eq!(error.as_deref(), Some("language xx, allowed: en-US"));
}

#[test]
fn shocks_are_counted_in_words() {
    let words = Words::load("en-US").expect("en-US");
    assert_eq!(words.shocks(1), "1 shock");
    assert_eq!(words.shocks(2), "2 shocks");
}

/// Source: the project's page of words: two words on a key, three where the row is full width.
#[test]
fn keys_carry_few_words() {
    const FULL_WIDTH: [&str; 2] = ["act-start_by_hand", "fixed-hold_end"];
    let words = Words::load("en-US").expect("en-US");
    let labels = words.plain.iter().filter(|(key, _)| {
        ["act-", "group-", "set-", "class-"]
            .iter()
            .any(|list| key.starts_with(list))
            || [
                "fixed-set_right",
                "fixed-last_marks",
                "fixed-remove",
                "fixed-hand_over",
                "fixed-back",
                "fixed-menu",
                "fixed-patient",
                "fixed-turn",
                "fixed-debrief",
                "fixed-make_ready",
                "fixed-mark",
                "fixed-undo",
                "fixed-close",
                "fixed-more",
                "fixed-hold_end",
            ]
            .contains(&key.as_str())
    });
    for (key, label) in labels {
        let most = if FULL_WIDTH.contains(&key.as_str()) {
            3
        } else {
            2
        };
        for part in label.split(", ") {
            let count = part.split_whitespace().count();
            assert!(
                count <= most,
                "{key}: {label} has {count} words, allowed {most}"
            );
        }
        assert!(
            label
                .split([' ', '-'])
                .filter(|w| *w != "by" && *w != "to")
                .all(|w| !w.starts_with(char::is_lowercase) || label.contains('-')),
            "{key}: {label} in initial capitals"
        );
    }
}

/// What is spoken stands on the screen in the same words: the voice pack's own list is the other
/// side of the comparison.
#[test]
fn prompts_read_as_they_are_spoken() {
    let pack: serde_json::Value =
        serde_json::from_str(include_str!("../../../../../sounds/en-US/manifest.json"))
            .expect("manifest");
    let words = Words::load("en-US").expect("en-US");
    let clips = pack["clips"].as_array().expect("clips");
    assert_eq!(clips.len(), cycle::Prompt::ALL.len());
    for clip in clips {
        let id = clip["id"].as_str().expect("id");
        let spoken = clip["text"].as_str().expect("text");
        assert_eq!(words.plain(&format!("prompt-{id}")), spoken, "{id}");
    }
}
