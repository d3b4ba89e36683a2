//! One frame without a card → what its cast may be.

mod candidates;
mod caption;
mod edges;
mod evidence;
mod model;
mod picture;
mod plane;
mod posterior;
mod template;
mod terms;
#[allow(clippy::approx_constant, reason = "what training found may look like a constant")]
mod weights;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::balance::{White, neutral_in_srgb};
use crate::colour::{Duv, Mired, MiredShift};
use crate::still::LinearFrame;

use evidence::Evidence;
use model::Model;
pub use posterior::{CastPoint, CastPosterior};

/// The estimator's parts, for whoever trains it on pictures of their own.
pub mod training {
    pub use super::candidates::{Candidate, candidates, neutral};
    pub use super::evidence::{Evidence, VIEW_COUNT, VIEWS};
    pub use super::model::Model;
    pub use super::plane::Place;
    pub use super::template::{KNOT_COUNT, KNOTS, Template};
    pub use super::terms::{PRIOR_COUNT, Weights, knot_shares, prior_terms};
}

/// What a neutral surface in a frame is off by. Intervals are 90 %.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Cast {
    /// Light − as-shot balance in mired, + orange; at a 5500 K balance where none is known.
    pub mired: f64,
    /// Its interval, low to high.
    pub mired_interval: [f64; 2],
    /// Light − as-shot balance in Duv, + green.
    pub duv: f64,
    /// Its interval, low to high.
    pub duv_interval: [f64; 2],
    /// The colour that a neutral surface has in the picture, in linear sRGB, largest channel 1.
    pub white_linear_srgb: [f64; 3],
}

/// Intervals hold the truth so often.
const LEVEL: f64 = 0.9;

impl Cast {
    /// The cast that a posterior tells, in a picture shot at `balance`.
    #[must_use]
    pub fn of(posterior: &CastPosterior, balance: &White) -> Self {
        let (mired, duv) = posterior.mean();
        Self {
            mired: mired.get(),
            mired_interval: posterior.mired_interval(LEVEL).map(MiredShift::get),
            duv: duv.get(),
            duv_interval: posterior.duv_interval(LEVEL).map(Duv::get),
            white_linear_srgb: white_linear_srgb(mired, duv, balance),
        }
    }
}

/// The colour in linear sRGB, largest channel 1, of a neutral surface in a picture that was shot
/// at `balance` and has this cast. A light beyond what has a temperature counts as the nearest
/// that has one.
#[must_use]
pub fn white_linear_srgb(mired: MiredShift, duv: Duv, balance: &White) -> [f64; 3] {
    /// 40 000 K to 1 000 K.
    const MIRED: [f64; 2] = [25.0, 1000.0];
    const DUV: f64 = 0.05;
    let place = (balance.mired().get() + mired.get()).clamp(MIRED[0], MIRED[1]);
    let tint = (balance.duv.get() + duv.get()).clamp(-DUV, DUV);
    let light = Mired::new(place).and_then(|mired| White::new(mired.kelvin(), Duv::new(tint)));
    let neutral = neutral_in_srgb(light.unwrap_or(*balance), *balance);
    // A light so saturated that a channel would be negative is at the edge of what sRGB holds.
    largest_one(neutral.map(|channel| channel.max(1e-3)))
}

/// A colour with its largest channel made 1.
pub(super) fn largest_one(rgb: [f64; 3]) -> [f64; 3] {
    let largest = rgb.into_iter().fold(f64::MIN_POSITIVE, f64::max);
    rgb.map(|channel| channel / largest)
}

/// What the cast of a frame may be. `balance` is the as-shot white, 5500 K daylight where it is
/// not known.
#[must_use]
pub fn estimate(frame: &LinearFrame, balance: &White) -> CastPosterior {
    Model::built_in().posterior(&Evidence::of(frame), balance)
}

#[cfg(test)]
mod tests;
