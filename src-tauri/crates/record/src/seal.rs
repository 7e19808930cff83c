//! The seal, and the fingerprint that is kept outside the file.
//!
//! A chain alone does not show that lines were cut from the end: every shorter record is a whole
//! chain too. Only a fingerprint kept elsewhere does, or the seal's own line count when the cut
//! left the seal in place.

use cycle::fact::Source;
use serde::{Deserialize, Serialize};

use crate::{
    chain::{Chain, Digest},
    line::{EncodeError, LINE_MAX, Stamp, json_of, write_line},
    reader::Opened,
};

/// The closing line of a revision.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Seal {
    /// Which revision: 1, 2, 3 ...
    pub rev: u32,
    /// Lines before it.
    pub lines: u64,
    /// The signature's kind, if the seal is signed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub alg: Option<String>,
    /// The signature.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sig: Option<String>,
}

/// What a fingerprint says of a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The record is the one that was sealed, to its last line.
    Whole,
    /// It is that record with lines added since; `rev` is the seal the fingerprint belongs to.
    Extended {
        /// That seal's revision.
        rev: u32,
    },
    /// It is another record, or this one changed or cut.
    Differs,
    /// Nothing shows a change, and there is no fingerprint from outside: the chain needs no secret, so
    /// whoever can write the file can have written all of it anew.
    NotProven,
}

/// The seal's line, with its line feed. After it, the chain's head is the fingerprint.
///
/// # Errors
/// See [`EncodeError`].
pub fn encode_seal(chain: &mut Chain, stamp: &Stamp, rev: u32) -> Result<Vec<u8>, EncodeError> {
    let seal = Seal {
        rev,
        lines: chain.next().0,
        alg: None,
        sig: None,
    };
    let d = json_of(&seal)?;
    write_line(chain, stamp, ("seal", &d), (None, Source::Auto), LINE_MAX)
}

/// SHA-256 of the last line's bytes, lower-case hexadecimal when written.
pub const fn fingerprint(record: &Opened) -> Digest {
    record.chain.head()
}

/// Compares a record with the fingerprint that was kept outside it, if one was.
pub fn verify(record: &Opened, kept: impl Into<Option<Digest>>) -> Verdict {
    if record.broken_at.is_some() {
        return Verdict::Differs;
    }
    match kept.into() {
        None if record.is_sound() => Verdict::NotProven,
        None => Verdict::Differs,
        Some(kept) if fingerprint(record) == kept => Verdict::Whole,
        Some(kept) => match record.seals.iter().find(|(_, head)| *head == kept) {
            Some((seal, _)) => Verdict::Extended { rev: seal.rev },
            None => Verdict::Differs,
        },
    }
}
