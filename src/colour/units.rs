//! The units of colour temperature and tint.

use std::ops::{Add, Neg, Sub};

use serde::Serialize;

use super::ColourError;

/// Kelvin times mired, by the definition of the mired (micro reciprocal degree).
const KELVIN_MIRED: f64 = 1e6;

/// Finite and positive, and so is its reciprocal: kelvin and mired then convert both ways.
const fn is_temperature(value: f64) -> bool {
    value.is_finite() && value > 0.0 && (KELVIN_MIRED / value).is_finite()
}

/// A colour temperature in kelvin: finite and greater than 0.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Kelvin(f64);

impl Kelvin {
    /// A temperature of `kelvin`.
    ///
    /// # Errors
    /// [`ColourError::InvalidKelvin`] unless it is finite and greater than 0.
    pub const fn new(kelvin: f64) -> Result<Self, ColourError> {
        if is_temperature(kelvin) {
            Ok(Self(kelvin))
        } else {
            Err(ColourError::InvalidKelvin(kelvin))
        }
    }

    /// The number of kelvin.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// The same temperature in mired: 10⁶ / kelvin.
    #[must_use]
    pub const fn mired(self) -> Mired {
        Mired(KELVIN_MIRED / self.0)
    }
}

/// A colour temperature as a position on the mired scale, 10⁶ / kelvin: finite and greater than 0.
///
/// Larger is more orange. Equal steps in mired look about equal, which steps in kelvin do not.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Mired(f64);

impl Mired {
    /// The position `mired`.
    ///
    /// # Errors
    /// [`ColourError::InvalidMired`] unless it is finite and greater than 0.
    pub const fn new(mired: f64) -> Result<Self, ColourError> {
        if is_temperature(mired) { Ok(Self(mired)) } else { Err(ColourError::InvalidMired(mired)) }
    }

    /// The number of mired.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// The same temperature in kelvin: 10⁶ / mired.
    #[must_use]
    pub const fn kelvin(self) -> Kelvin {
        Kelvin(KELVIN_MIRED / self.0)
    }

    /// The position `shift` away from this one, as a gel moves a lamp.
    ///
    /// # Errors
    /// [`ColourError::InvalidMired`] if that is not greater than 0 mired, or not finite.
    pub const fn shifted_by(self, shift: MiredShift) -> Result<Self, ColourError> {
        Self::new(self.0 + shift.0)
    }
}

impl Sub for Mired {
    type Output = MiredShift;

    /// The signed way from `other` to this position; positive when this one is more orange.
    fn sub(self, other: Self) -> MiredShift {
        MiredShift(self.0 - other.0)
    }
}

/// A signed difference of two positions in mired. Positive is toward orange, negative toward blue.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct MiredShift(f64);

impl MiredShift {
    /// A shift of `mired`, any number.
    #[must_use]
    pub const fn new(mired: f64) -> Self {
        Self(mired)
    }

    /// The number of mired, with its sign.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// The size of the shift, whichever its direction.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

/// Signed distance from the Planckian locus in CIE 1960 (u, v), or a difference of two such
/// distances. Positive is above the locus (green), negative below it (magenta) (ANSI C78.377).
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Duv(f64);

impl Duv {
    /// A distance of `duv`, any number.
    #[must_use]
    pub const fn new(duv: f64) -> Self {
        Self(duv)
    }

    /// The distance, with its sign.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// The size of the distance, whichever its direction.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.abs())
    }
}

/// Quantities that may be added, taken from one another and turned round.
macro_rules! signed {
    ($($quantity:ident),+) => {$(
        impl Add for $quantity {
            type Output = Self;

            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl Sub for $quantity {
            type Output = Self;

            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl Neg for $quantity {
            type Output = Self;

            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
    )+};
}

signed!(MiredShift, Duv);

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    #[test]
    fn only_finite_positive_temperatures_exist() {
        let bad =
            [0.0, -0.0, -1.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MIN_POSITIVE / 4.0];
        for value in bad {
            assert!(Kelvin::new(value).is_err(), "{value} K");
            assert!(Mired::new(value).is_err(), "{value} mired");
        }
        for value in [1e-300, 1.0, 5600.0, 1e300] {
            assert_eq!(Kelvin::new(value).map(Kelvin::get), Ok(value));
            assert_eq!(Mired::new(value).map(Mired::get), Ok(value));
        }
    }

    #[test]
    fn kelvin_and_mired_are_reciprocal() {
        let tungsten = Kelvin::new(3200.0).unwrap();
        assert_eq!(tungsten.mired().get(), 312.5);
        assert_eq!(tungsten.mired().kelvin(), tungsten);
    }

    #[test]
    fn an_orange_light_is_a_positive_way_from_a_blue_one() {
        let tungsten = Kelvin::new(3200.0).unwrap().mired();
        let daylight = Kelvin::new(5000.0).unwrap().mired();
        let shift = tungsten - daylight;
        assert_eq!(shift, MiredShift::new(112.5));
        assert_eq!(-shift, daylight - tungsten);
        assert_eq!((-shift).abs(), shift);
        assert_eq!(daylight.shifted_by(shift), Ok(tungsten));
        assert!(daylight.shifted_by(MiredShift::new(-200.0)).is_err());
    }

    #[test]
    fn units_serialise_as_bare_numbers() {
        let json = |value: &dyn erased::Json| value.json();
        assert_eq!(json(&Kelvin::new(5600.0).unwrap()), "5600.0");
        assert_eq!(json(&Mired::new(312.5).unwrap()), "312.5");
        assert_eq!(json(&MiredShift::new(-12.5)), "-12.5");
        assert_eq!(json(&Duv::new(0.003)), "0.003");
    }

    mod erased {
        pub(super) trait Json {
            fn json(&self) -> String;
        }

        impl<T: serde::Serialize> Json for T {
            fn json(&self) -> String {
                serde_json::to_string(self).unwrap()
            }
        }
    }
}
