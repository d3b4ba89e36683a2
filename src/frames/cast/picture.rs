//! A frame as the estimators see it: linear sRGB, and which cells are evidence.

use std::array;

use super::caption;
use crate::channels::{Channels, each};
use crate::colour::Matrix3;
use crate::frames::kept::kept;
use crate::still::{Cell, LinearFrame, is_neutral};

/// More of a cell than this at the top of the scale, and its colour is lost.
const CLIPPED: f32 = 0.02;
/// The same at the bottom, where it costs less.
const BLACK: f32 = 0.5;
/// Below this a channel is noise and rounding.
const FLOOR: f32 = 0.0015;

/// A picture in linear sRGB, without its flat borders.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Picture {
    pub columns: usize,
    pub rows: usize,
    /// Row by row.
    pub channels: Channels,
    /// Whether a cell's colour means anything: not clipped, not black, no transparency.
    pub good: Vec<bool>,
}

impl Picture {
    pub(super) fn of(frame: &LinearFrame) -> Self {
        let [columns, rows] = within_borders(frame);
        let (width, height) = (columns.len(), rows.len());
        let lines = rows.map(|row| {
            let first = row * frame.columns as usize;
            frame.cells.get(first + columns.start..first + columns.end).unwrap_or_default()
        });
        let mut channels: Channels = array::from_fn(|_| Vec::with_capacity(width * height));
        let mut good = Vec::with_capacity(width * height);
        for cells in lines {
            for (number, channel) in channels.iter_mut().enumerate() {
                channel.extend(cells.iter().map(|cell| cell.mean[number]));
            }
            good.extend(cells.iter().map(is_good));
        }
        let to_srgb = frame.encoding.to_linear_srgb();
        let close = |(a, b): (&f64, &f64)| (a - b).abs() < 1e-3;
        let mut terms = to_srgb.0.as_flattened().iter().zip(Matrix3::IDENTITY.0.as_flattened());
        if !terms.all(close) {
            for at in 0..good.len() {
                let colour = channels.each_ref().map(|channel| f64::from(channel[at]));
                for (channel, value) in channels.iter_mut().zip(to_srgb.apply(colour)) {
                    channel[at] = value as f32;
                }
            }
        }
        caption::exclude(&channels, &mut good, width);
        Self { columns: width, rows: height, channels, good }
    }

    /// Whether it has no colour at all, as what was shot or made black and white.
    pub(super) fn is_grey(&self) -> bool {
        each(&self.channels).all(is_neutral)
    }

    /// The good cells that are above the noise.
    pub(super) fn telling(&self) -> Vec<u32> {
        let lit = |[red, green, blue]: [f32; 3]| (red > FLOOR) & (green > FLOOR) & (blue > FLOOR);
        let cells = each(&self.channels).zip(&self.good);
        places(cells.map(|(rgb, good)| good & lit(rgb)))
    }

    /// Half the size: means of two by two cells, good where all four are.
    pub(super) fn halved(&self) -> Self {
        let (columns, rows) = (self.columns / 2, self.rows / 2);
        let good = pairs(&self.good, self.columns, |[a, b], [c, d]| a & b & c & d);
        let mean = |[a, b]: [f32; 2], [c, d]: [f32; 2]| 0.25 * (a + b + c + d);
        let channels = self.channels.each_ref().map(|channel| pairs(channel, self.columns, mean));
        Self { columns, rows, channels, good }
    }
}

/// One value of every two by two, in rows of so many `columns`.
fn pairs<T: Copy>(values: &[T], columns: usize, one: impl Fn([T; 2], [T; 2]) -> T) -> Vec<T> {
    let mut all = Vec::with_capacity(values.len() / 4);
    for rows in values.chunks_exact((2 * columns).max(1)) {
        let (upper, lower) = rows.split_at(columns);
        let pairs = upper.as_chunks::<2>().0.iter().zip(lower.as_chunks::<2>().0);
        all.extend(pairs.map(|(upper, lower)| one(*upper, *lower)));
    }
    all
}

/// The numbers of those that count.
pub(super) fn places(counts: impl Iterator<Item = bool>) -> Vec<u32> {
    kept(0.., &counts.collect::<Vec<_>>())
}

/// Whether a cell's colour means anything.
fn is_good(cell: &Cell) -> bool {
    (cell.weight > 0.99)
        & (cell.clipped <= CLIPPED)
        & (cell.black <= BLACK)
        & cell.mean.iter().fold(true, |all, value| all & value.is_finite())
}

/// The columns and the rows within flat borders: bars of one colour that the frame was padded with.
fn within_borders(frame: &LinearFrame) -> [std::ops::Range<usize>; 2] {
    let (columns, rows) = (frame.columns as usize, frame.rows as usize);
    let at = |column: usize, row: usize| frame.cells.get(row * columns + column);
    let flat_row = |row: usize| is_flat((0..columns).filter_map(|column| at(column, row)));
    let flat_column = |column: usize| is_flat((0..rows).filter_map(|row| at(column, row)));
    [inner(columns, flat_column), inner(rows, flat_row)]
}

/// What is left of a side when its flat ends are cut off; all of it where that is less than half.
fn inner(length: usize, is_flat: impl Fn(usize) -> bool) -> std::ops::Range<usize> {
    let start = (0..length).take_while(|index| is_flat(*index)).count();
    let end = length - (start..length).rev().take_while(|index| is_flat(*index)).count();
    // The cells at a bar's edge are of both.
    let start = if start > 0 { start + 1 } else { 0 };
    let end = if end < length { end.saturating_sub(1) } else { end };
    if end.saturating_sub(start) * 2 < length { 0..length } else { start..end }
}

/// Whether cells are of one colour, as a drawn bar is and no photographed surface.
fn is_flat<'a>(mut cells: impl Iterator<Item = &'a Cell>) -> bool {
    /// Half a level of 255 within a cell, two levels between cells.
    const WITHIN: f32 = 0.002;
    const BETWEEN: f32 = 0.004;
    let Some(first) = cells.next() else { return false };
    let flat = |cell: &Cell| {
        let steps = cell.mean.iter().zip(first.mean).map(|(value, first)| (value - first).abs());
        cell.spread < WITHIN && steps.fold(0.0, f32::max) < BETWEEN
    };
    flat(first) && cells.all(flat)
}
