//! How far a camera's own matrices put a raw reading off, over the light.
//!
//! The figures come from a simulation over many made-up cameras; [`super::calibration_raw`] holds
//! them.

use super::calibration_raw::{self, LIGHTS};
use super::model_error::Lamp;

/// Half widths of 90 % intervals at [`LIGHTS`].
#[derive(Debug, PartialEq)]
pub(crate) struct RawCurves {
    pub(crate) mired: [f64; LIGHTS.len()],
    pub(crate) duv: [f64; LIGHTS.len()],
}

impl RawCurves {
    /// The calibrated figures for a lamp.
    pub(crate) fn of(lamp: Lamp) -> &'static Self {
        match lamp {
            Lamp::Any => &calibration_raw::ANY,
            Lamp::Continuous => &calibration_raw::CONTINUOUS,
            Lamp::Spiky => &calibration_raw::SPIKY,
        }
    }

    /// Half widths in mired and Duv for a light in mired.
    pub(crate) fn half_widths(&self, light_mired: f64) -> [f64; 2] {
        [between(&self.mired, light_mired), between(&self.duv, light_mired)]
    }
}

/// Straight lines between the nodes, level beyond them.
fn between(values: &[f64; LIGHTS.len()], at: f64) -> f64 {
    let mut before: Option<(f64, f64)> = None;
    for (node, value) in LIGHTS.into_iter().zip(*values) {
        if at <= node {
            return before.map_or(value, |(left, low)| {
                low + (at - left) / (node - left) * (value - low)
            });
        }
        before = Some((node, value));
    }
    before.map_or(0.0, |(_, last)| last)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_smooth_lamp_narrows_and_a_spiky_one_widens() {
        for light in [60.0, 90.0, 180.0, 300.0, 500.0] {
            let half = |lamp| RawCurves::of(lamp).half_widths(light)[0];
            assert!(half(Lamp::Continuous) < half(Lamp::Any), "{light}");
            assert!(half(Lamp::Any) < half(Lamp::Spiky), "{light}");
        }
    }

    #[test]
    fn between_nodes_it_is_in_between_and_beyond_them_level() {
        let mut values = [1.0; LIGHTS.len()];
        values[1] = 3.0;
        let middle = f64::midpoint(LIGHTS[0], LIGHTS[1]);
        assert_eq!([0.0, LIGHTS[0], middle, LIGHTS[1]].map(|at| between(&values, at)), [1.0, 1.0, 2.0, 3.0]);
        assert_eq!(between(&values, 1e9), 1.0);
    }
}
