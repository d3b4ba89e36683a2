//! Coarse spectra the renderer carries along its paths.

use crate::spectrum::{FIRST_NM, STEP_NM, Spectrum};

/// Number of bands.
pub(super) const BANDS: usize = 16;
/// Spacing of the bands, nm.
const BAND_NM: f64 = 20.0;
/// Centre of the first band, nm.
const FIRST_BAND_NM: f64 = 410.0;

/// A smooth spectrum, a reflectance above all, at 410, 430 … 710 nm.
///
/// Reflectances are smooth, so sixteen bands carry them; the lights, which are not, meet them on the full grid through
/// [`band_weights`] and [`to_spectrum`].
pub(super) type Bands = [f32; BANDS];

/// A spectrum read off at the bands' centres.
#[must_use]
pub(super) fn to_bands(spectrum: &Spectrum) -> Bands {
    std::array::from_fn(|band| spectrum.at(FIRST_BAND_NM + BAND_NM * band as f64) as f32)
}

/// Bands linearly interpolated to the full grid.
#[must_use]
pub(super) fn to_spectrum(bands: &Bands) -> Spectrum {
    Spectrum::from_fn(|nm| {
        let place = ((nm - FIRST_BAND_NM) / BAND_NM).clamp(0.0, (BANDS - 1) as f64);
        let low = (place as usize).min(BANDS - 2);
        let share = place - low as f64;
        f64::from(bands[low]) * (1.0 - share) + f64::from(bands[low + 1]) * share
    })
}

/// Weights that turn bands into the integral of their interpolation times `weight` over the full grid.
#[must_use]
pub(super) fn band_weights(weight: &Spectrum) -> Bands {
    let mut sums = [0.0_f64; BANDS];
    for (index, value) in weight.samples().iter().enumerate() {
        let nm = FIRST_NM + STEP_NM * index as f64;
        let place = ((nm - FIRST_BAND_NM) / BAND_NM).clamp(0.0, (BANDS - 1) as f64);
        let low = (place as usize).min(BANDS - 2);
        let share = place - low as f64;
        sums[low] += value * (1.0 - share) * STEP_NM;
        sums[low + 1] += value * share * STEP_NM;
    }
    sums.map(|sum| sum as f32)
}

/// Product of each band.
#[must_use]
pub(super) fn product(a: &Bands, b: &Bands) -> Bands {
    std::array::from_fn(|band| a[band] * b[band])
}

/// Sum over bands of the product.
#[must_use]
pub(super) fn dot(a: &Bands, b: &Bands) -> f32 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// From `a` at 0 to `b` at 1.
#[must_use]
pub(super) fn mix(a: &Bands, b: &Bands, share: f32) -> Bands {
    std::array::from_fn(|band| a[band] + (b[band] - a[band]) * share)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_integrate_as_the_full_grid_does() {
        let light = Spectrum::planckian(2900.0);
        let surface = Spectrum::from_fn(|nm| 0.2 + 0.6 / (1.0 + (-(nm - 560.0) / 40.0).exp()));
        let bands = to_bands(&surface);
        let coarse = f64::from(dot(&bands, &band_weights(&light)));
        let same = to_spectrum(&bands).dot(&light);
        assert!((coarse / same - 1.0).abs() < 1e-5);
        assert!((coarse / surface.dot(&light) - 1.0).abs() < 2e-3);
    }
}
