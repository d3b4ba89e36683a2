//! The few 3 × 3 operations needed to undo an ICC profile's adaptation.

use crate::colour::{Adaptation, Matrix3};

/// Three rows of three.
pub(super) type Matrix = [[f64; 3]; 3];

pub(super) fn apply(m: &Matrix, v: [f64; 3]) -> [f64; 3] {
    Matrix3(*m).apply(v)
}

pub(super) fn transpose(m: &Matrix) -> Matrix {
    Matrix3(*m).transpose().0
}

/// `a · b`: first `b`, then `a`.
pub(super) fn multiply(a: &Matrix, b: &Matrix) -> Matrix {
    Matrix3(*a).times(&Matrix3(*b)).0
}

/// Multiplies column n by `scale[n]`.
pub(super) fn scale_columns(m: &Matrix, scale: [f64; 3]) -> Matrix {
    let [x, y, z] = scale;
    m.map(|[a, b, c]| [a * x, b * y, c * z])
}

/// `None` where the matrix has no inverse worth the name.
pub(super) fn invert(m: &Matrix) -> Option<Matrix> {
    let [[a, b, c], [d, e, f], [g, h, i]] = *m;
    let determinant = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
    if !determinant.is_finite() || determinant.abs() < 1e-9 {
        return None;
    }
    let adjugate = [
        [e * i - f * h, c * h - b * i, b * f - c * e],
        [f * g - d * i, a * i - c * g, c * d - a * f],
        [d * h - e * g, b * g - a * h, a * e - b * d],
    ];
    Some(adjugate.map(|row| row.map(|value| value / determinant)))
}

/// The Bradford cone response (ICC.1:2022, annex E).
const BRADFORD: Matrix = Adaptation::Bradford.matrix().0;

/// The linear Bradford adaptation that takes the white `from` to the white `to`, both XYZ.
///
/// `None` where either white has a cone response of zero or less.
pub(super) fn bradford(from: [f64; 3], to: [f64; 3]) -> Option<Matrix> {
    let [a, b, c] = apply(&BRADFORD, from);
    let [d, e, f] = apply(&BRADFORD, to);
    if [a, b, c, d, e, f].iter().any(|response| !response.is_finite() || *response <= 0.0) {
        return None;
    }
    let back = invert(&BRADFORD)?;
    Some(multiply(&scale_columns(&back, [d / a, e / b, f / c]), &BRADFORD))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inverse_undoes() {
        let product = multiply(&BRADFORD, &invert(&BRADFORD).expect("regular"));
        for (row, values) in product.iter().enumerate() {
            for (column, value) in values.iter().enumerate() {
                let expected = f64::from(u8::from(row == column));
                assert!((value - expected).abs() < 1e-12);
            }
        }
        assert_eq!(invert(&[[1.0, 2.0, 3.0], [2.0, 4.0, 6.0], [0.0, 1.0, 0.0]]), None);
    }

    #[test]
    fn bradford_takes_white_to_white() {
        let from = [0.9642, 1.0, 0.8249];
        let to = [0.9505, 1.0, 1.0891];
        let result = apply(&bradford(from, to).expect("both whites are real"), from);
        for (got, want) in result.iter().zip(to) {
            assert!((got - want).abs() < 1e-12);
        }
        assert_eq!(bradford(from, [0.0, 0.0, 0.0]), None);
    }
}
