//! The score sheet of a drill on paper, with blank lines for names: the phone keeps none.

use words::{DrillSheet, DrillWord as D, Words};

use crate::{Block, Paper, Report, SheetError, Table, report_pdf};

/// So many people sign.
const NAMES: usize = 8;
/// What is written over by hand.
const BLANK: &str = "______________________________";
const SHORT: &str = "____________";

/// A drill's score sheet with lines to sign on, as a PDF, tagged after PDF/UA-1. `foot` stands on every page.
///
/// # Errors
/// See [`SheetError::Page`].
pub fn drill_pdf(
    drill: &DrillSheet,
    foot: &str,
    words: &Words,
    paper: Paper,
) -> Result<Vec<u8>, SheetError> {
    let word = |word| words.drill(word, &[]);
    let table = |table: &words::Table| {
        Block::Table(Table {
            title: String::new(),
            columns: table.columns.clone(),
            rows: table.rows.clone(),
            none: table.none.clone().unwrap_or_default(),
        })
    };
    let paragraphs =
        |lines: &[String]| -> Vec<Block> { lines.iter().cloned().map(Block::Paragraph).collect() };
    let mut blocks = vec![Block::Paragraph(drill.notice.clone())];
    blocks.extend(paragraphs(&drill.lines));
    blocks.push(Block::Heading(drill.marks.title.clone()));
    blocks.push(table(&drill.marks));
    blocks.push(Block::Heading(drill.measures.title.clone()));
    blocks.push(table(&drill.measures));
    blocks.extend(paragraphs(&drill.yardsticks));
    blocks.extend(paragraphs(&drill.notes));
    blocks.push(Block::Heading(word(D::SignTitle)));
    blocks.push(Block::Paragraph(word(D::SignNote)));
    let names = Table {
        title: String::new(),
        columns: vec![word(D::SignName), word(D::SignDate)],
        rows: vec![vec![BLANK.to_owned(), SHORT.to_owned()]; NAMES],
        none: String::new(),
    };
    blocks.push(Block::Table(names));
    let report = Report {
        title: drill.title.clone(),
        blocks,
        foot: foot.to_owned(),
    };
    report_pdf(&report, words, paper)
}
