//! `carrybeat measures`: what a record comes to.

use std::fs;

use debrief::{Basis, measures, text};
use record::Opened;

pub(crate) type Faults = Vec<String>;

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

/// What cannot be read in a record: beside the measures and the exports, for they are of the rest.
pub(crate) fn damage(opened: &Opened) -> String {
    let lines = opened.damage.iter().map(|d| format!("record: {d}\n"));
    lines.collect::<Vec<_>>().concat()
}

/// A record's bytes, and what is in them.
pub(crate) fn read(path: &str) -> Result<(Vec<u8>, Opened), Faults> {
    let bytes = fs::read(path).map_err(|e| {
        vec![format!(
            "{path}: {e}; allowed: a record, such as RUN.rec.jsonl"
        )]
    })?;
    let opened = record::open(&bytes).map_err(|e| vec![format!("{path}: {e}")])?;
    Ok((bytes, opened))
}
