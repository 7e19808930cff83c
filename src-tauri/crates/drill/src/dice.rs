//! What varies from drill to drill: a pure function of the seed and of what is drawn for.

/// A number from 0 to `most`, the same for the same seed and place. Seed 0 varies nothing.
///
/// `SplitMix64` (Steele, Lea and Flood 2014): its steps, from memory; the tests hold its spread, and nothing more
/// hangs on it.
pub(crate) fn draw(seed: u32, place: usize, most: u32) -> u32 {
    if seed == 0 {
        return 0;
    }
    let place = u64::try_from(place).unwrap_or(u64::MAX).wrapping_add(1);
    let mixed = mix(mix(u64::from(seed)) ^ place.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    let sides = u64::from(most).saturating_add(1);
    u32::try_from(mixed.checked_rem(sides).unwrap_or(0)).unwrap_or(0)
}

fn mix(from: u64) -> u64 {
    let mut z = from.wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}
