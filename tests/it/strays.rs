//! No sentence in code: what a crew reads comes from the message files, whatever its language.
//!
//! Rust is read as tokens, the page's files as text; names, classes and figures are no sentences.

use std::fs;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use proc_macro2::{Delimiter, TokenStream, TokenTree};

use crate::walls::{root, rust_files};

/// What makes the texts of the screen.
const OF_THE_SCREEN: [&str; 7] = [
    "src-tauri/src",
    "src-tauri/crates/after/src",
    "src-tauri/crates/chart/src",
    "src-tauri/crates/drafting/src",
    "src-tauri/crates/sheet/src",
    "src-tauri/crates/trends/src",
    "src-tauri/crates/words/src",
];

/// What may read like a sentence all the same: the file, how it begins, and why.
const ALLOWED: [(&str, &str, &str); 21] = [
    (
        "crates/after/src/debrief.rs",
        "Carry Sans",
        "the name of the page's own font",
    ),
    (
        "crates/drafting/src/minute.rs",
        "Carry Sans",
        "the name of the page's own font",
    ),
    ("crates/chart/src/svg.rs", "", "a picture's own language"),
    (
        "crates/words/src/faults.rs",
        "",
        "told to whoever translates, on the desk",
    ),
    (
        "crates/words/src/text.rs",
        "messages of ",
        "told to whoever translates",
    ),
    ("crates/words/src/text.rs", "language ", "a fault's detail"),
    (
        "crates/words/src/draft.rs",
        "",
        "units as the rules name them",
    ),
    (
        "crates/words/src/draft/build.rs",
        "not known",
        "a fault's own word for a stray key",
    ),
    ("crates/drafting/src/file.rs", "", "a fault's detail"),
    ("crates/after/src/keep.rs", "", "a fault's detail"),
    (
        "crates/after/src/lib.rs",
        "review: a mark that is not",
        "a fault's detail",
    ),
    (
        "crates/after/src/lib.rs",
        "score sheet: no drill",
        "a fault's detail",
    ),
    ("crates/sheet/src/lib.rs", "PDF: ", "a fault's detail"),
    ("crates/sheet/src/pdf.rs", "", "a fault's detail"),
    ("crates/trends/src/sift.rs", "", "a fault's detail"),
    (
        "crates/trends/src/tables.rs",
        "",
        "what a column is, for programs",
    ),
    (
        "crates/trends/src/html.rs",
        "Carrybeat Sheet",
        "a font's name",
    ),
    ("crates/trends/src/measure.rs", "Am J Emerg", "a journal"),
    (
        "crates/words/src/fit.rs",
        "{} lines of {} letters",
        "told to whoever translates",
    ),
    (
        "src/afterwards.rs",
        "export {other:?}",
        "a fault of the page, not of a crew",
    ),
    (
        "src/window.rs",
        "tauri.conf.json names no window",
        "a fault of the build",
    ),
];

/// Whether two words stand side by side, placeholders aside.
fn is_sentence(text: &str) -> bool {
    let mut plain = String::new();
    let mut depth = 0_usize;
    for c in text.chars() {
        match c {
            '{' => depth += 1,
            '}' => depth = depth.saturating_sub(1),
            _ if depth == 0 => plain.push(c),
            _ => {}
        }
    }
    let is_word = |word: &str| {
        let word = word.trim_matches(|c: char| !c.is_alphanumeric());
        word.chars().count() >= 2 && word.chars().all(|c| c.is_alphabetic() || c == '\'')
    };
    let words: Vec<&str> = plain.split(' ').collect();
    words
        .windows(2)
        .any(|two| two.iter().all(|word| is_word(word)))
}

/// The texts of a source that are no attributes, without its tests.
fn texts(tokens: TokenStream, into: &mut Vec<String>) {
    let mut before: Vec<String> = Vec::new();
    for token in tokens {
        match token {
            TokenTree::Group(group) => {
                // `#[…]` or `#![…]`; a `vec![…]` has a name before its mark.
                let marks: Vec<&str> = before.iter().rev().take(2).map(String::as_str).collect();
                let is_attribute = group.delimiter() == Delimiter::Bracket
                    && matches!(marks.as_slice(), ["#", ..] | ["!", "#"]);
                let is_test = before.iter().any(|word| word == "cfg(test)");
                if is_attribute {
                    let said = group.stream().to_string().replace(' ', "");
                    before.push(said);
                    continue;
                }
                if !is_test {
                    texts(group.stream(), into);
                }
                before.clear();
            }
            TokenTree::Literal(literal) => {
                let said = literal.to_string();
                if let Some(text) = said.strip_prefix('"').and_then(|s| s.strip_suffix('"')) {
                    into.push(text.replace("\\\n", ""));
                }
            }
            TokenTree::Punct(punct) if punct.as_char() == ';' => before.clear(),
            TokenTree::Punct(punct) => before.push(punct.as_char().to_string()),
            TokenTree::Ident(ident) => before.push(ident.to_string()),
        }
    }
}

fn sentences(source: &str) -> Vec<String> {
    let mut found = Vec::new();
    texts(
        TokenStream::from_str(source).expect("source is Rust"),
        &mut found,
    );
    found.retain(|text| is_sentence(text));
    found
}

