//! `carrybeat`: rehearsals, protocol checks, measures and exports on the desk.
mod check;
mod drill;
mod exports;
mod heard;
mod keeping;
mod listening;
mod measures;
mod parquet;
mod pictures;
mod rehearse;
mod review;
mod tongues;
mod trends;
mod voices;

use std::{io::Write as _, path::PathBuf, process::ExitCode};

const USAGE: &str = "\
usage:
  carrybeat rehearse SCRIPT.json --wav OUT.wav --record OUT.rec.jsonl --cues OUT.json [--picture OUT.svg]
  carrybeat protocol check PROTOCOL
  carrybeat protocol diff PROTOCOL PROTOCOL
  carrybeat measures RECORD [--as-recorded] [--json]
  carrybeat export RECORD --to WHAT --out PATH [--as-recorded] [--procedure-codes LIST] [--paper a4|letter]
  carrybeat review RECORD --list
  carrybeat review RECORD --amend AMENDMENTS.json
  carrybeat hand-in FOLDER --out FILE
  carrybeat unpack FILE --out FOLDER
  carrybeat runs FOLDER [--due DAYS]
  carrybeat hold|release|delete FOLDER ID
  carrybeat delete FOLDER --all
  carrybeat trends FOLDER --out DIR [--unit CODE] [--lang TAG] [--paper a4|letter] [--as-recorded]
  carrybeat drill --list
  carrybeat drill SCENARIO [--seed N] [--lang TAG]
  carrybeat drill SCENARIO --crew SCRIPT.json [--seed N] [--record OUT.rec.jsonl] [--wav OUT.wav]
                                                 [--pdf OUT.pdf] [--lang TAG] [--json]
  carrybeat drill --score RECORD [--pdf OUT.pdf] [--lang TAG] [--json]
  carrybeat words check [FILE]
  carrybeat voices check [FOLDER]
  carrybeat listening SHEET... [--csv OUT]

A PROTOCOL is a file, or the id of a built-in example, such as example-adult.
A RECORD is a run's file, ID the beginning of its name up to the first dot.
WHAT is carry-over, csv, deidentified, fhir, nemsis, parquet, pdf, picture, raw or strip. PATH is new:
a file for nemsis, pdf, picture and raw, a folder for all others. LIST is the service's own codes of
procedures, for carry-over, fhir and nemsis. --paper goes with pdf; a4 unless it is given.
DIR is a new folder; CODE is a unit's own code as the records have it, TAG a language such as es-419.
A FILE of words is named by its language, such as es-419.ftl; without one all that are built in are checked.
A SCENARIO is the id of a built-in drill, or a file (docs/drill.md).
A SHEET is a score sheet of the listening test; OUT is a new file.
";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args_os()
        .skip(1)
        .map(|w| w.to_string_lossy().into_owned())
        .collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    if words.iter().any(|word| matches!(*word, "--help" | "-h")) {
        say(&usage_of(words.first().copied().unwrap_or_default()));
        return ExitCode::SUCCESS;
    }
    let done = match words.as_slice() {
        ["rehearse", script, options @ ..] if !script.starts_with("--") => {
            rehearse_with(script, options)
        }
        ["protocol", "check", place] => check::protocol(place),
        ["protocol", "diff", here, there] => check::diff(here, there),
        ["measures", options @ ..] => measures::of(options),
        ["export", record, options @ ..] if !record.starts_with("--") => {
            exports::export(record, options)
        }
        ["review", record, "--list"] => review::list(record),
        ["review", record, "--amend", file] => review::amend(record, file),
        ["hand-in", folder, "--out", file] => keeping::hand_in(folder, file),
        ["unpack", file, "--out", folder] => keeping::unpack(file, folder),
        ["runs", folder] => keeping::runs(folder, None),
        ["runs", folder, "--due", days] => keeping::runs(folder, Some(days)),
        ["hold", folder, id] => keeping::hold(folder, id, true),
        ["release", folder, id] => keeping::hold(folder, id, false),
        ["delete", folder, "--all"] => keeping::delete_all(folder),
        ["delete", folder, id] => keeping::delete(folder, id),
        ["trends", options @ ..] => trends::trends(options),
        ["drill", options @ ..] => drill::drill(options),
        ["words", "check"] => tongues::check(None),
        ["words", "check", file] => tongues::check(Some(file)),
        ["voices", "check"] => voices::check(None),
        ["voices", "check", folder] => voices::check(Some(folder)),
        ["listening", sheets @ ..] => listening::add(sheets),
        _ => {
            let found = words.join(" ");
            complain(&match amiss(&words) {
                Some(what) => {
                    let usage = usage_of(words.first().copied().unwrap_or_default());
                    format!("carrybeat {found}: {what}; {usage}")
                }
                None => format!("{found:?} is no such command; allowed:\n{USAGE}"),
            });
            return ExitCode::from(2);
        }
    };
    match done {
        Ok(said) => {
            say(said.trim_end());
            ExitCode::SUCCESS
        }
        Err(faults) => {
            for fault in faults {
                complain(&fault);
            }
            ExitCode::FAILURE
        }
    }
}

