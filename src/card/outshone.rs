//! Whether something brighter lies on what looks like a card.
//!
//! A white card gives back nearly all the light that falls on it. What is brighter and lies on it with a
//! clear edge is no mark: either it mirrors a lamp, or it is the card itself and what goes round it is
//! the table.

use super::cell_box::CellBox;
use super::found::Found;
use super::grid::Mask;
use super::outline::{Outline, area};
use super::surfaces::{EDGE_REACH, Scene, Step, mean_linear};
use crate::colour::TransferCurve;
use crate::still::LinearFrame;

/// What lies on a card that is brighter than the card.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Outshone {
    /// Nothing does.
    No,
    /// Something of the card's own colour: a sheet on grey ground, or a patch of the same light.
    /// Either would show the same light.
    ByItsOwnColour,
    /// Something of another colour or far brighter, or a four-sided thing that is saturated.
    Outright {
        /// Where it is.
        bright: Bright,
        /// Whether it is saturated.
        blown: bool,
    },
}

/// Something bright in the frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bright {
    /// Part of the frame, 0–1.
    pub(crate) share: f64,
    pub(crate) cells: CellBox,
}

impl Bright {
    /// `None` of nothing.
    pub(crate) fn of(part: &Mask) -> Option<Self> {
        let share = part.count() as f64 / part.len() as f64;
        Some(Self { share, cells: CellBox::of(part)? })
    }

    /// The larger one.
    pub(crate) fn largest(all: impl Iterator<Item = Self>) -> Option<Self> {
        all.max_by(|a, b| a.share.total_cmp(&b.share))
    }
}

/// Smaller things, as parts of the frame, are marks whatever they look like.
const LEAST_SHARE: f64 = 0.01;

/// A natural logarithm: paper is white by up to a tenth more or less.
const LEAST_STEP: f64 = 0.14;

/// A natural logarithm: a white thing is 5.5 times as bright as an 18 % grey card.
const MOST_STEP: f64 = 1.7;

/// What outshines the card as found.
pub(crate) fn outshone(frame: &LinearFrame, scene: &Scene, found: &Found) -> Outshone {
    let least = (LEAST_SHARE * found.whole.len() as f64) as usize;
    let mut worst = Outshone::No;
    for part in found.whole.minus(&found.plain).parts(least.max(1)) {
        // A surface's edge took some cells on each side.
        let inner = Some(part.eroded(1)).filter(|inner| inner.count() > 0);
        let inner = inner.unwrap_or_else(|| part.clone());
        let near = part.dilated(3 * EDGE_REACH).minus(&part.dilated(EDGE_REACH));
        let ring = near.intersection(&found.plain);
        if ring.count() == 0 {
            continue;
        }
        let ground = mean_linear(scene, &ring);
        let step = Step::between(mean_linear(scene, &inner), ground);
        let is_saturated = is_saturated(frame, &inner);
        // How much brighter a saturated thing is, is not known.
        if step.level < if is_saturated { 0.0 } else { LEAST_STEP } {
            continue;
        }
        let is_other = match is_saturated {
            // What mirrors a lamp is round and fades out.
            true => is_four_sided(&part.dilated(EDGE_REACH)),
            // Cell by cell, since two lights on a card may be of the table's colour on average.
            false => {
                step.level > MOST_STEP
                    || 2 * cells_of_another_colour(scene, &inner, ground) > inner.count()
            }
        };
        if is_other && let Some(bright) = Bright::of(&part) {
            return Outshone::Outright { bright, blown: is_saturated };
        }
        if !is_saturated {
            worst = Outshone::ByItsOwnColour;
        }
    }
    worst
}

fn cells_of_another_colour(scene: &Scene, part: &Mask, ground: [f64; 3]) -> usize {
    let is_other = |&index: &usize| {
        let linear = scene.encoded.get(index).map(|v| TransferCurve::Srgb.decode(f64::from(v)));
        !Step::between(linear, ground).is_of_one_colour()
    };
    part.indices().filter(is_other).count()
}

/// Whether a good part of it has a channel at the top, so that its colour is not known.
fn is_saturated(frame: &LinearFrame, part: &Mask) -> bool {
    let top = |index: &usize| {
        let (column, row) = part.place(*index);
        frame
            .get(column as u32, row as u32)
            .is_some_and(|cell| cell.clipped_channels.iter().any(|&share| share > 0.5))
    };
    4 * part.indices().filter(top).count() > part.count()
}

/// Whether four corners make up most of it; of an ellipse they make up less than two thirds.
fn is_four_sided(part: &Mask) -> bool {
    Outline::of(&part.without_holes()).is_some_and(|outline| {
        let whole = area(&outline.corners) / outline.straightness.max(f64::MIN_POSITIVE);
        outline.solidity > 0.88 && area(&outline.quadrilateral()) > 0.85 * whole
    })
}
