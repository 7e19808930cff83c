//! Peaks between samples: what a converter makes of a block, looked at four times a sample.

/// Samples that a point between two of them is made of.
pub(crate) const TAPS: usize = 16;
/// No point between samples is further from zero than the farthest sample times this: the largest sum
/// of the weights' sizes.
const MOST: f32 = 2.11;

/// Weights of the points a quarter, a half and three quarters of a sample after the eighth of sixteen:
/// sin(pi t)/(pi t) under a Kaiser window of shape 5, of sum 1. The fourth of each row is unused.
#[rustfmt::skip]
const WEIGHTS: [[f32; 4]; TAPS] = [
    [-0.002_818_01, -0.002_983_63, -0.001_518_64, 0.0],
    [0.007_127_78, 0.008_201_51, 0.004_647_02, 0.0],
    [-0.014_646_25, -0.017_529_42, -0.010_403_18, 0.0],
    [0.026_993_62, 0.032_998_97, 0.020_077_07, 0.0],
    [-0.047_265_4, -0.058_233_78, -0.035_829_27, 0.0],
    [0.083_646_06, 0.102_000_5, 0.062_468_67, 0.0],
    [-0.170_610_4, -0.196_297_4, -0.115_551_9, 0.0],
    [0.899_158_6, 0.631_843_3, 0.294_524_2, 0.0],
    [0.294_524_2, 0.631_843_3, 0.899_158_6, 0.0],
    [-0.115_551_9, -0.196_297_4, -0.170_610_4, 0.0],
    [0.062_468_67, 0.102_000_5, 0.083_646_06, 0.0],
    [-0.035_829_27, -0.058_233_78, -0.047_265_4, 0.0],
    [0.020_077_07, 0.032_998_97, 0.026_993_62, 0.0],
    [-0.010_403_18, -0.017_529_42, -0.014_646_25, 0.0],
    [0.004_647_02, 0.008_201_51, 0.007_127_78, 0.0],
    [-0.001_518_64, -0.002_983_63, -0.002_818_01, 0.0],
];

/// Follows the true peak of a signal.
#[derive(Clone, Debug)]
pub(crate) struct TruePeak {
    /// The last samples, twice, so that they lie in a row from any place.
    past: [f32; 2 * TAPS],
    at: usize,
    /// Samples below this make no point that matters.
    small: f32,
    /// Samples until the last one that was not small is out of sight.
    loud_left: usize,
}

impl TruePeak {
    /// Tells peaks exactly where they may be above `least`, and 0 where none can be.
    pub(crate) fn new(least: f32) -> Self {
        Self {
            past: [0.0; 2 * TAPS],
            at: 0,
            small: least / MOST,
            loud_left: 0,
        }
    }

    /// Takes a sample; the size of the peak from the eighth sample before it up to the next.
    pub(crate) fn step(&mut self, sample: f32) -> f32 {
        for place in [self.at, self.at.saturating_add(TAPS)] {
            if let Some(place) = self.past.get_mut(place) {
                *place = sample;
            }
        }
        self.at = self.at.saturating_add(1) % TAPS;
        if sample.abs() > self.small {
            self.loud_left = TAPS;
        }
        if self.loud_left == 0 {
            return 0.0;
        }
        self.loud_left = self.loud_left.saturating_sub(1);
        let row = self.past.get(self.at..).and_then(|row| row.first_chunk());
        row.map_or(0.0, peak)
    }
}

/// The largest of the eighth sample and the three points after it.
fn peak(row: &[f32; TAPS]) -> f32 {
    let mut points = [0.0_f32; 4];
    for (sample, weights) in row.iter().zip(&WEIGHTS) {
        for (point, weight) in points.iter_mut().zip(weights) {
            *point += sample * weight;
        }
    }
    let own = row.get(TAPS / 2 - 1).map_or(0.0, |s| s.abs());
    points.iter().fold(own, |most, p| most.max(p.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the interpolation series of a band-limited signal, its window and sum as said above; Kaiser
    /// 1974 for the window.
    #[test]
    fn weights_are_those_of_the_windowed_series() {
        let bessel = |x: f64| {
            let mut term = 1.0;
            (1..30).fold(1.0, |sum, k| {
                term *= (x / 2.0 / f64::from(k)).powi(2);
                sum + term
            })
        };
        for (nth, part) in [0.25, 0.5, 0.75].into_iter().enumerate() {
            let weight = |k: u32| {
                let t = 7.0 + part - f64::from(k);
                let window = bessel(5.0 * (1.0 - (t / 8.0).powi(2)).sqrt()) / bessel(5.0);
                let pi_t = core::f64::consts::PI * t;
                pi_t.sin() / pi_t * window
            };
            let sum: f64 = (0..16).map(weight).sum();
            let sizes: f64 = (0..16).map(|k| (weight(k) / sum).abs()).sum();
            assert!(sizes < f64::from(MOST), "{part}: {sizes}");
            for (k, row) in (0..16).zip(&WEIGHTS) {
                let off = f64::from(row[nth]) - weight(k) / sum;
                assert!(off.abs() < 1e-6, "{part}, {k}: off by {off}");
            }
        }
    }

    /// Source: arithmetic: a sine of a quarter of the rate whose samples all lie at 45 degrees has samples of
    /// 0.7071 of its height.
    #[test]
    fn a_peak_that_no_sample_shows_is_told() {
        let mut meter = TruePeak::new(0.5);
        let half = core::f32::consts::FRAC_1_SQRT_2;
        let wave = [half, half, -half, -half];
        let told = (0..400).map(|n| meter.step(wave[n % 4])).skip(100);
        let most = told.fold(0.0, f32::max);
        assert!((most - 1.0).abs() < 0.005, "{most}");
    }

    #[test]
    fn what_is_small_is_passed_over_and_what_is_not_is_seen_as_long_as_it_matters() {
        let mut meter = TruePeak::new(0.9);
        assert!((0..100).all(|_| meter.step(0.42) <= 0.0));
        meter.step(0.8);
        assert!((1..TAPS).all(|_| meter.step(0.0) > 0.0));
        assert!(meter.step(0.0) <= 0.0);
    }
}
