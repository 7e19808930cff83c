//! Numbers from a seed, the same on every machine.

/// The splitmix64 sequence. Source: Steele, Lea and Flood 2014.
pub(super) struct Dice(u64);

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        // Two seeds must not be two places of one sequence.
        Self(Self(seed).roll() ^ Self(!seed).roll())
    }

    pub(super) fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From `low` to `high`, both among them.
    pub(super) fn between(&mut self, low: u64, high: u64) -> u64 {
        low + self.roll() % (high - low + 1)
    }

    pub(super) fn percent(&mut self, p: u64) -> bool {
        self.roll() % 100 < p
    }

    pub(super) fn of<T: Clone>(&mut self, list: &[T]) -> T {
        let n = self.roll() % u64::try_from(list.len()).unwrap();
        list[usize::try_from(n).unwrap()].clone()
    }

    pub(super) fn maybe<T: Clone>(&mut self, list: &[T]) -> Option<T> {
        let some = self.percent(50) && !list.is_empty();
        some.then(|| self.of(list))
    }
}
