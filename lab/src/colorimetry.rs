//! From spectra on the bench's grid to the colour science of `mirecast`.

use mirecast::colour::{
    Adaptation, CctDuv, Matrix3, Xyz, chromaticity, illuminants, spectrum_to_xyz, srgb,
};

use crate::error::LabError;
use crate::spectrum::{FIRST_NM, SAMPLES, STEP_NM, Spectrum};

/// Tristimulus values of a light or of a surface under it, CIE 1931 2° observer; the scale is the spectrum's own.
///
/// # Errors
/// [`LabError::Colour`] where the spectrum has a value that is not finite.
pub fn xyz(spectrum: &Spectrum) -> Result<Xyz, LabError> {
    let mut samples = Vec::with_capacity(SAMPLES + 2);
    // What lies outside the grid counts for little; level ends come nearer to it than nothing at all.
    samples.push((360.0, spectrum.at(FIRST_NM)));
    samples.extend(Spectrum::wavelengths_nm().zip(spectrum.samples().iter().copied()));
    let last_nm = FIRST_NM + STEP_NM * (SAMPLES - 1) as f64;
    samples.push((830.0, spectrum.at(last_nm)));
    Ok(spectrum_to_xyz(&samples)?)
}

/// Temperature and Duv of a light.
///
/// # Errors
/// [`LabError::Colour`] where the light is too far from white to have a temperature.
pub fn cct_duv(light: &Spectrum) -> Result<CctDuv, LabError> {
    Ok(CctDuv::from_xy(chromaticity(xyz(light)?)?)?)
}

/// The matrix from XYZ under a light of tristimulus values `white`, where white has Y = 1, to linear sRGB.
#[must_use]
pub fn to_linear_srgb(white: Xyz) -> Matrix3 {
    let white = white * (1.0 / white.y);
    let adapted = Adaptation::Cat16.between(white, illuminants::ENCODING_D65.to_xyz());
    srgb::FROM_XYZ * adapted
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table;

    #[test]
    fn tabulated_lights_have_their_published_temperatures() -> Result<(), LabError> {
        for (name, kelvin, duv) in [
            ("A", 2855.67, 0.0),
            ("D65", 6502.71, 0.0032),
            ("FL2", 4225.17, 0.00186),
            ("LED-B3", 4102.5, -0.0006),
        ] {
            let found = cct_duv(&table::illuminant(name)?)?;
            assert!((1e6 / found.cct.get() - 1e6 / kelvin).abs() < 0.3, "{name} {found:?}");
            assert!((found.duv.get() - duv).abs() < 1e-4, "{name} {found:?}");
        }
        Ok(())
    }

    #[test]
    fn planckian_has_its_own_temperature() -> Result<(), LabError> {
        for kelvin in [2400.0, 3200.0, 5500.0, 9000.0] {
            let found = cct_duv(&Spectrum::planckian(kelvin))?;
            assert!((1e6 / found.cct.get() - 1e6 / kelvin).abs() < 0.3, "{kelvin} {found:?}");
            assert!(found.duv.get().abs() < 1e-4, "{kelvin} {found:?}");
        }
        Ok(())
    }

    #[test]
    fn the_lights_own_white_is_neutral() -> Result<(), LabError> {
        let white = xyz(&Spectrum::planckian(3200.0))?;
        let rgb = to_linear_srgb(white).apply((white * (1.0 / white.y)).into());
        assert!(rgb.iter().all(|v| (v - 1.0).abs() < 1e-9), "{rgb:?}");
        Ok(())
    }
}
