//! The published rules of run charts and of charts of shares.

use std::cmp::Ordering;

use crate::spread::real;

/// Below so many points there are dots and a median, and no rule: own. The rules below know so few points only by
/// runs of six or seven on one side, which is half of all of them.
pub const FEW: usize = 12;

/// What the two rules of a run chart found. Source: Anhoej and Olesen 2014, doi 10.1371/journal.pone.0113825.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RunChart {
    /// Points that do not lie on the median; the others are left out.
    pub useful: usize,
    /// The longest run of points on one side of the median.
    pub longest: usize,
    /// It is a signal if it is longer than this.
    pub longest_limit: usize,
    /// How often the line crosses the median.
    pub crossings: usize,
    /// It is a signal if that is less often than this.
    pub crossings_limit: usize,
}

impl RunChart {
    /// Something other than chance moved the points.
    pub const fn is_signal(&self) -> bool {
        self.longest > self.longest_limit || self.crossings < self.crossings_limit
    }
}

/// The rules over points in order of time; `None` where all lie on the median.
pub fn run_chart(values: &[f64], median: f64) -> Option<RunChart> {
    let sides = values.iter().filter_map(|v| match v.partial_cmp(&median)? {
        Ordering::Less => Some(false),
        Ordering::Greater => Some(true),
        Ordering::Equal => None,
    });
    let sides: Vec<bool> = sides.collect();
    if sides.is_empty() {
        return None;
    }
    let crossings = sides.windows(2).filter(|two| two.first() != two.last());
    let longest = sides.chunk_by(|a, b| a == b).map(<[bool]>::len).max();
    Some(RunChart {
        useful: sides.len(),
        longest: longest.unwrap_or(0),
        longest_limit: longest_limit(sides.len()),
        crossings: crossings.count(),
        crossings_limit: crossings_limit(sides.len()),
    })
}

/// The longest run that chance allows among `n` points: log2(n), rounded, and 3 more.
pub fn longest_limit(n: usize) -> usize {
    let below = usize::try_from(n.checked_ilog2().unwrap_or(0)).unwrap_or(0);
    // Above the middle between two powers, 2^(k + 1/2), it is rounded up: n * n > 2^(2k + 1).
    let middle = 1_u128
        .checked_shl(u32::try_from(below.saturating_mul(2).saturating_add(1)).unwrap_or(u32::MAX))
        .unwrap_or(u128::MAX);
    let square = u128::try_from(n).unwrap_or(u128::MAX).saturating_pow(2);
    below
        .saturating_add(usize::from(square > middle))
        .saturating_add(3)
}

/// The fewest crossings that chance allows among `n` points: the 5th percentile of a binomial of n - 1 fair tosses.
pub fn crossings_limit(n: usize) -> usize {
    let tosses = n.saturating_sub(1);
    let mut log = -real(tosses) * std::f64::consts::LN_2;
    let mut sum = 0.0;
    for k in 0..=tosses {
        sum += log.exp();
        if sum >= 0.05 {
            return k;
        }
        log += (real(tosses.saturating_sub(k)) / real(k.saturating_add(1))).ln();
    }
    tosses
}

/// A chart of shares: the share of all, and limits for each point.
#[derive(Clone, Debug, PartialEq)]
pub struct PChart {
    /// The share of all together.
    pub centre: f64,
    /// Lower and upper limit of each point, three standard errors off, cut to 0 and 1; `None`: the point is of too few.
    pub limits: Vec<Option<(f64, f64)>>,
}

/// A point has limits where as many of it would be in the share, and as many out of it, by the share of all: of fewer
/// the standard error says too little, and a single one out would lie outside. Source: Hart and Hart, Subgroup sizes for
/// attribute charts: from 4 on, by some authors from 5.
const EACH: usize = 5;

/// The limits of shares, `x` of `n` each: p +/- 3 * sqrt(p * (1 - p) / n). `None` where no point has enough for them.
/// Source: Shewhart's p chart, as the guide of NHS Scotland and records of other programs have it.
pub fn p_chart(points: &[(usize, usize)]) -> Option<PChart> {
    let sum =
        |of: fn(&(usize, usize)) -> usize| points.iter().map(of).fold(0, usize::saturating_add);
    let (x, n) = (sum(|p| p.0), sum(|p| p.1));
    if n == 0 {
        return None;
    }
    let centre = real(x) / real(n);
    // In whole numbers, since 50 * (1 - 0.9) is a little below 5 otherwise.
    let least = EACH.saturating_mul(n);
    let rarer = x.min(n.saturating_sub(x));
    let limits = points.iter().map(|(_, n)| {
        (n.saturating_mul(rarer) >= least).then(|| {
            let wide = 3.0 * (centre * (1.0 - centre) / real(*n).max(1.0)).sqrt();
            ((centre - wide).max(0.0), (centre + wide).min(1.0))
        })
    });
    let limits: Vec<Option<(f64, f64)>> = limits.collect();
    limits
        .iter()
        .any(Option::is_some)
        .then_some(PChart { centre, limits })
}
