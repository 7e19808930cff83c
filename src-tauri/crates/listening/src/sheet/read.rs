use std::fmt;

use super::{
    HEADER, HEADER_BEFORE, Row, Sheet,
    fields::{Cells, Column},
};
use crate::{draw::PROMPTS, session::Facts};

/// What is wrong with a file of sheets.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetFault {
    /// The line, from 1.
    pub line: usize,
    /// The column's name, or what else the line is held against.
    pub column: &'static str,
    /// What was found.
    pub found: String,
    /// What is allowed.
    pub allowed: String,
}

impl fmt::Display for SheetFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            line,
            column,
            found,
            allowed,
        } = self;
        write!(
            f,
            "line {line}, {column}: {found:?}, allowed: {allowed}; export the sheet again, or leave it out"
        )
    }
}

impl std::error::Error for SheetFault {}

/// How many cells a line has under this one, if it is a first line of ours.
fn columns_under(line: &str) -> Option<usize> {
    [HEADER, HEADER_BEFORE]
        .contains(&line)
        .then(|| line.split(',').count())
}

/// The sheets of a file: one, or several one after the other, each with the header or without. A mark of its
/// encoding at the beginning of any of them is no part of it.
///
/// # Errors
/// Every fault of the file.
pub fn read(text: &str) -> Result<Vec<Sheet>, Vec<SheetFault>> {
    let mut lines = text
        .lines()
        .enumerate()
        .map(|(n, line)| (n.saturating_add(1), line.trim_start_matches('\u{feff}')))
        .filter(|(_, line)| !line.trim().is_empty());
    let (first, found) = lines.next().unwrap_or((1, ""));
    let Some(mut columns) = columns_under(found) else {
        return Err(vec![SheetFault {
            line: first,
            column: "header",
            found: found.to_owned(),
            allowed: format!("{HEADER}, commas between"),
        }]);
    };
    let (mut sheets, mut faults) = (Vec::<Growing>::new(), Vec::new());
    for (line, text) in lines {
        if let Some(other) = columns_under(text) {
            columns = other;
            continue;
        }
        let cells = Cells {
            line,
            cells: text.split(',').collect(),
        };
        match row(&cells, columns) {
            Ok((sheet, order, row)) => {
                faults.extend(take(&mut sheets, &cells, sheet, order, row));
            }
            Err(more) => faults.extend(more),
        }
    }
    // A line that could not be read is missing from its sheet: that is said already.
    if faults.is_empty() {
        faults.extend(sheets.iter().filter_map(Growing::unwhole));
    }
    if faults.is_empty() && sheets.is_empty() {
        faults.push(SheetFault {
            line: 2,
            column: "order",
            found: String::new(),
            allowed: format!("{PROMPTS} lines for each sheet"),
        });
    }
    if faults.is_empty() {
        return Ok(sheets.into_iter().map(|growing| growing.sheet).collect());
    }
    Err(faults)
}

struct Growing {
    sheet: Sheet,
    /// The cells of its first line, which the others repeat.
    like: Vec<String>,
    last_line: usize,
}

impl Growing {
    fn unwhole(&self) -> Option<SheetFault> {
        (!self.sheet.is_whole()).then(|| SheetFault {
            line: self.last_line,
            column: "order",
            found: format!("the last of {}", self.sheet.rows.len()),
            allowed: format!("{PROMPTS} lines for each sheet"),
        })
    }
}

/// Puts a line where it belongs.
fn take(
    sheets: &mut Vec<Growing>,
    cells: &Cells<'_>,
    sheet: Sheet,
    order: u64,
    row: Row,
) -> Vec<SheetFault> {
    let is_next = |growing: &Growing| growing.sheet.facts.sheet == sheet.facts.sheet;
    let like: Vec<String> = Column::OF_THE_SHEET
        .iter()
        .map(|column| cells.text(*column).to_owned())
        .collect();
    if !sheets.last().is_some_and(is_next) {
        if sheets.iter().any(is_next) {
            let allowed = "each sheet once, its lines together";
            return vec![cells.fault(Column::Sheet, allowed)];
        }
        sheets.push(Growing {
            sheet,
            like: like.clone(),
            last_line: cells.line,
        });
    }
    let Some(growing) = sheets.last_mut() else {
        return Vec::new();
    };
    growing.last_line = cells.line;
    let mut faults: Vec<SheetFault> = Column::OF_THE_SHEET
        .iter()
        .zip(like.iter().zip(&growing.like))
        .filter(|(_, (found, first))| found != first)
        .map(|(column, (_, first))| {
            cells.fault(*column, format!("{first}, as on the sheet's first line"))
        })
        .collect();
    let next = growing.sheet.rows.len().saturating_add(1);
    if u64::try_from(next).ok() != Some(order) || next > PROMPTS {
        faults.push(cells.fault(
            Column::Order,
            format!("1 to {PROMPTS}, one after the other"),
        ));
    }
    if growing
        .sheet
        .rows
        .iter()
        .any(|known| known.prompt == row.prompt)
    {
        faults.push(cells.fault(Column::Prompt, "each prompt once"));
    }
    growing.sheet.rows.push(row);
    faults
}

fn row(cells: &Cells<'_>, columns: usize) -> Result<(Sheet, u64, Row), Vec<SheetFault>> {
    if cells.cells.len() != columns {
        return Err(vec![SheetFault {
            line: cells.line,
            column: "cells",
            found: cells.cells.len().to_string(),
            allowed: format!("{columns}, commas between"),
        }]);
    }
    let mut faults = Vec::new();
    let facts = Facts {
        sheet: or(cells.named(Column::Sheet), &mut faults),
        version: or(cells.named(Column::Version), &mut faults),
        pack: or(cells.named(Column::Pack), &mut faults),
        pack_sha256: or(cells.named(Column::PackSha256), &mut faults),
        date: or(cells.named(Column::Date), &mut faults),
        device: or(cells.named(Column::Device), &mut faults),
    };
    let level = kept(cells.level(), &mut faults);
    let seed = or(cells.whole(Column::Seed, u64::from(u32::MAX)), &mut faults);
    let listener = or(cells.listener(), &mut faults);
    let order = or(cells.whole(Column::Order, 12), &mut faults);
    let ms = or(cells.whole(Column::Ms, u64::MAX), &mut faults);
    let way = or(cells.way(), &mut faults);
    let prompt = kept(cells.prompt(), &mut faults);
    // What is held against the prompt waits for one.
    let said = prompt.and_then(|prompt| {
        kept(cells.class_of(prompt), &mut faults);
        let choices = kept(cells.choices(prompt), &mut faults)?;
        let answer = kept(cells.answer(&choices), &mut faults)?;
        kept(cells.right(answer == Some(prompt)), &mut faults);
        Some((prompt, choices, answer))
    });
    match (said, level) {
        (Some((prompt, choices, answer)), Some(level)) if faults.is_empty() => {
            let sheet = Sheet {
                facts,
                level,
                listener,
                seed: u32::try_from(seed).unwrap_or(0),
                rows: Vec::new(),
            };
            let row = Row {
                prompt,
                choices,
                answer,
                ms,
                way,
            };
            Ok((sheet, order, row))
        }
        _ => Err(faults),
    }
}

fn kept<T>(found: Result<T, SheetFault>, faults: &mut Vec<SheetFault>) -> Option<T> {
    found.map_err(|fault| faults.push(fault)).ok()
}

fn or<T: Default>(found: Result<T, SheetFault>, faults: &mut Vec<SheetFault>) -> T {
    kept(found, faults).unwrap_or_default()
}
