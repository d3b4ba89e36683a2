//! Made by `cargo run --release -p lab -- calibrate --write`; do not edit by hand.

use super::model_error::Curves;

/// Residuals, in mired, at which the half widths are given.
pub(crate) const RESIDUALS: [f64; 11] =
    [-180.0, -120.0, -80.0, -50.0, -20.0, 0.0, 20.0, 50.0, 100.0, 150.0, 200.0];

pub(crate) const ANY: Curves = Curves {
    mired: [18.9, 18.9, 18.9, 16.7, 14.6, 14.4, 14.4, 18.2, 25.4, 37.8, 37.8],
    duv: [0.0062, 0.0061, 0.0055, 0.0052, 0.0050, 0.0050, 0.0050, 0.0050, 0.0054, 0.0055, 0.0055],
};

pub(crate) const CONTINUOUS: Curves = Curves {
    mired: [12.5, 12.5, 12.1, 12.1, 11.2, 11.0, 11.0, 14.9, 25.3, 28.8, 28.8],
    duv: [0.0046, 0.0046, 0.0040, 0.0039, 0.0031, 0.0018, 0.0018, 0.0018, 0.0032, 0.0032, 0.0032],
};

pub(crate) const SPIKY: Curves = Curves {
    mired: [22.0, 22.0, 22.0, 20.4, 18.9, 17.6, 17.6, 20.3, 27.6, 37.8, 37.8],
    duv: [0.0067, 0.0067, 0.0067, 0.0064, 0.0057, 0.0057, 0.0058, 0.0060, 0.0060, 0.0060, 0.0060],
};
