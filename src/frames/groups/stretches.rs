//! Where the light changes: stretches of one cast each, each by itself.

use std::ops::Range;

use super::PRIOR;
use super::evidence::{Evidence, Likelihood};
use super::path::most_probable_path;

/// Steps of the grid of casts are about as wide as a stretch of a few frames tells its cast, so
/// that a place of the grid has the share of the prior that such a stretch would be averaged over.
/// This many of the frames' usual scales, within these bounds: mired, Duv.
const STEP_IN_SCALES: f64 = 1.0;
const STEP: [[f64; 2]; 2] = [[6.0, 30.0], [0.0015, 0.006]];
/// Casts beyond these count as these.
const MOST: [f64; 2] = [420.0, 0.03];

/// The stretches, in order and without a gap between.
pub(super) fn stretches(frames: &[Evidence<'_>], chances_of_change: &[f64]) -> Vec<Range<usize>> {
    let mired = axis(frames.iter().map(|frame| frame.mired), 0);
    let duv = axis(frames.iter().map(|frame| frame.duv), 1);
    let ln_prior = ln_shares(&mired, &duv);
    let (mut at_mired, mut at_duv) = (vec![0.0; mired.len()], vec![0.0; duv.len()]);
    let path = most_probable_path(chances_of_change, &ln_prior, |index, emission| {
        let Some(frame) = frames.get(index) else { return };
        for (ln, value) in at_mired.iter_mut().zip(&mired) {
            *ln = frame.mired.ln_at(*value);
        }
        for (ln, value) in at_duv.iter_mut().zip(&duv) {
            *ln = frame.duv.ln_at(*value);
        }
        for (row, at_mired) in emission.chunks_mut(duv.len()).zip(&at_mired) {
            for (place, at_duv) in row.iter_mut().zip(&at_duv) {
                *place = at_mired + at_duv;
            }
        }
    });
    runs(&path)
}

/// Runs of equal labels.
pub(super) fn runs(labels: &[usize]) -> Vec<Range<usize>> {
    let mut begin = 0;
    labels
        .chunk_by(|a, b| a == b)
        .map(|run| {
            let range = begin..begin + run.len();
            begin = range.end;
            range
        })
        .collect()
}

/// The grid along one axis, over what occurs.
fn axis(likelihoods: impl Iterator<Item = Likelihood>, axis: usize) -> Vec<f64> {
    let likelihoods: Vec<_> = likelihoods.collect();
    let most = MOST.get(axis).copied().unwrap_or(1.0);
    let [finest, coarsest] = STEP.get(axis).copied().unwrap_or([1.0; 2]);
    let mut scales: Vec<_> = likelihoods.iter().map(|likelihood| likelihood.scale).collect();
    scales.sort_by(f64::total_cmp);
    let usual = scales.get(scales.len() / 2).copied().unwrap_or(finest);
    let step = (STEP_IN_SCALES * usual).clamp(finest, coarsest);
    let place =
        |likelihood: &Likelihood| (likelihood.centre.clamp(-most, most) / step).round() as i32;
    let (low, high) = likelihoods.iter().map(place).fold((0, 0), |(l, h), p| (l.min(p), h.max(p)));
    (low..=high).map(|place| f64::from(place) * step).collect()
}

/// The logarithm of each cast's share of the prior.
fn ln_shares(mired: &[f64], duv: &[f64]) -> Vec<f64> {
    // Heavy tails: a strong cast is rare but no wonder.
    let ln_at = |value: f64, scale: f64| -2.0 * (value * value / (3.0 * scale * scale)).ln_1p();
    let mut ln: Vec<f64> = mired
        .iter()
        .flat_map(|m| duv.iter().map(move |d| ln_at(*m, PRIOR[0]) + ln_at(*d, PRIOR[1])))
        .collect();
    let sum: f64 = ln.iter().map(|ln| ln.exp()).sum();
    ln.iter_mut().for_each(|ln| *ln -= sum.ln());
    ln
}
