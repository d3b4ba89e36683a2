//! How different two colours look.

use palette::white_point::Any;

use super::Xyz;

/// CIE 1976 L\*a\*b\*: L\* from 0 (black) to 100 (the white it is relative to), a\* toward red,
/// b\* toward yellow. The white is whatever [`lab`] was given.
pub type Lab = palette::Lab<Any, f64>;

/// L\*a\*b\* of `colour` under `white`, by the exact fractions of CIE 015:2018, 8.2.1.
///
/// Not finite if a value of `white` is zero.
#[must_use]
pub fn lab(colour: Xyz, white: Xyz) -> Lab {
    let x = lightness_response(colour.x / white.x);
    let y = lightness_response(colour.y / white.y);
    let z = lightness_response(colour.z / white.z);
    Lab::new(116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z))
}

/// The cube root, with a straight line in its place near black.
fn lightness_response(ratio: f64) -> f64 {
    const THRESHOLD: f64 = 216.0 / 24_389.0;
    const SLOPE: f64 = 24_389.0 / 27.0;
    if ratio > THRESHOLD { ratio.cbrt() } else { (SLOPE * ratio + 16.0) / 116.0 }
}

/// The CIEDE2000 difference (ISO/CIE 11664-6) with all parametric factors 1. About 1 is just
/// noticeable side by side.
///
/// Written out here because `palette`'s own takes the mean of hues on either side of 0° a turn too
/// far, where the rotation term then misses blues, and lets rounding decide on which side of
/// opposite hues their mean lies.
#[must_use]
pub fn delta_e_2000(first: Lab, second: Lab) -> f64 {
    let chroma_mean = f64::midpoint(first.a.hypot(first.b), second.a.hypot(second.b));
    let stretch = 1.5 - 0.5 * chroma_weight(chroma_mean);
    let (chroma_1, hue_1) = polar(first.a * stretch, first.b);
    let (chroma_2, hue_2) = polar(second.a * stretch, second.b);
    let (hue_step, hue) = if chroma_1 * chroma_2 == 0.0 {
        // A grey has no hue: the mean is the other's.
        (0.0, hue_1 + hue_2)
    } else {
        hue_step_and_mean(hue_1, hue_2)
    };
    let lightness = f64::midpoint(first.l, second.l);
    let chroma = f64::midpoint(chroma_1, chroma_2);

    let cosine = |degrees: f64| degrees.to_radians().cos();
    let hue_weight =
        1.0 - 0.17 * cosine(hue - 30.0) + 0.24 * cosine(2.0 * hue) + 0.32 * cosine(3.0 * hue + 6.0)
            - 0.20 * cosine(4.0 * hue - 63.0);
    let from_middle = (lightness - 50.0) * (lightness - 50.0);
    let lightness_scale = 1.0 + 0.015 * from_middle / (20.0 + from_middle).sqrt();
    let chroma_scale = 1.0 + 0.045 * chroma;
    let hue_scale = 1.0 + 0.015 * chroma * hue_weight;
    let turn = 30.0 * (-((hue - 275.0) / 25.0).powi(2)).exp();
    let rotation = -2.0 * chroma_weight(chroma) * (2.0 * turn).to_radians().sin();

    let by_lightness = (second.l - first.l) / lightness_scale;
    let by_chroma = (chroma_2 - chroma_1) / chroma_scale;
    let by_hue =
        2.0 * (chroma_1 * chroma_2).sqrt() * (hue_step / 2.0).to_radians().sin() / hue_scale;
    let squared = by_lightness * by_lightness
        + by_chroma * by_chroma
        + by_hue * by_hue
        + rotation * by_chroma * by_hue;
    squared.max(0.0).sqrt()
}

/// √(C⁷ / (C⁷ + 25⁷)): 0 for greys, toward 1 for saturated colours.
fn chroma_weight(chroma: f64) -> f64 {
    let power = chroma.powi(7);
    (power / (power + 25.0_f64.powi(7))).sqrt()
}

/// Chroma, and hue in degrees from 0 up to 360; a grey's hue is 0.
fn polar(a: f64, b: f64) -> (f64, f64) {
    (a.hypot(b), b.atan2(a).to_degrees().rem_euclid(360.0))
}

/// The signed way from one hue to the other the short way round, and the hue half way, in degrees.
fn hue_step_and_mean(from: f64, to: f64) -> (f64, f64) {
    /// Opposite hues to within rounding are opposite; the standard counts them as not beyond.
    const HALF_TURN: f64 = 180.0 + 1e-9;
    let step = to - from;
    let mean = f64::midpoint(from, to);
    if step.abs() <= HALF_TURN {
        (step, mean)
    } else {
        (step - 360.0_f64.copysign(step), if mean < 180.0 { mean + 180.0 } else { mean - 180.0 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::Xy;

    #[test]
    fn white_and_black_are_the_ends_of_lightness() {
        let white = Xy::new(0.3457, 0.3585).to_xyz();
        let of_white = lab(white, white);
        assert!((of_white.l - 100.0).abs() < 1e-12, "{of_white:?}");
        assert!(of_white.a.abs() < 1e-12 && of_white.b.abs() < 1e-12, "{of_white:?}");
        let black = lab(Xyz::new(0.0, 0.0, 0.0), white);
        assert!(black.l.abs() < 1e-12 && black.a.abs() < 1e-12, "{black:?}");
    }

    // L* 50 is Y = ((50 + 16) / 116)³; the line and the cube root meet at L* = 8.
    #[test]
    fn lightness_follows_its_definition() {
        let white = Xyz::new(1.0, 1.0, 1.0);
        let grey = |y: f64| lab(Xyz::new(y, y, y), white).l;
        assert!((grey((66.0_f64 / 116.0).powi(3)) - 50.0).abs() < 1e-12);
        assert!((grey(216.0 / 24_389.0) - 8.0).abs() < 1e-12);
        assert!((grey(216.0 / 24_389.0 * (1.0 + 1e-12)) - 8.0).abs() < 1e-9);
        assert!((grey(0.001) - 0.903_296_296).abs() < 1e-9);
    }
}
