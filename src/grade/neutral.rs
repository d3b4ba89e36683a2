//! The colour that a correction makes neutral.

use crate::frames::{Cast, ReferenceRecord, Verdict};

/// The colour in a frame, in linear sRGB at no particular level, that a correction is to make
/// neutral; `None` where there is nothing to correct, or nothing to correct by.
///
/// Judged against a card, a cast is what is left once the picture was balanced from that card, so
/// the card's own correction comes with it: a frame that is neutral against the card still needs
/// what the card needs.
#[must_use]
pub fn neutral_to_correct(
    verdict: Verdict,
    cast: &Cast,
    reference: Option<&ReferenceRecord>,
) -> Option<[f64; 3]> {
    /// No channel of the card counts as less than this part of green.
    const LEAST: f64 = 1e-3;
    let relative = match verdict {
        Verdict::Undecided => return None,
        // What is neutral within the tolerance counts as neutral.
        Verdict::Neutral => reference.map(|_| [1.0; 3])?,
        _ => cast.white_linear_srgb,
    };
    let card = reference.map_or([1.0; 3], |card| card.gains);
    Some(std::array::from_fn(|i| relative[i] / card[i].max(LEAST)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_card_comes_before_the_cast_and_without_one_the_neutral_needs_nothing() {
        let cast = Cast {
            mired: 40.0,
            mired_interval: [20.0, 60.0],
            duv: 0.0,
            duv_interval: [-0.002, 0.002],
            white_linear_srgb: [1.0, 0.8, 0.5],
        };
        let card = ReferenceRecord { path: "card.jpg".to_owned(), gains: [0.5, 1.0, 2.0] };
        let neutral = |verdict, card| neutral_to_correct(verdict, &cast, card);
        assert_eq!(neutral(Verdict::Orange, None), Some([1.0, 0.8, 0.5]));
        assert_eq!(neutral(Verdict::Orange, Some(&card)), Some([2.0, 0.8, 0.25]));
        assert_eq!(neutral(Verdict::Neutral, Some(&card)), Some([2.0, 1.0, 0.5]));
        assert_eq!(neutral(Verdict::Neutral, None), None);
        assert_eq!(neutral(Verdict::Undecided, Some(&card)), None);
    }
}
