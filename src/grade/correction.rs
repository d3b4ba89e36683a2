//! The correction itself: a von Kries adaptation in linear light.

use super::Strength;
use crate::colour::illuminants::ENCODING_D65;
use crate::colour::{Adaptation, Matrix3, Xyz, srgb};

/// No channel of a white counts as less than this part of the largest: no gain brings it back.
const LEAST: f64 = 1e-3;

/// What takes a neutral surface from the colour it has in a picture to neutral: CAT16 from that
/// colour to the encoding's white.
///
/// The neutral keeps its luminance. So a neutral highlight below the top of the scale stays below
/// it, whatever the cast, and the exposure of the picture is left to whoever grades it; a colour
/// may still leave the scale, and what the camera clipped to white takes the opposite tint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    neutral: [f64; 3],
    strength: Strength,
    matrix: Matrix3,
}

impl Correction {
    /// The correction that makes a surface of colour `neutral`, in linear sRGB at any luminance,
    /// neutral. `None` where `neutral` is no colour: not finite, or black.
    #[must_use]
    pub fn new(neutral: [f64; 3], strength: Strength) -> Option<Self> {
        let largest = neutral.into_iter().fold(0.0, f64::max);
        if !neutral.iter().all(|channel| channel.is_finite()) || largest <= 0.0 {
            return None;
        }
        let neutral = neutral.map(|channel| (channel / largest).max(LEAST));
        let seen = Xyz::from(srgb::TO_XYZ.apply(neutral));
        let seen = seen * seen.y.recip();
        let cones = Adaptation::Cat16.matrix();
        let (from, to) = (cones.apply(seen.into()), cones.apply(ENCODING_D65.to_xyz().into()));
        let gains = std::array::from_fn(|i| (to[i] / from[i]).powf(strength.get()));
        let adapt = Adaptation::Cat16.inverse_matrix() * Matrix3::diagonal(gains) * cones;
        // At full strength this is 1 already.
        let luminance = Xyz::from(adapt.apply(seen.into())).y;
        let exposure = Matrix3::diagonal([luminance.recip(); 3]);
        let matrix = srgb::FROM_XYZ * exposure * adapt * srgb::TO_XYZ;
        matrix.is_finite().then_some(Self { neutral, strength, matrix })
    }

    /// The colour that is made neutral, in linear sRGB, largest channel 1.
    #[must_use]
    pub const fn neutral(&self) -> [f64; 3] {
        self.neutral
    }

    /// How much of it is made.
    #[must_use]
    pub const fn strength(&self) -> Strength {
        self.strength
    }

    /// The matrix from linear red, green and blue as recorded to corrected ones, over the
    /// primaries of sRGB and BT.709. It is the same whatever curve the footage is in.
    #[must_use]
    pub const fn matrix(&self) -> Matrix3 {
        self.matrix
    }

    /// The same correction made more or less.
    #[must_use]
    pub fn at(&self, strength: Strength) -> Option<Self> {
        Self::new(self.neutral, strength)
    }

    /// What each channel of the neutral is multiplied by in linear light.
    #[must_use]
    pub fn gains(&self) -> [f64; 3] {
        let corrected = self.matrix.apply(self.neutral);
        std::array::from_fn(|i| corrected[i] / self.neutral[i])
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const ORANGE: [f64; 3] = [1.0, 0.61, 0.34];

    fn luminance(rgb: [f64; 3]) -> f64 {
        Xyz::from(srgb::TO_XYZ.apply(rgb)).y
    }

    proptest! {
        #[test]
        fn the_neutral_becomes_neutral_and_keeps_its_luminance(
            neutral in [0.05..1.0_f64, 0.05..1.0_f64, 0.05..1.0_f64], scale in 0.01..3.0_f64,
        ) {
            let correction = Correction::new(neutral.map(|v| v * scale), Strength::FULL).unwrap();
            let corrected = correction.matrix().apply(neutral);
            for channel in corrected {
                prop_assert!((channel - luminance(neutral)).abs() < 1e-9, "{corrected:?}");
            }
            let half = correction.at(Strength::new(0.5).unwrap()).unwrap();
            let left = half.matrix().apply(neutral);
            prop_assert!((luminance(left) - luminance(neutral)).abs() < 1e-9);
            // What half leaves, half of the correction for the same cast takes away again.
            let twice = half.matrix().apply(left);
            let [r, g, b] = twice;
            prop_assert!((r - g).abs() < 1e-9 && (b - g).abs() < 1e-9, "{twice:?}");
        }
    }

    #[test]
    fn a_neutral_white_never_leaves_the_scale_and_white_is_left_alone() {
        let correction = Correction::new(ORANGE, Strength::FULL).unwrap();
        assert!(correction.matrix().apply(ORANGE).iter().all(|channel| *channel < 1.0));
        let none = Correction::new([0.7; 3], Strength::FULL).unwrap();
        for (got, wanted) in none.matrix().0.as_flattened().iter().zip([1., 0., 0., 0.]) {
            assert!((got - wanted).abs() < 1e-12);
        }
        let [red, green, blue] = correction.gains();
        assert!(red < 1.0 && green > 1.0 && blue > 1.9, "{red} {green} {blue}");
    }

    #[test]
    fn what_is_no_colour_has_no_correction() {
        for none in [[0.0; 3], [f64::NAN, 1.0, 1.0], [-1.0; 3], [1.0, f64::INFINITY, 1.0]] {
            assert_eq!(Correction::new(none, Strength::FULL), None, "{none:?}");
        }
        let blue = Correction::new([0.0, 0.0, 1.0], Strength::FULL).unwrap();
        assert!(blue.matrix().is_finite());
    }
}
