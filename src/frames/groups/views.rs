//! Frames of one view: they hold the same things, their estimates are wrong in the same way, and many of them tell
//! hardly more than one of their cast. Of what differs between two lights on it they tell as much as others, but for
//! those of a burst, which are in one light.

use std::collections::BTreeMap;

use super::evidence::Evidence;
use crate::frames::ViewMark;

/// Frames taken so soon after each other, in seconds, that look alike are a burst of one view, whatever moves through
/// it.
const SOON: i64 = 10;
/// And alike are casts no further apart than this, in half-widths of their intervals. Over made-up bursts of 24
/// photographs (cropped, lighter and darker, with other noise) nine in ten pairs were.
const ALIKE: f64 = 0.3;

/// Numbers the bursts of frames, which are in order, and their views: those of a burst are of one, and those whose marks
/// are like that of a view's first, whenever they were taken. Copies are passed over.
pub(super) fn number_views(frames: &mut [Evidence<'_>]) {
    let mut last: Option<Evidence<'_>> = None;
    let mut bursts = 0;
    // The mark of each view's first frame.
    let mut firsts: Vec<Option<ViewMark>> = Vec::new();
    for frame in frames.iter_mut().filter(|frame| !frame.is_copy) {
        let mark = frame.reading.view;
        let before = last.filter(|last| are_a_burst(last, frame));
        frame.burst = before.map_or(bursts, |before| before.burst);
        bursts += usize::from(before.is_none());
        let is_like = |first: &Option<ViewMark>| {
            first.zip(mark).is_some_and(|(first, mark)| mark.is_like(first))
        };
        let known = before.map(|before| before.view);
        frame.view = known.or_else(|| firsts.iter().position(is_like)).unwrap_or(firsts.len());
        if frame.view == firsts.len() {
            firsts.push(mark);
        }
        last = Some(*frame);
    }
}

/// The frames that are no copies, with those of one number together.
pub(super) fn together<'a>(
    frames: &[&'a Evidence<'a>],
    number: fn(&Evidence<'_>) -> usize,
) -> Vec<Vec<&'a Evidence<'a>>> {
    let mut all: BTreeMap<usize, Vec<_>> = BTreeMap::new();
    for frame in frames.iter().filter(|frame| !frame.is_copy) {
        all.entry(number(frame)).or_default().push(*frame);
    }
    all.into_values().collect()
}

/// Each frame's share of what its burst tells; that of a copy, or of a frame that shows nothing, is none.
pub(super) fn shares(frames: &[&Evidence<'_>]) -> Vec<f64> {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    for frame in frames.iter().filter(|frame| !frame.is_copy) {
        *counts.entry(frame.burst).or_default() += 1;
    }
    let share = |frame: &&Evidence<'_>| match counts.get(&frame.burst) {
        Some(count) if !frame.is_copy && frame.reading.reason.is_none() => (*count as f64).recip(),
        _ => 0.0,
    };
    frames.iter().map(share).collect()
}

/// Whether all frames are a burst.
pub(super) fn are_all_a_burst(frames: &[Evidence<'_>]) -> bool {
    frames.is_sorted_by(are_a_burst)
}

fn are_a_burst(a: &Evidence<'_>, b: &Evidence<'_>) -> bool {
    let soon = a.at.zip(b.at).is_some_and(|(a, b)| (b - a).abs() <= SOON);
    soon && a.mired.half_widths_to(b.mired.centre) <= ALIKE
        && a.duv.half_widths_to(b.duv.centre) <= ALIKE
}
