//! Each line names the SHA-256 of the one before it, so a changed or missing line shows.

use std::{fmt, str::FromStr};

use cycle::Seq;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use sha2::{Digest as _, Sha256};

/// A SHA-256 value, written as 64 lower-case hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Digest([u8; 32]);

impl Digest {
    /// What line 0 names, having no line before it.
    pub const ZERO: Self = Self([0; 32]);

    /// Of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }
}

/// Text that is no SHA-256 value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DigestError {
    /// What was found.
    pub found: String,
}

impl fmt::Display for DigestError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "SHA-256 = {:?}, allowed: 64 digits of 0-9 and a-f",
            self.found
        )
    }
}

impl std::error::Error for DigestError {}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Digest({self})")
    }
}

impl FromStr for Digest {
    type Err = DigestError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        fn nibble(byte: u8) -> Option<u8> {
            match byte {
                b'0'..=b'9' => byte.checked_sub(b'0'),
                b'a'..=b'f' => byte.checked_sub(b'a')?.checked_add(10),
                _ => None,
            }
        }
        let parse = || {
            let mut out = [0; 32];
            let (pairs, rest) = text.as_bytes().as_chunks::<2>();
            if pairs.len() != out.len() || !rest.is_empty() {
                return None;
            }
            for (byte, [high, low]) in out.iter_mut().zip(pairs) {
                *byte = nibble(*high)? << 4 | nibble(*low)?;
            }
            Some(Self(out))
        };
        parse().ok_or_else(|| DigestError {
            found: text.to_owned(),
        })
    }
}

impl Serialize for Digest {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Digest {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        String::deserialize(from)?
            .parse()
            .map_err(de::Error::custom)
    }
}

/// Where a record stands: what its next line must name, and that line's number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chain {
    head: Digest,
    next: Seq,
}

impl Default for Chain {
    fn default() -> Self {
        Self::new()
    }
}

impl Chain {
    /// Before the first line.
    pub const fn new() -> Self {
        Self {
            head: Digest::ZERO,
            next: Seq(0),
        }
    }

    pub(crate) const fn at(head: Digest, next: Seq) -> Self {
        Self { head, next }
    }

    /// What the next line must name; after a record's last line also its fingerprint.
    pub const fn head(&self) -> Digest {
        self.head
    }

    /// The next line's number.
    pub const fn next(&self) -> Seq {
        self.next
    }

    /// Takes a line's bytes, without its line feed.
    pub(crate) fn push(&mut self, line: &[u8]) {
        self.head = Digest::of(line);
        self.next = Seq(self.next.0.saturating_add(1));
    }
}
