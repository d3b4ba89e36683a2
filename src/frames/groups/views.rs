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
/// are like that of a view's first, whenever they were taken.
pub(super) fn number_views(frames: &mut [Evidence<'_>]) {
    let mut known: Vec<(ViewMark, usize)> = Vec::new();
    let (mut bursts, mut views) = (0, 0);
    for at in 0..frames.len() {
        let Some((before, [frame, ..])) = frames.split_at_mut_checked(at) else { return };
        let mark = frame.reading.view;
        let last = before.last().filter(|last| are_a_burst(last, frame));
        frame.burst = last.map_or(bursts, |last| last.burst);
        bursts += usize::from(last.is_none());
        let seen = || known.iter().find(|(first, _)| mark.is_some_and(|mark| mark.is_like(*first)));
        let view = last.map(|last| last.view).or_else(|| seen().map(|(_, view)| *view));
        frame.view = view.unwrap_or(views);
        if frame.view == views {
            known.extend(mark.map(|mark| (mark, views)));
            views += 1;
        }
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
