//! The picture reduced to a grid of square cells in linear light, in one pass over its rows.

use std::iter;
use std::sync::Arc;

use moxcms::TransformF32Executor;

use super::jpeg_blocks::BlockMeans;
use super::orientation::Orientation;
use super::pixel::{Pixel, Sample, tables};
use super::profile::Pipeline;
use super::rows::Pixels;
use super::{Encoding, ReadErrorKind, ReadOptions, StoredBlocks, Transfer};

/// A picture as a grid of square cells, upright, in the linear light of its own encoding.
///
/// Only the encoding's transfer curve is undone: the camera's white balance and tone curve are still in it.
/// A raw picture has neither; its channels are scaled by the as-shot balance
/// ([`RawColour`](super::RawColour)), so that it looks as balanced as a finished one.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct LinearFrame {
    /// Width of the upright picture, in pixels.
    pub width: u32,
    /// Height of the upright picture, in pixels.
    pub height: u32,
    /// Side of a cell, in pixels. Cells start at the top left of the upright picture; the last column and
    /// the last row may reach beyond it and hold only the pixels there are.
    pub cell: u32,
    /// Cells in a row.
    pub columns: u32,
    /// Rows of cells.
    pub rows: u32,
    /// The cells, row by row from the top left; there are `columns × rows` of them.
    pub cells: Vec<Cell>,
    /// What the linear values mean.
    pub encoding: Encoding,
    /// Bits a channel in the file's pixels as decoded: 8 or 16; in a raw file as stored, 8–16.
    pub bits: u8,
    /// The colours as a JPEG stores them. `None` for other files, for JPEGs whose blocks cannot be read by
    /// themselves, and where [`ReadOptions::stored_colours`] is off.
    pub stored: Option<StoredBlocks>,
}

impl LinearFrame {
    /// The cell at a column and a row, both from 0; `None` outside the grid.
    #[must_use]
    pub fn get(&self, column: u32, row: u32) -> Option<&Cell> {
        if column >= self.columns {
            return None;
        }
        self.cells.get(row as usize * self.columns as usize + column as usize)
    }
}

impl LinearFrame {
    /// Gives every cell the mean of the block at its middle.
    pub(super) fn take_block_means(&mut self, blocks: &BlockMeans, orientation: Orientation) {
        if matches!(self.encoding.transfer, Transfer::Converted) {
            return;
        }
        let size = [f64::from(blocks.width), f64::from(blocks.height)];
        let (cell, columns) = (f64::from(self.cell), self.columns as usize);
        let upright = [f64::from(self.width), f64::from(self.height)];
        for (index, found) in self.cells.iter_mut().enumerate() {
            let middle =
                [index % columns, index / columns].map(|place| (place as f64 + 0.5) * cell);
            let middle = std::array::from_fn(|i| middle[i].min(upright[i] - 0.5));
            let [x, y] = orientation.stored_place(middle, size);
            found.block_mean = blocks.rgb_at(x, y).map(|encoded| {
                std::array::from_fn(|channel| {
                    let value = encoded[channel].clamp(0.0, 1.0);
                    self.encoding.transfer.to_linear(channel, value) as f32
                })
            });
        }
    }
}

/// What one cell of a picture holds. Pixels less than half opaque are left out of everything but `weight`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[non_exhaustive]
pub struct Cell {
    /// Mean linear red, green and blue, 0–1 of full scale in the file's own primaries. A profile made of
    /// tables may lead outside that range.
    pub mean: [f32; 3],
    /// The same at the cell's middle from the blocks that a JPEG stores, without a decoder's rounding to
    /// whole levels: the better value where the picture is flat. `None` in other files, where the blocks
    /// cannot be read by themselves, and where [`ReadOptions::stored_colours`] is off.
    pub block_mean: Option<[f32; 3]>,
    /// Standard deviation of the encoded signal (R + 2 G + B) / 4 within the cell, in units of full scale:
    /// texture and noise.
    pub spread: f32,
    /// Share of the pixels with any channel at 99.2 % of full scale or more (253 of 255), 0–1. In a raw
    /// picture of the most affected channel's own pixels, from 98 % of saturation on.
    pub clipped: f32,
    /// The same for red, green and blue alone.
    pub clipped_channels: [f32; 3],
    /// Share of the pixels with any channel at 1/255 of full scale or less, 0–1.
    pub black: f32,
    /// Share of the cell's pixels that count, 0–1. Where it is 0 every other value is 0 too and means
    /// nothing.
    pub weight: f32,
}

