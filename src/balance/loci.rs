//! How far a light is from those that nature and filaments give.

use super::White;
use crate::colour::{Duv, Kelvin};

/// Duv from a light of a temperature and tint to the nearest that a filament or daylight of that
/// temperature has: 0 between the Planckian and the daylight locus, and never negative.
///
/// Lamps with smooth spectra lie there; what does not has a spectrum with spikes, a filter before
/// it, or more than one source in it.
#[must_use]
pub fn distance_off_loci(cct: Kelvin, duv: Duv) -> f64 {
    // Where there is no daylight of that temperature the Planckian locus stands alone.
    let daylight = White::from_dial(cct).map_or(0.0, |white| white.duv.get()).max(0.0);
    let duv = duv.get();
    (duv - daylight).max(-duv).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn filaments_and_daylight_are_not_off_and_others_are() {
        let off = |kelvin, duv| distance_off_loci(Kelvin::new(kelvin).unwrap(), Duv::new(duv));
        assert_eq!([off(2800.0, 0.0), off(5500.0, 0.0), off(5500.0, 0.003)], [0.0; 3]);
        assert!((off(2800.0, 0.003) - 0.003).abs() < 1e-12);
        assert!((off(2800.0, -0.004) - 0.004).abs() < 1e-12);
        assert!((off(6500.0, 0.01) - 0.0068).abs() < 2e-4);
        assert_eq!(off(39_000.0, -0.001), 0.001);
    }
}
