//! Colour science: pure functions over chromaticities, spectra and tristimulus values; no input or
//! output.
//!
//! Conventions, the same everywhere in the crate:
//!
//! * The observer is the CIE 1931 2° standard observer, summed at 1 nm from 360 to 830 nm.
//! * Correlated colour temperature is that of the nearest point of the Planckian locus in CIE 1960
//!   (u, v), with c₂ = 1.4388 × 10⁻² m·K. [`Duv`] is the signed distance to it, positive above the
//!   locus (green), negative below (magenta).
//! * [`Xyz`] is relative: a perfect white has Y = 1 unless a function says otherwise.
//! * Linear and encoded RGB are different types: [`palette::LinSrgb`] and [`palette::Srgb`].
//!
//! ```
//! use mirecast::colour::{CctDuv, Xy};
//!
//! let daylight = CctDuv::from_xy(Xy::new(0.3127, 0.3290))?;
//! assert!((daylight.cct.get() - 6503.5).abs() < 1.0);
//! assert!(daylight.duv.get() > 0.0);
//! # Ok::<(), mirecast::colour::ColourError>(())
//! ```

mod adaptation;
mod camera;
mod cct;
mod chromaticity;
pub mod daylight;
mod difference;
mod error;
pub mod illuminants;
mod locus_table;
mod matrix;
mod observer;
mod observer_table;
pub mod planckian;
pub mod srgb;
mod transfer;
mod units;

pub use adaptation::Adaptation;
pub use camera::{CameraCalibration, CameraColour};
pub use cct::CctDuv;
pub use chromaticity::{Uv, UvPrime, Xy, Xyz, chromaticity};
pub use difference::{Lab, delta_e_2000, lab, xyz_from_lab};
pub use error::ColourError;
pub use matrix::Matrix3;
pub use observer::{FIRST_NM, LAST_NM, spectrum_to_xyz};
pub use observer_table::CIE_1931_2DEG_1NM;
pub use transfer::{CurveError, TransferCurve};
pub use units::{Duv, Kelvin, Mired, MiredShift};
