//! Spectra on one fixed grid, and the lights made from formulas.

use mirecast::colour::Matrix3;

use crate::error::LabError;
use crate::table;

/// First wavelength of the grid, nm.
pub const FIRST_NM: f64 = 400.0;
/// Spacing of the grid, nm.
pub const STEP_NM: f64 = 5.0;
/// Number of wavelengths: 400 to 720 nm, where the published tables the bench uses all have values.
pub const SAMPLES: usize = 65;

/// The second radiation constant of the ITS-90 temperature scale, m·K.
const C2: f64 = 1.4388e-2;

/// A spectrum at 400, 405 … 720 nm: a light's relative power, a surface's reflectance or a sensor's sensitivity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spectrum([f64; SAMPLES]);

impl Spectrum {
    /// From values at the grid's wavelengths.
    #[must_use]
    pub fn from_samples(samples: [f64; SAMPLES]) -> Self {
        Self(samples)
    }

    /// From a function of the wavelength in nm.
    #[must_use]
    pub fn from_fn(mut value_at_nm: impl FnMut(f64) -> f64) -> Self {
        Self(std::array::from_fn(|index| value_at_nm(FIRST_NM + STEP_NM * index as f64)))
    }

    /// The same value everywhere: equal energy, or a perfectly grey surface.
    #[must_use]
    pub fn flat(value: f64) -> Self {
        Self([value; SAMPLES])
    }

    /// A Planckian radiator, 1 at 560 nm.
    #[must_use]
    pub fn planckian(kelvin: f64) -> Self {
        let power = |nm: f64| (nm * 1e-9).powi(-5) / ((C2 / (nm * 1e-9 * kelvin)).exp_m1());
        let at_560 = power(560.0);
        Self::from_fn(|nm| power(nm) / at_560)
    }

    /// CIE daylight of any correlated colour temperature from 4000 to 25 000 K, 1 at 560 nm (CIE 15:2018, 4.1.2).
    ///
    /// The components S0, S1, S2 are recovered from the tabulated D illuminants, which are exact combinations of them.
    /// Temperatures outside the range are clamped to it.
    ///
    /// # Errors
    /// [`LabError::DamagedTable`] if the built-in table is not whole.
    pub fn daylight(kelvin: f64) -> Result<Self, LabError> {
        let [s0, s1, s2] = daylight_components()?;
        let (m1, m2) = daylight_weights(kelvin.clamp(4000.0, 25_000.0));
        let power = s0.plus(&s1.scaled(m1)).plus(&s2.scaled(m2));
        Ok(power.scaled(1.0 / power.at(560.0)))
    }

    /// The values at the grid's wavelengths.
    #[must_use]
    pub fn samples(&self) -> &[f64; SAMPLES] {
        &self.0
    }

    /// The grid's wavelengths in nm.
    pub fn wavelengths_nm() -> impl Iterator<Item = f64> {
        (0..SAMPLES).map(|index| FIRST_NM + STEP_NM * index as f64)
    }

    /// The value at a wavelength in nm, linearly interpolated, held level outside the grid.
    #[must_use]
    pub fn at(&self, nm: f64) -> f64 {
        let place = ((nm - FIRST_NM) / STEP_NM).clamp(0.0, (SAMPLES - 1) as f64);
        let low = (place as usize).min(SAMPLES - 2);
        let share = place - low as f64;
        self.0[low] * (1.0 - share) + self.0[low + 1] * share
    }

    /// Product at each wavelength: a light on a surface, or through a filter.
    #[must_use]
    pub fn times(&self, other: &Self) -> Self {
        Self(std::array::from_fn(|index| self.0[index] * other.0[index]))
    }

    /// Sum at each wavelength: two lights at once.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        Self(std::array::from_fn(|index| self.0[index] + other.0[index]))
    }

    /// Every value multiplied by `factor`.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        Self(self.0.map(|value| value * factor))
    }

    /// Sum over wavelengths of the product, times the step: a response, in nm.
    #[must_use]
    pub fn dot(&self, other: &Self) -> f64 {
        self.0.iter().zip(&other.0).map(|(a, b)| a * b).sum::<f64>() * STEP_NM
    }
}

