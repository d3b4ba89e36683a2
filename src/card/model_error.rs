//! How far sensors and lamp spectra alone put a reading off, for a card of a given residual.
//!
//! No camera sees quite as the standard observer does, and a spectrum with spikes shows it. The
//! figures come from a simulation over many made-up sensors; [`super::calibration`] holds them.

use super::calibration;
use super::raw_error::RawCurves;

/// What is known of the lamp's spectrum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum Lamp {
    /// Nothing: it may be any lamp or daylight.
    #[default]
    Any,
    /// Smooth, without spikes: tungsten, daylight, flash.
    Continuous,
    /// With spikes: most fluorescent tubes and many LEDs.
    Spiky,
}

/// Half widths of 90 % intervals that sensor and spectrum call for, over the residual.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelError {
    curves: Option<&'static Curves>,
    /// The same for raw files, over the light.
    pub(super) raw: Option<&'static RawCurves>,
}

/// Half widths at [`calibration::RESIDUALS`].
#[derive(Debug, PartialEq)]
pub(crate) struct Curves {
    pub(crate) mired: [f64; calibration::RESIDUALS.len()],
    pub(crate) duv: [f64; calibration::RESIDUALS.len()],
}

impl ModelError {
    /// The calibrated figures for a lamp.
    #[must_use]
    pub fn of(lamp: Lamp) -> Self {
        Self {
            curves: Some(match lamp {
                Lamp::Any => &calibration::ANY,
                Lamp::Continuous => &calibration::CONTINUOUS,
                Lamp::Spiky => &calibration::SPIKY,
            }),
            raw: Some(RawCurves::of(lamp)),
        }
    }

    /// None at all: intervals hold only what the photo's own noise and tone curve leave open. For
    /// calibrating against.
    #[must_use]
    pub fn none() -> Self {
        Self { curves: None, raw: None }
    }

    /// Half width of the 90 % interval in mired, for a residual in mired.
    #[must_use]
    pub fn mired_half_width(&self, residual_mired: f64) -> f64 {
        self.curves.map_or(0.0, |curves| between(&curves.mired, residual_mired))
    }

    /// Half width of the 90 % interval in Duv, for a residual in mired.
    #[must_use]
    pub fn duv_half_width(&self, residual_mired: f64) -> f64 {
        self.curves.map_or(0.0, |curves| between(&curves.duv, residual_mired))
    }
}

impl Default for ModelError {
    fn default() -> Self {
        Self::of(Lamp::Any)
    }
}

/// Straight lines between the nodes, level beyond them.
fn between(values: &[f64; calibration::RESIDUALS.len()], at: f64) -> f64 {
    let nodes = calibration::RESIDUALS;
    let right = nodes.iter().position(|&node| node >= at);
    match right {
        Some(0) => values[0],
        Some(i) => {
            let part = (at - nodes[i - 1]) / (nodes[i] - nodes[i - 1]);
            values[i - 1] + part * (values[i] - values[i - 1])
        }
        None => values[values.len() - 1],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_known_smooth_lamp_narrows_and_a_spiky_one_widens() {
        for residual in [-150.0, -30.0, 0.0, 30.0, 150.0] {
            let half = |lamp| ModelError::of(lamp).mired_half_width(residual);
            assert!(half(Lamp::Continuous) <= half(Lamp::Any), "{residual}");
            assert!(half(Lamp::Any) <= half(Lamp::Spiky), "{residual}");
        }
        let half = |lamp| ModelError::of(lamp).duv_half_width(0.0);
        assert!(half(Lamp::Continuous) < half(Lamp::Spiky));
        assert_eq!(ModelError::none().mired_half_width(100.0), 0.0);
    }

    #[test]
    fn widths_grow_with_the_residual_and_hold_beyond_the_table() {
        let any = ModelError::default();
        let nodes = calibration::RESIDUALS;
        let (first, last) = (nodes[0], nodes[nodes.len() - 1]);
        assert!(any.mired_half_width(last) > any.mired_half_width(0.0));
        assert!(any.mired_half_width(first) > any.mired_half_width(0.0));
        assert_eq!(any.mired_half_width(last), any.mired_half_width(last + 500.0));
        assert_eq!(any.duv_half_width(first), any.duv_half_width(first - 500.0));
        let middle = f64::midpoint(nodes[1], nodes[2]);
        let mean = f64::midpoint(any.mired_half_width(nodes[1]), any.mired_half_width(nodes[2]));
        assert!((any.mired_half_width(middle) - mean).abs() < 1e-12);
    }
}
