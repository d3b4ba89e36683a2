//! One quantity with an interval, and how intervals of several go together.

use crate::card::LightReading;
use crate::normal::HALF_90;

/// A figure with its 90 % interval as distances below and above it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Measured {
    pub(super) value: f64,
    pub(super) below: f64,
    pub(super) above: f64,
}

/// Below this a half width is taken for this in weights, so that none is infinite.
const NARROWEST: f64 = 1e-9;

impl Measured {
    pub(super) fn new(value: f64, [low, high]: [f64; 2]) -> Self {
        Self { value, below: (value - low).max(0.0), above: (high - value).max(0.0) }
    }

    pub(super) fn mired(light: &LightReading) -> Self {
        Self::new(light.mired, light.mired_interval)
    }

    pub(super) fn duv(light: &LightReading) -> Self {
        Self::new(light.duv, light.duv_interval)
    }

    pub(super) fn interval(self) -> [f64; 2] {
        [self.value - self.below, self.value + self.above]
    }

    /// Whether its interval leaves 0 out.
    pub(super) fn is_real(self) -> bool {
        let [low, high] = self.interval();
        low > 0.0 || high < 0.0
    }

    /// `self − other`, their errors taken for independent. Errors that both share (the same
    /// camera at the same balance) would make the interval narrower; that cannot be relied on,
    /// since lamps of different spectra put the same sensor off in different directions.
    pub(super) fn minus(self, other: Self) -> Self {
        Self {
            value: self.value - other.value,
            below: self.below.hypot(other.above),
            above: self.above.hypot(other.below),
        }
    }

    /// The mean of readings of one light, weighted by how sure each is.
    ///
    /// Its interval does not shrink with their number: sensor, lamp and curve put all of them off
    /// alike. What they scatter is added in squares.
    ///
    /// `None` of no readings.
    pub(super) fn mean_of_one_light(readings: &[Self]) -> Option<Self> {
        let weight = |m: &Self| f64::midpoint(m.below, m.above).max(NARROWEST).powi(-2);
        let total: f64 = readings.iter().map(weight).sum();
        if readings.is_empty() || !total.is_finite() {
            return None;
        }
        let mean = |of: &dyn Fn(&Self) -> f64| {
            readings.iter().map(|m| weight(m) * of(m)).sum::<f64>() / total
        };
        let value = mean(&|m| m.value);
        let count = readings.len() as f64;
        let scatter = if readings.len() > 1 {
            let variance = mean(&|m| (m.value - value).powi(2)) * count / (count - 1.0);
            HALF_90 * (variance / count).sqrt()
        } else {
            0.0
        };
        Some(Self {
            value,
            below: mean(&|m| m.below).hypot(scatter),
            above: mean(&|m| m.above).hypot(scatter),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(value: f64, half: f64) -> Measured {
        Measured { value, below: half, above: half }
    }

    #[test]
    fn a_difference_has_both_errors() {
        let difference = measured(300.0, 4.0).minus(measured(200.0, 3.0));
        assert_eq!(difference, measured(100.0, 5.0));
        assert!(difference.is_real() && !measured(4.0, 5.0).is_real());
        assert!(measured(-6.0, 5.0).is_real() && !measured(0.0, 0.0).is_real());
    }

    #[test]
    fn more_readings_do_not_make_a_shared_error_smaller() {
        let alike = [measured(200.0, 14.0); 4];
        let mean = Measured::mean_of_one_light(&alike).unwrap();
        assert!((mean.value - 200.0).abs() < 1e-9 && (mean.above - 14.0).abs() < 1e-9, "{mean:?}");
        let apart = [measured(190.0, 14.0), measured(210.0, 14.0)];
        let mean = Measured::mean_of_one_light(&apart).unwrap();
        assert!((mean.value - 200.0).abs() < 1e-9 && mean.above > 20.0, "{mean:?}");
    }

    #[test]
    fn a_surer_reading_weighs_more() {
        let readings = [measured(200.0, 5.0), measured(220.0, 20.0)];
        let mean = Measured::mean_of_one_light(&readings).unwrap();
        assert!(mean.value < 203.0, "{mean:?}");
        assert_eq!(Measured::mean_of_one_light(&[]), None);
        assert_eq!(Measured::mean_of_one_light(&[measured(5.0, 0.0); 2]).unwrap().value, 5.0);
    }
}
