//! The 24-patch chart that a fit is judged on.

use crate::colour::Xyz;

/// How many patches the chart has; the last [`GREYS`] are greys, from white to black.
pub(super) const PATCHES: usize = 24;
/// How many of them are greys.
pub(super) const GREYS: usize = 6;

/// The patches under D65, a perfect white being Y = 1: from the chart's published reflectances
/// (400 to 720 nm at 5 nm) with the CIE 1931 2° observer, adapted from that sum's own white to the
/// encoding's by CAT16, rounded to five decimals. `tests/grade_chart.rs` computes them anew.
#[rustfmt::skip]
const XYZ: [[f64; 3]; PATCHES] = [
    [0.10965, 0.09702, 0.06058],
    [0.38133, 0.35585, 0.25976],
    [0.17864, 0.19083, 0.34573],
    [0.10106, 0.12979, 0.06702],
    [0.25836, 0.24387, 0.45380],
    [0.31306, 0.42728, 0.44796],
    [0.36454, 0.29325, 0.05914],
    [0.13420, 0.11763, 0.37270],
    [0.28450, 0.19234, 0.13755],
    [0.08673, 0.06523, 0.14686],
    [0.33213, 0.43645, 0.11230],
    [0.46179, 0.43121, 0.08442],
    [0.08414, 0.06235, 0.30031],
    [0.14514, 0.23561, 0.09543],
    [0.20173, 0.11832, 0.05200],
    [0.56054, 0.59625, 0.09594],
    [0.29413, 0.19278, 0.30300],
    [0.14496, 0.19874, 0.39599],
    [0.84172, 0.88725, 0.95606],
    [0.55566, 0.58386, 0.63514],
    [0.34063, 0.35817, 0.39099],
    [0.19313, 0.20305, 0.22173],
    [0.08778, 0.09259, 0.10245],
    [0.03187, 0.03355, 0.03817],
];

/// The patches under the encoding's white, D65; a perfect white has Y = 1.
#[must_use]
pub fn chart() -> [Xyz; PATCHES] {
    XYZ.map(Xyz::from)
}
