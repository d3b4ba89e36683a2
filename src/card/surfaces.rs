//! Splits a frame into plain surfaces: connected cells with no edge and no texture between them.
//!
//! What separates two surfaces is an *edge*: a change that is sharp where it happens and flat on
//! one side at least. Shading, mains banding and two lights that blend change a card's values just as
//! much, but slowly, so an edge is measured as the step over a cell minus the
//! step beside it.

use super::grid::{Grid, Mask};
use super::outline::{Outline, borders_touched};
use crate::colour::TransferCurve;
use crate::still::LinearFrame;

/// The frame as the surfaces are looked for in it: per cell the channels on the sRGB encoding's
/// perceptual scale (0–1), where noise and compression are about the same everywhere.
#[derive(Debug, Clone)]
pub(crate) struct Scene {
    pub(crate) encoded: Grid<[f32; 3]>,
    /// Sharpest change at the cell in any direction and channel.
    edges: Grid<f32>,
    /// Standard deviation of the pixels within the cell.
    texture: Grid<f32>,
}

/// Beyond this a cell is not plain, whatever else: print, foliage, cloth, or an edge inside it.
const MOST_TEXTURE: f32 = 0.045;

/// And beyond this wherever coarse edges are allowed for.
const COARSEST_TEXTURE: f32 = 0.1;

impl Scene {
    pub(crate) fn of(frame: &LinearFrame) -> Self {
        let (columns, rows) = (frame.columns as usize, frame.rows as usize);
        let cell = |c: usize, r: usize| frame.get(c as u32, r as u32);
        let raw = Grid::from_fn(columns, rows, |c, r| {
            let linear = cell(c, r).map_or([0.0; 3], |cell| cell.mean);
            linear.map(|v| TransferCurve::Srgb.encode(f64::from(v)) as f32)
        });
        let encoded = smoothed(&raw);
        let edges =
            Grid::from_fn(columns, rows, |c, r| sharpness(&encoded, c as isize, r as isize));
        let texture =
            Grid::from_fn(columns, rows, |c, r| cell(c, r).map_or(1.0, |cell| cell.spread));
        Self { encoded, edges, texture }
    }

    /// Whether much of a surface is print: its lines are as regular as bands of flicker, but these are smooth.
    pub(crate) fn is_printed(&self, surface: &Mask) -> bool {
        /// More textured cells than this, as a part of the surface.
        const MOST: f64 = 0.1;
        let inner = surface.eroded(RIM);
        let textured = inner.indices().filter(|&index| self.texture.get(index) > MOST_TEXTURE);
        textured.count() as f64 > MOST * inner.count().max(1) as f64
    }

    /// The plain surfaces of at least `least` cells, for an edge that is a step of `step` on the
    /// encoded scale. Largest first; holes (marks, a bright spot) are not filled.
    pub(crate) fn surfaces(&self, step: f32, least: usize) -> Vec<Mask> {
        let plain = Grid::from_fn(self.edges.columns(), self.edges.rows(), |c, r| {
            let (c, r) = (c as isize, r as isize);
            let texture = (2.0 * step).clamp(MOST_TEXTURE, COARSEST_TEXTURE);
            self.edges.at(c, r) < step && self.texture.at(c, r) < texture
        });
        // The edge itself took some cells on each side: give them back.
        plain.parts(least).iter().map(|part| part.dilated(EDGE_REACH)).collect()
    }
}

/// How far an edge's own cells reach to either side of it.
pub(crate) const EDGE_REACH: usize = 3;

/// A surface's outermost cells hold a share of what lies beside it; so many all round are not used.
pub(crate) const RIM: usize = EDGE_REACH + 1;

fn smoothed(encoded: &Grid<[f32; 3]>) -> Grid<[f32; 3]> {
    let thirds =
        |a: [f32; 3], b: [f32; 3], c: [f32; 3]| std::array::from_fn(|i| (a[i] + b[i] + c[i]) / 3.0);
    let along = Grid::from_fn(encoded.columns(), encoded.rows(), |c, r| {
        let (c, r) = (c as isize, r as isize);
        thirds(encoded.at(c - 1, r), encoded.at(c, r), encoded.at(c + 1, r))
    });
    Grid::from_fn(encoded.columns(), encoded.rows(), |c, r| {
        let (c, r) = (c as isize, r as isize);
        thirds(along.at(c, r - 1), along.at(c, r), along.at(c, r + 1))
    })
}

fn sharpness(encoded: &Grid<[f32; 3]>, column: isize, row: isize) -> f32 {
    let mut sharpest: f32 = 0.0;
    for (dc, dr) in [(1, 0), (0, 1), (1, 1), (1, -1)] {
        let tap = |distance: isize| encoded.at(column + dc * distance, row + dr * distance);
        let (far_before, before, after, far_after) = (tap(-5), tap(-2), tap(2), tap(5));
        for channel in 0..3 {
            let step = (after[channel] - before[channel]).abs();
            // A steady slope has three quarters of the step in each outer interval. The flatter
            // side counts: what lies beyond a card's edge may well be textured.
            let beside = (far_after[channel] - after[channel])
                .abs()
                .min((before[channel] - far_before[channel]).abs());
            sharpest = sharpest.max(step - beside * (4.0 / 3.0));
        }
    }
    sharpest
}

