//! Reflectances of what stands in a studio, as smooth curves. Made up; none is measured.

use super::bands::{Bands, to_bands};
use crate::spectrum::Spectrum;

/// From `low` in the blue to `high` in the red, with the step at `centre` nm.
fn rising(low: f64, high: f64, centre: f64, width: f64) -> Spectrum {
    Spectrum::from_fn(|nm| low + (high - low) / (1.0 + (-(nm - centre) / width).exp()))
}

/// A hump at `centre` nm.
fn hump(height: f64, centre: f64, width: f64) -> Spectrum {
    Spectrum::from_fn(|nm| height * (-0.5 * ((nm - centre) / width).powi(2)).exp())
}

fn grey(level: f64) -> Bands {
    to_bands(&Spectrum::flat(level))
}

/// The card: neutral, and matt white paper's 0.88.
pub(super) fn card() -> Bands {
    grey(0.88)
}
pub(super) fn graphite() -> Bands {
    to_bands(&rising(0.07, 0.10, 560.0, 60.0))
}
pub(super) fn whitewash() -> Bands {
    to_bands(&rising(0.72, 0.83, 445.0, 45.0))
}
pub(super) fn old_stain() -> Bands {
    to_bands(&rising(0.30, 0.56, 540.0, 60.0))
}
pub(super) fn oak() -> Bands {
    to_bands(&rising(0.15, 0.44, 570.0, 54.0))
}
pub(super) fn oak_dark() -> Bands {
    to_bands(&rising(0.045, 0.26, 600.0, 48.0))
}
pub(super) fn pine() -> Bands {
    to_bands(&rising(0.26, 0.62, 540.0, 48.0))
}
pub(super) fn pine_dark() -> Bands {
    to_bands(&rising(0.16, 0.46, 565.0, 50.0))
}
pub(super) fn floor() -> Bands {
    to_bands(&rising(0.13, 0.34, 575.0, 60.0))
}
pub(super) fn floor_dark() -> Bands {
    to_bands(&rising(0.05, 0.19, 595.0, 55.0))
}
pub(super) fn white_paint() -> Bands {
    to_bands(&rising(0.60, 0.82, 425.0, 16.0))
}
pub(super) fn iron() -> Bands {
    grey(0.06)
}
pub(super) fn steel() -> Bands {
    to_bands(&rising(0.50, 0.58, 540.0, 80.0))
}
pub(super) fn firebrick() -> Bands {
    to_bands(&rising(0.38, 0.72, 520.0, 45.0))
}
pub(super) fn enamel_green() -> Bands {
    to_bands(&hump(0.13, 525.0, 34.0).plus(&Spectrum::flat(0.03)))
}
pub(super) fn terracotta() -> Bands {
    to_bands(&rising(0.10, 0.42, 585.0, 24.0))
}
pub(super) fn stoneware() -> Bands {
    to_bands(&rising(0.22, 0.50, 545.0, 50.0))
}
pub(super) fn wet_clay() -> Bands {
    to_bands(&rising(0.15, 0.30, 560.0, 55.0))
}
pub(super) fn porcelain() -> Bands {
    to_bands(&rising(0.72, 0.84, 440.0, 30.0))
}
pub(super) fn celadon() -> Bands {
    to_bands(&hump(0.22, 530.0, 66.0).plus(&rising(0.24, 0.22, 600.0, 40.0)))
}
pub(super) fn cobalt() -> Bands {
    to_bands(&hump(0.16, 452.0, 36.0).plus(&rising(0.035, 0.20, 695.0, 9.0)))
}
pub(super) fn tenmoku() -> Bands {
    to_bands(&rising(0.018, 0.085, 610.0, 28.0))
}
pub(super) fn copper_red() -> Bands {
    to_bands(&rising(0.045, 0.30, 612.0, 20.0))
}
pub(super) fn ochre() -> Bands {
    to_bands(&rising(0.12, 0.48, 545.0, 30.0))
}
pub(super) fn turquoise() -> Bands {
    to_bands(&hump(0.27, 492.0, 48.0).plus(&Spectrum::flat(0.10)))
}
pub(super) fn shino() -> Bands {
    to_bands(&rising(0.40, 0.76, 500.0, 50.0))
}
pub(super) fn denim() -> Bands {
    to_bands(&hump(0.09, 460.0, 52.0).plus(&rising(0.07, 0.16, 700.0, 14.0)))
}
pub(super) fn sacking() -> Bands {
    to_bands(&rising(0.20, 0.48, 555.0, 45.0))
}
pub(super) fn blue_plastic() -> Bands {
    to_bands(&hump(0.20, 465.0, 44.0).plus(&Spectrum::flat(0.09)))
}
pub(super) fn skin() -> Bands {
    to_bands(&rising(0.22, 0.56, 585.0, 22.0).plus(&hump(-0.03, 545.0, 14.0)))
}

/// Leaves outside, band by band: a ray meets them too often to work the curve out each time.
pub(super) const FOLIAGE: Bands = [
    0.035, 0.035, 0.035, 0.036, 0.041, 0.058, 0.096, 0.140, 0.155, 0.127, 0.081, 0.051, 0.038,
    0.036, 0.048, 0.285,
];
/// A brick wall outside.
pub(super) const BRICK_WALL: Bands = [
    0.101, 0.101, 0.102, 0.105, 0.109, 0.115, 0.128, 0.150, 0.181, 0.220, 0.259, 0.290, 0.312,
    0.325, 0.332, 0.336,
];