/// Reduces pixels to a frame.
pub(super) fn reduce(
    pixels: Pixels<'_>,
    pipeline: Pipeline,
    orientation: Orientation,
    options: &ReadOptions,
) -> Result<LinearFrame, ReadErrorKind> {
    let layout = pixels.layout()?;
    let [stored_width, stored_height] = layout.size;
    let cell = stored_width.max(stored_height).div_ceil(options.long_side_cells.max(1)).max(1);
    let grid = Grid {
        x: Axis::new(stored_width, cell, orientation.flip_x),
        y: Axis::new(stored_height, cell, orientation.flip_y),
    };
    let sums = match (layout.bits, layout.channels) {
        (8, 1) => grid.sum::<[u8; 1]>(pixels, &pipeline)?,
        (8, 2) => grid.sum::<[u8; 2]>(pixels, &pipeline)?,
        (8, 3) => grid.sum::<[u8; 3]>(pixels, &pipeline)?,
        (8, _) => grid.sum::<[u8; 4]>(pixels, &pipeline)?,
        (_, 1) => grid.sum::<[u16; 1]>(pixels, &pipeline)?,
        (_, 2) => grid.sum::<[u16; 2]>(pixels, &pipeline)?,
        (_, 3) => grid.sum::<[u16; 3]>(pixels, &pipeline)?,
        (_, _) => grid.sum::<[u16; 4]>(pixels, &pipeline)?,
    };
    let full = if layout.bits == 8 { u8::FULL } else { u16::FULL };
    let stored: Vec<Cell> = sums.iter().map(|sums| sums.cell(full)).collect();
    let (width, height) = orientation.upright_size(stored_width, stored_height);
    let (columns, rows) = orientation.upright_size(grid.x.cells(), grid.y.cells());
    Ok(LinearFrame {
        width,
        height,
        cell,
        columns,
        rows,
        cells: orientation.upright(stored, grid.x.cells() as usize),
        encoding: pipeline.encoding,
        bits: layout.bits,
        stored: None,
    })
}

/// How one stored axis is divided into cells.
pub(super) struct Axis {
    pixels: u32,
    cell: u32,
    /// Pixels in the first cell. Along an axis that will be mirrored the odd cell comes first, so that it
    /// ends up last.
    first: u32,
}

impl Axis {
    pub(super) fn new(pixels: u32, cell: u32, flipped: bool) -> Self {
        let odd = pixels % cell;
        let first = if flipped && odd > 0 { odd } else { cell.min(pixels) };
        Self { pixels, cell, first }
    }

    pub(super) fn cells(&self) -> u32 {
        self.pixels.div_ceil(self.cell)
    }

    /// Pixels in a full cell.
    pub(super) fn cell(&self) -> u32 {
        self.cell
    }

    /// The cell that a pixel is in.
    pub(super) fn cell_of(&self, pixel: u32) -> u32 {
        pixel.checked_sub(self.first).map_or(0, |beyond| 1 + beyond / self.cell)
    }

    /// The pixels of each cell.
    pub(super) fn ranges(&self) -> impl Iterator<Item = std::ops::Range<u32>> + '_ {
        (0..self.cells()).map(|index| {
            let start = index.checked_sub(1).map_or(0, |before| self.first + before * self.cell);
            let end = self.first.saturating_add(index.saturating_mul(self.cell)).min(self.pixels);
            start..end
        })
    }

    fn split<'a, T>(&self, line: &'a [T], stride: usize) -> impl Iterator<Item = &'a [T]> {
        let first = (self.first as usize).saturating_mul(stride).min(line.len());
        let (head, rest) = line.split_at(first);
        iter::once(head).chain(rest.chunks((self.cell as usize).saturating_mul(stride).max(1)))
    }
}

struct Grid {
    x: Axis,
    y: Axis,
}

impl Grid {
    fn sum<P: Pixel>(
        &self,
        pixels: Pixels<'_>,
        pipeline: &Pipeline,
    ) -> Result<Vec<Sums>, ReadErrorKind> {
        let width = self.x.pixels as usize;
        let columns = self.x.cells() as usize;
        let mut sums = vec![Sums::default(); columns * self.y.cells() as usize];
        if width == 0 {
            return Ok(sums);
        }
        let tables = tables::<P::Sample>(&pipeline.encoding.transfer);
        let mut converted = Converted::new(width);
        let mut rows = 0..self.y.pixels;
        pixels.each(&mut |samples| {
            let samples = P::of(P::Sample::of(samples)).chunks_exact(width);
            for (row, index) in samples.zip(&mut rows) {
                let first = self.y.cell_of(index) as usize * columns;
                let cells = sums.get_mut(first..first + columns).unwrap_or_default();
                match pipeline.converter.as_deref() {
                    None => {
                        for (run, cell) in self.x.split(row, 1).zip(cells) {
                            cell.add(run, run.iter().map(|pixel| linear(*pixel, &tables)));
                        }
                    }
                    Some(converter) => {
                        let linear =
                            converted.row(row, converter).ok_or(ReadErrorKind::Internal)?;
                        let runs = self.x.split(row, 1).zip(self.x.split(linear, 1));
                        for ((run, linear), cell) in runs.zip(cells) {
                            cell.add(run, linear.iter().copied());
                        }
                    }
                }
            }
            Ok(())
        })?;
        // A decoder that gives fewer rows than it said has not read the picture.
        if rows.is_empty() { Ok(sums) } else { Err(ReadErrorKind::Truncated { source: None }) }
    }
}

