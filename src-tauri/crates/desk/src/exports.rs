//! `carrybeat export`: what leaves the house. Nothing that is there is written over.

use std::{
    fs,
    io::Write as _,
    path::{Path, PathBuf},
};

use conduct::clock::wall_now;
use debrief::{Basis, Form, measures, sheets, tables};
use exports::{FHIR_NOTICE, ProcedureCodes, carry_files, carry_over, fhir, nemsis};
use record::Opened;
use sheet::Paper;
use words::Words;

use crate::{
    measures::{Faults, damage, read},
    parquet,
    pictures::{drawn, page, picture, strip},
};

const WHAT: &str = "carry-over, csv, deidentified, fhir, nemsis, parquet, pdf, picture, raw, strip";
/// The exports that have codes of procedures.
const CODED: [&str; 3] = ["carry-over", "fhir", "nemsis"];

struct Options<'a> {
    to: &'a str,
    out: PathBuf,
    basis: Basis,
    codes: Option<&'a str>,
    paper: Option<&'a str>,
}

impl<'a> Options<'a> {
    fn read(options: &[&'a str]) -> Result<Self, Faults> {
        let (mut to, mut out, mut codes, mut paper) = (None, None, None, None);
        let mut basis = Basis::Amended;
        let mut rest = options.iter();
        while let Some(option) = rest.next() {
            let slot = match *option {
                "--to" => &mut to,
                "--out" => &mut out,
                "--procedure-codes" => &mut codes,
                "--paper" => &mut paper,
                "--as-recorded" => {
                    basis = Basis::Recorded;
                    continue;
                }
                other => {
                    return Err(vec![format!(
                        "option {other}, allowed: --to, --out, --as-recorded, --procedure-codes, --paper"
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
        if !WHAT.split(", ").any(|known| known == to) {
            return Err(vec![format!("--to {to}, allowed: {WHAT}")]);
        }
        if codes.is_some() && !CODED.contains(&to) {
            return Err(vec![format!(
                "--procedure-codes with --to {to}, allowed: with {}",
                CODED.join(", ")
            )]);
        }
        Ok(Self {
            to,
            out: PathBuf::from(out),
            basis,
            codes,
            paper,
        })
    }

    fn own_codes(&self) -> Result<ProcedureCodes, Faults> {
        let Some(path) = self.codes else {
            return Ok(ProcedureCodes::default());
        };
        let text = fs::read_to_string(path).map_err(|e| {
            vec![format!(
                "--procedure-codes {path}: {e}; allowed: a text file with lines such as access_iv,CODE"
            )]
        })?;
        ProcedureCodes::parse(&text).map_err(|faults| {
            let named = faults.into_iter().map(|fault| format!("{path}: {fault}"));
            named.collect()
        })
    }
}

/// Writes what was asked for to a new place.
pub(crate) fn export(record: &str, options: &[&str]) -> Result<String, Faults> {
    let options = Options::read(options)?;
    let own = options.own_codes()?;
    let paper = page(options.to, options.paper)?;
    let (bytes, opened) = read(record)?;
    let said = written(record, &options, (&own, paper), (&bytes, &opened))?;
    Ok(format!("{said}\n{}", damage(&opened)))
}

/// Writes it, and says where.
fn written(
    record: &str,
    options: &Options<'_>,
    (own, paper): (&ProcedureCodes, Paper),
    (bytes, opened): (&[u8], &Opened),
) -> Result<String, Faults> {
    let named = |e: debrief::Fault| vec![format!("{record}: {e}")];
    let words = || Words::load("en-US").map_err(|e| vec![e.to_string()]);
    let (out, basis) = (&options.out, options.basis);
    let measured = || measures(opened, basis).map_err(named);
    match options.to {
        "csv" => folder(out, &texts(tables(opened, &measured()?, &Form::Own))),
        "deidentified" => {
            let form = Form::Deidentified { id: new_id() };
            folder(out, &texts(tables(opened, &measured()?, &form)))
        }
        "parquet" => {
            let mut files = Vec::new();
            for table in sheets(opened, &measured()?, &Form::Own) {
                let written = parquet::written(&table)
                    .map_err(|e| vec![format!("{record}: table {}: {e}", table.name)])?;
                files.push((format!("{}.parquet", table.name), written));
            }
            folder(out, &files)
        }
        "carry-over" => {
            let carried = carry_over(opened, basis, &words()?, own).map_err(named)?;
            let files = carry_files(&carried, &record::fingerprint(opened).to_string());
            folder(out, &texts(files))
        }
        "fhir" => {
            let now = wall_now();
            let made = fhir(opened, basis, &words()?, own, (now, &mut new_id)).map_err(named)?;
            let files = vec![
                ("bundle.json".to_owned(), format!("{made:#}\n")),
                ("NOTICE.txt".to_owned(), FHIR_NOTICE.to_owned()),
            ];
            folder(out, &texts(files))
        }
        "nemsis" => {
            let text = nemsis(opened, basis, own).map_err(named)?;
            new_file(out, text.as_bytes())?;
            Ok(out.display().to_string())
        }
        "strip" => {
            let drawn = drawn(record, opened, basis)?;
            folder(out, &texts(strip(&drawn, &words()?)))
        }
        "picture" => {
            let drawn = drawn(record, opened, basis)?;
            new_file(out, picture(&drawn, &words()?).as_bytes())?;
            Ok(format!("{}: the strip", out.display()))
        }
        "pdf" => {
            let written = sheet::pdf(opened, basis, &words()?, paper)
                .map_err(|e| vec![format!("{record}: {e}")])?;
            new_file(out, &written)?;
            Ok(format!("{}: the debrief", out.display()))
        }
        _ => {
            new_file(out, bytes)?;
            Ok(format!(
                "{}: the record itself, fingerprint {}",
                out.display(),
                record::fingerprint(opened)
            ))
        }
    }
}

fn new_id() -> String {
    uuid::Uuid::new_v4().to_string()
}

fn texts(files: Vec<(String, String)>) -> Vec<(String, Vec<u8>)> {
    let files = files.into_iter();
    files
        .map(|(name, text)| (name, text.into_bytes()))
        .collect()
}

/// A new folder with these files. One that is there already is left alone.
fn folder(out: &Path, files: &[(String, Vec<u8>)]) -> Result<String, Faults> {
    fs::create_dir(out).map_err(|e| {
        vec![format!(
            "--out {}: {e}; allowed: a folder that is not there yet, in one that is",
            out.display()
        )]
    })?;
    for (name, bytes) in files {
        new_file(&out.join(name), bytes)?;
    }
    let names: Vec<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
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
