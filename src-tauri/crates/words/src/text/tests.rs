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
    let error = error.unwrap_or_default();
    assert!(
        error.starts_with("language xx, allowed: en-US, "),
        "{error}"
    );
    assert!(
        Words::languages().all(|lang| error.contains(lang)),
        "{error}"
    );
}

/// Source: CLDR 44, plural rules of English and Spanish: one for 1, other for 0 and 2.
#[test]
fn shocks_are_counted_in_words() {
    for (lang, [none, one, two]) in [
        ("en-US", ["0 shocks", "1 shock", "2 shocks"]),
        ("en-GB", ["0 shocks", "1 shock", "2 shocks"]),
        ("es-419", ["0 descargas", "1 descarga", "2 descargas"]),
        ("es-ES", ["0 descargas", "1 descarga", "2 descargas"]),
    ] {
        let words = Words::load(lang).expect(lang);
        assert_eq!([0, 1, 2].map(|n| words.shocks(n)), [none, one, two]);
    }
}

/// Source: CLDR 44, decimal mark: a point in en and es-419, a comma in es-ES.
#[test]
fn numbers_have_the_decimal_mark_of_the_language() {
    for (lang, seconds, share) in [
        ("en-US", "4.7 s", "0.83"),
        ("en-GB", "4.7 s", "0.83"),
        ("es-419", "4.7 s", "0.83"),
        ("es-ES", "4,7 s", "0,83"),
    ] {
        let words = Words::load(lang).expect(lang);
        assert_eq!(words.seconds(Ms(4_790)), seconds);
        assert_eq!(words.decimal("0.83"), share);
        // No number in the sentences themselves has the other mark.
        let other = if seconds.contains(',') { '.' } else { ',' };
        for (key, text) in &words.plain {
            let letters: Vec<char> = text.chars().collect();
            let is_wrong = letters
                .windows(3)
                .any(|w| matches!(w, [a, mark, b] if *mark == other && a.is_ascii_digit() && b.is_ascii_digit()));
            assert!(!is_wrong, "{lang} {key}: {text}");
        }
    }
}

#[test]
fn a_systems_language_finds_its_kin() {
    for (system, ours) in [
        ("en-US", "en-US"),
        ("en", "en-US"),
        ("en-CA", "en-US"),
        ("en-GB", "en-GB"),
        ("en_IE.UTF-8", "en-GB"),
        ("EN-gb", "en-GB"),
        ("es", "es-419"),
        ("es-MX", "es-419"),
        ("es-419", "es-419"),
        ("es-ES", "es-ES"),
        ("es_ES@euro", "es-ES"),
        ("fr-FR", "en-US"),
        ("C", "en-US"),
        ("", "en-US"),
    ] {
        assert_eq!(Words::nearest(system), ours, "{system}");
    }
}

#[test]
fn each_language_is_named_in_itself() {
    for (lang, name) in [
        ("en-US", "English (US)"),
        ("en-GB", "English (UK)"),
        ("es-419", "Español (Latinoamérica)"),
        ("es-ES", "Español (España)"),
    ] {
        assert_eq!(Words::own_name(lang), name);
    }
    let mut names: Vec<&str> = Words::languages().map(Words::own_name).collect();
    let all = names.len();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), all, "{names:?}");
    assert_eq!(Words::own_name("xx"), "xx");
}

/// The rule: two words on a key, three where the row is full width. No source.
#[test]
fn keys_carry_few_words() {
    const FULL_WIDTH: [&str; 2] = ["act-start_by_hand", "fixed-hold_end"];
    for lang in ["en-US", "en-GB"] {
        let words = Words::load(lang).expect(lang);
        few_words(&words, &FULL_WIDTH);
    }
}

fn few_words(words: &Words, full_width: &[&str]) {
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
        let most = if full_width.contains(&key.as_str()) {
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

/// What is spoken stands on the screen in the same words: the voice packs' own lists are the other
/// side of the comparison.
#[test]
fn prompts_read_as_they_are_spoken() {
    let sounds = concat!(env!("CARGO_MANIFEST_DIR"), "/../../../sounds");
    let mut looked_at = Vec::new();
    for lang in Words::languages() {
        let Ok(list) = std::fs::read(format!("{sounds}/{lang}/manifest.json")) else {
            continue;
        };
        let pack: serde_json::Value = serde_json::from_slice(&list).expect(lang);
        let words = Words::load(lang).expect(lang);
        let clips = pack["clips"].as_array().expect("clips");
        assert_eq!(clips.len(), cycle::Prompt::ALL.len(), "{lang}");
        for clip in clips {
            let id = clip["id"].as_str().expect("id");
            let spoken = clip["text"].as_str().expect("text");
            assert_eq!(words.plain(&format!("prompt-{id}")), spoken, "{lang} {id}");
        }
        looked_at.push(lang);
    }
    assert!(looked_at.contains(&"en-US"), "{looked_at:?}");
}
