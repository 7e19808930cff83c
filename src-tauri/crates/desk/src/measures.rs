//! `carrybeat measures` and `carrybeat export`: what a record comes to, and what leaves the house.

use std::{
    fs,
    io::Write as _,
    path::{Path, PathBuf},
};

use debrief::{Basis, Form, measures, strip, tables, text};
use record::Opened;

type Faults = Vec<String>;

const WHAT: &str = "csv, deidentified, raw, strip";

/// The measures of a record, as text or as JSON.
pub(crate) fn of(options: &[&str]) -> Result<String, Faults> {
    let (mut path, mut json, mut basis) = (None, false, Basis::Amended);
    for option in options {
        match *option {
            "--json" => json = true,
            "--as-recorded" => basis = Basis::Recorded,
            other if other.starts_with("--") => {
                return Err(vec![format!(
                    "option {other}, allowed: --as-recorded, --json"
                )]);
            }
            other => {
                if let Some(first) = path.replace(other) {
                    return Err(vec![format!(
                        "{first} and {other}: two records, allowed: one at a time"
                    )]);
                }
            }
        }
    }
    let path = path.ok_or_else(|| vec!["measures: a RECORD is needed".to_owned()])?;
    let (_, opened) = read(path)?;
    let found = measures(&opened, basis).map_err(|e| vec![format!("{path}: {e}")])?;
    if json {
        return serde_json::to_string_pretty(&found).map_err(|e| vec![format!("{path}: {e}")]);
    }
    Ok(format!(
        "{}fingerprint: {}\n{}",
        text(&found),
        record::fingerprint(&opened),
        damage(&opened)
    ))
}

/// What cannot be read in a record: beside the measures, for they are of the rest.
fn damage(opened: &Opened) -> String {
    let lines = opened.damage.iter().map(|d| format!("record: {d}\n"));
    lines.collect::<Vec<_>>().concat()
}

/// Writes a record's tables, its strip or its own bytes to a new place.
pub(crate) fn export(record: &str, options: &[&str]) -> Result<String, Faults> {
    let (mut to, mut out, mut basis) = (None, None, Basis::Amended);
    let mut rest = options.iter();
    while let Some(option) = rest.next() {
        let slot = match *option {
            "--to" => &mut to,
            "--out" => &mut out,
            "--as-recorded" => {
                basis = Basis::Recorded;
                continue;
            }
            other => {
                return Err(vec![format!(
                    "option {other}, allowed: --to, --out, --as-recorded"
                )]);
            }
        };
        match rest.next() {
            Some(value) => *slot = Some(*value),
            None => return Err(vec![format!("{option} needs a value")]),
        }
    }
    let (Some(to), Some(out)) = (to, out) else {
        return Err(vec![format!("--to ({WHAT}) and --out are both needed")]);
    };
    let (bytes, opened) = read(record)?;
    let found = measures(&opened, basis).map_err(|e| vec![format!("{record}: {e}")])?;
    let out = PathBuf::from(out);
    match to {
        "csv" => folder(&out, &tables(&opened, &found, &Form::Own)),
        "deidentified" => {
            let id = uuid::Uuid::new_v4().to_string();
            folder(&out, &tables(&opened, &found, &Form::Deidentified { id }))
        }
        "strip" => {
            let drawn = strip(&opened, basis).map_err(|e| vec![format!("{record}: {e}")])?;
            folder(&out, &[("strip.svg", drawn.svg), ("strip.txt", drawn.text)])
        }
        "raw" => {
            new_file(&out, &bytes)?;
            Ok(format!(
                "{}: the record itself, fingerprint {}",
                out.display(),
                record::fingerprint(&opened)
            ))
        }
        other => Err(vec![format!("--to {other}, allowed: {WHAT}")]),
    }
}

fn read(path: &str) -> Result<(Vec<u8>, Opened), Faults> {
    let bytes = fs::read(path).map_err(|e| {
        vec![format!(
            "{path}: {e}; allowed: a record, such as RUN.rec.jsonl"
        )]
    })?;
    let opened = record::open(&bytes).map_err(|e| vec![format!("{path}: {e}")])?;
    Ok((bytes, opened))
}

/// A new folder with these files. One that is there already is left alone.
fn folder(out: &Path, files: &[(&str, String)]) -> Result<String, Faults> {
    fs::create_dir(out).map_err(|e| {
        vec![format!(
            "--out {}: {e}; allowed: a folder that is not there yet, in one that is",
            out.display()
        )]
    })?;
    for (name, text) in files {
        new_file(&out.join(name), text.as_bytes())?;
    }
    let names: Vec<&str> = files.iter().map(|(name, _)| *name).collect();
    Ok(format!("{}: {}", out.display(), names.join(", ")))
}

fn new_file(path: &Path, bytes: &[u8]) -> Result<(), Faults> {
    let written = fs::File::create_new(path).and_then(|mut file| file.write_all(bytes));
    written.map_err(|e| {
        vec![format!(
            "--out {}: {e}; allowed: a file that is not there yet, in a folder that is",
            path.display()
        )]
    })
}
