/// Numbers from a seed, the same on every phone: `SplitMix64` (Steele, Lea, Flood 2014).
#[derive(Clone, Debug)]
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = self.0;
        let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number from 0 to `n` - 1; 0 for `n` of 0. The high bits, whose bias is below a billionth here.
    fn below(&mut self, n: usize) -> usize {
        let n = u64::try_from(n).unwrap_or(0);
        let product = u128::from(self.next()).saturating_mul(u128::from(n));
        usize::try_from(product >> 64).unwrap_or(0)
    }

    /// Puts a list into another order, each as likely as any (Fisher, Yates).
    pub(crate) fn shuffle<T>(&mut self, list: &mut [T]) {
        for last in (1..list.len()).rev() {
            let other = self.below(last.saturating_add(1));
            list.swap(last, other);
        }
    }

    /// From 0 to 1, never 0.
    fn part(&mut self) -> f64 {
        let high = u32::try_from(self.next() >> 32).unwrap_or(0);
        (f64::from(high) + 0.5) / 4_294_967_296.0
    }

    /// Two numbers of the normal distribution (Box, Muller 1958).
    pub(crate) fn normal(&mut self) -> [f64; 2] {
        let size = (-2.0 * self.part().ln()).sqrt();
        let (sin, cos) = (std::f64::consts::TAU * self.part()).sin_cos();
        [size * cos, size * sin]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the outputs for seed 1234567 that Rosetta Code prints under "Pseudo-random numbers/Splitmix64".
    #[test]
    fn the_numbers_are_those_of_splitmix64() {
        let mut dice = Dice::new(1_234_567);
        let found: Vec<u64> = (0..5).map(|_| dice.next()).collect();
        assert_eq!(
            found,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821,
            ]
        );
    }

    #[test]
    fn an_order_holds_each_once_and_every_place_is_reached() {
        let mut reached = [[false; 6]; 6];
        for seed in 0..200 {
            let mut list = [0_usize, 1, 2, 3, 4, 5];
            Dice::new(seed).shuffle(&mut list);
            for (place, item) in list.iter().enumerate() {
                reached[*item][place] = true;
            }
            list.sort_unstable();
            assert_eq!(list, [0, 1, 2, 3, 4, 5]);
        }
        assert_eq!(reached, [[true; 6]; 6]);
    }
}
