//! Made by `cargo run --release -p lab -- calibrate --write`; do not edit by hand.

use super::half_widths::Product;

pub(super) type Curves = Product<{ RESIDUALS.len() }, { OFF_LOCI.len() }>;

/// Residuals, in mired, at which the half widths are given.
pub(crate) const RESIDUALS: [f64; 11] =
    [-180.0, -120.0, -80.0, -50.0, -20.0, 0.0, 20.0, 50.0, 100.0, 150.0, 200.0];

/// Distances from the loci, in Duv, at which the factors are given.
pub(crate) const OFF_LOCI: [f64; 6] = [0.000, 0.001, 0.002, 0.004, 0.007, 0.012];

pub(crate) const ANY: Curves = Curves {
    mired: [14.5, 14.5, 14.5, 14.5, 14.4, 13.5, 13.5, 16.1, 19.8, 22.3, 26.7],
    mired_factors: [0.88, 0.88, 0.99, 1.75, 2.12, 2.65],
    duv: [0.0115, 0.0115, 0.0115, 0.0115, 0.0110, 0.0106, 0.0106, 0.0109, 0.0109, 0.0109, 0.0109],
    duv_factors: [0.30, 0.32, 0.44, 0.60, 0.89, 1.33],
};

pub(crate) const CONTINUOUS: Curves = Curves {
    mired: [8.2, 8.2, 8.2, 8.2, 7.9, 7.6, 7.6, 7.6, 8.4, 12.8, 12.8],
    mired_factors: [0.88, 0.88, 0.99, 1.75, 2.12, 2.65],
    duv: [0.0113, 0.0113, 0.0113, 0.0111, 0.0103, 0.0094, 0.0094, 0.0094, 0.0094, 0.0094, 0.0094],
    duv_factors: [0.30, 0.30, 0.33, 0.60, 0.89, 1.21],
};

pub(crate) const SPIKY: Curves = Curves {
    mired: [18.6, 18.6, 18.6, 18.5, 18.4, 17.9, 18.0, 19.4, 21.5, 26.8, 31.3],
    mired_factors: [0.81, 0.98, 0.98, 1.61, 1.95, 2.44],
    duv: [0.0150, 0.0150, 0.0148, 0.0146, 0.0139, 0.0139, 0.0145, 0.0148, 0.0148, 0.0148, 0.0148],
    duv_factors: [0.26, 0.28, 0.35, 0.48, 0.71, 1.06],
};
