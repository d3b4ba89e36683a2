//! Made by `cargo run --release -p lab -- calibrate --write`; do not edit by hand.

use super::model_error::Curves;

/// Residuals, in mired, at which the half widths are given.
pub(crate) const RESIDUALS: [f64; 11] =
    [-180.0, -120.0, -80.0, -50.0, -20.0, 0.0, 20.0, 50.0, 100.0, 150.0, 200.0];

/// Distances from the loci, in Duv, at which the factors are given.
pub(crate) const OFF_LOCI: [f64; 6] = [0.000, 0.001, 0.002, 0.004, 0.007, 0.012];

pub(crate) const ANY: Curves = Curves {
    mired: [20.3, 20.3, 20.3, 19.9, 18.4, 17.9, 18.0, 20.9, 26.8, 26.8, 31.3],
    mired_factors: [0.33, 0.58, 0.70, 1.27, 1.50, 2.03],
    duv: [0.0154, 0.0154, 0.0152, 0.0147, 0.0140, 0.0134, 0.0134, 0.0145, 0.0145, 0.0145, 0.0145],
    duv_factors: [0.16, 0.19, 0.32, 0.42, 0.66, 0.98],
};

pub(crate) const CONTINUOUS: Curves = Curves {
    mired: [20.3, 20.3, 20.3, 19.9, 18.3, 15.3, 15.3, 15.3, 22.8, 26.8, 31.1],
    mired_factors: [0.19, 0.31, 0.52, 0.84, 1.32, 1.53],
    duv: [0.0139, 0.0139, 0.0139, 0.0133, 0.0116, 0.0106, 0.0106, 0.0106, 0.0106, 0.0106, 0.0106],
    duv_factors: [0.15, 0.15, 0.28, 0.42, 0.66, 0.97],
};

pub(crate) const SPIKY: Curves = Curves {
    mired: [20.3, 20.3, 20.3, 19.9, 18.4, 17.9, 18.0, 20.9, 26.8, 26.8, 31.3],
    mired_factors: [0.68, 0.84, 0.95, 1.36, 1.63, 2.03],
    duv: [0.0157, 0.0157, 0.0157, 0.0156, 0.0145, 0.0145, 0.0151, 0.0157, 0.0157, 0.0157, 0.0157],
    duv_factors: [0.23, 0.25, 0.30, 0.39, 0.60, 0.91],
};
