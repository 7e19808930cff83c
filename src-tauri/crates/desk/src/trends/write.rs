//! The tables as they grow: CSV by kind, Parquet by kind and year.

use std::{
    collections::{BTreeMap, btree_map::Entry},
    fs::{self, File},
    io::{BufWriter, Write as _},
    path::{Path, PathBuf},
};

use debrief::{Table, about};
use trends::Seen;

use crate::{measures::Faults, parquet::Part};

/// What cannot be written, where, and what helps.
pub(crate) fn failed(path: &Path, e: &dyn std::fmt::Display) -> Faults {
    vec![format!(
        "--out {}: {e}; allowed: a folder that is not there yet, on a disk with room",
        path.display()
    )]
}

/// A table of one kind as CSV.
struct Lines {
    path: PathBuf,
    file: BufWriter<File>,
}

/// A table of one kind and year as Parquet.
struct Grown {
    path: PathBuf,
    part: Part<BufWriter<File>>,
    rows: Vec<Vec<String>>,
}

/// Every table that is written.
pub(crate) struct Tables {
    out: PathBuf,
    lines: BTreeMap<(&'static str, &'static str), Lines>,
    grown: BTreeMap<(&'static str, i32, &'static str), Grown>,
    /// Cells in memory.
    cells: usize,
}

/// Rows of a group at most: what a reader takes at once.
const GROUP: usize = 8192;
/// Cells in memory at most, over all tables: some 60 MB.
const CELLS: usize = 1_000_000;

impl Tables {
    /// A new folder for them. One that is there already is left alone.
    pub(crate) fn new(out: &Path) -> Result<Self, Faults> {
        fs::create_dir(out).map_err(|e| failed(out, &e))?;
        Ok(Self {
            out: out.to_owned(),
            lines: BTreeMap::new(),
            grown: BTreeMap::new(),
            cells: 0,
        })
    }

    /// Adds a run's rows.
    pub(crate) fn take(&mut self, seen: &Seen, tables: Vec<Table>) -> Result<(), Faults> {
        let kind = seen.kind.word();
        if !self.lines.keys().any(|(known, _)| *known == kind) {
            self.begin(kind, &tables)?;
        }
        for table in tables {
            if let Some(lines) = self.lines.get_mut(&(kind, table.name)) {
                let text = table.csv_rows();
                let written = lines.file.write_all(text.as_bytes());
                written.map_err(|e| failed(&lines.path, &e))?;
            }
            if !table.rows.is_empty() {
                self.grow(kind, seen.year, table)?;
            }
        }
        if self.cells > CELLS {
            for grown in self.grown.values_mut() {
                flush(grown)?;
            }
            self.cells = 0;
        }
        Ok(())
    }

    /// The CSV files of a kind, with what their columns are.
    fn begin(&mut self, kind: &'static str, tables: &[Table]) -> Result<(), Faults> {
        let folder = self.out.join("csv").join(kind);
        fs::create_dir_all(&folder).map_err(|e| failed(&folder, &e))?;
        let path = folder.join("metadata.json");
        let text = about(tables, "Measures of many runs");
        fs::write(&path, text).map_err(|e| failed(&path, &e))?;
        for table in tables {
            let path = folder.join(format!("{}.csv", table.name));
            let opened = File::create_new(&path).and_then(|file| {
                let mut file = BufWriter::new(file);
                file.write_all(table.csv_names().as_bytes())?;
                Ok(file)
            });
            let file = opened.map_err(|e| failed(&path, &e))?;
            self.lines.insert((kind, table.name), Lines { path, file });
        }
        Ok(())
    }

    fn grow(&mut self, kind: &'static str, year: i32, table: Table) -> Result<(), Faults> {
        let grown = match self.grown.entry((kind, year, table.name)) {
            Entry::Occupied(known) => known.into_mut(),
            Entry::Vacant(new) => {
                let folder = self.out.join("parquet").join(table.name);
                let folder = folder
                    .join(format!("kind={kind}"))
                    .join(format!("year={year:04}"));
                fs::create_dir_all(&folder).map_err(|e| failed(&folder, &e))?;
                let path = folder.join("part-0.parquet");
                let file = File::create_new(&path).map_err(|e| failed(&path, &e))?;
                let file = BufWriter::new(file);
                // What the folder's name says stands in no column besides.
                let part = Part::new(file, table.name, &table.columns, &["kind"])
                    .map_err(|e| failed(&path, &e))?;
                new.insert(Grown {
                    path,
                    part,
                    rows: Vec::new(),
                })
            }
        };
        let cells = table.rows.len().saturating_mul(table.columns.len());
        self.cells = self.cells.saturating_add(cells);
        grown.rows.extend(table.rows);
        if grown.rows.len() >= GROUP {
            let cells = grown.rows.len().saturating_mul(table.columns.len());
            self.cells = self.cells.saturating_sub(cells);
            flush(grown)?;
        }
        Ok(())
    }

    /// Ends every file.
    pub(crate) fn close(self) -> Result<(), Faults> {
        for mut lines in self.lines.into_values() {
            lines.file.flush().map_err(|e| failed(&lines.path, &e))?;
        }
        for mut grown in self.grown.into_values() {
            flush(&mut grown)?;
            let path = grown.path;
            grown.part.close().map_err(|e| failed(&path, &e))?;
        }
        Ok(())
    }
}

fn flush(grown: &mut Grown) -> Result<(), Faults> {
    if grown.rows.is_empty() {
        return Ok(());
    }
    let added = grown.part.add(&grown.rows);
    grown.rows.clear();
    added.map_err(|e| failed(&grown.path, &e))
}
