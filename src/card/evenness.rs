//! Whether one light falls on the whole card: brightness may vary over it, chromaticity may not.

use super::banding::{Axis, Banding};
use super::cell_box::CellBox;
use super::sample::Samples;
use crate::balance::White;

/// How brightness and chromaticity vary over a card.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Evenness {
    /// From dim to bright parts (5th to 95th percentile), in stops.
    pub(crate) stops: f64,
    /// The lights at the two ends, where more than one falls on the card.
    pub(crate) ends: Option<[End; 2]>,
    /// The dimmest part and the brightest.
    pub(crate) extremes: Option<[CellBox; 2]>,
}

/// One end of a card on which two lights meet.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct End {
    /// `left`, `right`, `top` or `bottom`, as displayed.
    pub(crate) place: &'static str,
    pub(crate) white: White,
    pub(crate) cells: CellBox,
}

/// Chromaticity changes of less than this, in mired, are shading, noise and compression.
const LEAST_SHIFT: f64 = 25.0;

/// An unknown tone curve shifts dim parts against bright ones: by up to this many mired for each
/// unit of log level.
const MOST_TONE_SHIFT: f64 = 25.0;

/// Tiles in each direction.
const TILES: usize = 8;

struct Tile {
    at: [f64; 2],
    log_level: f64,
    mired: f64,
    linear: [f64; 3],
    cells: CellBox,
}

impl Evenness {
    /// `white_of` gives the light that a colour of the card stands for.
    pub(crate) fn of(
        samples: &Samples,
        banding: Option<&Banding>,
        white_of: impl Fn([f64; 3]) -> Option<White>,
    ) -> Self {
        let tiles = tiles(samples, banding, &white_of);
        let ends = ends(&tiles, &white_of).filter(|[a, b]| {
            (a.white.mired() - b.white.mired()).get().abs() > LEAST_SHIFT
                && range(&mut tone_free(&tiles)) > LEAST_SHIFT
        });
        let mut levels: Vec<f64> = tiles.iter().map(|tile| tile.log_level).collect();
        let by_level = |a: &&Tile, b: &&Tile| a.log_level.total_cmp(&b.log_level);
        let extremes = tiles.iter().min_by(by_level).zip(tiles.iter().max_by(by_level));
        Self {
            stops: range(&mut levels) / std::f64::consts::LN_2,
            ends,
            extremes: extremes.map(|(dim, bright)| [dim.cells, bright.cells]),
        }
    }
}

/// Mean colours over a grid of tiles, or of strips along bands.
fn tiles(
    samples: &Samples,
    banding: Option<&Banding>,
    white_of: &impl Fn([f64; 3]) -> Option<White>,
) -> Vec<Tile> {
    let bounds = |place: fn(usize, usize) -> usize| {
        let places = samples.cells.iter().map(|s| place(s.column, s.row));
        (places.clone().min().unwrap_or(0), places.max().unwrap_or(0))
    };
    let ((left, right), (top, bottom)) = (bounds(|c, _| c), bounds(|_, r| r));
    let axis = banding.map(|banding| banding.axis);
    let across = if axis == Some(Axis::Across) { 1 } else { TILES };
    let down = if axis == Some(Axis::Down) { 1 } else { TILES };

    let mut sums = vec![([0.0; 3], 0.0, 0_usize); across * down];
    for sample in &samples.cells {
        let i = (sample.column - left) * across / (right - left + 1);
        let j = (sample.row - top) * down / (bottom - top + 1);
        let (sum, weight, count) = &mut sums[j * across + i];
        sum.iter_mut().zip(sample.linear).for_each(|(s, v)| *s += v * sample.weight);
        *weight += sample.weight;
        *count += 1;
    }
    let full = (right - left + 1) * (bottom - top + 1) / (across * down);
    sums.into_iter()
        .enumerate()
        .filter(|(_, (_, weight, count))| *weight > 0.0 && count * 3 > full)
        .filter_map(|(index, (sum, weight, _))| {
            let linear = sum.map(|s| s / weight);
            let at = [(index % across) as f64, (index / across) as f64];
            let log_level = (linear.iter().sum::<f64>() / 3.0).max(1e-6).ln();
            let edge = |from: usize, to: usize, part: usize, parts: usize| {
                from + (to - from + 1) * part / parts
            };
            let (i, j) = (index % across, index / across);
            let cells = CellBox {
                left: edge(left, right, i, across),
                top: edge(top, bottom, j, down),
                right: edge(left, right, i + 1, across),
                bottom: edge(top, bottom, j + 1, down),
            };
            Some(Tile { at, log_level, mired: white_of(linear)?.mired().get(), linear, cells })
        })
        .collect()
}

/// The tiles' mired less what goes with their brightness, as far as a tone curve can explain it.
fn tone_free(tiles: &[Tile]) -> Vec<f64> {
    let n = tiles.len().max(1) as f64;
    let level = tiles.iter().map(|t| t.log_level).sum::<f64>() / n;
    let mired = tiles.iter().map(|t| t.mired).sum::<f64>() / n;
    let (mut together, mut alone) = (0.0, 1e-9);
    for tile in tiles {
        together += (tile.log_level - level) * (tile.mired - mired);
        alone += (tile.log_level - level).powi(2);
    }
    let slope = (together / alone).clamp(-MOST_TONE_SHIFT, MOST_TONE_SHIFT);
    tiles.iter().map(|t| t.mired - slope * (t.log_level - level)).collect()
}

/// The mean lights at the two ends of the direction in which the mired change most.
fn ends(tiles: &[Tile], white_of: &impl Fn([f64; 3]) -> Option<White>) -> Option<[End; 2]> {
    let trend = |axis: usize| {
        let n = tiles.len() as f64;
        let at = tiles.iter().map(|t| t.at[axis]).sum::<f64>() / n;
        tiles.iter().map(|t| (t.at[axis] - at) * t.mired).sum::<f64>().abs()
    };
    let (axis, places) =
        if trend(0) >= trend(1) { (0, ["left", "right"]) } else { (1, ["top", "bottom"]) };
    let first = tiles.iter().map(|t| t.at[axis]).fold(f64::INFINITY, f64::min);
    let last = tiles.iter().map(|t| t.at[axis]).fold(f64::NEG_INFINITY, f64::max);
    let end = |place: &'static str, near: f64| {
        let mut sum = [0.0; 3];
        let at_end = || tiles.iter().filter(|t| (t.at[axis] - near).abs() <= 1.0);
        for tile in at_end() {
            sum.iter_mut().zip(tile.linear).for_each(|(s, v)| *s += v);
        }
        let cells = at_end().map(|tile| tile.cells).reduce(CellBox::with)?;
        Some(End { place, white: white_of(sum)?, cells })
    };
    (last > first).then_some(())?;
    Some([end(places[0], first)?, end(places[1], last)?])
}

/// From the 5th to the 95th percentile.
fn range(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    let at = |q: f64| {
        let index = (q * values.len().saturating_sub(1) as f64).round() as usize;
        values.get(index).copied().unwrap_or(0.0)
    };
    at(0.95) - at(0.05)
}
