//! Whether a group is of one light.

use super::evidence::Evidence;

/// Of the frames of one light less than this part look otherwise. By the likelihood that a frame is
/// taken to have (`evidence`), one in nineteen is odd on either axis: three of 8 frames are in one
/// group of a hundred and forty-five, three of 12 in one of forty-three, five of 20 in one of three
/// hundred. Of two lights that were not told apart it is a third to a half.
const MOST_ODD: f64 = 0.25;
/// One or two odd ones are no light of their own, of however few frames.
const FEWEST_ODD: usize = 3;

/// Why a group with so many odd ones is none of one light; `None` where it is.
pub(super) fn why_not_one(frames: usize, odd: usize) -> Option<String> {
    let is_one = odd < FEWEST_ODD || (odd as f64) < MOST_ODD * frames as f64;
    (!is_one).then(|| {
        format!(
            "{odd} of its {frames} frames look otherwise: more than one light, or nothing to order \
             them by; go by the frames"
        )
    })
}

/// Why a group of frames in no order is none of one light.
pub(super) fn of_several_lights(frames: usize) -> String {
    format!(
        "its {frames} frames look like more than one light's, in an order that tells nothing, and \
         their casts do not part them for sure: go by the frames"
    )
}

/// The interval over which the casts of frames lie, whatever their lights: nine in ten of them.
pub(super) fn span(
    frames: &[&Evidence<'_>],
    of: impl Fn(&Evidence<'_>) -> f64,
    [low, high]: [f64; 2],
) -> [f64; 2] {
    let mut casts: Vec<_> =
        frames.iter().map(|frame| of(frame)).filter(|c| c.is_finite()).collect();
    casts.sort_by(f64::total_cmp);
    // As many are left out at either end.
    let left_out = casts.len() / 20;
    let first = casts.get(left_out).copied().unwrap_or(low);
    let last = casts.iter().rev().nth(left_out).copied().unwrap_or(high);
    [low.min(first), high.max(last)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_few_odd_ones_are_of_one_light_and_many_are_not() {
        for (frames, odd) in [(3, 2), (8, 2), (13, 3), (20, 4), (185, 46)] {
            assert_eq!(why_not_one(frames, odd), None, "{odd} of {frames}");
        }
        let why = why_not_one(20, 9).unwrap();
        assert!(why.starts_with("9 of its 20 frames look otherwise:"), "{why}");
        for (frames, odd) in [(5, 3), (12, 3), (20, 5), (185, 61)] {
            assert!(why_not_one(frames, odd).is_some(), "{odd} of {frames}");
        }
    }
}
