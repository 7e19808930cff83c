//! Shares of time as numbers.

use cycle::Ms;

/// A span as a number, ms. Exact up to 49 days; no run is longer.
pub(crate) fn number(span: Ms) -> f64 {
    u32::try_from(span.0).map_or_else(|_| f64::from(u32::MAX), f64::from)
}

/// `part` of `whole`; `None` where there is no whole.
pub(crate) fn share(part: Ms, whole: Ms) -> Option<f64> {
    (whole > Ms::ZERO).then(|| number(part) / number(whole))
}

/// How many, as a number.
pub(crate) fn count(n: usize) -> f64 {
    u32::try_from(n).map_or_else(|_| f64::from(u32::MAX), f64::from)
}
