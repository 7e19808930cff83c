//! One measure of one group over time: its spread, its points, what the rules say, how far it can be trusted.

use crate::{
    FEW, Measure, PChart, RunChart, Seen, ShareOf, Spread, p_chart, run_chart, seen::length,
    spread, spread::real,
};

/// What a point of a chart is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// One run.
    Run,
    /// All of a month.
    Month,
    /// All of a quarter.
    Quarter,
}

/// Up to so many runs each is a point of its own; beyond, their months or quarters are, where those are enough for the
/// rules: own, so that points can still be told apart on the page, and no rule is lost by one run more.
const SINGLE: usize = 100;
/// Below so many a month a quarter is taken: own.
const A_MONTH: usize = 10;

/// How far the marks behind a figure go: it stands beside it wherever it is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Trust {
    /// Runs with a value.
    pub runs: usize,
    /// Their windows together, ms.
    pub window_ms: u64,
    /// What of it is known, ms.
    pub known_ms: u64,
    /// Rhythm checks that were marked.
    pub checks_marked: usize,
    /// Those and the ones never marked.
    pub checks_due: usize,
    /// Amendments that no seal closes over.
    pub unsealed: usize,
}

impl Trust {
    fn of<'a>(runs: impl Iterator<Item = &'a Seen>) -> Self {
        runs.fold(Self::default(), |sum, run| Self {
            runs: sum.runs.saturating_add(1),
            window_ms: sum.window_ms.saturating_add(run.window.0),
            known_ms: sum.known_ms.saturating_add(run.known.0),
            checks_marked: sum.checks_marked.saturating_add(run.checks_marked),
            checks_due: sum.checks_due.saturating_add(run.checks_due),
            unsealed: sum.unsealed.saturating_add(run.unsealed),
        })
    }

    /// Known time of the windows'.
    pub fn coverage(&self) -> Option<f64> {
        (self.window_ms > 0).then(|| length(self.known_ms) / length(self.window_ms).max(1.0))
    }
}

/// A point in time.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Its month or quarter, as `2026-03` or `2026-Q1`.
    pub label: String,
    /// Its value: a run's, or the median of a month or quarter.
    pub value: f64,
    /// Of how many runs.
    pub runs: usize,
}

/// A measure over time.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Which.
    pub measure: Measure,
    /// Over all its runs.
    pub spread: Spread,
    /// How far the marks go.
    pub trust: Trust,
    /// What its points are.
    pub by: By,
    /// In order of time.
    pub points: Vec<Point>,
    /// The median of the points, and what the rules say of them. `None`: fewer than [`FEW`], or all are the same.
    pub rules: Option<(f64, RunChart)>,
}

/// A share of a month or quarter.
#[derive(Clone, Debug, PartialEq)]
pub struct SharePoint {
    /// Its month or quarter.
    pub label: String,
    /// So many ...
    pub x: usize,
    /// ... of so many.
    pub n: usize,
}

/// A share over time.
#[derive(Clone, Debug, PartialEq)]
pub struct Share {
    /// Of what.
    pub of: ShareOf,
    /// So many of all ...
    pub x: usize,
    /// ... of so many.
    pub n: usize,
    /// How far the marks go.
    pub trust: Trust,
    /// What its points are.
    pub by: By,
    /// In order of time.
    pub points: Vec<SharePoint>,
    /// Limits; `None`: fewer than [`FEW`] points, or each is of too few.
    pub limits: Option<PChart>,
}

impl Share {
    /// Points outside their limits.
    pub fn outside(&self) -> usize {
        let limits = self.limits.iter().flat_map(|chart| &chart.limits);
        let out = self.points.iter().zip(limits).filter(|(point, limits)| {
            let value = point.share();
            limits.is_some_and(|(low, high)| value < low || value > high)
        });
        out.count()
    }

    /// Points that are of too few for limits, where others have them.
    pub fn thin(&self) -> usize {
        let limits = self.limits.iter().flat_map(|chart| &chart.limits);
        limits.filter(|limits| limits.is_none()).count()
    }
}

impl SharePoint {
    /// The share; 0 of nothing is not made.
    pub fn share(&self) -> f64 {
        real(self.x) / real(self.n).max(1.0)
    }
}

