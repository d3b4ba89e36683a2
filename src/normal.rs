//! The normal distribution, in its standard deviation.

/// Half the width of the interval round the mean that holds 90 %.
pub(crate) const HALF_90: f64 = 1.645;

/// The part that lies below so many standard deviations from the mean, exact in the tails too.
pub(crate) fn below(deviations: f64) -> f64 {
    0.5 * libm::erfc(-deviations * std::f64::consts::FRAC_1_SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_normal_distribution_is_that_of_tables() {
        for (deviations, wanted) in
            [(0.0, 0.5), (0.674_49, 0.75), (-1.0, 0.158_655), (1.644_854, 0.95), (-6.0, 0.0)]
        {
            assert!((below(deviations) - wanted).abs() < 1e-6, "{deviations}");
        }
        assert_eq!((below(f64::INFINITY), below(f64::NEG_INFINITY)), (1.0, 0.0));
    }
}
