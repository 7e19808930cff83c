use core::fmt;

use serde::{Deserialize, Serialize};

/// A moment on the run clock, or a length of time: whole milliseconds.
///
/// The run clock counts sleep and begins at 0 with the run. There is no `now()`: whoever owns the
/// clock passes it in.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(transparent)]
#[cfg_attr(feature = "ts", derive(ts_rs::TS))]
pub struct Ms(#[cfg_attr(feature = "ts", ts(type = "number"))] pub u64);

impl Ms {
    /// The beginning of a run; no time at all.
    pub const ZERO: Self = Self(0);

    /// `seconds` as milliseconds.
    pub const fn secs(seconds: u32) -> Self {
        #[expect(
            clippy::as_conversions,
            reason = "u32 to u64 loses nothing; `From` is not const"
        )]
        Self((seconds as u64).saturating_mul(1000))
    }

    /// How long from `earlier` to this moment; nothing if it lies ahead.
    #[must_use]
    pub const fn since(self, earlier: Self) -> Self {
        Self(self.0.saturating_sub(earlier.0))
    }

    /// This moment and `span` later.
    #[must_use]
    pub const fn plus(self, span: Self) -> Self {
        Self(self.0.saturating_add(span.0))
    }

    /// This moment less `span`, at the earliest the beginning of the run.
    #[must_use]
    pub const fn minus(self, span: Self) -> Self {
        Self(self.0.saturating_sub(span.0))
    }
}

impl fmt::Display for Ms {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ms", self.0)
    }
}