#[test]
fn no_sentence_stands_in_the_rooms_that_make_the_screen() {
    let mut strays = Vec::new();
    let mut used = vec![false; ALLOWED.len()];
    for room in OF_THE_SCREEN {
        for path in rust_files(&root().join(room)) {
            let name = path.display().to_string();
            if name.ends_with("tests.rs") || name.contains("/tests/") {
                continue;
            }
            let source = fs::read_to_string(&path).expect("source");
            for text in sentences(&source) {
                let allowed = ALLOWED
                    .iter()
                    .position(|(file, begin, _)| name.ends_with(file) && text.starts_with(begin));
                match allowed {
                    Some(n) => used[n] = true,
                    None => strays.push(format!("{name}: {text:?}")),
                }
            }
        }
    }
    assert!(
        strays.is_empty(),
        "put these into the message files:\n{}",
        strays.join("\n")
    );
    let vain: Vec<_> = ALLOWED.iter().zip(used).filter(|(_, used)| !used).collect();
    assert!(vain.is_empty(), "allowed and not there: {vain:?}");
}

/// Everything between `open` and `shut`, taken out.
fn without(text: &str, open: &str, shut: &str) -> String {
    let mut rest = text;
    let mut kept = String::new();
    while let Some((before, after)) = rest.split_once(open) {
        kept.push_str(before);
        kept.push('\n');
        rest = after.split_once(shut).map_or("", |(_, after)| after);
    }
    kept + rest
}

/// What stands in the script of a page's file, and what in its markup.
fn parts(name: &str, source: &str) -> (String, String) {
    let is_script = |ext: &str| Path::new(name).extension().is_some_and(|e| e == ext);
    if is_script("ts") {
        return (source.to_owned(), String::new());
    }
    let scripts: Vec<&str> = source
        .split("<script")
        .skip(1)
        .filter_map(|part| part.split_once("</script>"))
        .map(|(script, _)| script)
        .collect();
    let markup = without(source, "<script", "</script>");
    let markup = without(&markup, "<style>", "</style>");
    (scripts.join("\n"), without(&markup, "<!--", "-->"))
}

/// Text in quotes, without comments.
fn quoted(script: &str) -> Vec<String> {
    let script = without(script, "/*", "*/");
    let lines = script
        .lines()
        .map(|line| line.split("// ").next().unwrap_or_default());
    let mut found = Vec::new();
    for line in lines {
        for mark in ['"', '`'] {
            found.extend(line.split(mark).skip(1).step_by(2).map(str::to_owned));
        }
    }
    found
}

/// Texts of the markup that a crew would read or hear.
fn shown(markup: &str) -> Vec<String> {
    const HEARD: [&str; 6] = [
        "aria-label=\"",
        "aria-description=\"",
        "aria-roledescription=\"",
        "title=\"",
        "alt=\"",
        "placeholder=\"",
    ];
    let mut found = Vec::new();
    for begin in HEARD {
        for value in markup.split(&format!(" {begin}")).skip(1) {
            found.extend(value.split('"').next().map(str::to_owned));
        }
    }
    // Values first: a comparison within one is no tag.
    let mut plain = String::new();
    let mut depth = 0_usize;
    for c in markup.chars() {
        match c {
            '{' => depth += 1,
            '}' => depth = depth.saturating_sub(1),
            _ if depth == 0 => plain.push(c),
            _ => {}
        }
    }
    let plain = without(&plain, "<", ">").replace("&nbsp;", " ");
    found.extend(plain.lines().map(|line| line.trim().to_owned()));
    // A component's own attributes are names; a text has letters.
    found.retain(|text| {
        !text.starts_with('{') && text.chars().filter(|c| c.is_alphabetic()).count() >= 2
    });
    found
}

fn page_files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("folder") {
        let path = entry.expect("entry").path();
        if path.is_dir() {
            // Types, written from Rust's, with their comments.
            if !path.ends_with("bindings") {
                found.extend(page_files(&path));
            }
        } else if path.extension().is_some_and(|e| e == "svelte" || e == "ts") {
            found.push(path);
        }
    }
    found
}

#[test]
fn no_sentence_stands_in_the_page() {
    let mut strays = Vec::new();
    let files = page_files(&root().join("ui/src"));
    assert!(files.len() > 20, "{} files", files.len());
    for path in files {
        let name = path.display().to_string();
        let (script, markup) = parts(&name, &fs::read_to_string(&path).expect("source"));
        let said = quoted(&script).into_iter().filter(|text| is_sentence(text));
        strays.extend(
            said.chain(shown(&markup))
                .map(|text| format!("{name}: {text:?}")),
        );
    }
    assert!(
        strays.is_empty(),
        "put these into the message files:\n{}",
        strays.join("\n")
    );
}

#[test]
fn strays_are_found_and_names_are_none() {
    let source = "/// Not this one, a comment.\n#[doc = \"nor this one\"]\n\
                  fn f() { g(\"take_out\", \"M0 1 L2\", format!(\"{a} s earlier by {b}\"), \"It is late\"); }\n\
                  #[cfg(test)] mod tests { fn t() { h(\"nor a test's\"); } }";
    assert_eq!(sentences(source), ["{a} s earlier by {b}", "It is late"]);
    let page = "<script lang=\"ts\">\n// \"Not this one\"\nconst a = \"polite\"; const b = \"Not taken\";\n</script>\n\
                <p class=\"now text\" title=\"So far\">{a < b ? a : b} Off</p>\n<style>\np { color: red blue; }\n</style>\n";
    let (script, markup) = parts("a.svelte", page);
    let said: Vec<String> = quoted(&script)
        .into_iter()
        .filter(|t| is_sentence(t))
        .collect();
    assert_eq!(said, ["Not taken"]);
    assert_eq!(shown(&markup), ["So far", "Off"]);
}
