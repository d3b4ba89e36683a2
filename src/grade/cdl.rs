//! The nearest that an ASC CDL comes to a correction.

use super::chart::{GREYS, PATCHES, chart};
use super::simplex::minimise;
use super::{Correction, Footage};
use crate::colour::illuminants::ENCODING_D65;
use crate::colour::{Lab, delta_e_2000, lab, srgb};

/// The numbers of an ASC CDL that multiplies the channels: its offsets are 0, its powers and its
/// saturation 1.
///
/// Offsets or powers would bring the mean over the chart's colours down by up to a fifth; but they
/// tint the greys, where they leave three times as much, and offsets lift the black.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cdl {
    slope: [f64; 3],
}

/// A CDL and how far it is from the correction that it stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CdlFit {
    /// The numbers.
    pub cdl: Cdl,
    /// Mean CIEDE2000 difference from the correction over the 24-patch chart.
    pub mean_delta_e: f64,
    /// The largest of them.
    pub max_delta_e: f64,
}

/// Slopes are written with so many decimals.
pub(super) const DECIMALS: usize = 6;

/// So much does the square of a grey's difference count beside that of a colour: the six greys
/// count as much as the eighteen colours, since neutral is what a correction of the balance is for.
const GREY_WEIGHT: f64 = (PATCHES - GREYS) as f64 / GREYS as f64;

impl Cdl {
    /// Slopes of red, green and blue, above 0; rounded as they are written.
    #[must_use]
    pub fn new(slope: [f64; 3]) -> Self {
        let unit = 10_f64.powi(DECIMALS as i32);
        let rounded = |slope: f64| (slope * unit).round() / unit;
        Self { slope: slope.map(|slope| rounded(slope).max(unit.recip())) }
    }

    /// The slopes of red, green and blue.
    #[must_use]
    pub const fn slope(&self) -> [f64; 3] {
        self.slope
    }

    /// What it makes of encoded values. As in ASC CDL v1.2 the result is held within 0–1.
    #[must_use]
    pub fn apply(&self, encoded: [f64; 3]) -> [f64; 3] {
        std::array::from_fn(|i| (encoded[i] * self.slope[i]).clamp(0.0, 1.0))
    }

    /// The slopes that come nearest to a correction in the encoded values of footage: least
    /// squares of CIEDE2000 over the 24-patch chart as the footage would show it in the cast's
    /// light, exposed so that nothing of it is clipped before or after.
    #[must_use]
    pub fn fit(correction: &Correction, footage: Footage) -> CdlFit {
        let shown = Shown::of(correction, footage);
        let start = correction.gains().map(|gain| {
            // What the gain is about a mid-grey.
            const MID_GREY: f64 = 0.18;
            (footage.curve().encode(gain * MID_GREY) / footage.curve().encode(MID_GREY)).ln()
        });
        let slopes = |at: [f64; 3]| at.map(f64::exp);
        let sum = |at: [f64; 3]| {
            let differences = shown.differences(slopes(at), footage);
            let (colours, greys) = differences.split_at(PATCHES - GREYS);
            let squares = |of: &[f64]| of.iter().map(|d| d * d).sum::<f64>();
            squares(colours) + GREY_WEIGHT * squares(greys)
        };
        let cdl = Self::new(slopes(minimise(start, 0.05, sum)));
        let differences = shown.differences(cdl.slope, footage);
        CdlFit {
            cdl,
            mean_delta_e: differences.iter().sum::<f64>() / PATCHES as f64,
            max_delta_e: differences.into_iter().fold(0.0, f64::max),
        }
    }
}

/// The chart in the footage, and as the correction would have it.
struct Shown {
    encoded: [[f64; 3]; PATCHES],
    wanted: [Lab; PATCHES],
}

impl Shown {
    fn of(correction: &Correction, footage: Footage) -> Self {
        let matrix = correction.matrix();
        // The chart in the light of the cast: what full strength would bring back to D65.
        let full = correction.at(super::Strength::FULL).map_or(matrix, |full| full.matrix());
        let back = full.inverse().unwrap_or(crate::colour::Matrix3::IDENTITY);
        let recorded =
            chart().map(|patch| back.apply(srgb::FROM_XYZ.apply(patch.into())).map(in_gamut));
        let largest = recorded
            .iter()
            .flat_map(|rgb| rgb.iter().copied().chain(matrix.apply(*rgb)))
            .fold(1.0, f64::max);
        let recorded = recorded.map(|rgb| rgb.map(|channel| channel / largest));
        Self {
            encoded: recorded.map(|rgb| footage.encode(rgb)),
            wanted: recorded.map(|rgb| lab_of(matrix.apply(rgb).map(in_gamut))),
        }
    }

