//! `carrybeat measures` and `carrybeat export`: what a record comes to, and what leaves the house.

use std::{
    fs,
    io::Write as _,
    path::{Path, PathBuf},
};

use chart::{BarFrame, Order, PRINT, StripFrame, Told, bars_told, strip_told};
use debrief::{Basis, Course, Form, course, measures, tables, text};
use record::Opened;
use sheet::Paper;
use words::Words;

type Faults = Vec<String>;

const WHAT: &str = "csv, deidentified, pdf, picture, raw, strip";

/// The family that a picture names; where it is missing another takes its place.
const FAMILY: &str = "Source Sans 3, sans-serif";

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
    let (mut to, mut out, mut paper) = (None, None, None);
    let mut basis = Basis::Amended;
    let mut rest = options.iter();
    while let Some(option) = rest.next() {
        let slot = match *option {
            "--to" => &mut to,
            "--out" => &mut out,
            "--paper" => &mut paper,
            "--as-recorded" => {
                basis = Basis::Recorded;
                continue;
            }
            other => {
                return Err(vec![format!(
                    "option {other}, allowed: --to, --out, --paper, --as-recorded"
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
    let paper = page(to, paper)?;
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
            let (drawn, words) = (drawn(record, &opened, basis)?, english()?);
            let bars = chart::bars(
                &drawn,
                &words,
                &BarFrame {
                    order: Order::Time,
                    part: (0, usize::MAX),
                    width: 190.0,
                    text: 3.2,
                },
            );
            let said = [strip_told(&drawn, &words), bars_told(&drawn, &words)];
            folder(
                &out,
                &[
                    ("strip.svg", picture(&drawn, &words)),
                    ("pauses.svg", bars.svg(&PRINT, FAMILY, "mm")),
                    ("strip.txt", said.map(|told| lines(&told)).concat()),
                ],
            )
        }
        "picture" => {
            let (drawn, words) = (drawn(record, &opened, basis)?, english()?);
            new_file(&out, picture(&drawn, &words).as_bytes())?;
            Ok(format!("{}: the strip", out.display()))
        }
        "pdf" => {
            let written = sheet::pdf(&opened, basis, &english()?, paper)
                .map_err(|e| vec![format!("{record}: {e}")])?;
            new_file(&out, &written)?;
            Ok(format!("{}: the debrief", out.display()))
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

/// The paper that was asked for; A4 unless another was.
fn page(to: &str, asked: Option<&str>) -> Result<Paper, Faults> {
    let Some(asked) = asked else {
        return Ok(Paper::A4);
    };
    let allowed = Paper::ALL.map(Paper::word).join(", ");
    if to != "pdf" {
        return Err(vec![format!(
            "--paper {asked} with --to {to}, allowed: with --to pdf"
        )]);
    }
    let mut papers = Paper::ALL.into_iter();
    papers
        .find(|paper| paper.word() == asked)
        .ok_or_else(|| vec![format!("--paper {asked}, allowed: {allowed}")])
}

fn drawn(path: &str, opened: &Opened, basis: Basis) -> Result<Course, Faults> {
    course(opened, basis).map_err(|e| vec![format!("{path}: {e}")])
}

fn english() -> Result<Words, Faults> {
    Words::load("en-US").map_err(|e| vec![e.to_string()])
}

fn picture(drawn: &Course, words: &Words) -> String {
    let frame = StripFrame::paper(drawn, words);
    chart::strip(drawn, words, &frame).svg(&PRINT, FAMILY, "mm")
}

/// A chart in words: its title, its sentence, and a line for each row.
fn lines(told: &Told) -> String {
    let rows = told.rows.iter().map(|row| {
        let cells: Vec<&str> = row.iter().map(String::as_str).collect();
        let cells = cells.into_iter().filter(|cell| !cell.is_empty());
        cells.collect::<Vec<_>>().join(", ")
    });
    let mut all = vec![told.title.clone(), told.sentence.clone()];
    all.extend(rows);
    all.join("\n") + "\n"
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
