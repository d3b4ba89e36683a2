//! Which of a card's cells its colour is taken from, and why others are left out.

use super::cell_box::{CellBox, boxes};
use super::found::Found;
use super::grid::Mask;
use super::surfaces::{EDGE_REACH, RIM, Scene};
use crate::still::LinearFrame;

/// One cell of plain card.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Sample {
    pub(crate) column: usize,
    pub(crate) row: usize,
    /// Linear light of the encoding's own channels.
    pub(crate) linear: [f64; 3],
    /// How much it counts; 0 leaves it out.
    pub(crate) weight: f64,
}

impl Sample {
    /// Natural logarithm of the channels' mean: brightness on a scale of equal ratios.
    pub(crate) fn log_level(&self) -> f64 {
        (self.linear.iter().sum::<f64>() / 3.0).max(1e-6).ln()
    }
}

/// A card's usable cells and what was found unusable, as parts of the card's area.
#[derive(Debug, Clone)]
pub(crate) struct Samples {
    pub(crate) cells: Vec<Sample>,
    /// The blocks of a JPEG that lie wholly on usable cells.
    pub(crate) stored: Option<StoredShades>,
    /// Saturated in some channel, a bright spot with a clear border not counted.
    pub(crate) clipped: f64,
    /// Left out as glare.
    pub(crate) glare: f64,
    /// Left out as marks, print or fingers.
    pub(crate) marked: f64,
    /// Brightest channel's level, encoded 0–1, median over the cells that are not clipped.
    pub(crate) level: f64,
    /// Where what was left out lies.
    pub(crate) left_out: LeftOut,
}

#[cfg(test)]
impl Samples {
    /// Cells of a card of middling level of which nothing was left out.
    pub(crate) fn of_cells(cells: Vec<Sample>) -> Self {
        Self {
            cells,
            stored: None,
            clipped: 0.0,
            glare: 0.0,
            marked: 0.0,
            level: 0.5,
            left_out: LeftOut::default(),
        }
    }
}

/// Where on a card cells were left out.
#[derive(Debug, Clone, Default)]
pub(crate) struct LeftOut {
    pub(crate) clipped: Vec<CellBox>,
    pub(crate) glare: Vec<CellBox>,
    pub(crate) marked: Vec<CellBox>,
}

/// What saturated spots within a card are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Spots {
    /// Reflections of a lamp: they and what they fade into are none of the card's colour.
    Mirror,
    /// Where a light is strongest: what they fade into is the card in that light.
    AreOverexposed,
}

/// Fewer cells than this are not pointed out.
const NOTEWORTHY_CELLS: usize = 6;

/// The faint rim of glare reaches out by this part of its radius; a card's shades are taken from
/// beyond it.
const GLARE_REACH: f64 = 0.6;

/// Blocks of a JPEG as stored, in levels of 8 bits.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StoredShades {
    /// Steps of the blue and the red difference.
    pub(crate) steps: [f32; 2],
    /// Luma, blue and red difference.
    pub(crate) blocks: Vec<[f32; 3]>,
}

impl StoredShades {
    fn of(frame: &LinearFrame, usable: &Mask) -> Option<Self> {
        let stored = frame.stored.as_ref()?;
        let cell = frame.cell as f32;
        let whole = |middle: [f32; 2]| {
            let range = |i: usize, most: usize| {
                let half = stored.size[i] / 2.0;
                let first = ((middle[i] - half) / cell).floor().max(0.0) as usize;
                first..(((middle[i] + half) / cell).ceil() as usize).min(most)
            };
            let columns = range(0, usable.columns());
            let mut rows = range(1, usable.rows());
            rows.all(|row| columns.clone().all(|c| usable.get(row * usable.columns() + c)))
        };
        let blocks = stored
            .blocks
            .iter()
            .filter(|block| whole(block.middle))
            .map(|block| [block.luma, block.differences[0], block.differences[1]])
            .collect();
        Some(Self { steps: stored.steps, blocks })
    }
}

/// A cell with more saturated pixels than this is not used.
const CLIPPED_CELL: f32 = 0.01;

/// Glare is at most this much of a card; more than that is a card that is clipped.
const MOST_GLARE: f64 = 0.35;

/// The fewest cells that a colour is taken from.
pub(crate) const FEWEST_SAMPLES: usize = 24;

/// The cells among these that have too many saturated pixels to be used.
pub(crate) fn clipped_among(frame: &LinearFrame, among: &Mask) -> Mask {
    let is_clipped = |column: usize, row: usize| {
        frame.get(column as u32, row as u32).is_some_and(|cell| cell.clipped > CLIPPED_CELL)
    };
    Mask::from_fn(among.columns(), among.rows(), |c, r| {
        among.get(r * among.columns() + c) && is_clipped(c, r)
    })
}

