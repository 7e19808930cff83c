//! The wall clock's stamp: RFC 3339 with milliseconds and a numeric offset.

use std::{fmt, str::FromStr};

use jiff::{
    Timestamp,
    civil::DateTime,
    fmt::temporal::{DateTimeParser, DateTimePrinter},
    tz::Offset,
};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

/// A moment by the device's wall clock, with the offset that the device showed.
///
/// Written as `2026-11-25T08:30:00.125-05:00`: always milliseconds, always a numeric offset, never
/// `Z`, because care records refuse `Z`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wall {
    unix_ms: i64,
    offset_min: i16,
}

/// A wall stamp that cannot be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WallError {
    /// What was found.
    pub found: String,
}

impl fmt::Display for WallError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "wall = {:?}, allowed: RFC 3339 with milliseconds and a numeric offset, as \
             2026-11-25T08:30:00.125-05:00",
            self.found
        )
    }
}

impl std::error::Error for WallError {}

/// The shape in bytes: `0` a digit, `s` a sign, anything else itself.
const SHAPE: &[u8] = b"0000-00-00T00:00:00.000s00:00";

impl Wall {
    /// The wall clock of a device that has none: 1970, at no offset.
    pub const UNKNOWN: Self = Self {
        unix_ms: 0,
        offset_min: 0,
    };

    /// `unix_ms` milliseconds since 1970 at UTC, shown at `offset_min` minutes east of it.
    ///
    /// # Errors
    /// A year outside 0000-9999 or an offset of a day or more.
    pub fn new(unix_ms: i64, offset_min: i16) -> Result<Self, WallError> {
        let wall = Self {
            unix_ms,
            offset_min,
        };
        let bad = || WallError {
            found: format!("{unix_ms} ms at {offset_min} min"),
        };
        let text = wall.text().filter(|_| is_offset(offset_min));
        let text = text.ok_or_else(bad)?;
        shaped(text.as_bytes()).then_some(wall).ok_or_else(bad)
    }

    /// Milliseconds since 1970 at UTC.
    pub const fn unix_ms(self) -> i64 {
        self.unix_ms
    }

    /// Minutes east of UTC.
    pub const fn offset_min(self) -> i16 {
        self.offset_min
    }

    /// How long from `earlier` to this moment; nothing if the clock was set back meanwhile.
    pub fn ms_since(self, earlier: Self) -> u64 {
        u64::try_from(self.unix_ms.saturating_sub(earlier.unix_ms)).unwrap_or(0)
    }

    fn text(self) -> Option<String> {
        let seconds = i32::from(self.offset_min).checked_mul(60)?;
        let offset = Offset::from_seconds(seconds).ok()?;
        let moment = Timestamp::from_millisecond(self.unix_ms).ok()?;
        Some(
            DateTimePrinter::new()
                .precision(Some(3))
                .timestamp_with_offset_to_string(&moment, offset),
        )
    }
}

/// RFC 3339, section 5.6: the offset's hour is 00-23.
const fn is_offset(minutes: i16) -> bool {
    minutes.unsigned_abs() < 24 * 60
}

fn shaped(text: &[u8]) -> bool {
    text.len() == SHAPE.len()
        && text.iter().zip(SHAPE).all(|(found, shape)| match shape {
            b'0' => found.is_ascii_digit(),
            b's' => matches!(found, b'+' | b'-'),
            other => found == other,
        })
}

impl fmt::Display for Wall {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // `new` and `from_str` let nothing through that has no text.
        f.write_str(&self.text().unwrap_or_default())
    }
}

impl FromStr for Wall {
    type Err = WallError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let parse = || {
            let pieces = DateTimeParser::new().parse_pieces(text).ok()?;
            let offset = pieces.to_numeric_offset()?;
            let moment = offset
                .to_timestamp(DateTime::from_parts(pieces.date(), pieces.time()?))
                .ok()?;
            let offset_min = i16::try_from(offset.seconds().checked_div(60)?).ok()?;
            // It was just read from a text of the right shape: it need not be written to be known to have one.
            is_offset(offset_min).then_some(Self {
                unix_ms: moment.as_millisecond(),
                offset_min,
            })
        };
        shaped(text.as_bytes())
            .then(parse)
            .flatten()
            .ok_or_else(|| WallError {
                found: text.to_owned(),
            })
    }
}

impl Serialize for Wall {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Wall {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        String::deserialize(from)?
            .parse()
            .map_err(de::Error::custom)
    }
}
