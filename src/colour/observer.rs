//! From spectra to tristimulus values.

use super::{CIE_1931_2DEG_1NM, ColourError, Xyz};

/// The shortest wavelength of the observer's table, in nm.
pub const FIRST_NM: u16 = 360;

/// The longest wavelength of the observer's table, in nm.
pub const LAST_NM: u16 = 830;

/// Each wavelength of the observer's table in nm, with x̄, ȳ and z̄ there.
pub(super) fn wavelengths() -> impl Iterator<Item = (f64, [f64; 3])> {
    (FIRST_NM..=LAST_NM).map(f64::from).zip(CIE_1931_2DEG_1NM)
}

/// The tristimulus values of a spectrum given as (wavelength in nm, value) samples in ascending
/// order of wavelength.
///
/// Between samples the spectrum is a straight line, outside them it is zero; it is summed at 1 nm
/// from 360 to 830 nm with the CIE 1931 2° observer. The values are the plain sums, in the unit of
/// the samples: divide by the Y of the light for relative colour.
///
/// # Errors
/// [`ColourError::InvalidSpectrum`] if a sample is not finite or not beyond the one before it.
pub fn spectrum_to_xyz(samples: &[(f64, f64)]) -> Result<Xyz, ColourError> {
    let finite = samples.iter().all(|(nm, value)| nm.is_finite() && value.is_finite());
    if !finite || !samples.is_sorted_by(|a, b| a.0 < b.0) {
        return Err(ColourError::InvalidSpectrum);
    }
    Ok(wavelengths().fold(Xyz::new(0.0, 0.0, 0.0), |sum, (nm, [x, y, z])| {
        sum + Xyz::new(x, y, z) * value_at(samples, nm)
    }))
}

/// The value at `nm` on the straight line between the samples around it.
fn value_at(samples: &[(f64, f64)], nm: f64) -> f64 {
    let after = samples.partition_point(|sample| sample.0 < nm);
    let before = after.checked_sub(1).and_then(|index| samples.get(index));
    match (before, samples.get(after)) {
        (_, Some(&(at, value))) if at == nm => value,
        (Some(&(left, low)), Some(&(right, high))) => {
            low + (high - low) * ((nm - left) / (right - left))
        }
        _ => 0.0,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    #[test]
    fn an_equal_energy_spectrum_is_white() {
        let sum = spectrum_to_xyz(&[(360.0, 1.0), (830.0, 1.0)]).unwrap();
        // The luminous efficiency function sums to 106.857 at 1 nm (CIE 018:2019).
        assert!((sum.y - 106.857).abs() < 5e-4, "{sum:?}");
        let xy = crate::colour::chromaticity(sum).unwrap();
        // Illuminant E in five decimals; the table's own sums are not quite equal.
        assert!((xy.x - 0.333_31).abs() < 5e-6 && (xy.y - 0.333_29).abs() < 5e-6, "{xy:?}");
    }

    #[test]
    fn a_line_between_samples_is_straight_and_zero_beyond_them() {
        let samples = [(500.0, 2.0), (504.0, 10.0), (600.0, 0.0)];
        assert_eq!(value_at(&samples, 499.0), 0.0);
        assert_eq!(value_at(&samples, 500.0), 2.0);
        assert_eq!(value_at(&samples, 501.0), 4.0);
        assert_eq!(value_at(&samples, 504.0), 10.0);
        assert_eq!(value_at(&samples, 552.0), 5.0);
        assert_eq!(value_at(&samples, 600.0), 0.0);
        assert_eq!(value_at(&samples, 601.0), 0.0);
        assert_eq!(value_at(&[], 500.0), 0.0);
    }

    #[test]
    fn one_wavelength_gives_its_row() {
        let sum = spectrum_to_xyz(&[(555.0, 1.0)]).unwrap();
        assert_eq!([sum.x, sum.y, sum.z], CIE_1931_2DEG_1NM[195]);
    }

    #[test]
    fn a_spectrum_out_of_order_is_refused() {
        let refused = Err(ColourError::InvalidSpectrum);
        assert_eq!(spectrum_to_xyz(&[(500.0, 1.0), (400.0, 1.0)]), refused);
        assert_eq!(spectrum_to_xyz(&[(500.0, 1.0), (500.0, 1.0)]), refused);
        assert_eq!(spectrum_to_xyz(&[(f64::NAN, 1.0)]), refused);
        assert_eq!(spectrum_to_xyz(&[(500.0, f64::INFINITY)]), refused);
    }
}