impl Samples {
    pub(crate) fn of(frame: &LinearFrame, scene: &Scene, found: &Found, spots: Spots) -> Self {
        let area = found.whole.count().max(1) as f64;
        let part = |mask: &Mask| mask.count() as f64 / area;
        let inner = found.whole.eroded(RIM);
        let holes = inner.minus(&found.plain.dilated(1));

        let clipped = clipped_among(frame, &inner);
        let (cores, saturated) = match spots {
            Spots::Mirror => spots_and_rest(&clipped, &inner),
            Spots::AreOverexposed => (clipped.map(|_| false), clipped.clone()),
        };
        let glare = halo(scene, &cores, &inner);
        let marks = holes.minus(&glare.dilated(EDGE_REACH)).minus(&clipped);

        let usable = found
            .plain
            .eroded(RIM)
            .minus(&glare.dilated(1))
            .minus(&clipped.dilated(1))
            .minus(&marks.dilated(EDGE_REACH));
        let cells: Vec<Sample> = usable
            .indices()
            .filter_map(|index| {
                let (column, row) = usable.place(index);
                let cell = frame.get(column as u32, row as u32)?;
                let linear = cell.block_mean.unwrap_or(cell.mean).map(f64::from);
                (cell.weight > 0.5).then_some(Sample { column, row, linear, weight: 1.0 })
            })
            .collect();

        let mut levels: Vec<f32> = inner
            .minus(&clipped)
            .indices()
            .map(|index| scene.encoded.get(index).into_iter().fold(0.0, f32::max))
            .collect();
        let level = match levels.len() {
            0 => 1.0,
            n => f64::from(*levels.select_nth_unstable_by(n / 2, f32::total_cmp).1),
        };
        let reach = (GLARE_REACH * (glare.count() as f64 / std::f64::consts::PI).sqrt()).ceil();
        let stored = StoredShades::of(frame, &usable.minus(&glare.dilated(reach as usize)));
        Self {
            cells,
            stored,
            clipped: part(&saturated),
            glare: part(&glare),
            marked: part(&marks),
            level,
            left_out: LeftOut {
                clipped: boxes(&saturated, NOTEWORTHY_CELLS),
                glare: boxes(&glare, NOTEWORTHY_CELLS),
                marked: boxes(&marks, NOTEWORTHY_CELLS),
            },
        }
    }

    /// Weighted mean of the samples after `undo` has been applied to every channel; `None`
    /// without samples.
    pub(crate) fn mean(&self, undo: impl Fn(f64) -> f64) -> Option<[f64; 3]> {
        let mut sum = [0.0; 3];
        let mut weight = 0.0;
        for sample in &self.cells {
            for (total, value) in sum.iter_mut().zip(sample.linear) {
                *total += sample.weight * undo(value);
            }
            weight += sample.weight;
        }
        (weight > 0.0).then(|| sum.map(|total| total / weight))
    }
}

/// Clipped areas that are spots, lying within the card with unclipped card all round them, and
/// those that are not.
fn spots_and_rest(clipped: &Mask, inner: &Mask) -> (Mask, Mask) {
    let most = (MOST_GLARE * inner.count() as f64) as usize;
    let mut spots = clipped.map(|_| false);
    let mut rest = spots.clone();
    for cells in clipped.part_cells(1) {
        let (part, [left, top]) = clipped.cut_out(&cells, 2);
        let ring = part.dilated(2).minus(&part.dilated(1));
        let is_inner = |&index: &usize| {
            let (column, row) = ring.place(index);
            inner.at((left + column) as isize, (top + row) as isize)
        };
        let inside = ring.indices().filter(is_inner).count();
        let enclosed = inside as f64 > 0.9 * ring.count().max(1) as f64;
        let kind = if enclosed && cells.len() <= most { &mut spots } else { &mut rest };
        cells.iter().for_each(|&cell| kind.set(cell, true));
    }
    (spots, rest)
}

/// Glare with its halo: from the clipped core outward for as long as it keeps getting darker.
fn halo(scene: &Scene, cores: &Mask, inner: &Mask) -> Mask {
    /// Darker by less than this a cell, encoded, is the card's own shading.
    const FALL: f32 = 0.0015;
    let brightness = |index: usize| scene.encoded.get(index).iter().sum::<f32>() / 3.0;
    let mut glare = cores.clone();
    let mut queue: Vec<usize> = cores.indices().collect();
    while let Some(index) = queue.pop() {
        for neighbour in glare.neighbours(index) {
            let falls = brightness(neighbour) < brightness(index) - FALL || cores.get(neighbour);
            if falls && inner.get(neighbour) && !glare.get(neighbour) {
                glare.set(neighbour, true);
                queue.push(neighbour);
            }
        }
    }
    glare
}
