//! Made by `cargo run --release -p lab -- calibrate --write`; do not edit by hand.

use super::model_error::Curves;

/// Residuals, in mired, at which the half widths are given.
pub(crate) const RESIDUALS: [f64; 11] =
    [-180.0, -120.0, -80.0, -50.0, -20.0, 0.0, 20.0, 50.0, 100.0, 150.0, 200.0];

pub(crate) const ANY: Curves = Curves {
    mired: [30.0, 25.0, 20.0, 15.0, 11.0, 8.0, 11.0, 14.0, 17.0, 20.0, 25.0],
    duv: [0.0100, 0.0080, 0.0070, 0.0065, 0.0060, 0.0055, 0.0060, 0.0065, 0.0070, 0.0080, 0.0085],
};

pub(crate) const CONTINUOUS: Curves = Curves {
    mired: [20.0, 15.0, 10.0, 7.0, 3.0, 2.0, 3.0, 4.0, 6.0, 9.0, 12.0],
    duv: [0.0080, 0.0060, 0.0040, 0.0030, 0.0015, 0.0010, 0.0015, 0.0020, 0.0025, 0.0030, 0.0035],
};

pub(crate) const SPIKY: Curves = Curves {
    mired: [40.0, 32.0, 26.0, 20.0, 15.0, 13.0, 16.0, 20.0, 25.0, 30.0, 40.0],
    duv: [0.0120, 0.0110, 0.0110, 0.0110, 0.0110, 0.0100, 0.0100, 0.0100, 0.0110, 0.0110, 0.0100],
};
