//! A card as it lies in a frame.

use super::grid::Mask;
use super::outline::Point;

/// The card as found: where it is, and which cells are plain card.
#[derive(Debug, Clone)]
pub(crate) struct Found {
    /// Everything inside the card's outline, marks and glare with it.
    pub(crate) whole: Mask,
    /// The part of it that is one plain surface.
    pub(crate) plain: Mask,
    /// Four corners in cell coordinates, clockwise as displayed.
    pub(crate) corners: [Point; 4],
    /// Part of the frame that the card covers, 0–1.
    pub(crate) coverage: f64,
    /// Where the user said where it is.
    pub(crate) stated: Option<Stated>,
}

/// How the card lies in the area that the user named.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stated {
    /// Part of the area that is something else.
    pub(crate) beyond: f64,
    /// Whether the area reached out of the picture.
    pub(crate) is_cut: bool,
}
