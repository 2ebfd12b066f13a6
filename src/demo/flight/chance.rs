//! Chance that a seed decides.

/// The generator SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014).
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly spread from `low` up to, but not including, `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        // The upper 53 bits fill a double's fraction.
        low + (high - low) * ((self.next() >> 11) as f64 / (1_u64 << 53) as f64)
    }
}
