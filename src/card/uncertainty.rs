//! The light that a card's samples stand for, and how sure that is.

use super::sample::Samples;
use super::tone::candidates;
use crate::balance::White;
use crate::colour::{Duv, Mired};

/// A light with its 90 % intervals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Estimate {
    pub(crate) white: White,
    /// Low to high.
    pub(crate) mired_interval: [f64; 2],
    /// Low to high.
    pub(crate) duv_interval: [f64; 2],
}

/// `None` where the card's colour is too strong for any light at this balance.
pub(crate) fn estimate(
    samples: &Samples,
    banded: bool,
    balance: White,
    light: impl Fn([f64; 3]) -> Option<White>,
) -> Option<Estimate> {
    let lights: Vec<(f64, f64, f64)> = candidates(samples, !banded)
        .iter()
        .filter_map(|candidate| {
            let white = light(candidate.linear)?;
            Some((candidate.probability, white.mired().get(), white.duv.get()))
        })
        .collect();
    let weight: f64 = lights.iter().map(|l| l.0).sum();
    if weight <= 0.0 {
        return None;
    }
    let mean = |value: fn(&(f64, f64, f64)) -> f64| {
        lights.iter().map(|l| l.0 * value(l)).sum::<f64>() / weight
    };
    let (mired, duv) = (mean(|l| l.1), mean(|l| l.2));
    let spread = (mean(|l| l.1 * l.1) - mired * mired).max(0.0).sqrt();
    let white = White::new(Mired::new(mired).ok()?.kelvin(), Duv::new(duv)).ok()?;
    let far = (white.mired() - balance.mired()).get().abs();
    let half = (8.0 + 0.06 * far).hypot(1.645 * spread);
    Some(Estimate {
        white,
        mired_interval: [(mired - half).max(10.0), mired + half],
        duv_interval: [duv - 0.006, duv + 0.006],
    })
}
