//! One cast for many frames.

use super::PRIOR;
use super::evidence::{Evidence, Likelihood, TAKEN_FOR_GRANTED};
use super::views::together;
use crate::normal::HALF_90;

/// What the pooled cast of any group is off by, however many frames it has: mired, Duv. Frames of
/// one place share what is in them, and their estimates share its error. That of the tint is as
/// far as the errors of scenes left out differ from scene to scene.
const SHARED_ERROR: [f64; 2] = [4.0, 0.002];

/// Frames of one place show the same things in part, whatever their view, and share this part of the variance of what
/// their estimates in mired are off by. Of opposite quarters of one photograph, of scenes left out, it is 0.49; other
/// views of a place show less of the same, and are taken to share half of that.
const SHARED_BY_VIEWS: f64 = 0.25;

/// The cast that frames share, on each axis by its mean and its standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pooled {
    pub(super) mired: (f64, f64),
    pub(super) duv: (f64, f64),
}

impl Pooled {
    /// Of frames in one light, for telling lights apart: what frames of one place share is no difference between two
    /// lights at that place.
    pub(super) fn of(frames: &[&Evidence<'_>]) -> Self {
        Self::of_parts(&together(frames, |frame| frame.burst), frames)
    }

    /// What is told of such frames: those of one view count as one, and all are as sure as frames of one place can be.
    pub(super) fn told(frames: &[&Evidence<'_>]) -> Self {
        let views = together(frames, |frame| frame.view);
        let count = number(views.iter().map(|view| {
            let information =
                |frame: &&Evidence<'_>| frame.mired.as_one_of(view.len()).information();
            view.iter().map(information).sum()
        }));
        let pooled = Self::of_parts(&views, frames);
        Self { mired: of_one_place(pooled.mired, count), ..pooled }
    }

    /// Of frames in parts, each of which tells what one of its frames does.
    fn of_parts(parts: &[Vec<&Evidence<'_>>], frames: &[&Evidence<'_>]) -> Self {
        let axis = |of: fn(&Evidence<'_>) -> Likelihood, axis: usize| {
            let mut likelihoods: Vec<_> = parts
                .iter()
                .flat_map(|part| part.iter().map(|frame| of(frame).as_one_of(part.len())))
                .collect();
            if likelihoods.is_empty() {
                likelihoods.extend(frames.iter().take(1).map(|frame| of(frame)));
            }
            let shared = SHARED_ERROR.get(axis).copied().unwrap_or(0.0);
            let (mean, deviation) = centre(&likelihoods);
            (mean, deviation.hypot(shared))
        };
        Self { mired: axis(|frame| frame.mired, 0), duv: axis(|frame| frame.duv, 1) }
    }

    /// With what is taken for granted of any cast put back, once: of a single frame this is the
    /// frame's own estimate.
    pub(super) fn with_prior(&self) -> Self {
        let axis = |(mean, deviation): (f64, f64), prior: f64| {
            let left = 1.0 / (1.0 + (deviation / prior).powi(2));
            (mean * left, deviation * left.sqrt())
        };
        let [mired, duv] = TAKEN_FOR_GRANTED;
        Self { mired: axis(self.mired, mired), duv: axis(self.duv, duv) }
    }

    /// The two as one, from what is known of each.
    pub(super) fn with(&self, other: &Self) -> Self {
        let axis = |a: (f64, f64), b: (f64, f64), axis: usize| {
            let (wa, wb) = ((a.1 * a.1).recip(), (b.1 * b.1).recip());
            let shared = SHARED_ERROR.get(axis).copied().unwrap_or(0.0);
            ((wa * a.0 + wb * b.0) / (wa + wb), (wa + wb).sqrt().recip().max(shared))
        };
        Self { mired: axis(self.mired, other.mired, 0), duv: axis(self.duv, other.duv, 1) }
    }

    /// The logarithm of how much more probable the two are of one cast than of two, before any
    /// prior for either.
    pub(super) fn ln_same(&self, other: &Self) -> f64 {
        ln_same(self.mired, other.mired, PRIOR[0]) + ln_same(self.duv, other.duv, PRIOR[1])
    }

    /// How far a frame's cast in mired is from this one, in half widths of the 90 % interval of
    /// their difference.
    pub(super) fn half_widths_to(&self, frame: &Evidence<'_>) -> f64 {
        let (mean, deviation) = self.mired;
        (frame.mired.centre - mean).abs() / (HALF_90 * deviation).hypot(frame.mired.half_width())
    }

    pub(super) fn mired_interval(&self) -> [f64; 2] {
        interval(self.mired)
    }

    pub(super) fn duv_interval(&self) -> [f64; 2] {
        interval(self.duv)
    }
}

/// The mean of so many views and its deviation in mired, which were taken to have nothing in common.
fn of_one_place((mean, deviation): (f64, f64), views: f64) -> (f64, f64) {
    let of_any_group = SHARED_ERROR[0];
    let own = (deviation * deviation - of_any_group * of_any_group).max(0.0).sqrt();
    let times = (1.0 + SHARED_BY_VIEWS * (views - 1.0).max(0.0)).sqrt();
    (mean, (own * times).hypot(of_any_group))
}

/// How many there are of what tells so much each, if each told as much as the others (Kish's effective sample size).
fn number(told: impl Iterator<Item = f64>) -> f64 {
    let add = |(sum, squares): (f64, f64), one: f64| (sum + one, squares + one * one);
    let (sum, squares) = told.fold((0.0, 0.0), add);
    if squares > 0.0 { sum * sum / squares } else { 1.0 }
}

fn interval((mean, deviation): (f64, f64)) -> [f64; 2] {
    [mean - HALF_90 * deviation, mean + HALF_90 * deviation]
}

/// The most probable centre of t distributions, by reweighting from their median, and its
/// standard deviation.
pub(super) fn centre(likelihoods: &[Likelihood]) -> (f64, f64) {
    const ROUNDS: usize = 30;
    let mut mean = median(likelihoods);
    for _ in 0..ROUNDS {
        let (mut sum, mut weights) = (0.0, 0.0);
        for likelihood in likelihoods {
            let weight = likelihood.weight_at(mean);
            sum += weight * likelihood.centre;
            weights += weight;
        }
        let next = if weights > 0.0 { sum / weights } else { mean };
        let settled = (next - mean).abs() <= 1e-9 * (1.0 + mean.abs());
        mean = next;
        if settled {
            break;
        }
    }
    let information: f64 = likelihoods.iter().map(Likelihood::information).sum();
    (mean, if information > 0.0 { information.sqrt().recip() } else { PRIOR[0] })
}

fn median(likelihoods: &[Likelihood]) -> f64 {
    let mut centres: Vec<_> = likelihoods.iter().map(|likelihood| likelihood.centre).collect();
    centres.sort_by(f64::total_cmp);
    let [below, above] = [centres.len().saturating_sub(1) / 2, centres.len() / 2];
    let at = |index: usize| centres.get(index).copied().unwrap_or(0.0);
    f64::midpoint(at(below), at(above))
}

/// Bayes factor of one against two normal means, each with a normal prior of this deviation about
/// zero: means and standard deviations of the two.
fn ln_same(a: (f64, f64), b: (f64, f64), prior: f64) -> f64 {
    let (va, vb, vp) = (a.1 * a.1, b.1 * b.1, prior * prior);
    let ln_normal = |x: f64, variance: f64| -0.5 * (x * x / variance + variance.ln());
    // p(a, b) = p(a) p(b | a) under one mean.
    let gain = vp / (vp + va);
    let (expected, variance) = (gain * a.0, gain * va + vb);
    ln_normal(b.0 - expected, variance) - ln_normal(b.0, vp + vb)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn likelihood(centre: f64, scale: f64) -> Likelihood {
        Likelihood { centre, scale }
    }

    #[test]
    fn one_far_off_frame_hardly_moves_the_pooled_cast() {
        let frames = [38.0, 41.0, 44.0, 40.0, -90.0].map(|centre| likelihood(centre, 10.0));
        let (mean, deviation) = centre(&frames);
        assert!((mean - 40.0).abs() < 3.0, "{mean}");
        assert!((4.0..8.0).contains(&deviation), "{deviation}");
    }

    #[test]
    fn views_of_one_place_are_never_surer_than_what_they_share() {
        let deviation = |views: f64| {
            let apart = (20.0 / views.sqrt()).hypot(SHARED_ERROR[0]);
            of_one_place((30.0, apart), views).1
        };
        assert!((deviation(1.0) - 20.0_f64.hypot(4.0)).abs() < 1e-9, "one is as sure as it is");
        assert!(deviation(4.0) < deviation(2.0) && deviation(1000.0) < deviation(4.0));
        assert!(deviation(1e6) > 20.0 * SHARED_BY_VIEWS.sqrt(), "{}", deviation(1e6));
        assert!((number([2.0, 2.0, 2.0].into_iter()) - 3.0).abs() < 1e-12);
        assert!((number([5.0, 0.0, 0.0].into_iter()) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn likeness_is_weighed_against_how_well_it_is_known() {
        let pooled = |mired, deviation| Pooled { mired: (mired, deviation), duv: (0.0, 0.002) };
        assert!(pooled(40.0, 8.0).ln_same(&pooled(44.0, 8.0)) > 1.0);
        assert!(pooled(40.0, 8.0).ln_same(&pooled(90.0, 8.0)) < -3.0);
        assert!(pooled(40.0, 30.0).ln_same(&pooled(90.0, 30.0)) > -1.0);
        let (a, b) = (pooled(-20.0, 6.0), pooled(10.0, 9.0));
        assert!((a.ln_same(&b) - b.ln_same(&a)).abs() < 1e-9);
    }
}
