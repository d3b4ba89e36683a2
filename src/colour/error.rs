//! What can be wrong with a colour.

use thiserror::Error;

/// Why a colour quantity could not be made or converted.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum ColourError {
    /// A temperature was zero, negative, infinite, not a number, or so extreme that its reciprocal
    /// is not finite. Holds the value.
    #[error("{0} K is not a colour temperature: it must be a finite number greater than 0")]
    InvalidKelvin(f64),
    /// A position in mired was zero, negative, infinite, not a number, or so extreme that its
    /// reciprocal is not finite. Holds the value.
    #[error("{0} mired is not a colour temperature: it must be a finite number greater than 0")]
    InvalidMired(f64),
    /// A chromaticity has a coordinate that is infinite or not a number.
    #[error("the chromaticity is not a finite number")]
    NotFinite,
    /// Tristimulus values whose sum is zero or negative: black, or no real colour.
    #[error("black has no chromaticity")]
    NoChromaticity,
    /// The chromaticity is farther than 0.05 from the Planckian locus in CIE 1960 (u, v), where a
    /// correlated colour temperature is not defined.
    #[error(
        "the colour is too far from any lamp or daylight to have a colour temperature \
         (more than 0.05 from the Planckian locus)"
    )]
    TooFarFromLocus,
    /// The nearest point of the Planckian locus is cooler than 1000 K.
    #[error("the colour temperature is below 1000 K, the lowest that is defined here")]
    BelowCctRange,
    /// The nearest point of the Planckian locus is hotter than 40 000 K.
    #[error("the colour temperature is above 40000 K, the highest that is defined here")]
    AboveCctRange,
    /// The CIE daylight locus is defined from 4000 K to 25 000 K. Holds the temperature in kelvin.
    #[error("daylight is defined from 4000 K to 25000 K, not at {0} K")]
    OutsideDaylightLocus(f64),
    /// The samples of a spectrum are not in strictly ascending order of wavelength, or one of them
    /// is not a finite number.
    #[error("the spectrum's samples must be finite and in ascending order of wavelength")]
    InvalidSpectrum,
    /// A camera's colour matrix has no inverse, or gives a channel nothing of a white.
    #[error("the camera's colour matrix does not tell colours apart")]
    SingularCamera,
}
