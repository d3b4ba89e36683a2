//! Correlated colour temperature and Duv.

use serde::Serialize;

use super::locus_table::{Foot, Nearest, locus_point, nearest};
use super::{ColourError, Duv, Kelvin, Mired, Uv, Xy};

/// A chromaticity as a correlated colour temperature and a distance from the Planckian locus.
///
/// The temperature is that of the nearest of all points of the locus in CIE 1960 (u, v); the
/// distance to it is positive above the locus (green), negative below (magenta) (ANSI C78.377). It
/// is defined from [`MIN_CCT`](Self::MIN_CCT) to [`MAX_CCT`](Self::MAX_CCT) and up to
/// [`MAX_DUV`](Self::MAX_DUV) to either side; making one from a colour outside is an error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CctDuv {
    /// Correlated colour temperature.
    pub cct: Kelvin,
    /// Signed distance from the locus.
    pub duv: Duv,
}

/// Slack at the ends of the domain, in mired and in Duv: what rounding of coordinates given to
/// nine digits can do, so that a colour made on an edge is not refused.
const EDGE_MIRED: f64 = 1e-5;
const EDGE_DUV: f64 = 1e-8;

const fn kelvin(value: f64) -> Kelvin {
    match Kelvin::new(value) {
        Ok(kelvin) => kelvin,
        Err(_) => panic!("not a temperature: the compiler stops here, a running program cannot"),
    }
}

impl CctDuv {
    /// The lowest temperature that is defined, 1000 K.
    pub const MIN_CCT: Kelvin = const { kelvin(1000.0) };
    /// The highest temperature that is defined, 40 000 K.
    pub const MAX_CCT: Kelvin = const { kelvin(40_000.0) };
    /// The largest distance from the locus at which a temperature is defined, to either side.
    pub const MAX_DUV: Duv = Duv::new(0.05);

    /// The colour `duv` from the locus at `cct`.
    ///
    /// # Errors
    /// [`ColourError::BelowCctRange`], [`ColourError::AboveCctRange`] or
    /// [`ColourError::TooFarFromLocus`] outside the domain.
    pub fn new(cct: Kelvin, duv: Duv) -> Result<Self, ColourError> {
        Self::within_domain(cct.mired(), duv)
    }

    /// Colour temperature and Duv of a chromaticity in CIE 1960 (u, v).
    ///
    /// # Errors
    /// [`ColourError::NotFinite`] for coordinates that are not finite; otherwise as for
    /// [`CctDuv::new`].
    pub fn from_uv(uv: Uv) -> Result<Self, ColourError> {
        if !uv.u.is_finite() || !uv.v.is_finite() {
            return Err(ColourError::NotFinite);
        }
        let (end, distance) = match nearest(uv) {
            Nearest::Foot(Foot { mired, offset }) => {
                return Self::within_domain(Mired::new(mired)?, Duv::new(offset));
            }
            Nearest::BeyondHotEnd(distance) => (ColourError::AboveCctRange, distance),
            Nearest::BeyondCoolEnd(aside) => (ColourError::BelowCctRange, aside),
        };
        // Off both scales at once, the distance says more: it is no light at all.
        Err(if distance.abs() <= Self::MAX_DUV.get() { end } else { ColourError::TooFarFromLocus })
    }

    /// Colour temperature and Duv of a CIE 1931 chromaticity.
    ///
    /// # Errors
    /// As for [`CctDuv::from_uv`].
    pub fn from_xy(xy: Xy) -> Result<Self, ColourError> {
        Self::from_uv(xy.to_uv())
    }

    /// The chromaticity in CIE 1960 (u, v): from the locus at `cct`, `duv` along its normal.
    ///
    /// Outside the domain, where fields may have been set by hand, the same construction goes on;
    /// the point it gives may have another nearest point of the locus.
    #[must_use]
    pub fn to_uv(&self) -> Uv {
        let at = locus_point(self.cct.mired().get());
        let [along_u, along_v] = at.slope;
        let scale = self.duv.get() / along_u.hypot(along_v);
        Uv { u: at.uv.u - along_v * scale, v: at.uv.v + along_u * scale }
    }

    /// The CIE 1931 chromaticity; see [`CctDuv::to_uv`].
    #[must_use]
    pub fn to_xy(&self) -> Xy {
        self.to_uv().to_xy()
    }

    fn within_domain(mired: Mired, duv: Duv) -> Result<Self, ColourError> {
        let near = duv.abs().get() <= Self::MAX_DUV.get() + EDGE_DUV;
        if !near {
            Err(ColourError::TooFarFromLocus)
        } else if mired.get() < Self::MAX_CCT.mired().get() - EDGE_MIRED {
            Err(ColourError::AboveCctRange)
        } else if mired.get() > Self::MIN_CCT.mired().get() + EDGE_MIRED {
            Err(ColourError::BelowCctRange)
        } else {
            Ok(Self { cct: mired.kelvin(), duv })
        }
    }
}
