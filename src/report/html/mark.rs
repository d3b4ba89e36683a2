//! A mark for each verdict: a shape and a letter, and a colour that only repeats them.

use super::svg::{Anchor, Svg};
use crate::frames::Verdict;

/// Class and letter of a verdict; `None` is a frame that could not be read.
pub(super) fn class_and_letter(verdict: Option<Verdict>) -> (&'static str, &'static str) {
    match verdict {
        Some(Verdict::Orange) => ("orange", "O"),
        Some(Verdict::Blue) => ("blue", "B"),
        Some(Verdict::Green) => ("green", "G"),
        Some(Verdict::Magenta) => ("magenta", "M"),
        Some(Verdict::Neutral) => ("neutral", "N"),
        Some(Verdict::Undecided) => ("undecided", "?"),
        None => ("unread", "×"),
    }
}

/// The shape of a verdict about a point: orange points up and blue down, as on the scale.
pub(super) fn shape(svg: &mut Svg, verdict: Option<Verdict>, [x, y]: [f64; 2], size: f64) {
    let (class, _) = class_and_letter(verdict);
    let class = format!("shape {class}");
    let s = size;
    match verdict {
        Some(Verdict::Orange) => svg.polygon(
            &class,
            &[[x, y - 1.15 * s], [x + 1.1 * s, y + 0.8 * s], [x - 1.1 * s, y + 0.8 * s]],
        ),
        Some(Verdict::Blue) => svg.polygon(
            &class,
            &[[x, y + 1.15 * s], [x + 1.1 * s, y - 0.8 * s], [x - 1.1 * s, y - 0.8 * s]],
        ),
        Some(Verdict::Green) => svg.rect(&class, [x - 0.85 * s, y - 0.85 * s], [1.7 * s, 1.7 * s]),
        Some(Verdict::Magenta) => svg.polygon(
            &class,
            &[[x, y - 1.15 * s], [x + 1.15 * s, y], [x, y + 1.15 * s], [x - 1.15 * s, y]],
        ),
        _ => svg.circle(&class, [x, y], 0.95 * s),
    }
}

/// The mark beside the word that says the same.
pub(super) fn mark(verdict: Option<Verdict>) -> String {
    let mut svg = Svg::default();
    shape(&mut svg, verdict, [11.0, 11.0], 8.5);
    let (class, letter) = class_and_letter(verdict);
    let y = match verdict {
        Some(Verdict::Orange) => 16.0,
        Some(Verdict::Blue) => 13.0,
        _ => 15.0,
    };
    svg.text(&format!("letter {class}"), [11.0, y], Anchor::Middle, letter);
    svg.ornament("verdict-mark", [22.0, 22.0])
}
