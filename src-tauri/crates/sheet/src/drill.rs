//! The score sheet of a drill on paper, with blank lines for names: the phone keeps none.

use words::{DrillSheet, DrillWord as D, Words};

use crate::{
    Block, Paper, SheetError, Table,
    flow::{Document, Flow, Grid},
    pdf,
    report::{finished, put},
};

/// So many people can sign: as many as the page has room for, but never fewer than a crew of four.
const NAMES: (u32, u32) = (4, 8);
/// What is written over by hand.
const BLANK: &str = "______________________________";
const SHORT: &str = "____________";

/// A drill's score sheet with lines to sign on, as a PDF, tagged after PDF/UA-1. `held` says when it was and of which
/// crew ([`Words::drill_held`]); `foot` stands on every page.
///
/// # Errors
/// See [`SheetError::Page`].
pub fn drill_pdf(
    drill: &DrillSheet,
    held: &str,
    foot: &str,
    words: &Words,
    paper: Paper,
) -> Result<Vec<u8>, SheetError> {
    pdf::written(
        document(drill, held, foot, words, paper),
        words.lang(),
        paper,
    )
}

pub(crate) fn document(
    drill: &DrillSheet,
    held: &str,
    foot: &str,
    words: &Words,
    paper: Paper,
) -> Document {
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
    let mut blocks = vec![
        Block::Paragraph(held.to_owned()),
        Block::Paragraph(drill.notice.clone()),
    ];
    blocks.extend(paragraphs(&drill.lines));
    blocks.push(Block::Heading(drill.marks.title.clone()));
    blocks.push(table(&drill.marks));
    blocks.push(Block::Heading(drill.measures.title.clone()));
    blocks.push(table(&drill.measures));
    blocks.extend(paragraphs(&drill.yardsticks));
    blocks.extend(paragraphs(&drill.notes));
    let mut flow = Flow::new(paper);
    flow.title(&drill.title);
    for block in &blocks {
        put(&mut flow, block);
    }
    let blank = Grid {
        columns: vec![word(D::SignName), word(D::SignDate)],
        rows: vec![vec![BLANK.to_owned(), SHORT.to_owned()]],
    };
    flow.blanks(&word(D::SignTitle), &word(D::SignNote), &blank, NAMES);
    finished(flow, &drill.title, foot, words)
}
