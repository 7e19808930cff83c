//! What a field of a protocol may hold: said in the faults, and what a form of it is made of.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

/// The longest line of the service's own, in characters.
pub(super) const LINE: usize = 80;
/// The longest key, in characters.
pub(super) const KEY: usize = 24;
/// The longest source, in characters.
pub(super) const SOURCE: usize = 300;

/// What a field may hold.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Rule {
    /// One value alone, told in words.
    Only(&'static str),
    /// A whole number.
    Whole(Whole),
    /// One of a few numbers.
    OneOf(Vec<u8>),
    /// True or false.
    Yes,
    /// One word of a list.
    Word(Vec<&'static str>),
    /// Words of a list, each once.
    Words(Vec<&'static str>),
    /// A text in one line.
    Text,
    /// A key in the record.
    Key,
    /// Lines of the service's own, so many at least and at most.
    Lines(usize, usize),
    /// Seconds out of a few, rising.
    Rising(Vec<u8>),
    /// One to six numbers from 1 up to this one, rising.
    RisingTo(u8),
    /// Keys of the service's own, each with words.
    Parts,
    /// Where a value comes from.
    Source,
    /// Tables with fields of their own.
    Rows,
}

/// A range of whole numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Whole {
    /// The least.
    pub low: i64,
    /// The greatest.
    pub high: i64,
    /// What is counted.
    pub unit: &'static str,
    /// 0 stands for "not at all", wherever the range begins.
    pub or_none: bool,
}

impl Rule {
    /// The rule as the faults tell it; empty where there is nothing to tell.
    pub fn allowed(&self) -> String {
        match self {
            Self::Only(what) => (*what).to_string(),
            Self::Whole(whole) => whole.allowed(),
            Self::OneOf(few) => format!("one of {}", joined(few)),
            Self::Yes => "true or false".to_string(),
            Self::Word(words) => format!("one of {}", words.join(", ")),
            Self::Words(words) => format!("a list, each once, out of {}", words.join(", ")),
            Self::Text => format!("a text of 1 to {LINE} characters in one line"),
            Self::Key => format!("1 to {KEY} characters out of a-z and _"),
            Self::Lines(least, most) => {
                format!("a list of {least} to {most} lines of 1 to {LINE} characters")
            }
            Self::Rising(few) => format!("a rising list out of {} s", joined(few)),
            Self::RisingTo(high) => format!("a rising list of 1 to 6 numbers, 1 to {high}"),
            Self::Parts => format!(
                "a table of 0 to 12 parts: a key of 1 to {KEY} characters out of a-z and _, = a text of 1 to {LINE} characters"
            ),
            Self::Source => format!(
                "a source beside each value, such as a guideline with its year, or \"common practice, no source\"; 1 to {SOURCE} characters"
            ),
            Self::Rows => String::new(),
        }
    }

    /// A number that the file itself may hold to a narrower range.
    pub const fn has_range(&self) -> bool {
        matches!(self, Self::Whole(_))
    }
}

impl Whole {
    fn allowed(self) -> String {
        let Self {
            low, high, unit, ..
        } = self;
        let none = if self.or_none { "0, or " } else { "" };
        let only = format!("{none}a whole number {low} to {high} {unit}");
        only.trim_end().to_string()
    }

    pub(super) fn has(self, n: i64) -> bool {
        (self.low..=self.high).contains(&n) || (self.or_none && n == 0)
    }
}

fn joined(few: &[u8]) -> String {
    let words: Vec<_> = few.iter().map(u8::to_string).collect();
    words.join(", ")
}
