//! A small seeded generator, so that every run draws the same numbers on every machine and thread count.

/// A seeded stream of pseudo-random numbers (the splitmix64 recurrence of Steele, Lea and Flood, 2014).
///
/// Statistically good enough for rendering and noise; not for secrets.
#[derive(Debug, Clone)]
pub struct Rng(u64);

impl Rng {
    /// A stream that depends only on `seed`.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        let mut rng = Self(seed ^ 0x5851_f42d_4c95_7f2d);
        rng.next_u64();
        rng
    }

    /// One of many independent streams of a seed: one a pixel row, say, so that rows can be drawn in any order.
    #[must_use]
    pub fn stream(seed: u64, stream: u64) -> Self {
        let mut rng = Self::new(seed);
        let offset = rng.next_u64();
        Self::new(offset ^ stream.wrapping_mul(0xd6e8_feb8_6659_fd93))
    }

    /// The next 64 bits.
    pub fn next_u64(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform in [0, 1).
    pub fn uniform(&mut self) -> f64 {
        (self.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Uniform in [0, 1), in the renderer's precision.
    pub fn uniform_f32(&mut self) -> f32 {
        (self.next_u64() >> 40) as f32 / (1_u32 << 24) as f32
    }

    /// Uniform in [low, high).
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Standard normal, mean 0 and deviation 1 (Box and Muller, 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn streams_repeat_and_differ() {
        let draw = |seed, stream| Rng::stream(seed, stream).next_u64();
        assert_eq!(draw(1, 2), draw(1, 2));
        assert_ne!(draw(1, 2), draw(1, 3));
        assert_ne!(draw(1, 2), draw(2, 2));
    }

    #[test]
    fn normal_has_mean_zero_and_unit_deviation() {
        let mut rng = Rng::new(7);
        let draws: Vec<f64> = (0..20_000).map(|_| rng.normal()).collect();
        let mean = draws.iter().sum::<f64>() / draws.len() as f64;
        let variance = draws.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / draws.len() as f64;
        assert!(mean.abs() < 0.03, "{mean}");
        assert!((variance - 1.0).abs() < 0.04, "{variance}");
    }
}
