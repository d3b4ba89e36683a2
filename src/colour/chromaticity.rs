//! Chromaticity coordinates and tristimulus values.

use palette::white_point::Any;
use serde::Serialize;

use super::ColourError;

/// CIE 1931 tristimulus values for the 2° observer, relative: Y = 1 for a perfect white, unless a
/// function says otherwise. The white it is seen under is whatever the context says.
pub type Xyz = palette::Xyz<Any, f64>;

/// CIE 1931 chromaticity (x, y), 2° observer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Xy {
    /// X / (X + Y + Z).
    pub x: f64,
    /// Y / (X + Y + Z).
    pub y: f64,
}

/// CIE 1960 chromaticity (u, v), in which colour temperature and [`Duv`](super::Duv) are defined.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Uv {
    /// 4X / (X + 15Y + 3Z).
    pub u: f64,
    /// 6Y / (X + 15Y + 3Z).
    pub v: f64,
}

/// CIE 1976 chromaticity (u′, v′), in which equal distances look more nearly equal.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct UvPrime {
    /// u′: the same as u of CIE 1960.
    pub u: f64,
    /// v′: one and a half times v of CIE 1960.
    pub v: f64,
}

impl Xy {
    /// The chromaticity (`x`, `y`).
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The same chromaticity in CIE 1960 (u, v); not finite where 12y + 3 = 2x.
    #[must_use]
    pub const fn to_uv(self) -> Uv {
        let divisor = 12.0 * self.y - 2.0 * self.x + 3.0;
        Uv { u: 4.0 * self.x / divisor, v: 6.0 * self.y / divisor }
    }

    /// The same chromaticity in CIE 1976 (u′, v′); not finite where 12y + 3 = 2x.
    #[must_use]
    pub const fn to_uv_prime(self) -> UvPrime {
        self.to_uv().to_uv_prime()
    }

    /// The colour of this chromaticity with Y = 1: a white. Not finite where y = 0.
    #[must_use]
    pub const fn to_xyz(self) -> Xyz {
        Xyz::new(self.x / self.y, 1.0, (1.0 - self.x - self.y) / self.y)
    }
}

impl Uv {
    /// The chromaticity (`u`, `v`) of CIE 1960.
    #[must_use]
    pub const fn new(u: f64, v: f64) -> Self {
        Self { u, v }
    }

    /// The same chromaticity in CIE 1931 (x, y); not finite where 2u + 4 = 8v.
    #[must_use]
    pub const fn to_xy(self) -> Xy {
        let divisor = 2.0 * self.u - 8.0 * self.v + 4.0;
        Xy { x: 3.0 * self.u / divisor, y: 2.0 * self.v / divisor }
    }

    /// The same chromaticity in CIE 1976 (u′, v′).
    #[must_use]
    pub const fn to_uv_prime(self) -> UvPrime {
        UvPrime { u: self.u, v: 1.5 * self.v }
    }
}

impl UvPrime {
    /// The chromaticity (`u`, `v`), standing for (u′, v′) of CIE 1976.
    #[must_use]
    pub const fn new(u: f64, v: f64) -> Self {
        Self { u, v }
    }

    /// The same chromaticity in CIE 1960 (u, v).
    #[must_use]
    pub const fn to_uv(self) -> Uv {
        Uv { u: self.u, v: self.v / 1.5 }
    }

    /// The same chromaticity in CIE 1931 (x, y); not finite where 6u′ + 12 = 16v′.
    #[must_use]
    pub const fn to_xy(self) -> Xy {
        self.to_uv().to_xy()
    }
}

/// The chromaticity of `colour`, whatever its brightness.
///
/// # Errors
/// [`ColourError::NotFinite`] if a value or the sum is not finite; [`ColourError::NoChromaticity`]
/// unless X + Y + Z is greater than 0.
pub fn chromaticity(colour: Xyz) -> Result<Xy, ColourError> {
    let sum = colour.x + colour.y + colour.z;
    if !sum.is_finite() {
        Err(ColourError::NotFinite)
    } else if sum <= 0.0 {
        Err(ColourError::NoChromaticity)
    } else {
        Ok(Xy { x: colour.x / sum, y: colour.y / sum })
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    // CIE 015:2018 gives u′ = 0.1978, v′ = 0.4683 for D65.
    #[test]
    fn d65_has_its_published_coordinates() {
        let xy = Xy::new(0.31272, 0.32903);
        let prime = xy.to_uv_prime();
        assert!((prime.u - 0.1978).abs() < 5e-5, "{prime:?}");
        assert!((prime.v - 0.4683).abs() < 5e-5, "{prime:?}");
        assert!((xy.to_uv().v - 0.3122).abs() < 5e-5);
        let white = xy.to_xyz();
        assert!((white.x - 0.95043).abs() < 1e-4 && white.y == 1.0);
        assert!((white.z - 1.08880).abs() < 1e-4);
    }

    #[test]
    fn every_conversion_comes_back() {
        for (x, y) in [(0.64, 0.33), (0.3, 0.6), (0.15, 0.06), (0.3127, 0.329)] {
            let start = Xy::new(x, y);
            let black_free = chromaticity(start.to_xyz()).unwrap();
            for back in [start.to_uv().to_xy(), start.to_uv_prime().to_xy(), black_free] {
                assert!((back.x - x).abs() < 1e-14 && (back.y - y).abs() < 1e-14, "{back:?}");
            }
        }
    }

    #[test]
    fn black_and_broken_values_have_no_chromaticity() {
        let of = |x, y, z| chromaticity(Xyz::new(x, y, z));
        assert_eq!(of(0.0, 0.0, 0.0), Err(ColourError::NoChromaticity));
        assert_eq!(of(0.1, -0.3, 0.1), Err(ColourError::NoChromaticity));
        assert_eq!(of(f64::NAN, 1.0, 1.0), Err(ColourError::NotFinite));
        assert_eq!(of(f64::INFINITY, 1.0, 1.0), Err(ColourError::NotFinite));
        assert_eq!(of(f64::MAX, f64::MAX, 1.0), Err(ColourError::NotFinite));
    }
}
