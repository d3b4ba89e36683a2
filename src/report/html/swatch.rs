//! Patches of colour.

use super::svg::{Hex, Svg};
use crate::colour::TransferCurve;

/// A linear sRGB colour as it is shown at a level: the brightest channel encodes to `level`, 0–1.
pub(super) fn hex(linear: [f64; 3], level: f64) -> Hex {
    Hex(at_level(linear, level).map(code))
}

/// The colour in light whose brightest channel encodes to `level`; none is below 0.
fn at_level(linear: [f64; 3], level: f64) -> [f64; 3] {
    let largest = linear.into_iter().fold(f64::MIN_POSITIVE, f64::max);
    let light = TransferCurve::Srgb.decode(level.clamp(0.0, 1.0));
    linear.map(|channel| (channel / largest).clamp(0.0, 1.0) * light)
}

fn code(light: f64) -> u8 {
    (TransferCurve::Srgb.encode(light) * 255.0).round().clamp(0.0, 255.0) as u8
}

/// A neutral grey of the same luminance (by the weights of sRGB) as that colour at that level.
fn neutral_beside(linear: [f64; 3], level: f64) -> Hex {
    let [red, green, blue] = at_level(linear, level);
    Hex([code(0.2126 * red + 0.7152 * green + 0.0722 * blue); 3])
}

/// A colour as it came out beside the neutral that it should be.
pub(super) fn pair(linear: [f64; 3], level: f64, alternative: &str) -> String {
    let mut svg = Svg::default();
    svg.coloured_rect(hex(linear, level), [0.0, 0.0], [60.0, 36.0]);
    svg.coloured_rect(neutral_beside(linear, level), [60.0, 0.0], [60.0, 36.0]);
    svg.picture("swatch", [120.0, 36.0], alternative)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swatch_is_the_colour_beside_its_own_grey() {
        assert_eq!(hex([2.0, 1.0, 1.0], 1.0).to_string(), "#ffbcbc");
        assert_eq!(hex([1.0; 3], 0.5).to_string(), "#808080");
        let Hex([red, green, blue]) = neutral_beside([1.0, 0.8, 0.5], 0.8);
        assert!(red == green && green == blue);
        assert!((150..200).contains(&red), "{red}");
    }
}