/// Months or quarters: by how many runs a calendar month has on average, from the first to the last.
fn period(runs: &[&Seen]) -> By {
    let first = runs.first().map_or(0, |run| run.months());
    let last = runs.last().map_or(0, |run| run.months());
    let months = last.saturating_sub(first).saturating_add(1);
    let months = usize::try_from(months).unwrap_or(1);
    if runs.len() < months.saturating_mul(A_MONTH) {
        By::Quarter
    } else {
        By::Month
    }
}

/// The period's number in order of time, and its name.
fn place(run: &Seen, by: By) -> (i32, String) {
    match by {
        By::Run | By::Month => (run.months(), format!("{:04}-{:02}", run.year, run.month)),
        By::Quarter => {
            let quarter = run.month.saturating_sub(1).div_euclid(3);
            (
                run.year.saturating_mul(4).saturating_add(quarter),
                format!("{:04}-Q{}", run.year, quarter.saturating_add(1)),
            )
        }
    }
}

/// The months or quarters of many runs as points; `None`: each run is one.
fn grown(runs: &[&Seen], of: impl Fn(&&Seen) -> Option<f64>) -> Option<(By, Vec<Point>)> {
    if runs.len() <= SINGLE {
        return None;
    }
    let by = period(runs);
    let points = runs
        .chunk_by(|a, b| place(a, by).0 == place(b, by).0)
        .filter_map(|part| {
            let values: Vec<f64> = part.iter().filter_map(&of).collect();
            Some(Point {
                label: place(part.first()?, by).1,
                value: spread(&values)?.median,
                runs: part.len(),
            })
        });
    let points: Vec<Point> = points.collect();
    (points.len() >= FEW).then_some((by, points))
}

/// A measure of runs that are in order of time; `None` where no run has a value.
pub(crate) fn figure(measure: Measure, runs: &[&Seen]) -> Option<Figure> {
    let of = |run: &&'_ Seen| measure.of(run).filter(|value| value.is_finite());
    let with: Vec<&Seen> = runs
        .iter()
        .copied()
        .filter(|run| of(run).is_some())
        .collect();
    let values: Vec<f64> = with.iter().filter_map(of).collect();
    let whole = spread(&values)?;
    let (by, points) = grown(&with, of).unwrap_or_else(|| {
        let each = with.iter().zip(&values).map(|(run, value)| Point {
            label: place(run, By::Run).1,
            value: *value,
            runs: 1,
        });
        (By::Run, each.collect())
    });
    let heights: Vec<f64> = points.iter().map(|point| point.value).collect();
    let rules = (points.len() >= FEW).then_some(()).and_then(|()| {
        let median = spread(&heights)?.median;
        Some((median, run_chart(&heights, median)?))
    });
    Some(Figure {
        measure,
        spread: whole,
        trust: Trust::of(with.into_iter()),
        by,
        points,
        rules,
    })
}

/// A share of runs that are in order of time; `None` where there is nothing to share.
pub(crate) fn share(of: ShareOf, runs: &[&Seen]) -> Option<Share> {
    let with: Vec<&Seen> = runs
        .iter()
        .copied()
        .filter(|run| of.of(run).1 > 0)
        .collect();
    if with.is_empty() {
        return None;
    }
    let by = period(&with);
    let add = |part: &[&Seen]| {
        part.iter().fold((0_usize, 0_usize), |(x, n), run| {
            let (more_x, more_n) = of.of(run);
            (x.saturating_add(more_x), n.saturating_add(more_n))
        })
    };
    let points: Vec<SharePoint> = with
        .chunk_by(|a, b| place(a, by).0 == place(b, by).0)
        .filter_map(|part| {
            let (x, n) = add(part);
            let label = place(part.first()?, by).1;
            Some(SharePoint { label, x, n })
        })
        .collect();
    let (x, n) = add(&with);
    let pairs: Vec<(usize, usize)> = points.iter().map(|p| (p.x, p.n)).collect();
    Some(Share {
        of,
        x,
        n,
        trust: Trust::of(with.into_iter()),
        by,
        limits: (points.len() >= FEW).then(|| p_chart(&pairs)).flatten(),
        points,
    })
}
