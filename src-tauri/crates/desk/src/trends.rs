//! `carrybeat trends`: a folder of hand-ins and records as tables, figures over time and a report.

mod house;
mod read;
mod tree;
mod write;

use std::{
    collections::BTreeSet,
    fs, io,
    path::{Path, PathBuf},
};

use conduct::clock::wall_now;
use debrief::{Basis, Column, Table};
use sheet::Paper;
use trends::{Sifted, figures_table, groups, html, report};
use words::{TrendWord, Words};

use crate::{measures::Faults, pictures::page};

struct Options<'a> {
    folder: PathBuf,
    out: PathBuf,
    unit: Option<&'a str>,
    lang: &'a str,
    paper: Paper,
    basis: Basis,
}

impl<'a> Options<'a> {
    fn read(options: &[&'a str]) -> Result<Self, Faults> {
        let (mut folder, mut out, mut unit, mut lang, mut paper) = (None, None, None, None, None);
        let mut basis = Basis::Amended;
        let mut rest = options.iter();
        while let Some(option) = rest.next() {
            let slot = match *option {
                "--out" => &mut out,
                "--unit" => &mut unit,
                "--lang" => &mut lang,
                "--paper" => &mut paper,
                "--as-recorded" => {
                    basis = Basis::Recorded;
                    continue;
                }
                other if other.starts_with("--") => {
                    return Err(vec![format!(
                        "option {other}, allowed: --out, --unit, --lang, --paper, --as-recorded"
                    )]);
                }
                other => {
                    if let Some(first) = folder.replace(other) {
                        return Err(vec![format!(
                            "{first} and {other}: two folders, allowed: one; put what belongs together into it"
                        )]);
                    }
                    continue;
                }
            };
            match rest.next() {
                Some(value) => *slot = Some(*value),
                None => return Err(vec![format!("{option} needs a value")]),
            }
        }
        let (Some(folder), Some(out)) = (folder, out) else {
            return Err(vec![
                "trends: a FOLDER with records and hand-ins and --out with a new folder are both needed"
                    .to_owned(),
            ]);
        };
        Ok(Self {
            folder: PathBuf::from(folder),
            out: PathBuf::from(out),
            unit,
            lang: lang.unwrap_or("en-US"),
            paper: page("pdf", paper)?,
            basis,
        })
    }
}

/// Reads a folder and writes what became of it to a new one.
pub(crate) fn trends(options: &[&str]) -> Result<String, Faults> {
    let options = Options::read(options)?;
    let words = Words::load(options.lang).map_err(|e| vec![e.to_string()])?;
    let found = tree::walk(&options.folder)?;
    let mut tables = write::Tables::new(&options.out)?;
    let how = read::How {
        now: wall_now(),
        basis: options.basis,
    };
    let mut sifted = Sifted {
        files: found.files,
        left_out: found.left_out.clone(),
        missing: found.missing.clone(),
        ..Sifted::default()
    };
    read::all(&found, &how, |outcome| {
        sifted.left_out.extend(outcome.left_out);
        sifted.copied.extend(outcome.copied);
        if let Some((seen, rows)) = outcome.kept {
            tables.take(&seen, rows)?;
            sifted.seen.push(seen);
        }
        Ok(())
    })?;
    tables.close()?;
    sifted.left_out.sort();
    sifted.copied.sort();
    sifted.missing.sort();
    if let Some(unit) = options.unit
        && !sifted
            .seen
            .iter()
            .any(|run| run.unit.as_deref() == Some(unit))
    {
        return Err(no_such_unit(unit, &options, &sifted));
    }
    let is_none = sifted.seen.is_empty() && sifted.left_out.is_empty();
    if is_none && sifted.missing.is_empty() {
        return Err(vec![format!(
            "{}: no record and no hand-in, allowed: a folder with records (ID.rec.jsonl) and hand-ins; {}",
            options.folder.display(),
            nothing_left(&options.out)
        )]);
    }
    figures(&options, &sifted, &words)?;
    Ok(said(&options.out, &sifted))
}

/// So many unit codes are named at once.
const NAMED: usize = 20;

/// No record names the unit, which shows only when all are read: the tables are taken away again, so that the same
/// command with another code finds no folder in its way.
fn no_such_unit(unit: &str, options: &Options<'_>, sifted: &Sifted) -> Faults {
    let codes: BTreeSet<&str> = sifted
        .seen
        .iter()
        .filter_map(|run| run.unit.as_deref())
        .collect();
    let more = codes.len().saturating_sub(NAMED);
    let mut named: Vec<String> = codes.into_iter().take(NAMED).map(str::to_owned).collect();
    if more > 0 {
        named.push(format!("{more} more"));
    }
    let allowed = if named.is_empty() {
        "no record there names a unit".to_owned()
    } else {
        named.join(", ")
    };
    let left = nothing_left(&options.out);
    vec![format!(
        "--unit {unit}: no record names this unit, allowed: a unit_code of the records in {}: {allowed}; {left}",
        options.folder.display()
    )]
}

/// Takes the tables away, and says whether they are.
fn nothing_left(out: &Path) -> String {
    match taken_away(out) {
        Ok(()) => "nothing was written".to_owned(),
        Err(e) => format!(
            "the tables stay in {} ({e}): delete them or choose another --out",
            out.display()
        ),
    }
}

/// Takes the tables away, and their folder if nothing else has come into it.
fn taken_away(out: &Path) -> io::Result<()> {
    for part in ["csv", "parquet"] {
        let part = out.join(part);
        if part.exists() {
            fs::remove_dir_all(part)?;
        }
    }
    fs::remove_dir(out)
}

/// The figures, the lists and the report.
fn figures(options: &Options<'_>, sifted: &Sifted, words: &Words) -> Result<(), Faults> {
    let groups = groups(&sifted.seen, options.unit);
    let report = report(sifted, &groups, options.unit, words);
    let put = |name: &str, bytes: &[u8]| put(&options.out.join(name), bytes);
    put("figures.csv", figures_table(&groups).csv().as_bytes())?;
    for table in lists(sifted) {
        put(&format!("{}.csv", table.name), table.csv().as_bytes())?;
    }
    let page = html(&report, words.lang(), &words.trend(TrendWord::AsTable));
    put("report.html", page.as_bytes())?;
    let pdf = sheet::report_pdf(&report, words, options.paper)
        .map_err(|e| vec![format!("{}: {e}", options.out.join("report.pdf").display())])?;
    put("report.pdf", &pdf)
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), Faults> {
    fs::write(path, bytes).map_err(|e| write::failed(path, &e))
}

const fn column(name: &'static str) -> Column {
    Column {
        name,
        datatype: "string",
        unit: "",
        what: "",
    }
}

/// What is in no figure, whole: the report shows the first of each.
fn lists(sifted: &Sifted) -> [Table; 3] {
    let left = sifted.left_out.iter().map(|one| {
        vec![
            one.place.clone(),
            one.why.key().to_owned(),
            one.detail.clone(),
        ]
    });
    let copied = sifted.copied.iter().map(|one| {
        vec![
            one.record_id.clone(),
            one.place.clone(),
            one.like.key().to_owned(),
            one.kept.clone(),
        ]
    });
    let missing = sifted.missing.iter().map(|one| {
        vec![
            one.name.clone(),
            one.gone.key().to_owned(),
            one.told_by.clone(),
        ]
    });
    let table = |name, columns: &[&'static str], rows: Vec<Vec<String>>| Table {
        name,
        columns: columns.iter().map(|name| column(name)).collect(),
        rows,
    };
    [
        table("left-out", &["place", "why", "detail"], left.collect()),
        table(
            "copies",
            &["run", "place", "like", "kept"],
            copied.collect(),
        ),
        table("missing", &["name", "what", "told_by"], missing.collect()),
    ]
}

/// So many of what was left out are said at once; left-out.csv has all.
const SAID: usize = 20;

fn said(out: &Path, sifted: &Sifted) -> String {
    let mut lines = Vec::new();
    if sifted.seen.is_empty() {
        lines.push("no record could be read: the report is of none".to_owned());
    }
    lines.push(format!(
        "{}: report.html, report.pdf, figures.csv, left-out.csv, copies.csv, missing.csv, csv, parquet",
        out.display()
    ));
    lines.push(format!(
        "{} files, {} records in the tables, {} left out, {} copies dropped, {} missing",
        sifted.files,
        sifted.seen.len(),
        sifted.left_out.len(),
        sifted.copied.len(),
        sifted.missing.len()
    ));
    let left = sifted.left_out.iter().take(SAID);
    lines.extend(
        left.map(|one| format!("left out: {}: {}: {}", one.place, one.why.key(), one.detail)),
    );
    let copied = sifted.copied.iter().take(SAID);
    lines.extend(copied.map(|one| {
        format!(
            "copy dropped: {}: {}, kept {}",
            one.place,
            one.like.key(),
            one.kept
        )
    }));
    let missing = sifted.missing.iter().take(SAID);
    lines.extend(missing.map(|one| {
        format!(
            "missing: {}: {}, told by {}",
            one.name,
            one.gone.key(),
            one.told_by
        )
    }));
    lines.join("\n")
}
