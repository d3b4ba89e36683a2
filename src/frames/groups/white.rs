//! The colour that a neutral surface has over a group.

use super::evidence::Evidence;
use super::pool::Pooled;
use crate::balance::White;
use crate::card::BalanceRecord;
use crate::colour::{Duv, Kelvin, MiredShift};
use crate::frames::cast::{largest_one, white_linear_srgb};

/// The colour, largest channel 1, of a neutral surface in frames of one balance that share this cast: as far from
/// their own mean as the cast is from the mean of their casts. So what was judged against a card stays so, and
/// whatever is said of the group in mired is what its gains take out.
pub(super) fn of_group(frames: &[&Evidence<'_>], pooled: &Pooled) -> [f64; 3] {
    let mut sums = Sums::default();
    for frame in frames {
        let cast = &frame.reading.cast;
        let weight = frame.mired.weight_at(pooled.mired.0);
        sums.weight += weight;
        sums.cast[0] += weight * cast.mired;
        sums.cast[1] += weight * cast.duv;
        for (sum, channel) in sums.white.iter_mut().zip(cast.white_linear_srgb) {
            *sum += weight * channel.clamp(LEAST, 1.0).ln();
        }
    }
    let weight = sums.weight.max(f64::MIN_POSITIVE);
    let balance = frames.first().and_then(|frame| white_of(&frame.reading.shot.balance));
    let balance = balance.unwrap_or(White::PHOTOGRAPHIC_DAYLIGHT);
    let at =
        |[mired, duv]: [f64; 2]| white_linear_srgb(MiredShift::new(mired), Duv::new(duv), &balance);
    let [mean, shared] =
        [at(sums.cast.map(|sum| sum / weight)), at([pooled.mired.0, pooled.duv.0])];
    largest_one(std::array::from_fn(|i| {
        (sums.white[i] / weight).exp() * shared[i] / mean[i].max(LEAST)
    }))
}

/// A channel with less than this is as good as empty.
const LEAST: f64 = 1e-3;

/// Sums over frames, each as it counts toward the pooled cast.
#[derive(Default)]
struct Sums {
    weight: f64,
    /// Mired and Duv.
    cast: [f64; 2],
    /// Logarithms.
    white: [f64; 3],
}

/// The white that a balance stands for, where it is known.
fn white_of(balance: &BalanceRecord) -> Option<White> {
    White::new(Kelvin::new(balance.kelvin?).ok()?, Duv::new(balance.duv.unwrap_or(0.0))).ok()
}
