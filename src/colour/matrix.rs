//! Small matrices between three-valued colours.

use std::ops::Mul;

/// A 3 × 3 matrix, by rows, that acts on column vectors. `a * b` applies `b` first.
///
/// Its functions are `const` so that the inverses of published matrices are computed by the
/// compiler, at full precision, and never typed in as rounded digits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Matrix3(pub [[f64; 3]; 3]);

impl Matrix3 {
    /// The matrix that changes nothing.
    pub const IDENTITY: Self = Self::diagonal([1.0, 1.0, 1.0]);

    /// The matrix that multiplies each value by its own factor.
    #[must_use]
    pub const fn diagonal([a, b, c]: [f64; 3]) -> Self {
        Self([[a, 0.0, 0.0], [0.0, b, 0.0], [0.0, 0.0, c]])
    }

    /// This matrix times the column `vector`.
    #[must_use]
    pub const fn apply(&self, vector: [f64; 3]) -> [f64; 3] {
        let [first, second, third] = self.0;
        [dot(first, vector), dot(second, vector), dot(third, vector)]
    }

    /// Rows and columns exchanged.
    #[must_use]
    pub const fn transpose(&self) -> Self {
        let [[a, b, c], [d, e, f], [g, h, i]] = self.0;
        Self([[a, d, g], [b, e, h], [c, f, i]])
    }

    /// The product of this matrix and `other`, which is applied first.
    #[must_use]
    pub const fn times(&self, other: &Self) -> Self {
        let [first, second, third] = other.transpose().0;
        let columns = [self.apply(first), self.apply(second), self.apply(third)];
        Self(columns).transpose()
    }

    /// The matrix that undoes this one; `None` if it is singular to working precision or either is
    /// not finite.
    #[must_use]
    pub const fn inverse(&self) -> Option<Self> {
        let [[a, b, c], [d, e, f], [g, h, i]] = self.0;
        let cofactors = [
            [e * i - f * h, f * g - d * i, d * h - e * g],
            [c * h - b * i, a * i - c * g, b * g - a * h],
            [b * f - c * e, c * d - a * f, a * e - b * d],
        ];
        let determinant = dot([a, b, c], cofactors[0]);
        // Rounding leaves a singular matrix a determinant about this small beside its rows.
        let rounding = 16.0 * f64::EPSILON * (size([a, b, c]) * size([d, e, f]) * size([g, h, i]));
        let regular = determinant.abs() > rounding;
        if !regular {
            return None;
        }
        let reciprocal = 1.0 / determinant;
        let [first, second, third] = Self(cofactors).transpose().0;
        let inverse =
            Self([scale(first, reciprocal), scale(second, reciprocal), scale(third, reciprocal)]);
        if inverse.is_finite() { Some(inverse) } else { None }
    }

    /// Whether every element is a finite number.
    #[must_use]
    pub const fn is_finite(&self) -> bool {
        let [[a, b, c], [d, e, f], [g, h, i]] = self.0;
        // A sum of finite numbers may overflow; a number times zero is zero only if finite.
        0.0 * a + 0.0 * b + 0.0 * c + 0.0 * d + 0.0 * e + 0.0 * f + 0.0 * g + 0.0 * h + 0.0 * i
            == 0.0
    }
}

impl Mul for Matrix3 {
    type Output = Self;

    fn mul(self, other: Self) -> Self {
        self.times(&other)
    }
}

const fn dot([a, b, c]: [f64; 3], [x, y, z]: [f64; 3]) -> f64 {
    a * x + b * y + c * z
}

const fn size([a, b, c]: [f64; 3]) -> f64 {
    a.abs() + b.abs() + c.abs()
}

const fn scale([a, b, c]: [f64; 3], factor: f64) -> [f64; 3] {
    [a * factor, b * factor, c * factor]
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    const SAMPLE: Matrix3 = Matrix3([[2.0, -1.0, 0.5], [0.0, 3.0, 1.0], [4.0, 0.25, -2.0]]);

    #[test]
    fn the_right_hand_matrix_acts_first() {
        let first = Matrix3([[0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]);
        let second = Matrix3::diagonal([2.0, 3.0, 4.0]);
        assert_eq!((second * first).apply([1.0, 10.0, 100.0]), [20.0, 3.0, 400.0]);
        assert_eq!((first * second).apply([1.0, 10.0, 100.0]), [30.0, 2.0, 400.0]);
    }

    #[test]
    fn an_inverse_undoes_its_matrix() {
        let product = SAMPLE * SAMPLE.inverse().unwrap();
        for (row, expected) in product.0.iter().zip(Matrix3::IDENTITY.0) {
            for (value, wanted) in row.iter().zip(expected) {
                assert!((value - wanted).abs() < 1e-15, "{product:?}");
            }
        }
    }

    #[test]
    fn a_matrix_that_loses_a_dimension_has_no_inverse() {
        let singular = Matrix3([[0.1, 0.7, 0.3], [0.3, 2.1, 0.9], [0.0, 1.0, 1.0]]);
        assert_eq!(singular.inverse(), None);
        assert_eq!(Matrix3::diagonal([0.0; 3]).inverse(), None);
        assert_eq!(Matrix3::diagonal([1.0, f64::NAN, 1.0]).inverse(), None);
        assert_eq!(Matrix3::diagonal([1.0, f64::INFINITY, 1.0]).inverse(), None);
    }
}
