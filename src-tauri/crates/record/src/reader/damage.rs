//! What can be wrong with a file, in words.

use std::fmt;

use cycle::Seq;

use crate::{
    chain::Digest,
    header::{HeaderError, Schema},
};

/// Why a file cannot be read at all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OpenError {
    /// There is nothing in it.
    Empty,
    /// It is not a record.
    Foreign {
        /// What its first line is.
        what: String,
    },
    /// It is a record, but its first line is damaged.
    Header(HeaderError),
    /// It is a record of another major version.
    Version {
        /// Its version.
        found: Schema,
        /// The version that can be read.
        known: Schema,
    },
}

impl fmt::Display for OpenError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => f.write_str("the file is empty; a record begins with a header line"),
            Self::Foreign { what } => write!(f, "this is not a record: {what}"),
            Self::Header(e) => write!(f, "the record's first line is damaged: {e}"),
            Self::Version { found, known } if found.major > known.major => write!(
                f,
                "the record is {found}, written by a newer app; this app reads record/{}.x: use \
                 the newer app",
                known.major
            ),
            Self::Version { found, known } => write!(
                f,
                "the record is {found}; this app reads record/{}.x only",
                known.major
            ),
        }
    }
}

impl std::error::Error for OpenError {}

/// Something wrong in a file that can still be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Damage {
    /// The line of the file, from 0.
    pub line: usize,
    /// What is wrong.
    pub what: DamageKind,
}

/// What can be wrong with a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DamageKind {
    /// Half written when the app was killed, and accounted for by the line after it. Not a sign of
    /// a change.
    Torn {
        /// Its bytes.
        bytes: usize,
    },
    /// The file ends within a line. Not a sign of a change.
    Unfinished {
        /// The bytes after the last line feed.
        bytes: usize,
    },
    /// It cannot be read.
    Unreadable {
        /// Why.
        why: String,
    },
    /// It does not name the line before it: this line or the one before was changed, or lines
    /// are missing between them.
    Chain {
        /// What it names.
        found: Digest,
        /// What it would have to name.
        allowed: Digest,
    },
    /// Its number is not the next one.
    Seq {
        /// Its number.
        found: Seq,
        /// The next one.
        allowed: Seq,
    },
    /// It can be read but says something impossible.
    Content {
        /// What.
        why: String,
    },
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: ", self.line)?;
        match &self.what {
            DamageKind::Torn { bytes } => {
                write!(
                    f,
                    "half written when the app was killed, {bytes} bytes lost"
                )
            }
            DamageKind::Unfinished { bytes } => {
                write!(f, "the file ends within a line, after {bytes} bytes of it")
            }
            DamageKind::Unreadable { why } => write!(f, "cannot be read: {why}"),
            DamageKind::Chain { found, allowed } => write!(
                f,
                "names {found} as the line before it, which is {allowed}: changed, or lines are \
                 missing"
            ),
            DamageKind::Seq { found, allowed } => {
                write!(f, "has seq {}, expected {}", found.0, allowed.0)
            }
            DamageKind::Content { why } => f.write_str(why),
        }
    }
}
