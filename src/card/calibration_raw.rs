//! Made by `cargo run --release -p lab -- calibrate-raw --write`; do not edit by hand.

use super::raw_error::RawCurves;

/// Lights, in mired, at which the half widths are given.
pub(crate) const LIGHTS: [f64; 9] = [90.0, 120.0, 155.0, 190.0, 230.0, 270.0, 320.0, 370.0, 440.0];

pub(crate) const ANY: RawCurves = RawCurves { mired: [9.0; 9], duv: [0.003; 9] };

pub(crate) const CONTINUOUS: RawCurves = RawCurves { mired: [3.0; 9], duv: [0.003; 9] };

pub(crate) const SPIKY: RawCurves = RawCurves { mired: [9.0; 9], duv: [0.003; 9] };
