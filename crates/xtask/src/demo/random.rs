//! A tiny seeded generator, so that the drawing is the same on every machine and every day.

/// SplitMix64 (Steele, Lea and Flood 2014, "Fast splittable pseudorandom number generators", OOPSLA).
pub struct Random(u64);

impl Random {
    /// A stream that depends on the seed alone.
    pub const fn new(seed: u64) -> Self {
        Random(seed)
    }

    /// Even in 0 to 1, 1 left out.
    pub fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        // 53 bits fill a double's mantissa.
        (z >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Even between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Bell-shaped around 0, SD about 1, never beyond ±3: the sum of six even numbers, centred and scaled.
    pub fn bell(&mut self) -> f64 {
        let sum: f64 = (0..6).map(|_| self.unit()).sum();
        (sum - 3.0) * std::f64::consts::SQRT_2
    }
}
