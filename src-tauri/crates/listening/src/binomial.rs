use crate::real;

/// Half of what the interval leaves out on either side: 95 % are within.
const OUTSIDE: f64 = 0.025;
/// Halvings of the unit: below what a double tells apart.
const HALVINGS: u32 = 60;

/// The exact 95 % interval of a share of `right` in `asked` (Clopper, Pearson 1934), each end from 0 to 1.
/// Where nothing was asked nothing is known: 0 to 1.
pub fn interval(right: usize, asked: usize) -> (f64, f64) {
    let right = right.min(asked);
    let logs = logs(asked);
    let low = if right == 0 {
        0.0
    } else {
        // So many or more are that unlikely there.
        crossing(|p| 1.0 - at_most(right.saturating_sub(1), asked, p, &logs))
    };
    let high = if right == asked {
        1.0
    } else {
        // So few or fewer are that unlikely there: the share of the wrong ones from the other end.
        1.0 - crossing(|q| {
            1.0 - at_most(
                asked.saturating_sub(right).saturating_sub(1),
                asked,
                q,
                &logs,
            )
        })
    };
    (low, high)
}

/// Where a rising function is [`OUTSIDE`].
fn crossing(rising: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if rising(middle) < OUTSIDE {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// Logarithms of the factorials up to `n`.
fn logs(n: usize) -> Vec<f64> {
    let rest = (1..=n).scan(0.0, |sum, k| {
        *sum += real(k).ln();
        Some(*sum)
    });
    std::iter::once(0.0).chain(rest).collect()
}

/// How likely `most` or fewer of `n` are, each with probability `p`.
fn at_most(most: usize, n: usize, p: f64, logs: &[f64]) -> f64 {
    let log = |k: usize| logs.get(k).copied().unwrap_or(0.0);
    let sum: f64 = (0..=most)
        .map(|k| {
            let rest = n.saturating_sub(k);
            let ways = log(n) - log(k) - log(rest);
            (ways + real(k) * p.ln() + real(rest) * (-p).ln_1p()).exp()
        })
        .sum();
    sum.min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn holds(right: usize, asked: usize, low: f64, high: f64, near: f64) {
        let found = interval(right, asked);
        let off = (found.0 - low).abs().max((found.1 - high).abs());
        assert!(off < near, "{right}/{asked}: {found:?}, {low} to {high}");
    }

    /// Source: Newcombe 1998, Stat Med 17:857, table I, the row of Clopper and Pearson; to four places.
    #[test]
    fn the_interval_is_the_published_one() {
        holds(81, 263, 0.2527, 0.3676, 5.1e-5);
        holds(15, 148, 0.0578, 0.1617, 5.1e-5);
        holds(0, 20, 0.0, 0.1684, 5.1e-5);
        holds(1, 29, 0.0009, 0.1776, 5.1e-5);
    }

    /// Source: scipy 1.17.1, `binomtest(k, n).proportion_ci(0.95, "exact")`.
    #[test]
    fn the_interval_is_scipys() {
        for (right, asked, low, high) in [
            (0, 10, 0.0, 0.308_497_107_818_762_94),
            (10, 10, 0.691_502_892_181_237_1, 1.0),
            (12, 12, 0.735_351_530_602_948_8, 1.0),
            (11, 12, 0.615_203_834_849_056_2, 0.997_892_406_768_138_4),
            (8, 10, 0.443_904_537_692_358_5, 0.974_789_273_673_166_5),
            (10, 20, 0.271_957_849_560_791_33, 0.728_042_150_439_208_6),
            (190, 200, 0.909_972_462_298_441_2, 0.975_765_834_527_891_7),
            (1140, 1200, 0.936_105_628_785_26, 0.961_631_085_562_918),
            (
                3,
                1000,
                0.000_619_099_931_649_917_3,
                0.008_742_023_238_657_654,
            ),
            (0, 1, 0.0, 0.975),
        ] {
            holds(right, asked, low, high, 1e-9);
        }
    }

    #[test]
    fn nothing_asked_is_nothing_known() {
        holds(0, 0, 0.0, 1.0, f64::MIN_POSITIVE);
    }
}
