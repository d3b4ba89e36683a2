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
use crate::channels::{Channels, each};

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
    // Luma's spread stands for that of all channels.
    let has_luma = means.colour == ColourModel::YCbCr;
    let planes: Vec<Reduced> = (0..)
        .zip(&means.components)
        .map(|(place, plane)| Reduced::of(plane, &x, &y, place == 0 || !has_luma))
        .collect();
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
    let own = |plane: &Reduced| plane.means.clone();
    let (means, spreads) = match (colour, planes) {
        (ColourModel::Grey, [grey]) => ([grey; 3].map(own), [&grey.spreads; 3]),
        (ColourModel::Rgb, [red, green, blue]) => {
            let channels = [red, green, blue];
            (channels.map(own), channels.map(|plane| &plane.spreads))
        }
        (ColourModel::YCbCr, [luma, blue, red]) => {
            let means = [&luma.means, &blue.means, &red.means];
            let channel = |channel: usize| {
                each(&means).map(|colour| rgb_from_ycbcr(colour)[channel]).collect()
            };
            (std::array::from_fn(channel), [&luma.spreads; 3])
        }
        _ => return None,
    };
    let light = |channel: usize| table.means(channel, &means[channel], spreads[channel]);
    let light: Channels = std::array::from_fn(light);
    let cells = each(&means).zip(each(&spreads)).zip(each(&light));
    Some(cells.map(|((mean, spread), light)| cell(mean, spread, light)).collect())
}

