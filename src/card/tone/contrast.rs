//! The family of contrast curves that are tried.

use crate::colour::TransferCurve;

/// A contrast curve: on the encoded scale 0–1 a blend of the identity and the smooth step
/// 3e² − 2e³, which darkens the dim half and lightens the bright half as cameras' curves do.
/// 0 is no curve at all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Contrast(pub(super) f64);

impl Contrast {
    /// The encoded value that the curve makes of `encoded`.
    pub(super) fn applied(self, encoded: f64) -> f64 {
        let step = encoded * encoded * (3.0 - 2.0 * encoded);
        encoded + self.0 * (step - encoded)
    }

    /// The value that [`Contrast::applied`] takes to `encoded`, for both in 0–1.
    fn undone(self, encoded: f64) -> f64 {
        // Monotone on 0–1 for every strength of the family: bisection cannot fail, and a few
        // Newton steps from the identity are already exact.
        let mut value = encoded;
        for _ in 0..8 {
            let slope = 1.0 - self.0 + self.0 * 6.0 * value * (1.0 - value);
            value -= (self.applied(value) - encoded) / slope.max(0.05);
            value = value.clamp(0.0, 1.0);
        }
        value
    }

    pub(super) fn undone_linear(self, linear: f64) -> f64 {
        TransferCurve::Srgb.decode(self.undone(TransferCurve::Srgb.encode(linear.clamp(0.0, 1.0))))
    }

    /// The encoded value of linear light under the curve.
    pub(super) fn applied_to_linear(self, linear: f64) -> f64 {
        self.applied(TransferCurve::Srgb.encode(linear.clamp(0.0, 1.0)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn undoing_a_curve_gives_back_what_it_was_applied_to() {
        for strength in [-0.2, 0.0, 0.3, 0.6, 1.0] {
            for i in 0..=100 {
                let value = f64::from(i) / 100.0;
                let back = Contrast(strength).undone(Contrast(strength).applied(value));
                assert!((back - value).abs() < 2e-3, "{strength}: {value} came back as {back}");
            }
        }
    }
}
