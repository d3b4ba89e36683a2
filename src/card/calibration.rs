//! Made by `cargo run --release -p lab -- calibrate --write`; do not edit by hand.

use super::model_error::Curves;

/// Residuals, in mired, at which the half widths are given.
pub(crate) const RESIDUALS: [f64; 11] =
    [-180.0, -120.0, -80.0, -50.0, -20.0, 0.0, 20.0, 50.0, 100.0, 150.0, 200.0];

/// Distances from the loci, in Duv, at which the factors are given.
pub(crate) const OFF_LOCI: [f64; 6] = [0.000, 0.001, 0.002, 0.004, 0.007, 0.012];

pub(crate) const ANY: Curves = Curves {
    mired: [21.3, 21.3, 21.3, 21.3, 18.8, 17.9, 17.9, 17.9, 22.6, 24.3, 24.3],
    mired_factors: [0.35, 0.78, 0.96, 1.26, 1.29, 1.29],
    duv: [0.0116, 0.0116, 0.0111, 0.0111, 0.0104, 0.0104, 0.0104, 0.0104, 0.0104, 0.0104, 0.0104],
    duv_factors: [0.20, 0.22, 0.42, 0.56, 0.79, 0.86],
};

pub(crate) const CONTINUOUS: Curves = Curves {
    mired: [20.0, 20.0, 20.0, 18.5, 15.9, 14.8, 14.8, 14.8, 20.4, 23.8, 23.8],
    mired_factors: [0.34, 0.71, 0.85, 1.24, 1.24, 1.24],
    duv: [0.0048, 0.0048, 0.0048, 0.0047, 0.0040, 0.0026, 0.0026, 0.0026, 0.0028, 0.0028, 0.0028],
    duv_factors: [0.20, 0.22, 0.42, 0.56, 0.79, 0.86],
};

pub(crate) const SPIKY: Curves = Curves {
    mired: [21.3, 21.3, 21.3, 21.3, 18.8, 17.9, 17.9, 17.9, 22.6, 24.3, 24.3],
    mired_factors: [0.92, 1.20, 1.28, 1.51, 1.68, 1.68],
    duv: [0.0116, 0.0116, 0.0115, 0.0113, 0.0104, 0.0104, 0.0106, 0.0107, 0.0107, 0.0107, 0.0107],
    duv_factors: [0.24, 0.31, 0.42, 0.56, 0.79, 0.85],
};
