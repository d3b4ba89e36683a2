//! A card that a hand holds by one edge: fingers cut a bay into it, and three edges are whole.

use super::grid::Mask;
use super::outline::{Outline, Point, sides};
use super::surfaces::outlined;

/// What is left of a card between fingers, as a part of the card.
const LEAST_LEFT: f64 = 0.7;

/// So much of each of three edges is to be seen, and of the one that is held.
const WHOLE_EDGE: f64 = 0.9;
const HELD_EDGE: f64 = 0.2;

/// The whole card, with the bay that fingers over one of its edges cut into this surface; `None`
/// for one that is no such card.
pub(crate) fn held(surface: &Mask) -> Option<(Mask, Outline)> {
    let (seen, outline) = outlined(surface)?;
    let is_bayed = (LEAST_LEFT..0.95).contains(&outline.solidity);
    if !is_bayed || outline.borders_touched > 0 || outline.corners.len() != 4 {
        return None;
    }
    let corners = outline.quadrilateral();
    let mut seen_of_edges: Vec<_> =
        sides(&corners).map(|(a, b)| seen_of(&seen, &corners, a, b)).collect();
    seen_of_edges.sort_by(f64::total_cmp);
    if seen_of_edges[0] < HELD_EDGE || seen_of_edges[1] < WHOLE_EDGE {
        return None;
    }
    let whole = seen.map_places(|place, was| was || contains(&corners, place));
    let outline = Outline::of(&whole)?;
    Some((whole, outline))
}

/// Whether a point lies within corners that go clockwise as displayed.
fn contains(corners: &[Point; 4], [x, y]: Point) -> bool {
    sides(corners).all(|([ax, ay], [bx, by])| (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0.0)
}

/// The part of an edge beside which the surface is to be seen.
fn seen_of(surface: &Mask, corners: &[Point; 4], a: Point, b: Point) -> f64 {
    const STEPS: usize = 100;
    /// Cells from the edge inwards: corners are round, and edges a little bent.
    const INWARDS: f64 = 3.0;
    let middle: Point = std::array::from_fn(|i| corners.iter().map(|c| c[i]).sum::<f64>() / 4.0);
    let is_seen = |step: &usize| {
        let part = (*step as f64 + 0.5) / STEPS as f64;
        let at: Point = std::array::from_fn(|i| a[i] + (b[i] - a[i]) * part);
        let away = (middle[0] - at[0]).hypot(middle[1] - at[1]).max(f64::MIN_POSITIVE);
        let [x, y]: Point = std::array::from_fn(|i| at[i] + (middle[i] - at[i]) * INWARDS / away);
        surface.at(x.floor() as isize, y.floor() as isize)
    };
    (0..STEPS).filter(is_seen).count() as f64 / STEPS as f64
}