/// Whoever reads may have seen enough and gone; that is no fault of ours.
fn say(text: &str) {
    writeln!(std::io::stdout(), "{text}").unwrap_or_default();
}

fn complain(text: &str) {
    writeln!(std::io::stderr(), "{text}").unwrap_or_default();
}

/// The lines of one command, or all where there is none of that name.
fn usage_of(command: &str) -> String {
    let mut is_of = false;
    let lines = USAGE.lines().filter(|line| {
        // A line that goes on stands further in than one that begins.
        if let Some(rest) = line.strip_prefix("  carrybeat ") {
            let names = rest.split(' ').next().unwrap_or_default();
            is_of = names.split('|').any(|name| name == command);
        } else if line.is_empty() {
            is_of = false;
        }
        is_of
    });
    let found: Vec<&str> = lines.collect();
    if found.is_empty() {
        USAGE.trim_end().to_owned()
    } else {
        format!("usage:\n{}", found.join("\n"))
    }
}

/// What is missing or too much where the first word is a command, by its lines of the usage: of those that go along with
/// most of the words.
fn amiss(words: &[&str]) -> Option<String> {
    let fits = |token: &str, word: &str| {
        if token.starts_with(|c: char| c.is_ascii_uppercase()) {
            !word.starts_with("--")
        } else {
            token.split('|').any(|name| name == word)
        }
    };
    let mut most = 1;
    let mut next: Vec<&str> = Vec::new();
    for line in USAGE.lines() {
        let line = line.strip_prefix("  carrybeat ").unwrap_or_default();
        let needed = line.split(' ').take_while(|token| !token.starts_with('['));
        let needed: Vec<&str> = needed.collect();
        let both = needed.iter().zip(words);
        let along = both.take_while(|(token, word)| fits(token, word)).count();
        if along < most {
            continue;
        }
        if along > most {
            next.clear();
        }
        most = along;
        next.extend(needed.get(along));
        next.dedup();
    }
    let is_command = !usage_of(words.first()?).starts_with(USAGE.trim_end());
    let allowed = next.join(" or ");
    is_command.then(|| match words.get(most) {
        None => format!("{allowed} is missing"),
        // A place that has no name of its own takes any word but an option.
        Some(word) if word.starts_with("--") && !allowed.is_empty() => {
            format!("{allowed} is missing before {word}")
        }
        Some(word) if next.is_empty() => format!("{word:?} is too much"),
        Some(word) => format!("{word:?}, allowed: {allowed}"),
    })
}

fn rehearse_with(script: &str, options: &[&str]) -> Result<String, Vec<String>> {
    let (mut wav, mut record, mut cues, mut picture) = (None, None, None, None);
    let mut rest = options.iter();
    while let Some(option) = rest.next() {
        let slot = match *option {
            "--wav" => &mut wav,
            "--record" => &mut record,
            "--cues" => &mut cues,
            "--picture" => &mut picture,
            other => {
                let said = format!("option {other}, allowed: --wav, --record, --cues, --picture");
                return Err(vec![said]);
            }
        };
        match rest.next() {
            Some(path) => *slot = Some(PathBuf::from(path)),
            None => return Err(vec![format!("{option} needs a path")]),
        }
    }
    let (Some(wav), Some(record), Some(cues)) = (wav, record, cues) else {
        return Err(vec!["--wav, --record and --cues are all needed".to_owned()]);
    };
    rehearse::run(
        &PathBuf::from(script),
        &rehearse::Outputs {
            wav,
            record,
            cues,
            picture,
        },
    )
}
