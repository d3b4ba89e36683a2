//! The light that a card's samples stand for, and how sure that is.

use super::model_error::ModelError;
use super::tone::Candidate;
use crate::balance::{White, distance_off_loci};
use crate::colour::{CctDuv, Duv, Mired, TransferCurve};

/// A light with its 90 % intervals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Estimate {
    pub(crate) white: White,
    /// Low to high.
    pub(crate) mired_interval: [f64; 2],
    /// Low to high.
    pub(crate) duv_interval: [f64; 2],
    /// What the recording alone leaves of the mired interval: half of it.
    pub(crate) recorded_half_mired: f64,
}

/// Half a 90 % interval in standard deviations.
pub(super) const HALF_90: f64 = 1.645;

/// Error of a card's mean colour differences, in steps of 8 bits: compression and rounding.
const COLOUR_STEPS: f64 = 0.3;

/// What an encoder's rounding on the way to the blocks adds to all of them alike, in steps of 8 bits.
const ENCODER_STEPS: f64 = 0.1;

/// Below this coverage compression errs alike over too much of the card to average out.
const MANY_BLOCKS: f64 = 0.2;

/// The mean light over the curves that the camera may have used, with what each source of error
/// adds to its interval: the curve, the recording, and sensor and spectrum. `light` gives the
/// light for a linear colour of the card.
///
/// `None` where the card's colour is too strong for any light at this balance.
pub(crate) fn estimate(
    candidates: &[Candidate],
    coverage: f64,
    balance: White,
    model: ModelError,
    light: impl Fn([f64; 3]) -> Option<White>,
) -> Option<Estimate> {
    let lights: Vec<Weighted> = candidates
        .iter()
        .filter_map(|candidate| Weighted::of(candidate.probability, light(candidate.linear)?))
        .collect();
    let weight: f64 = lights.iter().map(|l| l.weight).sum();
    if weight <= 0.0 {
        return None;
    }
    let mean = |value: fn(&Weighted) -> f64| {
        lights.iter().map(|l| l.weight * value(l)).sum::<f64>() / weight
    };
    let (mired, duv) = (mean(|l| l.mired), mean(|l| l.duv));
    let curve_mired = (mean(|l| l.mired * l.mired) - mired * mired).max(0.0).sqrt();
    let curve_duv = (mean(|l| l.duv * l.duv) - duv * duv).max(0.0).sqrt();

    let likeliest = candidates.iter().max_by(|a, b| a.probability.total_cmp(&b.probability))?;
    let [record_mired, record_duv] = match likeliest.covariance {
        Some(covariance) => {
            let fitted = fitted_error(likeliest.linear, covariance, &light);
            let alike = recording_error(likeliest.linear, ENCODER_STEPS, &light);
            [0, 1].map(|i| fitted[i].hypot(alike[i]))
        }
        None => {
            let steps = COLOUR_STEPS * (MANY_BLOCKS / coverage.max(0.01)).clamp(1.0, 4.0).sqrt();
            recording_error(likeliest.linear, steps, &light)
        }
    };

    let white = White::new(Mired::new(mired).ok()?.kelvin(), Duv::new(duv)).ok()?;
    let residual = (white.mired() - balance.mired()).get();
    let off_loci = distance_off_loci(white.cct, white.duv);
    let half_mired =
        model.mired_half_width(residual, off_loci).hypot(HALF_90 * curve_mired.hypot(record_mired));
    let half_duv =
        model.duv_half_width(residual, off_loci).hypot(HALF_90 * curve_duv.hypot(record_duv));
    Some(Estimate {
        white,
        mired_interval: [within_range(mired - half_mired), within_range(mired + half_mired)],
        duv_interval: [duv - half_duv, duv + half_duv],
        recorded_half_mired: HALF_90 * record_mired,
    })
}

/// No interval reaches beyond the temperatures that are defined.
pub(super) fn within_range(mired: f64) -> f64 {
    mired.clamp(CctDuv::MAX_CCT.mired().get(), CctDuv::MIN_CCT.mired().get())
}

struct Weighted {
    weight: f64,
    mired: f64,
    duv: f64,
}

impl Weighted {
    fn of(weight: f64, white: White) -> Option<Self> {
        let finite = weight.is_finite();
        finite.then(|| Self { weight, mired: white.mired().get(), duv: white.duv.get() })
    }
}

/// How far the light moves, in mired and Duv, for a standard error of the fitted log ratios.
fn fitted_error(
    linear: [f64; 3],
    [red, both, blue]: [f64; 3],
    light: &impl Fn([f64; 3]) -> Option<White>,
) -> [f64; 2] {
    // The columns of the covariance's Cholesky factor: independent steps that add up to it.
    let along_red = red.max(1e-12).sqrt();
    let with_red = both / along_red;
    let along_blue = (blue - with_red * with_red).max(0.0).sqrt();
    let steps = [[along_red, with_red], [0.0, along_blue]];
    moved_by(
        linear,
        steps.map(|[red, blue]| [linear[0] * red.exp(), linear[1], linear[2] * blue.exp()]),
        light,
    )
}

/// How far the light moves, in mired and Duv, when the recorded colour differences are off by
/// `steps` of 8 bits: little for a well exposed card, much for a dim one.
fn recording_error(
    linear: [f64; 3],
    steps: f64,
    light: &impl Fn([f64; 3]) -> Option<White>,
) -> [f64; 2] {
    // Full-range Y'CbCr (Rec. ITU-T T.871): what a step of Cb and of Cr does to R, G and B.
    const CB: [f64; 3] = [0.0, -0.344_136, 1.772];
    const CR: [f64; 3] = [1.402, -0.714_136, 0.0];
    let moved = [CB, CR].map(|direction| {
        std::array::from_fn(|i| {
            let encoded = TransferCurve::Srgb.encode(linear[i]) + direction[i] * steps / 255.0;
            TransferCurve::Srgb.decode(encoded.max(0.0))
        })
    });
    moved_by(linear, moved, light)
}

/// The distances, in mired and Duv, from the light of one colour to those of two others, added in
/// squares.
fn moved_by(
    from: [f64; 3],
    to: [[f64; 3]; 2],
    light: &impl Fn([f64; 3]) -> Option<White>,
) -> [f64; 2] {
    let Some(from) = light(from) else { return [0.0; 2] };
    let mut square = [0.0; 2];
    for to in to.into_iter().filter_map(light) {
        square[0] += (to.mired() - from.mired()).get().powi(2);
        square[1] += (to.duv - from.duv).get().powi(2);
    }
    square.map(f64::sqrt)
}