    fn differences(&self, slope: [f64; 3], footage: Footage) -> [f64; PATCHES] {
        std::array::from_fn(|patch| {
            let encoded: [f64; 3] =
                std::array::from_fn(|i| (self.encoded[patch][i] * slope[i]).clamp(0.0, 1.0));
            delta_e_2000(lab_of(footage.decode(encoded)), self.wanted[patch])
        })
    }
}

/// What footage cannot hold below black is black in it.
fn in_gamut(channel: f64) -> f64 {
    channel.max(0.0)
}

fn lab_of(linear: [f64; 3]) -> Lab {
    lab(srgb::TO_XYZ.apply(linear).into(), ENCODING_D65.to_xyz())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::TransferCurve;
    use crate::grade::Strength;

    const ORANGE: [f64; 3] = [1.0, 0.84, 0.65];
    const BLUE: [f64; 3] = [0.31, 0.60, 1.0];

    fn fit(neutral: [f64; 3], footage: Footage) -> CdlFit {
        Cdl::fit(&Correction::new(neutral, Strength::FULL).unwrap(), footage)
    }

    #[test]
    fn nothing_to_correct_gives_slopes_of_one() {
        let fit = fit([1.0; 3], Footage::SRGB);
        assert_eq!(fit.cdl.slope(), [1.0; 3]);
        assert!(fit.max_delta_e < 1e-4, "{fit:?}");
    }

    #[test]
    fn the_slopes_take_the_cast_out_and_say_what_they_leave() {
        let orange = fit(ORANGE, Footage::SRGB);
        let [red, green, blue] = orange.cdl.slope();
        assert!(red < 1.0 && (0.95..1.05).contains(&green) && blue > 1.1, "{orange:?}");
        assert!(orange.mean_delta_e < 1.6 && orange.max_delta_e < 3.5, "{orange:?}");
        assert!(orange.mean_delta_e > 0.2, "slopes are no adaptation: {orange:?}");
        let blue = fit(BLUE, Footage::SRGB);
        assert!(blue.mean_delta_e > orange.mean_delta_e, "a larger cast leaves more: {blue:?}");
    }

    #[test]
    fn no_other_slopes_come_nearer() {
        for footage in [Footage::SRGB, Footage::new(TransferCurve::Rec709).unwrap()] {
            let correction = Correction::new(BLUE, Strength::FULL).unwrap();
            let shown = Shown::of(&correction, footage);
            let sum = |slope: [f64; 3]| -> f64 {
                let differences = shown.differences(slope, footage);
                let weight = |patch| if patch < PATCHES - GREYS { 1.0 } else { GREY_WEIGHT };
                differences.iter().enumerate().map(|(i, d)| weight(i) * d * d).sum()
            };
            let best = Cdl::fit(&correction, footage).cdl.slope();
            for axis in 0..3 {
                for factor in [0.99, 0.998, 1.002, 1.01] {
                    let mut other = best;
                    other[axis] *= factor;
                    assert!(sum(other) > sum(best), "{footage}, {axis}, {factor}");
                }
            }
        }
    }

    #[test]
    fn in_linear_footage_the_slopes_are_nearly_the_gains_of_the_neutral() {
        let correction = Correction::new(ORANGE, Strength::FULL).unwrap();
        let linear = Footage::new(TransferCurve::Linear).unwrap();
        let slope = Cdl::fit(&correction, linear).cdl.slope();
        for (slope, gain) in slope.into_iter().zip(correction.gains()) {
            assert!((slope / gain - 1.0).abs() < 0.05, "{slope} beside {gain}");
        }
    }

    #[test]
    fn a_cdl_holds_its_result_within_the_scale() {
        assert_eq!(Cdl::new([2.0, 1.0, 0.5]).apply([0.7, -0.1, 0.5]), [1.0, 0.0, 0.25]);
    }
}
