//! A JPEG's block means → a [`LinearFrame`]: what a full decode would give, nearly, for a fraction of the time.
//!
//! The mean of encoded values is not that of light: where a cell holds light and dark, its light is more than its
//! mean value says. The spread of luma within the cell, between its blocks and within each, puts that right to
//! the second order, and tells how much of it is likely to be clipped. Colour is taken for even within a cell.

use super::grid::{Axis, Cell, LinearFrame};
use super::jpeg_blocks::{BlockMeans, ColourModel, Plane};
use super::orientation::Orientation;
use super::transfer_table::TransferTable;
use super::{Encoding, ReadOptions, Transfer};

/// Pictures with a shorter long side than this have too few blocks, fewer than 256 along it, and are soon decoded
/// in full.
pub(super) const LEAST_LONG_SIDE: u32 = 2048;
/// Pixels along a block of the finest component.
const BLOCK: u32 = 8;
/// The variance within blocks as a multiple of that between the blocks of a cell, where only this is known: on
/// photographs this leaves half as much of the light unaccounted for as nothing would.
const WITHIN_OF_BETWEEN: f32 = 1.0;

/// The frame; `None` where an encoding cannot be undone value by value.
pub(super) fn frame(
    means: &BlockMeans,
    encoding: Encoding,
    orientation: Orientation,
    options: &ReadOptions,
) -> Option<LinearFrame> {
    if matches!(encoding.transfer, Transfer::Converted) {
        return None;
    }
    let cell = cell_side(means.width.max(means.height), options);
    let [x, y] = [
        Axis::new(means.width, cell, orientation.flip_x),
        Axis::new(means.height, cell, orientation.flip_y),
    ];
    let planes: Vec<Reduced> =
        means.components.iter().map(|plane| Reduced::of(plane, &x, &y)).collect();
    let table = TransferTable::of(&encoding.transfer);
    let stored = cells(means.colour, &planes, &table)?;
    let (width, height) = orientation.upright_size(means.width, means.height);
    let (columns, rows) = orientation.upright_size(x.cells(), y.cells());
    Some(LinearFrame {
        width,
        height,
        cell,
        columns,
        rows,
        cells: orientation.upright(stored, x.cells() as usize),
        encoding,
        bits: 8,
        stored: None,
    })
}

/// Whole blocks, so that most cells hold whole ones. A quarter more cells than asked for are allowed rather than
/// half of them.
fn cell_side(long_side: u32, options: &ReadOptions) -> u32 {
    let most = options.long_side_cells.saturating_add(options.long_side_cells / 4).max(1);
    BLOCK * long_side.div_ceil(BLOCK).div_ceil(most).max(1)
}

fn cells(colour: ColourModel, planes: &[Reduced], table: &TransferTable) -> Option<Vec<Cell>> {
    match (colour, planes) {
        (ColourModel::Grey, [Reduced(grey)]) => {
            let cells = grey.iter().map(|grey| cell([grey.mean; 3], [grey.spread; 3], table));
            Some(cells.collect())
        }
        (colour, [Reduced(first), Reduced(second), Reduced(third)]) => {
            let values = first.iter().zip(second).zip(third).map(|((a, b), c)| [*a, *b, *c]);
            let means = |values: [Value; 3]| values.map(|value| value.mean);
            Some(match colour {
                ColourModel::Rgb => values
                    .map(|rgb| cell(means(rgb), rgb.map(|value| value.spread), table))
                    .collect(),
                _ => values
                    .map(|ycc| cell(rgb_from_ycbcr(means(ycc)), [ycc[0].spread; 3], table))
                    .collect(),
            })
        }
        _ => None,
    }
}

/// A cell of its mean encoded values, 0–255, and their standard deviations.
fn cell(mean: [f32; 3], spread: [f32; 3], table: &TransferTable) -> Cell {
    /// Between the levels that count as clipped or black and those that do not.
    const CLIPPED: f32 = 252.5;
    const BLACK: f32 = 1.5;
    /// What is bright in a cell piles up below the top of the scale rather than going on beyond it: the tail of a
    /// normal distribution that is this much narrower calls about as many cells clipped as are, on photographs.
    const TAIL: f32 = 0.5;
    let clipped_channels = std::array::from_fn(|i| beyond(CLIPPED - mean[i], TAIL * spread[i]));
    let most = |shares: [f32; 3]| shares.into_iter().fold(0.0, f32::max);
    let black = if spread == [spread[0]; 3] {
        // The darkest channel's is the most.
        beyond(mean.into_iter().fold(f32::MAX, f32::min) - BLACK, spread[0])
    } else {
        most(std::array::from_fn(|i| beyond(mean[i] - BLACK, spread[i])))
    };
    Cell {
        mean: std::array::from_fn(|i| table.mean(i, mean[i], spread[i])),
        block_mean: None,
        // As the signal weighs them.
        spread: (0.25 * (spread[0] + 2.0 * spread[1] + spread[2])) / 255.0,
        clipped: most(clipped_channels),
        clipped_channels,
        black,
        weight: 1.0,
    }
}

