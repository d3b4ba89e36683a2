//! How far a camera's own matrices put a raw reading off, over the light as read.
//!
//! Lamps with smooth spectra are read closely, and they lie on the Planckian or the daylight locus:
//! the farther off these a light is read, the likelier its spectrum has spikes, and the wider the
//! interval. The figures come from a simulation over many made-up cameras;
//! [`super::calibration_raw`] holds them.

use super::calibration_raw::{self, DISTANCES, LIGHTS, RawCurves};
use super::half_widths::between;
use super::lamp::Lamp;
use crate::balance::{White, distance_off_loci};

impl RawCurves {
    /// The calibrated figures for a lamp.
    pub(crate) fn of(lamp: Lamp) -> &'static Self {
        match lamp {
            Lamp::Any => &calibration_raw::ANY,
            Lamp::Continuous => &calibration_raw::CONTINUOUS,
            Lamp::Spiky => &calibration_raw::SPIKY,
        }
    }

    /// Half widths in mired and Duv for a light as read.
    pub(crate) fn half_widths(&self, light: White) -> [f64; 2] {
        let off = distance_off_loci(light.cct, light.duv);
        [&self.mired, &self.duv].map(|widths| {
            let at_light = widths.map(|row| between(&LIGHTS, &row, light.mired().get()));
            between(&DISTANCES, &at_light, off)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::{Duv, Kelvin};

    fn half(lamp: Lamp, kelvin: f64, duv: f64) -> f64 {
        let light = White::new(Kelvin::new(kelvin).unwrap(), Duv::new(duv)).unwrap();
        RawCurves::of(lamp).half_widths(light)[0]
    }

    #[test]
    fn a_smooth_lamp_narrows_and_a_spiky_one_widens() {
        for kelvin in [2300.0, 2900.0, 4200.0, 5600.0, 9000.0] {
            assert!(half(Lamp::Continuous, kelvin, 0.0) < half(Lamp::Any, kelvin, 0.0), "{kelvin}");
            assert!(half(Lamp::Any, kelvin, 0.0) < half(Lamp::Spiky, kelvin, 0.0), "{kelvin}");
        }
    }

    #[test]
    fn a_light_off_the_loci_is_known_less_closely() {
        for kelvin in [2300.0, 2900.0, 4200.0, 5600.0] {
            assert!(
                half(Lamp::Any, kelvin, 0.007) > 1.2 * half(Lamp::Any, kelvin, 0.0),
                "{kelvin}"
            );
        }
    }

    #[test]
    fn between_nodes_it_is_in_between_and_beyond_them_level() {
        let values = [1.0, 3.0, 2.0];
        let at = |at| between(&[10.0, 20.0, 40.0], &values, at);
        assert_eq!(
            [0.0, 10.0, 15.0, 20.0, 30.0, 40.0, 1e9].map(at),
            [1.0, 1.0, 2.0, 3.0, 2.5, 2.0, 2.0]
        );
    }
}
