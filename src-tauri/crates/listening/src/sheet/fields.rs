//! The cells of a line, and what may stand in them.

use cycle::{Class, Levels, Prompt};

use super::{Level, NOTHING, read::SheetFault};
use crate::session::{Output, Way};

/// A line of the file with its cells.
pub(super) struct Cells<'a> {
    pub(super) line: usize,
    pub(super) cells: Vec<&'a str>,
}

/// The columns, by place.
#[derive(Clone, Copy)]
pub(super) enum Column {
    Sheet,
    Version,
    Pack,
    PackSha256,
    Level,
    Seed,
    Date,
    Device,
    Listener,
    Order,
    Prompt,
    Class,
    Choices,
    Answer,
    Right,
    Ms,
    VoiceDb,
    Output,
    OutputHz,
}

impl Column {
    /// Those that say the same on each line of a sheet.
    pub(super) const OF_THE_SHEET: [Self; 9] = [
        Self::Sheet,
        Self::Version,
        Self::Pack,
        Self::PackSha256,
        Self::Level,
        Self::Seed,
        Self::Date,
        Self::Device,
        Self::Listener,
    ];

    const fn place(self) -> (usize, &'static str) {
        match self {
            Self::Sheet => (0, "sheet"),
            Self::Version => (1, "version"),
            Self::Pack => (2, "pack"),
            Self::PackSha256 => (3, "pack_sha256"),
            Self::Level => (4, "level_dba"),
            Self::Seed => (5, "seed"),
            Self::Date => (6, "date"),
            Self::Device => (7, "device"),
            Self::Listener => (8, "listener"),
            Self::Order => (9, "order"),
            Self::Prompt => (10, "prompt"),
            Self::Class => (11, "class"),
            Self::Choices => (12, "choices"),
            Self::Answer => (13, "answer"),
            Self::Right => (14, "right"),
            Self::Ms => (15, "ms"),
            Self::VoiceDb => (16, "voice_db"),
            Self::Output => (17, "output"),
            Self::OutputHz => (18, "output_hz"),
        }
    }
}

type Found<T> = Result<T, SheetFault>;

impl<'a> Cells<'a> {
    pub(super) fn text(&self, column: Column) -> &'a str {
        let cell = self.cells.get(column.place().0);
        cell.copied().unwrap_or_default()
    }

    pub(super) fn fault(&self, column: Column, allowed: impl Into<String>) -> SheetFault {
        SheetFault {
            line: self.line,
            column: column.place().1,
            found: self.text(column).to_owned(),
            allowed: allowed.into(),
        }
    }

    pub(super) fn whole(&self, column: Column, most: u64) -> Found<u64> {
        let n = self.text(column).parse::<u64>().ok();
        n.filter(|n| *n <= most)
            .ok_or_else(|| self.fault(column, format!("a whole number from 0 to {most}")))
    }

    pub(super) fn named(&self, column: Column) -> Found<String> {
        let text = self.text(column);
        if text.is_empty() {
            return Err(self.fault(column, "something that names it"));
        }
        Ok(text.to_owned())
    }

    pub(super) fn level(&self) -> Found<Level> {
        let db = self.text(Column::Level).parse::<u8>().ok();
        db.and_then(Level::of)
            .ok_or_else(|| self.fault(Column::Level, "0, 6 or 12"))
    }

    pub(super) fn listener(&self) -> Found<Option<u16>> {
        let text = self.text(Column::Listener);
        if text.is_empty() {
            return Ok(None);
        }
        let n = text.parse::<u16>().map(Some);
        n.map_err(|_| {
            self.fault(
                Column::Listener,
                "nothing or a number up to 65535, never a name",
            )
        })
    }

    /// A cell that may be empty, or missing on a line from before there was one.
    fn maybe(&self, column: Column, most: u64) -> Found<Option<u64>> {
        if self.text(column).is_empty() {
            return Ok(None);
        }
        let n = self.whole(column, most).map(Some);
        n.map_err(|fault| SheetFault {
            allowed: format!("nothing, or {}", fault.allowed),
            ..fault
        })
    }

    pub(super) fn way(&self) -> Found<Way> {
        let db = self.maybe(Column::VoiceDb, u64::from(Levels::LOWEST_DB))?;
        let hz = self.maybe(Column::OutputHz, u64::from(u32::MAX))?;
        let kind = self.text(Column::Output);
        if hz.is_none() && !kind.is_empty() {
            return Err(self.fault(Column::OutputHz, "samples a second of the output"));
        }
        Ok(Way {
            voice_db: db.and_then(|db| u8::try_from(db).ok()),
            output: hz.and_then(|hz| u32::try_from(hz).ok()).map(|hz| Output {
                kind: kind.to_owned(),
                hz,
            }),
        })
    }

    pub(super) fn prompt(&self) -> Found<Prompt> {
        of_word(self.text(Column::Prompt))
            .ok_or_else(|| self.fault(Column::Prompt, "the id of a prompt, such as off10"))
    }

    pub(super) fn class_of(&self, prompt: Prompt) -> Found<()> {
        let class = match prompt.class() {
            Class::A => "A",
            Class::B => "B",
            Class::C => "C",
            Class::D => "D",
        };
        if self.text(Column::Class) == class {
            return Ok(());
        }
        let word = prompt.word();
        Err(self.fault(Column::Class, format!("{class}, which {word} is of")))
    }

    pub(super) fn choices(&self, prompt: Prompt) -> Found<Vec<Prompt>> {
        let text = self.text(Column::Choices);
        let choices: Option<Vec<Prompt>> = text.split_whitespace().map(of_word).collect();
        let choices = choices.filter(|all| all.contains(&prompt));
        let word = prompt.word();
        choices.ok_or_else(|| {
            self.fault(
                Column::Choices,
                format!("ids of prompts with blanks between, {word} among them"),
            )
        })
    }

    pub(super) fn answer(&self, choices: &[Prompt]) -> Found<Option<Prompt>> {
        let text = self.text(Column::Answer);
        if text == NOTHING {
            return Ok(None);
        }
        let answer = of_word(text).filter(|answer| choices.contains(answer));
        answer.map(Some).ok_or_else(|| {
            self.fault(
                Column::Answer,
                format!("one of the choices, or {NOTHING} where nothing was heard"),
            )
        })
    }

    pub(super) fn right(&self, is_right: bool) -> Found<()> {
        let wanted = if is_right { "1" } else { "0" };
        if self.text(Column::Right) == wanted {
            return Ok(());
        }
        Err(self.fault(
            Column::Right,
            format!("{wanted}: it follows from prompt and answer"),
        ))
    }
}

fn of_word(word: &str) -> Option<Prompt> {
    Prompt::ALL.iter().copied().find(|p| p.word() == word)
}
