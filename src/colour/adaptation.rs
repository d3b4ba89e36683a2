//! Chromatic adaptation: the colour that looks under one white as another did under another.

use super::{Matrix3, Xyz};

/// A von Kries adaptation: cone-like responses, each scaled by the ratio of the two whites' own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Adaptation {
    /// CAT16 (Li et al. 2017; CIE 248:2022), at full adaptation.
    Cat16,
    /// Linearised Bradford (ICC.1:2022, annex E).
    Bradford,
    /// Scaling of X, Y and Z themselves. Clearly worse; for comparison.
    XyzScaling,
}

const CAT16: Matrix3 = Matrix3([
    [0.401_288, 0.650_173, -0.051_461],
    [-0.250_268, 1.204_414, 0.045_854],
    [-0.002_079, 0.048_952, 0.953_127],
]);

const BRADFORD: Matrix3 =
    Matrix3([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]);

const CAT16_INVERSE: Matrix3 = const { undo(&CAT16) };
const BRADFORD_INVERSE: Matrix3 = const { undo(&BRADFORD) };

const fn undo(matrix: &Matrix3) -> Matrix3 {
    match matrix.inverse() {
        Some(inverse) => inverse,
        None => panic!("a singular matrix: the compiler stops here, a running program cannot"),
    }
}

impl Adaptation {
    /// The matrix from XYZ to the responses that are scaled.
    #[must_use]
    pub const fn matrix(self) -> Matrix3 {
        match self {
            Self::Cat16 => CAT16,
            Self::Bradford => BRADFORD,
            Self::XyzScaling => Matrix3::IDENTITY,
        }
    }

    /// The matrix from scaled responses back to XYZ.
    #[must_use]
    pub const fn inverse_matrix(self) -> Matrix3 {
        match self {
            Self::Cat16 => CAT16_INVERSE,
            Self::Bradford => BRADFORD_INVERSE,
            Self::XyzScaling => Matrix3::IDENTITY,
        }
    }

    /// The one matrix that adapts XYZ from `from_white` to `to_white`, for many colours.
    ///
    /// Not finite if a response to `from_white` is zero, as no white's is.
    #[must_use]
    pub fn between(self, from_white: Xyz, to_white: Xyz) -> Matrix3 {
        let matrix = self.matrix();
        let [from_l, from_m, from_s] = matrix.apply(from_white.into());
        let [to_l, to_m, to_s] = matrix.apply(to_white.into());
        let gains = Matrix3::diagonal([to_l / from_l, to_m / from_m, to_s / from_s]);
        self.inverse_matrix() * gains * matrix
    }

    /// The colour that looks under `to_white` as `colour` does under `from_white`.
    ///
    /// Give both whites the same Y, or the result is scaled by their ratio. Not finite if a
    /// response to `from_white` is zero, as no white's is.
    #[must_use]
    pub fn adapt(self, colour: Xyz, from_white: Xyz, to_white: Xyz) -> Xyz {
        self.between(from_white, to_white).apply(colour.into()).into()
    }
}
