//! Made-up camera sensors: smooth random sensitivities, balance gains and colour matrices.

use mirecast::colour::Matrix3;

use crate::colorimetry::{to_linear_srgb, xyz};
use crate::error::LabError;
use crate::preset::Preset;
use crate::rng::Rng;
use crate::spectrum::Spectrum;
use crate::table;

/// A camera sensor with the filters in front of it: three spectral sensitivities.
#[derive(Debug, Clone)]
pub struct Sensor {
    /// Sensitivities of the red, green and blue channels, with the green channel's peak near 1.
    pub channels: [Spectrum; 3],
}

/// Ranges in nanometres that a channel's peak and widths are drawn from.
#[derive(Debug, Clone, Copy)]
struct Hump {
    peak: (f64, f64),
    below: (f64, f64),
    above: (f64, f64),
}

struct Ranges {
    red: Hump,
    green: Hump,
    blue: Hump,
}

const WIDE: Ranges = Ranges {
    red: Hump { peak: (590.0, 620.0), below: (22.0, 32.0), above: (38.0, 60.0) },
    green: Hump { peak: (525.0, 545.0), below: (30.0, 42.0), above: (32.0, 46.0) },
    blue: Hump { peak: (445.0, 470.0), below: (24.0, 34.0), above: (26.0, 38.0) },
};

const TYPICAL: Ranges = Ranges {
    red: Hump { peak: (590.0, 602.0), below: (20.0, 28.0), above: (34.0, 46.0) },
    green: Hump { peak: (528.0, 542.0), below: (32.0, 42.0), above: (34.0, 44.0) },
    blue: Hump { peak: (448.0, 466.0), below: (24.0, 32.0), above: (26.0, 36.0) },
};

impl Sensor {
    /// A plausible sensor that no maker builds; the same for the same seed.
    ///
    /// Each channel is a two-sided Gaussian whose peak and widths are drawn from the ranges published sensors cover;
    /// then some crosstalk between channels, a secondary lobe of the red dye in the blue, and the edges of the
    /// ultraviolet and infrared cut filters.
    #[must_use]
    pub fn made_up(seed: u64) -> Self {
        Self::drawn(seed, &WIDE)
    }

    /// A sensor from narrower ranges, about as far apart as published ones are: over 40 lights a card near the preset
    /// is then off by a median of 1.4 mired (95th percentile 15), as such sensors are. For calibrating.
    #[must_use]
    pub fn typical(seed: u64) -> Self {
        Self::drawn(seed, &TYPICAL)
    }

    fn drawn(seed: u64, ranges: &Ranges) -> Self {
        let mut rng = Rng::new(seed);
        let mut hump =
            |peak: (f64, f64), below: (f64, f64), above: (f64, f64), height: (f64, f64)| {
                let (peak, below, above, height) = (
                    rng.between(peak.0, peak.1),
                    rng.between(below.0, below.1),
                    rng.between(above.0, above.1),
                    rng.between(height.0, height.1),
                );
                Spectrum::from_fn(|nm| {
                    let width = if nm < peak { below } else { above };
                    height * (-0.5 * ((nm - peak) / width).powi(2)).exp()
                })
            };
        let [red, green, blue] = [ranges.red, ranges.green, ranges.blue];
        let red = hump(red.peak, red.below, red.above, (0.70, 0.95));
        let red_lobe = hump((430.0, 465.0), (15.0, 25.0), (15.0, 25.0), (0.02, 0.09));
        let green = hump(green.peak, green.below, green.above, (0.97, 1.0));
        let blue = hump(blue.peak, blue.below, blue.above, (0.65, 0.95));
        let dyes = [red.plus(&red_lobe), green, blue];

        let ultraviolet_nm = rng.between(404.0, 418.0);
        let infrared_nm = rng.between(655.0, 690.0);
        let (steep_uv, steep_ir) = (rng.between(3.0, 6.0), rng.between(7.0, 14.0));
        let filter = Spectrum::from_fn(|nm| {
            let edge = |x: f64| 1.0 / (1.0 + (-x).exp());
            edge((nm - ultraviolet_nm) / steep_uv) * edge((infrared_nm - nm) / steep_ir)
        });
        let channels = std::array::from_fn(|own| {
            let mixed = (0..3).filter(|&other| other != own).fold(dyes[own], |sum, other| {
                sum.plus(&dyes[other].scaled(rng.between(0.01, 0.06)))
            });
            mixed.times(&filter)
        });
        Self { channels }
    }

