//! The Planckian locus: the chromaticities of black bodies.

use super::observer::{LAST_NM, wavelengths};
use super::{Kelvin, Uv};

/// The second radiation constant c₂ in m·K. The digits are those in which colour temperature is
/// defined here; the exact value of the SI of 2019 begins 1.438 777.
pub const C2: f64 = 1.4388e-2;

/// Beyond these the chromaticity no longer changes to any precision that matters (1 K, 10¹² K),
/// and within them every step of the sum is finite.
const MIRED_LIMITS: (f64, f64) = (1e-6, 1e6);

/// The chromaticity of a black body at `temperature`, in CIE 1960 (u, v).
///
/// Planck's law summed at 1 nm from 360 to 830 nm with the CIE 1931 2° observer. Below 1 K and
/// above 10¹² K it is that of the limit.
#[must_use]
pub fn uv(temperature: Kelvin) -> Uv {
    point(temperature.mired().get()).uv
}

/// A point of the locus with its derivatives by mired.
#[derive(Debug, Clone, Copy)]
pub(super) struct LocusPoint {
    pub(super) uv: Uv,
    /// First derivatives of u and v by mired.
    pub(super) slope: [f64; 2],
    /// Second derivatives of u and v by mired.
    pub(super) bend: [f64; 2],
}

/// The point of the locus at `mired`, by the exact sum.
pub(super) fn point(mired: f64) -> LocusPoint {
    let mired = mired.clamp(MIRED_LIMITS.0, MIRED_LIMITS.1);
    let mut sums = Sums::default();
    for wavelength in terms() {
        let decay = (-wavelength.beyond_last * mired).exp();
        sums.add(&wavelength, decay, (wavelength.rate * mired).exp_m1());
    }
    sums.point()
}

/// The points from `first` mired on, `step` apart: the exact sums as well, but with a few exponentials a wavelength
/// instead of a few a term. That is right to 10⁻¹³ for some hundred steps between 10 and 1100 mired.
pub(super) fn points(first: f64, step: f64, count: usize) -> Vec<LocusPoint> {
    let mut sums = vec![Sums::default(); count];
    for wavelength in terms() {
        let Term { rate, beyond_last, .. } = wavelength;
        let [mut decay, decay_by] = [first, step].map(|mired| (-beyond_last * mired).exp());
        let [mut growth, growth_by] = [first, step].map(|mired| (rate * mired).exp());
        for sums in &mut sums {
            sums.add(&wavelength, decay, growth - 1.0);
            decay *= decay_by;
            growth *= growth_by;
        }
    }
    sums.iter().map(Sums::point).collect()
}

/// What a wavelength adds to.
struct Term {
    /// Of 4X, 6Y and X + 15Y + 3Z, by the fifth power of the wavelength.
    weights: [f64; 3],
    /// c₂ / (λT) at 1 mired.
    rate: f64,
    /// That less the same of the longest wavelength. A common factor leaves the chromaticity and its derivatives
    /// alone; this one keeps the sum from vanishing at low temperatures, where the longest wavelength outshines all
    /// others.
    beyond_last: f64,
}

fn terms() -> impl Iterator<Item = Term> {
    let last = exponent_per_mired(f64::from(LAST_NM));
    wavelengths().map(move |(nm, [x, y, z])| {
        let rate = exponent_per_mired(nm);
        let weights = [4.0 * x, 6.0 * y, x + 15.0 * y + 3.0 * z].map(|sum| sum / nm.powi(5));
        Term { weights, rate, beyond_last: rate - last }
    })
}

/// Sums of 4X, 6Y and X + 15Y + 3Z and of their first and second derivatives by mired.
#[derive(Debug, Clone, Default)]
struct Sums([[f64; 3]; 3]);

