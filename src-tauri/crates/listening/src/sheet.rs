use std::{fmt, fmt::Write as _};

use cycle::Prompt;

use crate::{
    draw::PROMPTS,
    session::{Facts, Way},
};

mod fields;
mod read;

pub use read::{SheetFault, read};

/// How far the prompt stands over the noise, dB(A).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Level(u8);

impl Level {
    /// All that can be chosen.
    pub const ALL: &[Self] = &[Self(0), Self(6), Self(12)];

    /// The level of so many dB(A), if it can be chosen.
    pub fn of(db: u8) -> Option<Self> {
        Self::ALL.iter().copied().find(|level| level.0 == db)
    }

    /// In dB(A).
    pub const fn db(self) -> u8 {
        self.0
    }
}

/// One prompt and what it was taken for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// What was heard.
    pub prompt: Prompt,
    /// The answers that stood under it.
    pub choices: Vec<Prompt>,
    /// The one that was given; `None`: nothing was heard.
    pub answer: Option<Prompt>,
    /// From the end of its words to the answer, by the device's sound.
    pub ms: u64,
    /// How it was sounded.
    pub way: Way,
}

impl Row {
    /// It was taken for what it was.
    pub fn is_right(&self) -> bool {
        self.answer == Some(self.prompt)
    }
}

/// A listener's score sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// What is known before the test.
    pub facts: Facts,
    /// Over the noise.
    pub level: Level,
    /// The listener's number, if one was given.
    pub listener: Option<u16>,
    /// What the test was drawn from.
    pub seed: u32,
    /// In the order in which they were heard.
    pub rows: Vec<Row>,
}

/// The first line of a sheet's file.
pub const HEADER: &str = "sheet,version,pack,pack_sha256,level_dba,seed,date,device,listener,order,prompt,class,choices,answer,right,ms,voice_db,output,output_hz";
/// The first line from before it was kept how a prompt was sounded.
const HEADER_BEFORE: &str = "sheet,version,pack,pack_sha256,level_dba,seed,date,device,listener,order,prompt,class,choices,answer,right,ms";

/// Where nothing was heard.
const NOTHING: &str = "none";

impl Sheet {
    /// As a table: a line for each prompt.
    pub fn csv(&self) -> String {
        let mut text = format!("{HEADER}\n");
        for (n, row) in self.rows.iter().enumerate() {
            // Writing to a String cannot fail.
            write!(text, "{}", Line(self, n.saturating_add(1), row)).unwrap_or_default();
        }
        text
    }

    /// Each prompt was answered.
    pub fn is_whole(&self) -> bool {
        self.rows.len() == PROMPTS
    }
}

struct Line<'a>(&'a Sheet, usize, &'a Row);

impl fmt::Display for Line<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self(sheet, order, row) = self;
        let facts = &sheet.facts;
        let choices: Vec<&str> = row.choices.iter().map(|p| p.word()).collect();
        let number = |n: Option<u32>| n.map(|n| n.to_string()).unwrap_or_default();
        let output = row.way.output.as_ref();
        writeln!(
            f,
            "{},{},{},{},{},{},{},{},{},{order},{},{:?},{},{},{},{},{},{},{}",
            plain(&facts.sheet),
            plain(&facts.version),
            plain(&facts.pack),
            plain(&facts.pack_sha256),
            sheet.level.db(),
            sheet.seed,
            plain(&facts.date),
            plain(&facts.device),
            number(sheet.listener.map(u32::from)),
            row.prompt.word(),
            row.prompt.class(),
            choices.join(" "),
            row.answer.map_or(NOTHING, Prompt::word),
            u8::from(row.is_right()),
            row.ms,
            number(row.way.voice_db.map(u32::from)),
            plain(output.map_or("", |output| output.kind.as_str())),
            number(output.map(|output| output.hz)),
        )
    }
}

/// A table's cell needs no quotes: what would break it is written as a blank.
fn plain(text: &str) -> String {
    text.replace(
        |c: char| matches!(c, ',' | '"' | ';') || c.is_control(),
        " ",
    )
}

#[cfg(test)]
pub(crate) mod tests;