    /// What the three channels make of light that reaches the sensor.
    #[must_use]
    pub fn response(&self, light: &Spectrum) -> [f64; 3] {
        std::array::from_fn(|channel| self.channels[channel].dot(light))
    }

    /// The response with the green channel's brought to 1.
    #[must_use]
    pub fn response_to_green(&self, light: &Spectrum) -> [f64; 3] {
        let [r, g, b] = self.response(light);
        [r / g, 1.0, b / g]
    }

    /// Gains that make a white surface under `light` come out neutral; the least is 1, so that what saturates the
    /// sensor saturates the picture.
    #[must_use]
    pub fn balance_gains(&self, light: &Spectrum) -> [f64; 3] {
        let response = self.response(light);
        let strongest = response.iter().copied().fold(f64::MIN, f64::max);
        response.map(|channel| strongest / channel)
    }

    /// The matrix from balanced camera values to linear sRGB.
    ///
    /// Fitted by least squares over the 24-patch chart under `light`, with the light's white adapted to D65. Each row
    /// sums to 1, so that balanced white stays exactly neutral.
    ///
    /// # Errors
    /// [`LabError::SingularFit`] where the channels are not independent.
    pub fn colour_matrix(&self, light: &Spectrum) -> Result<Matrix3, LabError> {
        let gains = self.balance_gains(light);
        let white = xyz(light)?;
        let wanted = to_linear_srgb(white);
        let white_level = self.response(light)[1] * gains[1];
        let mut samples = Vec::new();
        for patch in table::chart()? {
            let seen = patch.times(light);
            let raw = self.response(&seen);
            let camera: [f64; 3] = std::array::from_fn(|c| raw[c] * gains[c] / white_level);
            samples.push((camera, wanted.apply((xyz(&seen)? * (1.0 / white.y)).into())));
        }
        let mut matrix = Matrix3::IDENTITY;
        for (channel, row) in matrix.0.iter_mut().enumerate() {
            *row = fit_row(samples.iter().map(|(camera, target)| (*camera, target[channel])))?;
        }
        Ok(matrix)
    }
}

/// Least squares for one row whose three numbers sum to 1, over (camera value, wanted value) pairs.
fn fit_row(samples: impl Iterator<Item = ([f64; 3], f64)>) -> Result<[f64; 3], LabError> {
    // With the first number written as one minus the others, two unknowns are left.
    let (mut aa, mut ab, mut bb, mut at, mut bt) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for ([c0, c1, c2], wanted) in samples {
        let (a, b, t) = (c1 - c0, c2 - c0, wanted - c0);
        aa += a * a;
        ab += a * b;
        bb += b * b;
        at += a * t;
        bt += b * t;
    }
    let determinant = aa * bb - ab * ab;
    if !determinant.is_normal() {
        return Err(LabError::SingularFit);
    }
    let (m1, m2) = ((at * bb - bt * ab) / determinant, (bt * aa - at * ab) / determinant);
    Ok([1.0 - m1 - m2, m1, m2])
}

/// A sensor set to a white-balance preset: what turns raw responses into linear sRGB.
#[derive(Debug, Clone)]
pub struct BalancedCamera {
    /// The sensor.
    pub sensor: Sensor,
    /// Gains of the preset, the least of them 1.
    pub gains: [f64; 3],
    /// Balanced camera values to linear sRGB.
    pub matrix: Matrix3,
}

impl BalancedCamera {
    /// A sensor set to one of the presets.
    ///
    /// # Errors
    /// As [`Sensor::colour_matrix`] and [`Preset::light`].
    pub fn at_preset(sensor: &Sensor, preset: Preset) -> Result<Self, LabError> {
        Self::at_light(sensor, &preset.light()?)
    }

