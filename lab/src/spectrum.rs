//! Spectra on one fixed grid, and the lights made from formulas.

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

#[cfg(test)]
mod tests {
    use super::*;

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