/// The share of a normal distribution that lies further than `distance` from its mean to one side.
fn beyond(distance: f32, spread: f32) -> f32 {
    /// Beyond so many standard deviations the share is below a thousandth.
    const FAR: f32 = 3.1;
    if distance >= FAR * spread {
        return 0.0;
    }
    if distance <= -FAR * spread {
        return 1.0;
    }
    // The logistic approximation of the normal distribution function by Bowling and others (2009); to 0.00014.
    let z = distance / spread;
    1.0 / (1.0 + (0.070_56 * z * z * z + 1.597_6 * z).exp())
}

/// ITU-T T.871, clause 7.
fn rgb_from_ycbcr([luma, blue, red]: [f32; 3]) -> [f32; 3] {
    let (blue, red) = (blue - 128.0, red - 128.0);
    [luma + 1.402 * red, luma - 0.344_136 * blue - 0.714_136 * red, luma + 1.772 * blue]
}

/// A plane on the grid of cells.
struct Reduced(Vec<Value>);

/// Mean and standard deviation of a component in a cell, on the scale 0–255.
#[derive(Debug, Clone, Copy)]
struct Value {
    mean: f32,
    spread: f32,
}

impl Reduced {
    fn of(plane: &Plane, x: &Axis, y: &Axis) -> Self {
        /// Squares are taken of differences from here, which keeps them small.
        const MIDDLE: f32 = 128.0;
        let (columns, rows) = (x.cells() as usize, y.cells() as usize);
        let across = Shares::of(x, plane.block_width, plane.columns);
        let down = Shares::of(y, plane.block_height, plane.rows);
        let mut sums = Vec::with_capacity(columns * rows);
        // First down, then across: the loops down are the ones that a compiler makes vectors of.
        let [mut values, mut squares, mut within] = [(); 3].map(|()| vec![0.0; plane.columns]);
        for (first, parts) in down.of_cells() {
            for line in [&mut values, &mut squares, &mut within] {
                line.fill(0.0);
            }
            for (row, part) in (first..).zip(parts) {
                let both = values.iter_mut().zip(&mut squares);
                for ((value, square), mean) in both.zip(plane.means(row)) {
                    let above = mean - MIDDLE;
                    *value += part * above;
                    *square += part * above * above;
                }
                let both = within.iter_mut().zip(plane.variances(row));
                both.for_each(|(within, variance)| *within += part * variance);
            }
            sums.extend(across.of_cells().map(|(first, parts)| {
                let sum = |line: &[f32]| -> f32 {
                    let line = line.get(first..).unwrap_or_default();
                    parts.iter().zip(line).map(|(part, value)| part * value).sum()
                };
                Sums { value: sum(&values), square: sum(&squares), within: sum(&within) }
            }));
        }
        let is_known = plane.has_variances();
        let values = sums.iter().map(|sum| {
            let between = (sum.square - sum.value * sum.value).max(0.0);
            let within = if is_known { sum.within } else { WITHIN_OF_BETWEEN * between };
            Value { mean: sum.value + MIDDLE, spread: (between + within).max(0.0).sqrt() }
        });
        Self(values.collect())
    }
}

/// Sums over a cell, weighed by area: of the blocks' means, of their squares, and of the variances within.
#[derive(Debug, Clone, Copy)]
struct Sums {
    value: f32,
    square: f32,
    within: f32,
}

/// What the blocks of a line give to its cells.
struct Shares {
    /// For each cell its first block, and which of the parts are those of that and the following ones.
    cells: Vec<(usize, std::ops::Range<usize>)>,
    /// Those of a cell add up to 1.
    parts: Vec<f32>,
}

impl Shares {
    fn of(axis: &Axis, block: f64, blocks: usize) -> Self {
        let mut cells = Vec::with_capacity(axis.cells() as usize);
        let mut parts = Vec::with_capacity(blocks + axis.cells() as usize);
        for pixels in axis.ranges() {
            let [from, to] = [pixels.start, pixels.end].map(|pixel| f64::from(pixel) / block);
            let start = parts.len();
            let first = if block > f64::from(axis.cell()) {
                // Smaller than a block: between the middles of the two nearest.
                let last = blocks.saturating_sub(1);
                let at = (f64::midpoint(from, to) - 0.5).clamp(0.0, last as f64);
                let first = (at as usize).min(last.saturating_sub(1));
                let part = if last == 0 { 0.0 } else { at - first as f64 };
                parts.extend([(1.0 - part) as f32, part as f32]);
                first
            } else {
                let first = from as usize;
                parts.extend((first..(to.ceil() as usize).min(blocks)).map(|block| {
                    let inside = to.min((block + 1) as f64) - from.max(block as f64);
                    (inside / (to - from)) as f32
                }));
                first
            };
            cells.push((first, start..parts.len()));
        }
        Self { cells, parts }
    }

    /// For each cell its first block, and the parts of that and the following ones.
    fn of_cells(&self) -> impl Iterator<Item = (usize, &[f32])> {
        self.cells
            .iter()
            .map(|(first, parts)| (*first, self.parts.get(parts.clone()).unwrap_or_default()))
    }
}
