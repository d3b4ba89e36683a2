//! How far sensors and lamp spectra alone put a reading off, for a card of a given residual.
//!
//! No camera sees quite as the standard observer does, and a spectrum with spikes shows it. It errs
//! more the farther the card is from neutral. And lights of smooth spectrum lie on the Planckian or
//! the daylight locus: a reading that comes out on a locus most likely is one of those and right,
//! one that comes out off them most likely is a spiky light that the sensor saw wrongly.
//!
//! The figures come from a simulation over many made-up sensors; [`super::calibration`] holds them.

use super::calibration;
use super::calibration_raw::RawCurves;
use super::half_widths::between;
use super::lamp::Lamp;

/// Half widths of 90 % intervals that sensor and spectrum call for, over the residual and the distance
/// from the loci.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelError {
    curves: Option<&'static calibration::Curves>,
    /// The same for raw files, over the light.
    pub(super) raw: Option<&'static RawCurves>,
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

    /// Half width of the 90 % interval in mired, for a card of this residual in mired whose light
    /// reads this far off the loci in Duv.
    #[must_use]
    pub fn mired_half_width(&self, residual_mired: f64, off_loci: f64) -> f64 {
        self.curves.map_or(0.0, |curves| {
            between(&calibration::RESIDUALS, &curves.mired, residual_mired)
                * between(&calibration::OFF_LOCI, &curves.mired_factors, off_loci)
        })
    }

    /// Half width of the 90 % interval in Duv, for a card of this residual in mired whose light reads
    /// this far off the loci in Duv.
    #[must_use]
    pub fn duv_half_width(&self, residual_mired: f64, off_loci: f64) -> f64 {
        self.curves.map_or(0.0, |curves| {
            between(&calibration::RESIDUALS, &curves.duv, residual_mired)
                * between(&calibration::OFF_LOCI, &curves.duv_factors, off_loci)
        })
    }
}

impl Default for ModelError {
    fn default() -> Self {
        Self::of(Lamp::Any)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_known_smooth_lamp_narrows_and_a_spiky_one_widens() {
        for residual in [-150.0, -30.0, 0.0, 30.0, 150.0] {
            for off in [0.0, 0.002, 0.005] {
                let half = |lamp| ModelError::of(lamp).mired_half_width(residual, off);
                assert!(half(Lamp::Continuous) <= half(Lamp::Any), "{residual} {off}");
                assert!(half(Lamp::Any) <= half(Lamp::Spiky), "{residual} {off}");
            }
        }
        let half = |lamp| ModelError::of(lamp).duv_half_width(0.0, 0.001);
        assert!(half(Lamp::Continuous) < half(Lamp::Spiky));
        assert_eq!(ModelError::none().mired_half_width(100.0, 0.0), 0.0);
    }

    #[test]
    fn widths_grow_with_the_residual_and_off_the_loci_and_hold_beyond_the_table() {
        let any = ModelError::default();
        let nodes = calibration::RESIDUALS;
        let (first, last) = (nodes[0], nodes[nodes.len() - 1]);
        let mired = |residual| any.mired_half_width(residual, 0.002);
        assert!(mired(last) > mired(0.0));
        assert!(mired(first) > mired(0.0));
        assert_eq!(mired(last), mired(last + 500.0));
        assert_eq!(mired(first), mired(first - 500.0));
        let middle = f64::midpoint(nodes[1], nodes[2]);
        let mean = f64::midpoint(mired(nodes[1]), mired(nodes[2]));
        assert!((mired(middle) - mean).abs() < 1e-12);
        assert!(any.mired_half_width(0.0, 0.006) > any.mired_half_width(0.0, 0.0));
        assert!(any.duv_half_width(0.0, 0.006) > any.duv_half_width(0.0, 0.0));
        assert_eq!(any.duv_half_width(0.0, 0.04), any.duv_half_width(0.0, 0.05));
    }
}
