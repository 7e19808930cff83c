//! Decibels without a maths library, and the step back of beats under a voice.

/// One tenth of a decibel down: 10^(-1/200).
const TENTH_DOWN: f32 = 0.988_553_1;
/// From here on nothing is heard of 16 bits.
const SILENT_DDB: u16 = 960;

/// Factor for `ddb` tenths of a decibel below full.
pub(crate) fn factor(ddb: u16) -> f32 {
    if ddb >= SILENT_DDB {
        return 0.0;
    }
    let (mut left, mut power, mut product) = (ddb, TENTH_DOWN, 1.0_f32);
    while left > 0 {
        if left & 1 == 1 {
            product *= power;
        }
        power *= power;
        left >>= 1;
    }
    product
}

/// How far beats and breaths step back under a voice. Source: the project's own choice; at 8 dB a
/// click still stands above speech in its own band.
const DUCK_DDB: u16 = 80;
/// ln(10) * 8 / 20: the same in nepers.
const DUCK_NEPER: f32 = 0.921_034;

/// Steps back under a voice and comes forward after it, at an even pace in decibels.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Duck {
    now: f32,
    floor: f32,
    down: f32,
    up: f32,
}

impl Duck {
    /// Down in 15 ms, up in 120 ms.
    pub(crate) fn new(hz: u32) -> Self {
        Self {
            now: 1.0,
            floor: factor(DUCK_DDB),
            down: exp(-DUCK_NEPER / span(hz, 15)),
            up: exp(DUCK_NEPER / span(hz, 120)),
        }
    }

    /// The factor for the next frame.
    pub(crate) fn step(&mut self, is_spoken: bool) -> f32 {
        self.now = if is_spoken {
            (self.now * self.down).max(self.floor)
        } else {
            (self.now * self.up).min(1.0)
        };
        self.now
    }
}

/// Frames of `ms`, as a number to reckon with.
fn span(hz: u32, ms: u32) -> f32 {
    let frames = hz.saturating_mul(ms).checked_div(1000).unwrap_or(0);
    f32::from(u16::try_from(frames.max(1)).unwrap_or(u16::MAX))
}

/// e^x for a small x.
fn exp(x: f32) -> f32 {
    1.0 + x * (1.0 + x * (0.5 + x / 6.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: 20 dB is a factor of ten, 6.0 dB of 1.9953 (definition of the decibel).
    #[test]
    fn factors_are_decibels() {
        for (ddb, wanted) in [(0, 1.0), (60, 0.501_187), (200, 0.1), (600, 0.001)] {
            let found = factor(ddb);
            assert!((found / wanted - 1.0).abs() < 1e-4, "{ddb}: {found}");
        }
        assert!(factor(960) <= 0.0);
    }

    #[test]
    fn duck_is_down_within_20_ms_and_up_within_150_ms() {
        for hz in [8000, 44_100, 48_000, 192_000] {
            let mut duck = Duck::new(hz);
            let mut factor = 1.0;
            for _ in 0..hz / 50 {
                factor = duck.step(true);
            }
            assert!((factor - 0.398_107).abs() < 1e-4, "{hz}: {factor}");
            for _ in 0..hz * 15 / 100 {
                factor = duck.step(false);
            }
            assert!((factor - 1.0).abs() < f32::EPSILON, "{hz}: {factor}");
        }
    }
}
