//! The debrief as a PDF that can be read aloud: tagged, with a title, a language and its own font.
//!
//! What it says comes from `debrief`, its charts from `chart`, its words from `words`. The same record
//! gives the same bytes: no date, no name and no path stands in the file's own data. No clock and no file.
#![forbid(unsafe_code)]

mod content;
mod drill;
mod flow;
mod lines;
mod listed;
mod pdf;
mod report;
mod tables;
mod tags;

use std::fmt;

use debrief::{Basis, Fault};
use record::Opened;
use words::Words;

pub use drill::drill_pdf;
pub use listed::{Table, basis, fractions, tables, trust_line, verdict};
pub use report::{Block, Report, report_pdf};

/// The size of a page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    /// 210 by 297 mm.
    A4,
    /// 8.5 by 11 in.
    Letter,
}

impl Paper {
    /// Both.
    pub const ALL: [Self; 2] = [Self::A4, Self::Letter];

    /// As it is asked for.
    pub const fn word(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "letter",
        }
    }

    /// Width and height, points.
    pub(crate) const fn size(self) -> (f64, f64) {
        match self {
            Self::A4 => (595.276, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// Why there is no PDF.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SheetError {
    /// The record cannot be measured.
    Measures(Fault),
    /// The page does not keep a rule of tagged PDF, or the font cannot be used: a fault of this program.
    Page(String),
}

impl fmt::Display for SheetError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Measures(fault) => write!(f, "{fault}"),
            Self::Page(what) => write!(
                f,
                "PDF: {what}; the record is whole, export csv or strip instead and report this"
            ),
        }
    }
}

impl std::error::Error for SheetError {}

/// The debrief of a record as a PDF, tagged after PDF/UA-1.
///
/// # Errors
/// See [`SheetError`].
pub fn pdf(
    opened: &Opened,
    basis: Basis,
    words: &Words,
    paper: Paper,
) -> Result<Vec<u8>, SheetError> {
    let measures = debrief::measures(opened, basis).map_err(SheetError::Measures)?;
    let course = debrief::course(opened, basis).map_err(SheetError::Measures)?;
    let document = content::document(opened, &measures, &course, words, paper);
    pdf::written(document, words.lang(), paper)
}

// The records that the checks borrow name their definitions' version so.
#[cfg(test)]
use debrief::VERSION;

#[cfg(test)]
mod tests;
