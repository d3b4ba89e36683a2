//! A frame as the estimators see it: linear sRGB, and which cells are evidence.

use super::caption;
use crate::colour::Matrix3;
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
    pub rgb: Vec<[f32; 3]>,
    /// Whether a cell's colour means anything: not clipped, not black, no transparency.
    pub good: Vec<bool>,
}

impl Picture {
    pub(super) fn of(frame: &LinearFrame) -> Self {
        let [columns, rows] = within_borders(frame);
        let (width, height) = (columns.len(), rows.len());
        let cells = rows.clone().flat_map(|row| {
            let first = row * frame.columns as usize;
            frame.cells.get(first + columns.start..first + columns.end).unwrap_or_default()
        });
        let to_srgb = frame.encoding.to_linear_srgb();
        let close = |(a, b): (&f64, &f64)| (a - b).abs() < 1e-3;
        let is_srgb =
            to_srgb.0.as_flattened().iter().zip(Matrix3::IDENTITY.0.as_flattened()).all(close);
        let colour = |cell: &Cell| {
            if is_srgb {
                cell.mean
            } else {
                to_srgb.apply(cell.mean.map(f64::from)).map(|v| v as f32)
            }
        };
        let (mut rgb, mut good) =
            (Vec::with_capacity(width * height), Vec::with_capacity(width * height));
        for cell in cells {
            let colour = colour(cell);
            rgb.push(colour);
            good.push(
                cell.weight > 0.99
                    && cell.clipped <= CLIPPED
                    && cell.black <= BLACK
                    && colour.iter().all(|value| value.is_finite()),
            );
        }
        caption::exclude(&rgb, &mut good, width);
        Self { columns: width, rows: height, rgb, good }
    }

    /// Whether it has no colour at all, as what was shot or made black and white.
    pub(super) fn is_grey(&self) -> bool {
        self.rgb.iter().all(|rgb| is_neutral(*rgb))
    }

    /// The colours of the good cells that are above the noise, with the cells' numbers.
    pub(super) fn colours(&self) -> impl Iterator<Item = (usize, [f32; 3])> {
        let cells = self.rgb.iter().zip(&self.good).enumerate();
        cells
            .filter(|(_, (rgb, good))| **good && rgb.iter().all(|value| *value > FLOOR))
            .map(|(index, (rgb, _))| (index, *rgb))
    }

    /// Half the size: means of two by two cells, good where all four are.
    pub(super) fn halved(&self) -> Self {
        let (columns, rows) = (self.columns / 2, self.rows / 2);
        let mut half = Self { columns, rows, rgb: Vec::new(), good: Vec::new() };
        half.rgb.reserve(columns * rows);
        half.good.reserve(columns * rows);
        if columns == 0 {
            return half;
        }
        let pairs =
            self.rgb.chunks_exact(2 * self.columns).zip(self.good.chunks_exact(2 * self.columns));
        for (rgb, good) in pairs {
            let (upper, lower) = rgb.split_at(self.columns);
            let colours = upper.as_chunks::<2>().0.iter().zip(lower.as_chunks::<2>().0);
            half.rgb.extend(colours.map(|([a, b], [c, d])| {
                std::array::from_fn(|i| 0.25 * (a[i] + b[i] + c[i] + d[i]))
            }));
            let (upper, lower) = good.split_at(self.columns);
            let goodness = upper.as_chunks::<2>().0.iter().zip(lower.as_chunks::<2>().0);
            half.good.extend(goodness.map(|([a, b], [c, d])| *a && *b && *c && *d));
        }
        half
    }
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
