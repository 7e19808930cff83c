//! `carrybeat words check`: every fault of a language's message file at once.

use std::{fs, path::Path};

use audio::Pack;
use words::Words;

/// What each language that is built in, or the file of one, holds; or every fault.
pub(crate) fn check(file: Option<&str>) -> Result<String, Vec<String>> {
    let Some(file) = file else {
        let all =
            Words::languages().map(|lang| look(lang, words::source(lang).unwrap_or_default()));
        return joined(all);
    };
    let path = Path::new(file);
    let lang = path.file_stem().unwrap_or_default().to_string_lossy();
    let bytes = fs::read(path).map_err(|e| {
        vec![format!(
            "{file}: {e}; allowed: a file named by its language, such as es-419.ftl"
        )]
    })?;
    let text = String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        vec![format!(
            "{file}: byte {at} is not UTF-8; save the file as UTF-8"
        )]
    })?;
    look(&lang, &text)
}

fn look(lang: &str, source: &str) -> Result<String, Vec<String>> {
    let faults = words::check(lang, source);
    if !faults.is_empty() {
        return Err(faults.iter().map(ToString::to_string).collect());
    }
    let voice = match Pack::voice_of(lang) {
        own if own == lang => "with a voice of its own".to_owned(),
        other => format!("without a voice: {other} speaks"),
    };
    Ok(format!(
        "{lang}: no message missing, none stray, every key's words fit; {voice}"
    ))
}

fn joined(all: impl Iterator<Item = Result<String, Vec<String>>>) -> Result<String, Vec<String>> {
    let (mut said, mut faults) = (Vec::new(), Vec::new());
    for one in all {
        match one {
            Ok(line) => said.push(line),
            Err(more) => faults.extend(more),
        }
    }
    if faults.is_empty() {
        Ok(said.join("\n"))
    } else {
        Err(faults)
    }
}
