//! Random numbers that are the same on every machine.

use std::f64::consts::TAU;

/// A small deterministic generator (splitmix64; Steele, Lea & Flood, OOPSLA 2014).
#[derive(Clone, Debug)]
pub struct Chance(u64);

impl Chance {
    /// The sequence that belongs to this seed.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Chance(seed)
    }

    /// Even in 0..1.
    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Even between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Normal with mean 0 (Box & Muller, Ann. Math. Stat. 1958;29:610).
    pub fn normal(&mut self, sd: f64) -> f64 {
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        sd * radius * (TAU * self.uniform()).cos()
    }
}
