//! Look-ahead limiter: the gain is down before the peak comes, so nothing is clipped and nothing
//! crackles. Its delay is the same for every sample and is taken out by whoever counts frames.

/// Frames looked at at once; 2.7 ms at 48 kHz.
const WINDOW: usize = 128;
/// -0.3 dB: what a converter's filter may add to a peak stays below full.
const CEILING: f32 = 0.966;
/// A gain of one, in whole steps: sums of whole steps are exact, so that a signal that needs no
/// limiting passes unchanged.
const ONE: u32 = 1 << 24;

#[derive(Clone, Debug)]
pub(crate) struct Limiter {
    samples: [f32; WINDOW],
    needed: [u32; WINDOW],
    used: [u32; WINDOW],
    at: usize,
    sum: u64,
    lowest: u32,
    lowest_left: usize,
    held: u32,
    recover: u32,
}

impl Limiter {
    /// Frames by which the output lies behind the input.
    pub(crate) const DELAY: usize = WINDOW - 1;

    pub(crate) fn new(hz: u32) -> Self {
        Self {
            samples: [0.0; WINDOW],
            needed: [ONE; WINDOW],
            used: [ONE; WINDOW],
            at: 0,
            sum: u64::from(ONE).saturating_mul(SPAN),
            lowest: ONE,
            lowest_left: 0,
            held: ONE,
            // From silence to full in 100 ms.
            recover: ONE
                .checked_div(hz.checked_div(10).unwrap_or(0))
                .unwrap_or(ONE),
        }
    }

    /// Takes one sample and gives the one taken [`Self::DELAY`] before.
    pub(crate) fn step(&mut self, sample: f32) -> f32 {
        let size = sample.abs();
        let need = if size > CEILING {
            steps(CEILING / size)
        } else {
            ONE
        };
        put(&mut self.samples, self.at, sample);
        put(&mut self.needed, self.at, need);
        self.find_lowest(need);
        self.held = self
            .held
            .saturating_add(self.recover)
            .min(ONE)
            .min(self.lowest);
        let gone = put(&mut self.used, self.at, self.held);
        self.sum = self
            .sum
            .saturating_add(u64::from(self.held))
            .saturating_sub(u64::from(gone));
        self.at = self.at.saturating_add(1) & (WINDOW - 1);
        let oldest = self.samples.get(self.at).copied().unwrap_or(0.0);
        // Rounding in the mean can leave one step too much.
        (oldest * share(self.sum)).clamp(-CEILING, CEILING)
    }

    /// The least gain that any sample of the window needs.
    fn find_lowest(&mut self, need: u32) {
        if need <= self.lowest {
            self.lowest = need;
            self.lowest_left = WINDOW;
        } else if self.lowest_left > 1 {
            self.lowest_left = self.lowest_left.saturating_sub(1);
        } else {
            self.lowest = ONE;
            for age in (0..WINDOW).rev() {
                let place = self.at.wrapping_sub(age) & (WINDOW - 1);
                let other = self.needed.get(place).copied().unwrap_or(ONE);
                if other <= self.lowest {
                    self.lowest = other;
                    self.lowest_left = WINDOW.saturating_sub(age);
                }
            }
        }
    }
}

const SPAN: u64 = 128;

/// Puts `new` in its place and gives what was there.
fn put<T: Copy + Default>(ring: &mut [T; WINDOW], at: usize, new: T) -> T {
    ring.get_mut(at)
        .map_or_else(T::default, |place| core::mem::replace(place, new))
}

#[expect(
    clippy::as_conversions,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a gain between 0 and 1 in steps of 2^-24, rounded down"
)]
fn steps(gain: f32) -> u32 {
    (gain * ONE as f32) as u32
}

/// The mean of a window's gains.
#[expect(
    clippy::as_conversions,
    clippy::cast_precision_loss,
    reason = "at most 2^31; what is lost is below one step of the sample"
)]
fn share(sum: u64) -> f32 {
    sum as f32 / (u64::from(ONE).saturating_mul(SPAN)) as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(input: &[f32]) -> Vec<f32> {
        let mut limiter = Limiter::new(48_000);
        let padded = input.iter().copied().chain([0.0; Limiter::DELAY]);
        let all: Vec<f32> = padded.map(|s| limiter.step(s)).collect();
        all[Limiter::DELAY..].to_vec()
    }

    #[test]
    fn what_needs_no_limiting_passes_unchanged() {
        let input: Vec<f32> = (0_u16..2000).map(|n| f32::from(n % 97) / 101.0).collect();
        assert_eq!(run(&input), input);
    }

    #[test]
    fn no_peak_passes_and_each_stays_where_it_was() {
        let mut input = vec![0.0_f32; 4000];
        for (n, size) in [
            (500, 1.4),
            (560, 3.0),
            (640, 1.2),
            (2000, -1.9),
            (2127, 1.0),
        ] {
            input[n] = size;
        }
        let output = run(&input);
        assert!(output.iter().all(|s| s.abs() <= CEILING));
        for n in [500, 560, 640, 2000, 2127] {
            assert!(output[n].abs() > 0.2, "peak {n} is {}", output[n]);
            assert!(output[n - 1].abs() < 1e-9 && output[n + 1].abs() < 1e-9);
        }
    }

    /// The clamp must have nothing to do: a gain that only fell at the peak would crackle.
    #[test]
    fn gain_is_down_before_a_peak_and_moves_by_small_steps() {
        let mut input = vec![0.5_f32; 6000];
        input[3000] = 2.0;
        let output = run(&input);
        let largest = output
            .windows(2)
            .enumerate()
            .filter(|(n, _)| !(2999..=3000).contains(n))
            .map(|(_, w)| (w[1] - w[0]).abs())
            .fold(0.0, f32::max);
        assert!(largest < 0.01, "step of {largest}");
        assert!((output[3000] - CEILING).abs() < 1e-3, "{}", output[3000]);
        assert!(output[2990] < 0.3 && output[2870] > 0.499);
    }
}