/// The weights M1 and M2 of the CIE daylight components.
fn daylight_weights(kelvin: f64) -> (f64, f64) {
    let t = 1.0 / kelvin;
    let x = if kelvin <= 7000.0 {
        -4.6070e9 * t.powi(3) + 2.9678e6 * t.powi(2) + 0.099_11e3 * t + 0.244_063
    } else {
        -2.0064e9 * t.powi(3) + 1.9018e6 * t.powi(2) + 0.247_48e3 * t + 0.237_040
    };
    let y = -3.0 * x * x + 2.870 * x - 0.275;
    let m = 0.0241 + 0.2562 * x - 0.7341 * y;
    let m1 = (-1.3515 - 1.7703 * x + 5.9114 * y) / m;
    let m2 = (0.0300 - 31.4424 * x + 30.0717 * y) / m;
    (m1, m2)
}

/// S0, S1, S2 by least squares over the five tabulated D illuminants.
fn daylight_components() -> Result<[Spectrum; 3], LabError> {
    // The illuminants' nominal temperatures belong to the older value of c2.
    let tabulated =
        [("D50", 5000.0), ("D55", 5500.0), ("D60", 6000.0), ("D65", 6500.0), ("D75", 7500.0)];
    let mut normal = Matrix3::diagonal([0.0; 3]);
    let mut rows = Vec::with_capacity(tabulated.len());
    for (name, nominal_kelvin) in tabulated {
        let (m1, m2) = daylight_weights(nominal_kelvin * 1.4388 / 1.4380);
        // CIE 15 rounds them to three places for its tables.
        let round = |weight: f64| (weight * 1000.0).round() / 1000.0;
        let row = [1.0, round(m1), round(m2)];
        for i in 0..3 {
            for j in 0..3 {
                normal.0[i][j] += row[i] * row[j];
            }
        }
        rows.push((row, table::illuminant(name)?));
    }
    let inverse = normal.inverse().ok_or(LabError::SingularFit)?;
    Ok(std::array::from_fn(|component| {
        rows.iter().fold(Spectrum::flat(0.0), |sum, (row, spectrum)| {
            let weight: f64 = (0..3).map(|j| inverse.0[component][j] * row[j]).sum();
            sum.plus(&spectrum.scaled(weight))
        })
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn planckian_is_illuminant_a() -> Result<(), LabError> {
        // Illuminant A is the Planckian radiator of 2848 K on the scale where c2 is 1.435e-2 m·K.
        let a = table::illuminant("A")?;
        let planckian = Spectrum::planckian(2848.0 * 1.4388 / 1.435);
        for nm in [400.0, 450.0, 500.0, 600.0, 720.0] {
            let ratio = planckian.at(nm) / (a.at(nm) / a.at(560.0));
            assert!((ratio - 1.0).abs() < 2e-4, "{nm}: {ratio}");
        }
        Ok(())
    }

    #[test]
    fn daylight_gives_back_the_tables() -> Result<(), LabError> {
        for (name, kelvin) in [("D50", 5000.0), ("D65", 6500.0), ("D75", 7500.0)] {
            let table = table::illuminant(name)?.scaled(0.01);
            let made = Spectrum::daylight(kelvin * 1.4388 / 1.4380)?;
            for nm in Spectrum::wavelengths_nm() {
                assert!((table.at(nm) - made.at(nm)).abs() < 2e-3, "{name} {nm}");
            }
        }
        Ok(())
    }

    #[test]
    fn daylight_components_are_the_published_ones() -> Result<(), LabError> {
        // CIE 15:2018, table 6, which has one decimal.
        let published = [
            (400.0, [94.8, 43.4, -1.1]),
            (450.0, [125.6, 35.9, -2.9]),
            (500.0, [113.1, 16.2, -1.5]),
            (590.0, [89.1, -3.5, 2.1]),
            (650.0, [81.9, -10.7, 7.3]),
            (700.0, [74.3, -13.3, 9.6]),
        ];
        for (nm, values) in published {
            for (component, value) in daylight_components()?.iter().zip(values) {
                let found = component.at(nm);
                assert!((found - value).abs() < 0.06, "{nm}: {found} {value}");
            }
        }
        Ok(())
    }

    #[test]
    fn interpolates_and_holds_the_ends() {
        let ramp = Spectrum::from_fn(|nm| nm);
        assert!((ramp.at(402.5) - 402.5).abs() < 1e-12);
        assert_eq!((ramp.at(300.0), ramp.at(900.0), ramp.at(720.0)), (400.0, 720.0, 720.0));
    }

    #[test]
    fn equal_energy_integrates_to_its_width() {
        assert!((Spectrum::flat(1.0).dot(&Spectrum::flat(1.0)) - 325.0).abs() < 1e-9);
    }
}