    /// A sensor balanced for any light: a custom balance, or what an automatic balance would settle on.
    ///
    /// # Errors
    /// As [`Sensor::colour_matrix`].
    pub fn at_light(sensor: &Sensor, light: &Spectrum) -> Result<Self, LabError> {
        Ok(Self {
            sensor: sensor.clone(),
            gains: sensor.balance_gains(light),
            matrix: sensor.colour_matrix(light)?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn balanced_white_is_neutral() -> Result<(), LabError> {
        for seed in 0..20 {
            let sensor = Sensor::made_up(seed);
            for preset in Preset::ALL {
                let light = preset.light()?;
                let camera = BalancedCamera::at_preset(&sensor, preset)?;
                let raw = sensor.response_to_green(&light);
                let balanced: [f64; 3] = std::array::from_fn(|c| raw[c] * camera.gains[c]);
                let rgb = camera.matrix.apply(balanced);
                let spread = rgb.iter().map(|v| (v / rgb[1] - 1.0).abs()).fold(0.0, f64::max);
                assert!(spread < 1e-12, "seed {seed} {preset:?} {rgb:?}");
                assert!(camera.gains.iter().all(|&gain| gain >= 1.0));
            }
        }
        Ok(())
    }

    #[test]
    fn sensors_are_seeded_and_plausible() {
        assert_eq!(Sensor::made_up(3).channels, Sensor::made_up(3).channels);
        assert_ne!(Sensor::made_up(3).channels, Sensor::made_up(4).channels);
        for seed in 0..50 {
            let peaks = Sensor::made_up(seed).channels.map(|channel| {
                let top = |a: &f64, b: &f64| channel.at(*a).total_cmp(&channel.at(*b));
                Spectrum::wavelengths_nm().max_by(top).unwrap_or_default()
            });
            assert!((580.0..=625.0).contains(&peaks[0]), "seed {seed} red at {}", peaks[0]);
            assert!((520.0..=550.0).contains(&peaks[1]), "seed {seed} green at {}", peaks[1]);
            assert!((440.0..=475.0).contains(&peaks[2]), "seed {seed} blue at {}", peaks[2]);
        }
    }

    #[test]
    fn matrix_gets_the_chart_about_right() -> Result<(), LabError> {
        let light = Preset::Daylight.light()?;
        let white = xyz(&light)?;
        let target = to_linear_srgb(white);
        for seed in 0..20 {
            let camera = BalancedCamera::at_preset(&Sensor::made_up(seed), Preset::Daylight)?;
            let level = camera.sensor.response(&light)[1] * camera.gains[1];
            let mut worst: f64 = 0.0;
            for patch in table::chart()? {
                let seen = patch.times(&light);
                let raw = camera.sensor.response(&seen);
                let balanced = std::array::from_fn(|c| raw[c] * camera.gains[c] / level);
                let got = camera.matrix.apply(balanced);
                let wanted = target.apply((xyz(&seen)? * (1.0 / white.y)).into());
                let miss = got.iter().zip(wanted).map(|(g, w)| (g - w).abs()).fold(0.0, f64::max);
                worst = worst.max(miss);
            }
            assert!(worst < 0.12, "seed {seed}: {worst}");
        }
        Ok(())
    }

    #[test]
    fn a_card_near_the_preset_tells_its_light() -> Result<(), LabError> {
        use mirecast::colour::{Adaptation, CctDuv, chromaticity, illuminants, srgb};
        let preset = xyz(&Preset::Tungsten.light()?)?;
        let encoding = illuminants::ENCODING_D65.to_xyz();
        for seed in 0..20 {
            let sensor = Sensor::made_up(seed);
            let camera = BalancedCamera::at_preset(&sensor, Preset::Tungsten)?;
            for kelvin in [2900.0, 3200.0, 3550.0] {
                let raw = sensor.response(&Spectrum::planckian(kelvin));
                let card = camera.matrix.apply(std::array::from_fn(|c| raw[c] * camera.gains[c]));
                let card = srgb::TO_XYZ.apply(card).into();
                let light = Adaptation::Cat16
                    .between(encoding, preset)
                    .apply(mirecast::colour::Xyz::into(card));
                let found = CctDuv::from_xy(chromaticity(light.into())?)?;
                let miss = 1e6 / found.cct.get() - 1e6 / kelvin;
                assert!(miss.abs() < 5.0, "seed {seed}, {kelvin} K: {miss} mired");
            }
        }
        Ok(())
    }
}
