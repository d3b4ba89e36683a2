//! A white: a light, or the light that a balance is meant for.

use serde::Serialize;
use std::fmt;

use crate::colour::{CctDuv, ColourError, Duv, Kelvin, Mired, Xyz, chromaticity, daylight};

/// A white by temperature and tint. Always one whose chromaticity is defined: 1 000–40 000 K and
/// within 0.05 of the Planckian locus.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct White {
    /// Correlated colour temperature, kelvin.
    #[serde(rename = "kelvin")]
    pub cct: Kelvin,
    /// Signed distance from the Planckian locus; + green, − magenta.
    pub duv: Duv,
}

/// Above this a bare kelvin number means the daylight locus, up to it the Planckian locus: a
/// camera's dial works so.
const DAYLIGHT_FROM_KELVIN: f64 = 4000.0;

impl White {
    /// The white that a bare number on a camera's kelvin dial means.
    ///
    /// # Errors
    /// [`ColourError`] outside 1 000–25 000 K, where the loci are not both defined.
    pub fn from_dial(kelvin: Kelvin) -> Result<Self, ColourError> {
        if kelvin.get() > DAYLIGHT_FROM_KELVIN {
            let exact = CctDuv::from_xy(daylight::xy(kelvin)?)?;
            // The number on the dial is what people know the balance by; the locus gives the tint.
            Self::new(kelvin, exact.duv)
        } else {
            Self::new(kelvin, Duv::new(0.0))
        }
    }

    /// Photographic daylight: 5500 K on the daylight locus.
    #[must_use]
    pub fn photographic_daylight() -> Option<Self> {
        Self::from_dial(Kelvin::new(5500.0).ok()?).ok()
    }

    /// [`White::photographic_daylight`], its Duv rounded to six decimals.
    pub const PHOTOGRAPHIC_DAYLIGHT: Self = match Kelvin::new(5500.0) {
        Ok(cct) => Self { cct, duv: Duv::new(0.003_308) },
        Err(_) => panic!("the compiler stops here, a running program cannot"),
    };

    /// A white of a temperature and tint.
    ///
    /// # Errors
    /// [`ColourError`] outside 1 000–40 000 K or abs(Duv) ≤ 0.05.
    pub fn new(cct: Kelvin, duv: Duv) -> Result<Self, ColourError> {
        CctDuv::new(cct, duv)?;
        Ok(Self { cct, duv })
    }

    /// The white of a colour, whatever its luminance.
    ///
    /// # Errors
    /// [`ColourError`] where the colour's temperature is not defined.
    pub fn from_xyz(xyz: Xyz) -> Result<Self, ColourError> {
        Ok(CctDuv::from_xy(chromaticity(xyz)?)?.into())
    }

    /// The white's colour with Y = 1.
    #[must_use]
    pub fn to_xyz(self) -> Xyz {
        self.to_cct_duv().to_xy().to_xyz()
    }

    /// The same as the colour layer's pair.
    #[must_use]
    pub fn to_cct_duv(self) -> CctDuv {
        CctDuv { cct: self.cct, duv: self.duv }
    }

    /// Its place on the mired scale.
    #[must_use]
    pub fn mired(self) -> Mired {
        self.cct.mired()
    }
}

impl From<CctDuv> for White {
    fn from(pair: CctDuv) -> Self {
        Self { cct: pair.cct, duv: pair.duv }
    }
}

impl fmt::Display for White {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.0} K, Duv {:+.4}", self.cct.get(), self.duv.get())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn photographic_daylight_is_where_the_daylight_locus_is() {
        let exact = White::photographic_daylight().unwrap();
        let rounded = White::PHOTOGRAPHIC_DAYLIGHT;
        assert_eq!(exact.cct, rounded.cct);
        assert!((exact.duv - rounded.duv).abs().get() <= 5e-7, "{exact:?}");
    }
}
