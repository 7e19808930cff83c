//! The page's tables and lines by themselves, for a screen.

use cycle::Ms;
use debrief::{Course, Measures, Taken};
use record::Opened;
use words::{SheetWord as W, Words};

use crate::{
    content,
    flow::Grid,
    tables::{Say, all},
};

/// A table in words.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// What it is of.
    pub title: String,
    /// What is said where it has no row.
    pub none: String,
    /// Names of the columns.
    pub columns: Vec<String>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
}

fn say<'a>(words: &'a Words, m: &Measures) -> Say<'a> {
    Say {
        words,
        zero: m.windows.recognition.map_or(Ms::ZERO, |w| w.from_ms),
    }
}

fn table(title: String, none: String, grid: Grid) -> Table {
    Table {
        title,
        none,
        columns: grid.columns,
        rows: grid.rows,
    }
}

/// Pauses, shocks, checks, drugs, fittings, cup checks, power swaps.
pub fn tables(words: &Words, m: &Measures, course: &Course) -> Vec<Table> {
    let listed = all(&say(words, m), m, course).into_iter();
    listed
        .map(|one| table(words.sheet(one.name), words.sheet(one.empty), one.grid))
        .collect()
}

/// The measures, each with its window.
pub fn fractions(words: &Words, m: &Measures) -> Table {
    table(
        words.sheet(W::FractionsHead),
        words.sheet(W::NoWindow),
        content::fractions(m, &say(words, m)),
    )
}

/// How far the marks go: it stands beside every fraction.
pub fn trust_line(words: &Words, m: &Measures) -> String {
    content::trust_line(m, &say(words, m)).unwrap_or_else(|| words.sheet(W::NoWindow))
}

/// Whether the file is whole, and which seal is its last.
pub fn verdict(opened: &Opened, words: &Words) -> String {
    content::verdict(opened, words)
}

/// As recorded, or as amended and by which revision.
pub fn basis(words: &Words, taken: Taken) -> String {
    content::basis(taken, words)
}