/// A cell of its mean encoded values, 0–255, their standard deviations, and its mean light.
#[inline(always)]
fn cell(mean: [f32; 3], spread: [f32; 3], light: [f32; 3]) -> Cell {
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
        mean: light,
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

/// A plane on the grid of cells, on the scale 0–255.
struct Reduced {
    means: Vec<f32>,
    /// Standard deviations within the cells; empty where nobody asks.
    spreads: Vec<f32>,
}

impl Reduced {
    fn of(plane: &Plane, x: &Axis, y: &Axis, is_spread_wanted: bool) -> Self {
        /// Squares are taken of differences from here, which keeps them small.
        const MIDDLE: f32 = 128.0;
        let (columns, rows) = (x.cells() as usize, y.cells() as usize);
        let across = Shares::of(x, plane.block_width, plane.columns);
        let down = Shares::of(y, plane.block_height, plane.rows);
        let [mut means, mut squares, mut variances] =
            [true, is_spread_wanted, is_spread_wanted && plane.has_variances()]
                .map(|is_wanted| if is_wanted { vec![0.0; columns * rows] } else { Vec::new() });
        // First down, then across: the loops down are the ones that a compiler makes vectors of.
        let [mut mean_line, mut square_line, mut variance_line] = [&means, &squares, &variances]
            .map(|wanted| {
                let length = if wanted.is_empty() { 0 } else { plane.columns };
                vec![0.0; length]
            });
        for (row, (first, parts)) in down.of_cells().enumerate() {
            for line in [&mut mean_line, &mut square_line, &mut variance_line] {
                line.fill(0.0);
            }
            for (block_row, part) in (first..).zip(parts) {
                let above = || plane.means(block_row).map(|mean| mean - MIDDLE);
                if square_line.is_empty() {
                    let blocks = mean_line.iter_mut().zip(above());
                    blocks.for_each(|(sum, above)| *sum += part * above);
                } else {
                    let blocks = mean_line.iter_mut().zip(&mut square_line).zip(above());
                    for ((sum, square), above) in blocks {
                        *sum += part * above;
                        *square += part * above * above;
                    }
                }
                let blocks = variance_line.iter_mut().zip(plane.variances(block_row));
                blocks.for_each(|(sum, variance)| *sum += part * variance);
            }
            let cells = row * columns..(row + 1) * columns;
            for (into, line) in [
                (&mut means, &mean_line),
                (&mut squares, &square_line),
                (&mut variances, &variance_line),
            ] {
                if let Some(cells) = into.get_mut(cells.clone()) {
                    across.sum(line, cells);
                }
            }
        }
        let mut spreads = squares;
        for (square, mean) in spreads.iter_mut().zip(&means) {
            *square = (*square - mean * mean).max(0.0);
        }
        if plane.has_variances() {
            let within = spreads.iter_mut().zip(variances);
            within.for_each(|(between, within)| *between = (*between + within).max(0.0).sqrt());
        } else {
            for between in &mut spreads {
                *between = (*between + WITHIN_OF_BETWEEN * *between).max(0.0).sqrt();
            }
        }
        means.iter_mut().for_each(|mean| *mean += MIDDLE);
        Self { means, spreads }
    }
}

/// What the blocks of a line give to its cells.
struct Shares {
    /// For each cell its first block.
    firsts: Vec<usize>,
    /// The parts of each cell's first block, of the next one, and so on: as many for each cell as for the one that
    /// has most. Those of a cell add up to 1.
    parts: Vec<f32>,
    /// How many parts a cell has.
    each: usize,
    /// In so many cells, from the first on, the blocks follow those of the cell before.
    in_turn: usize,
}

impl Shares {
    fn of(axis: &Axis, block: f64, blocks: usize) -> Self {
        let cells: Vec<(usize, Vec<f32>)> = axis
            .ranges()
            .map(|pixels| {
                let [from, to] = [pixels.start, pixels.end].map(|pixel| f64::from(pixel) / block);
                if block > f64::from(axis.cell()) {
                    // Smaller than a block: between the middles of the two nearest.
                    let last = blocks.saturating_sub(1);
                    let at = (f64::midpoint(from, to) - 0.5).clamp(0.0, last as f64);
                    let first = (at as usize).min(last.saturating_sub(1));
                    let part = if last == 0 { 0.0 } else { at - first as f64 };
                    return (first, vec![(1.0 - part) as f32, part as f32]);
                }
                let first = from as usize;
                let parts = (first..(to.ceil() as usize).min(blocks)).map(|block| {
                    let inside = to.min((block + 1) as f64) - from.max(block as f64);
                    (inside / (to - from)) as f32
                });
                (first, parts.collect())
            })
            .collect();
        let each = cells.iter().map(|(_, parts)| parts.len()).max().unwrap_or(0).max(1);
        let mut parts = Vec::with_capacity(cells.len() * each);
        for (_, some) in &cells {
            parts.extend_from_slice(some);
            parts.resize(parts.len() + each - some.len(), 0.0);
        }
        let firsts: Vec<usize> = cells.into_iter().map(|(first, _)| first).collect();
        let in_turn = firsts.iter().zip((0..).step_by(each)).take_while(|(a, b)| *a == b).count();
        Self { firsts, parts, each, in_turn }
    }

    /// For each cell its first block, and the parts of that and the following ones.
    fn of_cells(&self) -> impl Iterator<Item = (usize, &[f32])> {
        self.firsts.iter().copied().zip(self.parts.chunks_exact(self.each))
    }

    /// The sum over each cell of the blocks of a line.
    fn sum(&self, line: &[f32], cells: &mut [f32]) {
        match self.each {
            1 => self.sum_of::<1>(line, cells),
            2 => self.sum_of::<2>(line, cells),
            3 => self.sum_of::<3>(line, cells),
            _ => {
                for (cell, (first, parts)) in cells.iter_mut().zip(self.of_cells()) {
                    *cell = weighed(parts, line.get(first..).unwrap_or_default());
                }
            }
        }
    }

    /// The same where cells have so few blocks that a loop over them would take longer than the sum.
    fn sum_of<const EACH: usize>(&self, line: &[f32], cells: &mut [f32]) {
        let (parts, blocks) = (self.parts.as_chunks::<EACH>().0, line.as_chunks::<EACH>().0);
        let in_turn = self.in_turn.min(blocks.len());
        let mut cells = cells.iter_mut().zip(parts);
        for ((cell, parts), values) in cells.by_ref().take(in_turn).zip(blocks) {
            *cell = weighed(parts, values);
        }
        for ((cell, parts), first) in cells.zip(self.firsts.iter().skip(in_turn)) {
            // The last cells may have fewer.
            let values = line.get(*first..*first + EACH).or(line.get(*first..));
            *cell = weighed(parts, values.unwrap_or_default());
        }
    }
}

/// The sum of values, each weighed by its part.
#[inline(always)]
fn weighed(parts: &[f32], values: &[f32]) -> f32 {
    parts.iter().zip(values).map(|(part, value)| part * value).sum()
}
