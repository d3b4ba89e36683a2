//! The casts that occur, and which of them each frame has.

use std::collections::BTreeMap;

use super::evidence::Evidence;
use super::path::most_probable_path;
use super::pool::Pooled;
use super::stretches::stretches;

/// The logarithm of the prior odds that two stretches are of one light: people go back to a place
/// more often than two lights happen to be alike.
const LN_ONE_LIGHT: f64 = 1.0;
/// The path settles in two or three rounds, if it settles.
const MOST_ROUNDS: usize = 8;

/// A label for each frame; frames of one cast have the same. `frames` are in order.
pub(super) fn labels(frames: &[Evidence<'_>], chances_of_change: &[f64]) -> Vec<usize> {
    let mut labels = begin(frames, chances_of_change);
    for _ in 0..MOST_ROUNDS {
        let levels = merged(frames, &labels);
        let next = assign(frames, chances_of_change, &levels);
        if next == labels {
            break;
        }
        labels = next;
    }
    part_strangers(frames, &mut labels);
    labels
}

/// In a group of at most so many frames one far from the others is no odd one out: nothing says
/// which of them is odd.
const FEW: usize = 3;
/// So far from the others, in half widths of the 90 % interval of the difference, it stands alone.
const STRANGER: f64 = 1.5;

/// Gives a label of its own to each frame of a small group that is far from the group's others.
fn part_strangers(frames: &[Evidence<'_>], labels: &mut [usize]) {
    let mut next = labels.iter().max().map_or(0, |label| label + 1);
    let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (index, label) in labels.iter().enumerate() {
        members.entry(*label).or_default().push(index);
    }
    for mut group in members.into_values().filter(|group| (2..=FEW).contains(&group.len())) {
        while group.len() > 1 {
            let apart = |place: usize| {
                let others = group.iter().filter(|&&other| other != place);
                let others: Vec<_> = others.filter_map(|&other| frames.get(other)).collect();
                frames.get(place).map_or(0.0, |frame| Pooled::of(&others).half_widths_to(frame))
            };
            let farthest = group.iter().map(|&place| (place, apart(place)));
            let farthest = farthest.max_by(|a, b| a.1.total_cmp(&b.1));
            let Some((place, _)) = farthest.filter(|(_, apart)| *apart > STRANGER) else { break };
            if let Some(label) = labels.get_mut(place) {
                *label = next;
                next += 1;
            }
            group.retain(|&other| other != place);
        }
    }
}

/// Puts stretches together, the longest first: each to the level most like it, or to a new one.
fn begin(frames: &[Evidence<'_>], chances_of_change: &[f64]) -> Vec<usize> {
    let mut stretches = stretches(frames, chances_of_change);
    stretches.sort_by_key(|range| (usize::MAX - range.len(), range.start));
    let mut labels = vec![0; frames.len()];
    let mut levels: Vec<Pooled> = Vec::new();
    for range in stretches {
        let members: Vec<_> = frames.get(range.clone()).unwrap_or_default().iter().collect();
        let pooled = Pooled::of(&members);
        let best = levels
            .iter()
            .enumerate()
            .map(|(label, level)| (label, level.ln_same(&pooled)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|(_, ln_same)| ln_same + LN_ONE_LIGHT > 0.0);
        let label = best.map_or(levels.len(), |(label, _)| label);
        match levels.get_mut(label) {
            Some(level) => *level = level.with(&pooled),
            None => levels.push(pooled),
        }
        labels.get_mut(range).unwrap_or_default().fill(label);
    }
    labels
}

/// The level of each label that occurs, with those that are one put together.
fn merged(frames: &[Evidence<'_>], labels: &[usize]) -> Vec<Pooled> {
    let mut by_label: BTreeMap<usize, Vec<&Evidence<'_>>> = BTreeMap::new();
    for (frame, label) in frames.iter().zip(labels) {
        by_label.entry(*label).or_default().push(frame);
    }
    let mut levels: Vec<_> = by_label.into_values().map(|members| Pooled::of(&members)).collect();
    while let Some((a, b)) = likest(&levels) {
        // `b` comes after `a`, so `a` stays where it is.
        let second = levels.remove(b);
        if let Some(level) = levels.get_mut(a) {
            *level = level.with(&second);
        }
    }
    levels
}

/// The two levels most like each other, where any two are of one light.
fn likest(levels: &[Pooled]) -> Option<(usize, usize)> {
    let mut best = None;
    let mut most = -LN_ONE_LIGHT;
    for (b, second) in levels.iter().enumerate() {
        for (a, first) in levels.iter().enumerate().take(b) {
            let ln_same = first.ln_same(second);
            if ln_same > most {
                (most, best) = (ln_same, Some((a, b)));
            }
        }
    }
    best
}

/// The most probable level of each frame.
fn assign(frames: &[Evidence<'_>], chances_of_change: &[f64], levels: &[Pooled]) -> Vec<usize> {
    let ln_prior = vec![-(levels.len().max(1) as f64).ln(); levels.len()];
    most_probable_path(chances_of_change, &ln_prior, |index, emission| {
        let Some(frame) = frames.get(index) else { return };
        for (place, level) in emission.iter_mut().zip(levels) {
            *place = frame.ln_at(level.mired.0, level.duv.0);
        }
    })
}
