//! The rules against published numbers and numbers of other programs.

use crate::{RunChart, crossings_limit, longest_limit, p_chart, run_chart, spread};

/// Source: the table of a package for run charts (`anhoej/qicharts2`, vignette, appendix 2), after Anhoej and Olesen
/// 2014: points, longest run, crossings. The last two by the same formula with scipy 1.17.1, `binom.ppf`.
#[test]
fn limits_of_run_charts_are_the_published_ones() {
    for (n, longest, crossings) in [
        (10, 6, 2),
        (12, 7, 3),
        (15, 7, 4),
        (20, 7, 6),
        (22, 7, 7),
        (23, 8, 7),
        (24, 8, 8),
        (30, 8, 10),
        (36, 8, 13),
        (50, 9, 19),
        (100, 10, 41),
    ] {
        assert_eq!(
            (longest_limit(n), crossings_limit(n)),
            (longest, crossings),
            "{n} points"
        );
    }
}

/// Source: scipy 1.17.1, `binom.ppf(0.05, n - 1, 0.5)`; beyond where halving a thousand times is nought.
#[test]
fn crossings_stay_exact_for_long_charts() {
    for (n, crossings) in [
        (1, 0),
        (2, 0),
        (5, 0),
        (8, 1),
        (480, 222),
        (1200, 571),
        (2500, 1208),
    ] {
        assert_eq!(crossings_limit(n), crossings, "{n} points");
    }
}

/// By hand: the median is 5; 1 and 2 lie below, two points on it are left out, four above, then below and above.
#[test]
fn points_on_the_median_are_left_out() {
    let found = run_chart(&[1.0, 2.0, 5.0, 6.0, 7.0, 5.0, 8.0, 9.0, 3.0, 6.5], 5.0);
    let expected = RunChart {
        useful: 8,
        longest: 4,
        longest_limit: 6,
        crossings: 3,
        crossings_limit: 1,
    };
    // log2(8) = 3, and 3 more; of 7 tosses none or one head: 8 of 128, 0.0625, and none alone 0.0078.
    assert_eq!(found, Some(expected));
    assert!(!expected.is_signal());
    assert_eq!(run_chart(&[5.0, 5.0], 5.0), None);
}

/// By hand: twelve points, the later six higher: one crossing, of which three are the fewest; the runs of six are
/// not longer than seven.
#[test]
fn a_shift_is_a_signal() {
    let values: Vec<f64> = [0.0; 6].into_iter().chain([1.0; 6]).collect();
    let found = run_chart(&values, 0.5).unwrap();
    assert_eq!((found.longest, found.crossings), (6, 1));
    assert!(found.is_signal());
    // Eight on one side among sixteen that cross often enough: longest run 8 > 7.
    let mut values = vec![1.0; 8];
    values.extend([0.0, 1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0]);
    let found = run_chart(&values, 0.5).unwrap();
    assert_eq!((found.longest, found.longest_limit), (8, 7));
    assert!(found.is_signal());
}

/// Numbers invented for this; the limits by numpy: 79 of 110, three standard errors.
#[test]
fn limits_of_shares_are_three_standard_errors() {
    let points = [(14, 20), (11, 15), (17, 22), (12, 18), (16, 20), (9, 15)];
    let found = p_chart(&points).unwrap();
    assert!((found.centre - 0.7182).abs() < 5e-5, "{}", found.centre);
    // Of fifteen 15 * 31 / 110 = 4.2 would be out of the share: too few.
    let low = [
        Some(0.4164),
        None,
        Some(0.4304),
        Some(0.4001),
        Some(0.4164),
        None,
    ];
    assert_eq!(found.limits.len(), low.len());
    for (found, low) in found.limits.iter().zip(low) {
        assert_eq!(found.is_some(), low.is_some(), "{low:?}");
        if let Some(((found, high), low)) = found.zip(low) {
            assert!((found - low).abs() < 5e-5, "{found} {low}");
            assert!((high - 1.0).abs() < 1e-12, "{high}");
        }
    }
    assert_eq!(p_chart(&[(0, 0)]), None);
    assert_eq!(p_chart(&[]), None);
}

/// By hand: 99 of 110 are 0.9. Of 50 just five would be out, of 49 less, of ten one; 3 * sqrt(0.9 * 0.1 / 50) = 0.1273.
#[test]
fn a_share_of_too_few_has_no_limits() {
    let found = p_chart(&[(45, 50), (45, 50), (9, 10)]).unwrap();
    let (low, high) = found.limits[0].unwrap();
    assert!(
        (low - 0.7727).abs() < 5e-5 && (high - 1.0).abs() < 1e-12,
        "{low} {high}"
    );
    assert_eq!(found.limits[2], None);
    // 99 of 110 once more.
    let found = p_chart(&[(45, 49), (45, 51), (9, 10)]).unwrap();
    let has: Vec<bool> = found.limits.iter().map(Option::is_some).collect();
    assert_eq!(has, [false, true, false]);
    // The same the other way round, and with nothing out of the share at all.
    assert_eq!(
        p_chart(&[(1, 10), (5, 49), (5, 51)]).map(|c| c.limits[1]),
        Some(None)
    );
    assert_eq!(p_chart(&[(50, 50), (60, 60)]), None);
}

/// Source: numpy 2.4.6, `percentile(values, [25, 50, 75])`, its default, type 7.
#[test]
fn quartiles_are_numpys() {
    for (values, expected) in [
        (vec![7.0], [7.0, 7.0, 7.0]),
        (vec![4.0, 1.0], [1.75, 2.5, 3.25]),
        (vec![9.0, 1.0, 4.0], [2.5, 4.0, 6.5]),
        (vec![8.0, 22.0, 15.0, 3.0], [6.75, 11.5, 16.75]),
        (vec![1.5, 2.5, 10.0, 4.0, 4.0, 31.0], [2.875, 4.0, 8.5]),
    ] {
        let found = spread(&values).unwrap();
        for (found, expected) in [found.q1, found.median, found.q3].into_iter().zip(expected) {
            assert!(
                (found - expected).abs() < 1e-12,
                "{values:?}: {found} {expected}"
            );
        }
        assert_eq!(found.n, values.len());
    }
    assert_eq!(spread(&[]), None);
}
