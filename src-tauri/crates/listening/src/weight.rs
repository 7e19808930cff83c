//! A-weighting: the formula of IEC 61672-1 (2013), annex E, laid over a spectrum, so that it is right at every
//! frequency and sample rate.

use crate::real;

/// Pole frequencies, Hz.
const F1: f64 = 20.598_997;
const F2: f64 = 107.652_65;
const F3: f64 = 737.862_23;
const F4: f64 = 12_194.217;
/// Brings 1 kHz to 0 dB.
const AT_1_KHZ_DB: f64 = 1.999_966;

/// The A-weighting at a frequency, dB.
pub fn a_weight(hz: f64) -> f64 {
    20.0 * response(hz).log10() + AT_1_KHZ_DB
}

fn response(hz: f64) -> f64 {
    let f = hz * hz;
    let low = (f + F1 * F1) * ((f + F2 * F2) * (f + F3 * F3)).sqrt();
    F4 * F4 * f * f / (low * (f + F4 * F4))
}

/// The A-weighted level of samples from -1 to 1, dB of full scale: the mean of their weighted squares, silence
/// among them included. Minus infinity for silence.
pub fn a_level(samples: &[f64], hz: u32) -> f64 {
    let size = samples.len().next_power_of_two();
    let mut spectrum: Vec<Complex> = samples.iter().map(|s| (*s, 0.0)).collect();
    spectrum.resize(size, (0.0, 0.0));
    transform(&mut spectrum);
    let step = f64::from(hz) / real(size);
    let gain = 10_f64.powf(AT_1_KHZ_DB / 10.0);
    let mut sum = 0.0;
    for (n, (re, im)) in spectrum.iter().enumerate() {
        // The upper half holds the negative frequencies.
        let at = real(n.min(size.saturating_sub(n))) * step;
        sum += (re * re + im * im) * response(at).powi(2);
    }
    // Parseval: the squares of the spectrum are those of the samples, times their number.
    10.0 * (sum * gain / real(size) / real(samples.len().max(1))).log10()
}

type Complex = (f64, f64);

/// The discrete Fourier transform in place, by halves; the length is a power of two.
fn transform(data: &mut [Complex]) {
    let size = data.len();
    let unused = usize::BITS.saturating_sub(size.trailing_zeros());
    for n in 0..size {
        let other = n.reverse_bits().checked_shr(unused).unwrap_or(0);
        if n < other {
            data.swap(n, other);
        }
    }
    let mut half = 1_usize;
    while half < size {
        let turn = -std::f64::consts::PI / real(half);
        let turns: Vec<Complex> = (0..half)
            .map(|n| {
                let (sin, cos) = (turn * real(n)).sin_cos();
                (cos, sin)
            })
            .collect();
        for pair in data.chunks_exact_mut(half.saturating_mul(2)) {
            let (low, high) = pair.split_at_mut(half);
            for ((a, b), (cos, sin)) in low.iter_mut().zip(high).zip(&turns) {
                let turned = (b.0 * cos - b.1 * sin, b.0 * sin + b.1 * cos);
                *b = (a.0 - turned.0, a.1 - turned.1);
                *a = (a.0 + turned.0, a.1 + turned.1);
            }
        }
        half = half.saturating_mul(2);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: IEC 61672-1:2013, table 3 (table 2 of 2002), A-weighting of the design goal at the one-third-octave
    /// frequencies from 20 Hz to 20 kHz; they stand exactly at 1000 * 10^(n/10) Hz.
    const TABLE: [f64; 31] = [
        -50.5, -44.7, -39.4, -34.6, -30.2, -26.2, -22.5, -19.1, -16.1, -13.4, -10.9, -8.6, -6.6,
        -4.8, -3.2, -1.9, -0.8, 0.0, 0.6, 1.0, 1.2, 1.3, 1.2, 1.0, 0.5, -0.1, -1.1, -2.5, -4.3,
        -6.6, -9.3,
    ];

    fn frequencies() -> impl Iterator<Item = (f64, f64)> {
        let exact = (-17..=13).map(|n| 1000.0 * 10_f64.powf(f64::from(n) / 10.0));
        exact.zip(TABLE)
    }

    #[test]
    fn the_weighting_is_that_of_iec_61672_1() {
        for (hz, table) in frequencies() {
            let found = a_weight(hz);
            // The table is rounded to a tenth.
            assert!((found - table).abs() < 0.051, "{hz}: {found}, {table}");
        }
    }

    /// A sine of full scale is 3.01 dB below it, and one that swells and fades as a raised cosine 4.26 dB more: its
    /// ends are soft, so that nothing but its own frequency is in it.
    #[test]
    fn a_tone_s_level_is_its_own_and_the_table_s_weight_at_every_rate() {
        for rate in [16_000_u32, 24_000, 48_000] {
            for (hz, table) in frequencies().filter(|(hz, _)| *hz < f64::from(rate) * 0.45) {
                let turn =
                    |hz: f64, n: u32| std::f64::consts::TAU * hz * f64::from(n) / f64::from(rate);
                let tone: Vec<f64> = (0..rate)
                    .map(|n| turn(hz, n).sin() * (0.5 - 0.5 * turn(1.0, n).cos()))
                    .collect();
                let found = a_level(&tone, rate) + 3.01 + 4.26;
                // Over the width of a swelling tone the weight of the lowest changes.
                let near = if hz < 30.0 { 0.3 } else { 0.1 };
                assert!(
                    (found - table).abs() < near,
                    "{rate} {hz}: {found}, {table}"
                );
            }
        }
    }

    #[test]
    fn silence_has_no_level() {
        assert!(a_level(&[0.0; 100], 48_000) < -300.0);
        assert!(!a_level(&[], 48_000).is_finite());
    }
}
