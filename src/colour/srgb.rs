//! The sRGB encoding (IEC 61966-2-1), and matrices of RGB encodings by their primaries.

use palette::{LinSrgb, Srgb};

use super::illuminants::ENCODING_D65;
use super::{Matrix3, TransferCurve, Xy, Xyz};

/// Chromaticities of the red, green and blue primaries (IEC 61966-2-1; also ITU-R BT.709).
pub const PRIMARIES: [Xy; 3] = [Xy::new(0.64, 0.33), Xy::new(0.30, 0.60), Xy::new(0.15, 0.06)];

/// From linear sRGB to XYZ relative to the encoding's white, with Y = 1 for white.
pub const TO_XYZ: Matrix3 = const { found(rgb_to_xyz(PRIMARIES, ENCODING_D65)) };

/// From XYZ relative to the encoding's white to linear sRGB.
pub const FROM_XYZ: Matrix3 = const { found(TO_XYZ.inverse()) };

const fn found(matrix: Option<Matrix3>) -> Matrix3 {
    match matrix {
        Some(matrix) => matrix,
        None => panic!("a singular matrix: the compiler stops here, a running program cannot"),
    }
}

/// The matrix from linear RGB of any encoding to XYZ, from the chromaticities of its red, green
/// and blue primaries and of its white: (1, 1, 1) becomes the white with Y = 1 (SMPTE RP 177).
///
/// `None` if they span no colour space, such as primaries on one line, or one with y = 0.
#[must_use]
pub const fn rgb_to_xyz(primaries: [Xy; 3], white: Xy) -> Option<Matrix3> {
    let [red, green, blue] = primaries;
    let columns = Matrix3([xyz_row(red), xyz_row(green), xyz_row(blue)]).transpose();
    let Some(inverse) = columns.inverse() else { return None };
    let matrix = columns.times(&Matrix3::diagonal(inverse.apply(xyz_row(white))));
    if matrix.is_finite() { Some(matrix) } else { None }
}

const fn xyz_row(xy: Xy) -> [f64; 3] {
    let colour = xy.to_xyz();
    [colour.x, colour.y, colour.z]
}

/// Encoded sRGB to linear light.
#[must_use]
pub fn decode(encoded: Srgb<f64>) -> LinSrgb<f64> {
    let [red, green, blue] =
        [encoded.red, encoded.green, encoded.blue].map(|value| TransferCurve::Srgb.decode(value));
    LinSrgb::new(red, green, blue)
}

/// Linear light to encoded sRGB. Not clipped: colours outside the gamut leave 0–1.
#[must_use]
pub fn encode(linear: LinSrgb<f64>) -> Srgb<f64> {
    let [red, green, blue] =
        [linear.red, linear.green, linear.blue].map(|light| TransferCurve::Srgb.encode(light));
    Srgb::new(red, green, blue)
}

/// Linear sRGB to XYZ relative to the encoding's white, [`ENCODING_D65`].
#[must_use]
pub fn to_xyz(linear: LinSrgb<f64>) -> Xyz {
    TO_XYZ.apply(linear.into()).into()
}

/// XYZ relative to the encoding's white, [`ENCODING_D65`], to linear sRGB. Not clipped.
#[must_use]
pub fn from_xyz(colour: Xyz) -> LinSrgb<f64> {
    FROM_XYZ.apply(colour.into()).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    // The four-decimal matrix printed in IEC 61966-2-1.
    #[test]
    fn the_matrix_rounds_to_the_printed_one() {
        let printed =
            [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];
        for (row, wanted) in TO_XYZ.0.iter().zip(printed) {
            for (value, wanted) in row.iter().zip(wanted) {
                assert!((value - wanted).abs() <= 5.1e-5, "{TO_XYZ:?}");
            }
        }
    }

    #[test]
    fn white_is_the_encodings_white() {
        let white = to_xyz(LinSrgb::new(1.0, 1.0, 1.0));
        let wanted = ENCODING_D65.to_xyz();
        for (value, wanted) in [(white.x, wanted.x), (white.y, 1.0), (white.z, wanted.z)] {
            assert!((value - wanted).abs() < 1e-15, "{white:?}");
        }
    }

    #[test]
    fn primaries_on_a_line_span_nothing() {
        let line = [Xy::new(0.2, 0.2), Xy::new(0.3, 0.3), Xy::new(0.4, 0.4)];
        assert_eq!(rgb_to_xyz(line, ENCODING_D65), None);
        let flat = [Xy::new(0.64, 0.0), Xy::new(0.3, 0.6), Xy::new(0.15, 0.06)];
        assert_eq!(rgb_to_xyz(flat, ENCODING_D65), None);
    }
}