impl Sums {
    /// Adds a wavelength's part, of which `decay` is e to the minus [`Term::beyond_last`], and `growth` e to the
    /// [`Term::rate`] less 1, each at so many mired.
    #[inline(always)]
    fn add(&mut self, term: &Term, decay: f64, growth: f64) {
        let Term { weights, rate, beyond_last } = term;
        let occupation = 1.0 / growth;
        let power = decay * (1.0 + occupation);
        let log_slope = -beyond_last - rate * occupation;
        let log_bend = rate * rate * occupation * (1.0 + occupation);
        let terms = [power, power * log_slope, power * (log_slope * log_slope + log_bend)];
        for (sum, term) in self.0.iter_mut().zip(terms) {
            for (part, weight) in sum.iter_mut().zip(weights) {
                *part += weight * term;
            }
        }
    }

    fn point(&self) -> LocusPoint {
        let [[u, v, all], [u1, v1, all1], [u2, v2, all2]] = self.0;
        let quotient = |value: f64, first: f64, second: f64| {
            let ratio = value / all;
            let slope = (first - ratio * all1) / all;
            let bend = (second - 2.0 * slope * all1 - ratio * all2) / all;
            (ratio, slope, bend)
        };
        let (u, u_slope, u_bend) = quotient(u, u1, u2);
        let (v, v_slope, v_bend) = quotient(v, v1, v2);
        LocusPoint { uv: Uv { u, v }, slope: [u_slope, v_slope], bend: [u_bend, v_bend] }
    }
}

/// c₂ / (λT) at 1 mired for the wavelength `nm`.
fn exponent_per_mired(nm: f64) -> f64 {
    C2 * 1e-6 / (nm * 1e-9)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test fails by panicking")]
mod tests {
    use super::*;

    #[test]
    fn derivatives_are_those_of_the_locus() {
        let step = 0.01;
        for mired in [10.0, 25.0, 153.0, 400.0, 1000.0] {
            let (before, at, after) = (point(mired - step), point(mired), point(mired + step));
            let slope = (after.uv.u - before.uv.u) / (2.0 * step);
            let bend = (after.slope[1] - before.slope[1]) / (2.0 * step);
            assert!((slope / at.slope[0] - 1.0).abs() < 1e-6, "{mired}: {slope} {at:?}");
            assert!((bend / at.bend[1] - 1.0).abs() < 1e-4, "{mired}: {bend} {at:?}");
        }
    }

    #[test]
    fn points_in_a_row_are_the_exact_ones() {
        for (index, got) in points(20.0, 10.0, 100).into_iter().enumerate() {
            let wanted = point(20.0 + 10.0 * index as f64);
            let numbers = |at: &LocusPoint| {
                [at.uv.u, at.uv.v, at.slope[0], at.slope[1], at.bend[0], at.bend[1]]
            };
            for (got, wanted) in numbers(&got).into_iter().zip(numbers(&wanted)) {
                assert!((got - wanted).abs() < 1e-13, "{index}: {got} {wanted}");
            }
        }
    }

    #[test]
    fn every_temperature_has_a_finite_point() {
        for kelvin in [1e-300, 1e-3, 1.0, 40.0, 1e6, 1e12, 1e300] {
            let at = point(Kelvin::new(kelvin).unwrap().mired().get());
            let numbers = [at.uv.u, at.uv.v, at.slope[0], at.slope[1], at.bend[0], at.bend[1]];
            assert!(numbers.iter().all(|number| number.is_finite()), "{kelvin} K: {at:?}");
            assert!(at.uv.u > 0.0 && at.uv.v > 0.0, "{kelvin} K: {at:?}");
            assert!(at.slope[0] != 0.0, "{kelvin} K: {at:?}");
        }
    }

    // The limit of infinite temperature: CIE 1931 (0.2399, 0.2341), where the spectrum is λ⁻⁴.
    #[test]
    fn the_hot_end_is_the_limit_of_the_locus() {
        let xy = uv(Kelvin::new(1e12).unwrap()).to_xy();
        assert!((xy.x - 0.2399).abs() < 1e-4 && (xy.y - 0.2341).abs() < 1e-4, "{xy:?}");
    }
}