#[inline]
fn linear<P: Pixel>(pixel: P, tables: &[Arc<<P::Sample as Sample>::Table>; 3]) -> [f32; 3] {
    let [red, green, blue] = pixel.rgb();
    let [to_red, to_green, to_blue] = tables;
    [red.linear(to_red), green.linear(to_green), blue.linear(to_blue)]
}

/// Row buffers for pixels that go through a profile's tables.
struct Converted {
    encoded: Vec<f32>,
    linear: Vec<f32>,
}

impl Converted {
    fn new(width: usize) -> Self {
        Self { encoded: Vec::with_capacity(width * 3), linear: vec![0.0; width * 3] }
    }

    fn row<P: Pixel>(
        &mut self,
        row: &[P],
        converter: &TransformF32Executor,
    ) -> Option<&[[f32; 3]]> {
        let full = P::Sample::FULL as f32;
        self.encoded.clear();
        self.encoded
            .extend(row.iter().flat_map(|p| p.rgb().map(|sample| sample.code() as f32 / full)));
        // Tried out when the profile was read, and the lengths match, so this does not fail.
        converter.transform(&self.encoded, &mut self.linear).ok()?;
        Some(self.linear.as_chunks::<3>().0)
    }
}

/// What is added up over a cell.
#[derive(Clone, Default)]
struct Sums {
    linear: [f64; 3],
    /// Of the signal R + 2 G + B in codes.
    signal: u64,
    signal_squared: u64,
    clipped: u32,
    clipped_channels: [u32; 3],
    black: u32,
    counted: u32,
    pixels: u32,
}

impl Sums {
    #[inline]
    fn add<P: Pixel>(&mut self, run: &[P], linear: impl Iterator<Item = [f32; 3]>) {
        let clip = P::Sample::FULL / 255 * 253;
        let dark = P::Sample::FULL / 255;
        let mut local = Self { pixels: run.len() as u32, ..Self::default() };
        for (pixel, [red, green, blue]) in run.iter().zip(linear) {
            if !pixel.is_visible() {
                continue;
            }
            let [r, g, b] = pixel.rgb().map(Sample::code);
            local.counted += 1;
            local.linear[0] += f64::from(red);
            local.linear[1] += f64::from(green);
            local.linear[2] += f64::from(blue);
            let signal = u64::from(r + 2 * g + b);
            local.signal += signal;
            local.signal_squared += signal * signal;
            local.clipped_channels[0] += u32::from(r >= clip);
            local.clipped_channels[1] += u32::from(g >= clip);
            local.clipped_channels[2] += u32::from(b >= clip);
            local.clipped += u32::from(r.max(g).max(b) >= clip);
            local.black += u32::from(r.min(g).min(b) <= dark);
        }
        self.merge(&local);
    }

    fn merge(&mut self, other: &Self) {
        for (sum, value) in self.linear.iter_mut().zip(other.linear) {
            *sum += value;
        }
        for (sum, value) in self.clipped_channels.iter_mut().zip(other.clipped_channels) {
            *sum += value;
        }
        self.signal += other.signal;
        self.signal_squared += other.signal_squared;
        self.clipped += other.clipped;
        self.black += other.black;
        self.counted += other.counted;
        self.pixels += other.pixels;
    }

    fn cell(&self, full: u32) -> Cell {
        if self.counted == 0 {
            return Cell::default();
        }
        let count = f64::from(self.counted);
        let share = |part: u32| (f64::from(part) / count) as f32;
        let mean_signal = self.signal as f64 / count;
        let variance = (self.signal_squared as f64 / count - mean_signal * mean_signal).max(0.0);
        Cell {
            mean: self.linear.map(|sum| (sum / count) as f32),
            block_mean: None,
            spread: (variance.sqrt() / (4.0 * f64::from(full))) as f32,
            clipped: share(self.clipped),
            clipped_channels: self.clipped_channels.map(share),
            black: share(self.black),
            weight: (count / f64::from(self.pixels.max(1))) as f32,
        }
    }
}
