use super::*;
use crate::{Words, source};

fn of(lang: &str) -> &'static str {
    source(lang).unwrap_or_else(|| panic!("{lang}"))
}

/// The file with the line of a message replaced; an empty one takes it out.
fn with(lang: &str, key: &str, line: &str) -> String {
    let begins = format!("{key} =");
    assert!(of(lang).lines().any(|l| l.starts_with(&begins)), "{key}");
    let lines = of(lang)
        .lines()
        .map(|l| if l.starts_with(&begins) { line } else { l });
    lines.collect::<Vec<_>>().join("\n") + "\n"
}

fn told(lang: &str, source: &str) -> Vec<String> {
    check(lang, source)
        .iter()
        .map(ToString::to_string)
        .collect()
}

#[test]
fn no_language_of_ours_has_a_fault() {
    for lang in Words::languages() {
        assert_eq!(told(lang, of(lang)), [""; 0], "{lang}");
    }
}

#[test]
fn every_fault_is_found_at_once_with_its_place_and_a_remedy() {
    let at = |key: &str| line_of(of("es-419"), key, false);
    let mut text = with("es-419", "act-hands_off", "");
    for (key, line) in [
        (
            "act-rotate",
            "act-rotate = Relevo del reanimador entero ahora mismo",
        ),
        ("act-undo_all", "act-undo_all = Todo"),
        ("start-own", "start-own = Protocolo"),
        ("card-cup", "card-cup = Cup in place?"),
        ("fixed-seconds", "fixed-seconds = { $nombre } s"),
        ("prompt-undo", "prompt-undo = { -marca } borrada."),
        ("prompt-still", "prompt-still"),
    ] {
        let begins = format!("{key} =");
        text = if key == "act-undo_all" {
            format!("{text}{line}\nact-flag = Otra\n")
        } else {
            let lines = text
                .lines()
                .map(|l| if l.starts_with(&begins) { line } else { l });
            lines.collect::<Vec<_>>().join("\n") + "\n"
        };
    }
    let lines = of("es-419").lines().count();
    let faults = told("es-419", &text);
    for expected in [
        "es-419.ftl: act-hands_off is missing; add it, it says \"Hands Off\" in en-US".to_owned(),
        format!(
            "es-419.ftl line {}: act-rotate = \"Relevo del reanimador entero ahora mismo\" does not fit its key, \
             allowed: 3 lines of 10 letters; find shorter words",
            at("act-rotate")
        ),
        format!(
            "es-419.ftl line {}: act-undo_all is shown nowhere; take it out",
            lines + 1
        ),
        format!(
            "es-419.ftl line {}: act-flag is there a second time; take one of them out",
            lines + 2
        ),
        format!(
            "es-419.ftl line {}: start-own takes no value, allowed: $name, each once or more; put them where \
             the language wants them",
            at("start-own")
        ),
        format!(
            "es-419.ftl line {}: fixed-seconds takes $nombre, allowed: $name, each once or more; put them where \
             the language wants them",
            at("fixed-seconds")
        ),
        format!(
            "es-419.ftl line {}: card-cup = \"Cup in place?\" is as in en-US; translate it, or name it in SAME \
             of faults.rs with a reason",
            at("card-cup")
        ),
    ] {
        assert!(faults.contains(&expected), "{expected}\n{faults:#?}");
    }
    let begins = |start: String| faults.iter().any(|fault| fault.starts_with(&start));
    assert!(
        begins(format!(
            "es-419.ftl line {}: prompt-undo gives no text: ",
            at("prompt-undo")
        )),
        "{faults:#?}"
    );
    assert!(
        begins(format!(
            "es-419.ftl line {}: cannot be read: ",
            at("prompt-still")
        )),
        "{faults:#?}"
    );
    // The line that cannot be read is a message that is missing, too.
    assert_eq!(faults.len(), 10, "{faults:#?}");
}

#[test]
fn a_name_that_is_no_language_is_refused() {
    assert_eq!(
        told("español", of("es-ES")),
        [
            "español.ftl: \"español\" names no language, allowed: a tag such as es-419; rename the file"
        ]
    );
}

#[test]
fn nothing_is_named_in_vain_as_the_same_in_two_languages() {
    let files: Vec<_> = Words::languages()
        .filter(|lang| !lang.starts_with("en"))
        .map(|lang| Words::load(lang).unwrap_or_else(|e| panic!("{e}")))
        .collect();
    let reference = Words::load(REFERENCE).unwrap_or_else(|e| panic!("{e}"));
    for (key, why) in SAME {
        let is_same = files
            .iter()
            .any(|words| words.text(key) == reference.text(key));
        assert!(is_same, "{key} ({why}) differs in every language");
        assert!(!why.is_empty());
    }
}

#[test]
fn a_key_holds_what_its_lines_hold() {
    let column = room_of("act-flag").expect("a key");
    for (text, fits) in [
        ("Time Mark", true),
        ("Continuous Breaths", true),
        ("Antiarrhythmic", false),
        ("Descarga no indicada", true),
        ("uno dos tres cuatro cinco seis siete", false),
        ("60-100", true),
        ("palabra-palabra-palabra", true),
    ] {
        assert_eq!(column.holds(text), fits, "{text}");
    }
    assert_eq!(room_of("prompt-undo"), None);
}