/// Two surfaces as one that lie along each other, and that a shadow's edge or one between two
/// lights may have parted.
pub(crate) fn parted_by_light(scene: &Scene, a: &Mask, b: &Mask) -> Option<Mask> {
    let together = a.count() + b.count();
    // Where the two are nearly all of the frame, there is little else that they can be.
    let fills = together as f64 > NEARLY_ALL * a.len() as f64;
    if a.count().min(b.count()) * if fills { 12 } else { 6 } < together {
        return None;
    }
    // Each half of a card is itself convex; a card and the ground that it lies on are not.
    let convex = |part: &Mask| outlined(part).is_some_and(|(_, outline)| outline.solidity > 0.93);
    if !convex(a) || !convex(b) {
        return None;
    }
    let contact = a.dilated(2 * EDGE_REACH).indices().filter(|&i| b.get(i)).count();
    let side = (a.count().min(b.count()) as f64).sqrt();
    if (contact as f64) < side {
        return None;
    }
    let step = Step::between(mean_linear(scene, a), mean_linear(scene, b));
    // Ground that goes all round a card is convex too, once the hole is filled. A shadow that lies
    // on a card as an island is darker than what is round it.
    let lies_on = |inner: &Mask, ground: &Mask| {
        let within = ground.without_holes().intersection(inner);
        2 * within.count() > inner.count()
    };
    let brighter_lies_on = if step.level > 0.0 { lies_on(a, b) } else { lies_on(b, a) };
    let both = close(&a.union(b));
    let is_one_card = step.is_of_one_colour() || step.is_between_lights(&both, fills);
    (!brighter_lies_on && is_one_card).then_some(both)
}

/// How a surface's colour differs from another's, as natural logarithms of ratios.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Step {
    /// Mean of the channels.
    pub(crate) level: f64,
    channels: [f64; 3],
}

impl Step {
    /// From `other` to `one`, linear.
    pub(crate) fn between(one: [f64; 3], other: [f64; 3]) -> Self {
        let channels: [f64; 3] =
            std::array::from_fn(|i| (one[i].max(1e-4) / other[i].max(1e-4)).ln());
        Self { level: (channels[0] + channels[1] + channels[2]) / 3.0, channels }
    }

    /// Whether the one may be the other in more or less of the same light.
    pub(crate) fn is_of_one_colour(&self) -> bool {
        let uneven = self.channels.iter().map(|r| (r - self.level).abs()).fold(0.0, f64::max);
        // An unknown tone curve changes the proportions by up to a quarter of the step.
        uneven < 0.03 + 0.35 * self.level.abs()
    }

    /// Whether the one may be the other in another light: one more orange or more blue, with
    /// about as much green to the channels round it as the loci of lights have.
    fn is_between_lights(&self, both: &Mask, fills: bool) -> bool {
        let [red, green, blue] = self.channels;
        let (warm, cold) = (red - green, green - blue);
        // What is as orange as wood beside a card is a good deal darker than the card; within
        // the frame it does not end where the card does.
        let is_within = borders_touched(both) == 0;
        self.level.abs() < if is_within || fills { 2.0 * MOST_LIGHT_STEP } else { MOST_LIGHT_STEP }
            && warm * cold > 0.0
            && (warm + cold).abs() > LEAST_HUE_STEP
            && (0.4..3.0).contains(&(cold / warm))
    }
}

/// Part of the frame.
const NEARLY_ALL: f64 = 0.9;

/// Lights on two halves of a card differ in level by less than this, as a natural logarithm.
const MOST_LIGHT_STEP: f64 = 0.6;

/// Red against blue, as a natural logarithm: about 25 mired.
const LEAST_HUE_STEP: f64 = 0.25;

/// The region without its narrow outgrowths, such as a pale thing behind the card that touches
/// it; `None` where there are none.
pub(crate) fn trimmed(region: &Mask) -> Option<Mask> {
    const NARROW: usize = 6;
    let core = region.without_holes().eroded(NARROW).parts(1).into_iter().next()?;
    let trimmed = core.dilated(NARROW).intersection(region);
    (trimmed.count() < region.count()).then_some(trimmed)
}

/// Bridges gaps of an edge's width.
pub(crate) fn close(mask: &Mask) -> Mask {
    mask.dilated(EDGE_REACH).eroded(EDGE_REACH)
}

pub(crate) fn mean_linear(scene: &Scene, mask: &Mask) -> [f64; 3] {
    let inner = mask.eroded(RIM);
    let cells = if inner.count() > 0 { inner } else { mask.clone() };
    let mut sum = [0.0; 3];
    for index in cells.indices() {
        for (total, value) in sum.iter_mut().zip(scene.encoded.get(index)) {
            *total += TransferCurve::Srgb.decode(f64::from(value));
        }
    }
    let count = cells.count().max(1) as f64;
    sum.map(|total| (total / count).max(1e-4))
}

/// A region and its outline, with the holes filled.
pub(crate) fn outlined(region: &Mask) -> Option<(Mask, Outline)> {
    let whole = region.without_holes();
    let outline = Outline::of(&whole)?;
    Some((whole, outline))
}
