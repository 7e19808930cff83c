//! A page of headings, paragraphs, tables and charts that is no run's debrief.

use chart::Scene;
use words::{SheetWord as W, Words};

use crate::{
    Paper, SheetError, Table,
    flow::{Document, Flow, Grid, MM},
    pdf,
};

/// One part of a report.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Paragraph(String),
    /// A table; its title is a line over it. Without a row it is what is said in its place.
    Table(Table),
    /// A chart, drawn in millimetres, and the same as a table, which the printed page leaves out.
    Chart(Scene, Table),
}

/// A report.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// Its title.
    pub title: String,
    /// Its parts in order.
    pub blocks: Vec<Block>,
    /// What stands on every page's foot.
    pub foot: String,
}

/// What a heading stays with, points.
const WITH: f64 = 120.0;

/// The report as a PDF, tagged after PDF/UA-1.
///
/// # Errors
/// See [`SheetError::Page`].
pub fn report_pdf(report: &Report, words: &Words, paper: Paper) -> Result<Vec<u8>, SheetError> {
    let mut flow = Flow::new(paper);
    flow.title(&report.title);
    for block in &report.blocks {
        put(&mut flow, block);
    }
    let document = finished(flow, &report.title, &report.foot, words);
    pdf::written(document, words.lang(), paper)
}

pub(crate) fn put(flow: &mut Flow, block: &Block) {
    match block {
        Block::Heading(text) => flow.heading(text, WITH),
        Block::Paragraph(text) => flow.paragraph(text),
        Block::Table(table) => {
            if !table.title.is_empty() {
                flow.paragraph(&table.title);
            }
            if table.rows.is_empty() {
                flow.paragraph(&table.none);
            } else {
                flow.table(&Grid {
                    columns: table.columns.clone(),
                    rows: table.rows.clone(),
                });
            }
        }
        Block::Chart(scene, _) => flow.chart(scene.clone(), MM),
    }
}

/// The pages with their feet.
pub(crate) fn finished(flow: Flow, title: &str, foot: &str, words: &Words) -> Document {
    flow.finish(title.to_owned(), |page, of| {
        let page = words.sheet_with(W::PageOf, &[&page.to_string(), &of.to_string()]);
        [foot.to_owned(), page]
    })
}
