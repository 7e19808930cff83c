//! The middle of values and how far they spread.

/// A median with its quartiles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// How many values.
    pub n: usize,
    /// A quarter lies below.
    pub q1: f64,
    /// Half lies below.
    pub median: f64,
    /// Three quarters lie below.
    pub q3: f64,
}

/// Median and quartiles, between two values in proportion to the distance: type 7 of Hyndman and Fan 1996, as
/// `quantile_cont` of `DuckDB`, `linear` of Polars and `percentile` of Spark have it. `None` without a value.
pub fn spread(values: &[f64]) -> Option<Spread> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let quarter = |k: usize| {
        let last = sorted.len().checked_sub(1)?;
        let along = last.checked_mul(k)?;
        let (at, part) = (along.div_euclid(4), along.rem_euclid(4));
        let low = *sorted.get(at)?;
        let high = *sorted.get(at.saturating_add(1)).unwrap_or(&low);
        Some(low + (high - low) * real(part) / 4.0)
    };
    Some(Spread {
        n: sorted.len(),
        q1: quarter(1)?,
        median: quarter(2)?,
        q3: quarter(3)?,
    })
}

/// How many, as a number.
pub(crate) fn real(n: usize) -> f64 {
    u32::try_from(n).map_or_else(|_| f64::from(u32::MAX), f64::from)
}
