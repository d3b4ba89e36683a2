//! Whether the order of frames tells anything of their lights.
//!
//! Where names stand for times, or somebody goes to and fro, a path through lights that last makes one light of
//! many. So it is held against two explanations that leave the order out: a few lights, of which each frame is
//! under one (`mixture`), and casts that lie all over.

use std::collections::BTreeMap;
use std::ops::Range;

use super::evidence::Evidence;
use super::mixture::{Mixture, Told, count, merit, merit_of_spread};
use super::pool::Pooled;
use super::views::shares;

/// The logarithm of the prior odds that lights last: most people work at one place after the other, and sort by
/// time.
const LN_LASTS: f64 = 3.0;
/// A light is told by casts alone if its frames are its own with this probability, on average.
const SURE: f64 = 0.9;

/// Parts a sequence by its casts alone where that explains it better than its labels do, which are of lights that
/// last. Gives the label of the frames of which nothing tells the light for sure, where there are such.
pub(super) fn part_by_casts(
    frames: &[Evidence<'_>],
    chances_of_change: &[f64],
    range: Range<usize>,
    labels: &mut [usize],
) -> Option<usize> {
    let next = labels.iter().max().map_or(0, |label| label + 1);
    let frames = frames.get(range.clone())?;
    let chances_of_change = chances_of_change.get(range.clone())?;
    let labels = labels.get_mut(range)?;
    let shares = shares(&frames.iter().collect::<Vec<_>>());
    let told: Vec<_> = frames.iter().map(|frame| frame.mired).zip(shares).collect();
    let mixture = Mixture::of(&told);
    let spread = merit_of_spread(&told);
    let lasting = merit_of_lasting(frames, &told, chances_of_change, labels);
    if mixture.merit.max(spread) - lasting < LN_LASTS {
        return None;
    }
    if spread > mixture.merit || mixture.lights() < 2 {
        labels.fill(next);
        return Some(next);
    }
    let lights: Vec<_> =
        told.iter().map(|(frame, share)| (mixture.light_of(frame), *share)).collect();
    let mut sure = vec![(0.0, 0.0); mixture.lights()];
    for ((light, probability), share) in &lights {
        if let Some((sum, all)) = sure.get_mut(*light) {
            *sum += share * probability;
            *all += share;
        }
    }
    let unsure = next + mixture.lights();
    let is_sure = |light: usize| sure.get(light).is_some_and(|(sum, all)| *sum >= SURE * all);
    for (label, ((light, _), _)) in labels.iter_mut().zip(&lights) {
        *label = if is_sure(*light) { next + light } else { unsure };
    }
    labels.contains(&unsure).then_some(unsure)
}

/// The merit of labels where a light lasts: over all the paths through the casts that they have.
fn merit_of_lasting(
    frames: &[Evidence<'_>],
    told: &Told,
    chances_of_change: &[f64],
    labels: &[usize],
) -> f64 {
    let mut members: BTreeMap<usize, Vec<&Evidence<'_>>> = BTreeMap::new();
    for (frame, label) in frames.iter().zip(labels) {
        members.entry(*label).or_default().push(frame);
    }
    let levels: Vec<_> = members.values().map(|members| Pooled::of(members).mired.0).collect();
    let anew = (levels.len().max(1) as f64).recip();
    let mut probable = vec![anew; levels.len()];
    let mut ln = 0.0;
    for (index, ((frame, share), chance)) in told.iter().zip(chances_of_change).enumerate() {
        // Before the first frame there was none.
        let chance = if index == 0 { 1.0 } else { *chance };
        let at: Vec<_> = levels.iter().map(|level| share * frame.ln_at(*level)).collect();
        let most = at.iter().copied().fold(f64::MIN, f64::max);
        for (place, at) in probable.iter_mut().zip(at) {
            *place = ((1.0 - chance) * *place + chance * anew) * (at - most).exp();
        }
        let sum = probable.iter().sum::<f64>().max(f64::MIN_POSITIVE);
        probable.iter_mut().for_each(|place| *place /= sum);
        ln += most + sum.ln();
    }
    merit(ln, levels.len(), count(told))
}
