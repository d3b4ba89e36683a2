//! Whether one light falls on the whole card: brightness may vary over it, chromaticity may not.

use super::banding::Banding;
use super::cell_box::CellBox;
use super::profile::Axis;
use super::sample::Samples;
use super::two_parts::{mean, two_parts};
use crate::balance::White;

/// How brightness and chromaticity vary over a card.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Evenness {
    /// From dim to bright parts (5th to 95th percentile), in stops.
    pub(crate) stops: f64,
    /// The lights at the two ends, or in the middle and round it, where more than one falls on the card.
    pub(crate) ends: Option<[End; 2]>,
    /// Whether these lie opposite each other, as an edge between two lights has it.
    pub(crate) one_way: bool,
    /// How far the light changes over the card, in mired, beside what a tone curve explains (5th to 95th
    /// percentile).
    pub(crate) drift: f64,
    /// The dimmest part and the brightest.
    pub(crate) extremes: Option<[CellBox; 2]>,
}

/// One part of a card on which two lights meet.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct End {
    /// `left`, `right`, `top` or `bottom`, a corner such as `top left`, or what [`MIDDLE`] and the like call it, as
    /// displayed.
    pub(crate) place: &'static str,
    pub(crate) white: White,
    pub(crate) cells: CellBox,
}

/// Chromaticity changes of less than this, in mired, are shading, noise and compression.
pub(super) const LEAST_SHIFT: f64 = 25.0;

/// The same in Duv: about as much to the eye.
const LEAST_TINT: f64 = 0.0075;

/// An unknown tone curve shifts dim parts against bright ones: for each unit of log level by up to as much as
/// counts as a shift, and by up to this share of how far the parts are from what the balance makes neutral, since a curve
/// leaves neutral neutral and makes a colour stronger or weaker.
const MOST_TONE_SHARE: f64 = 0.25;

/// Tiles in each direction.
const TILES: usize = 8;

struct Tile {
    at: [f64; 2],
    log_level: f64,
    white: White,
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
        let neutral = white_of([1.0; 3]);
        let [hue, tint] = [Shift::HUE, Shift::TINT].map(|shift| {
            let neutral = neutral.map_or(0.0, |white| (shift.of)(&white));
            let free = tone_free(&tiles, &shift, neutral);
            let spread = range(&mut free.clone());
            (shift, free, spread)
        });
        let differ = |(shift, _, spread): &(Shift, Vec<f64>, f64), [a, b]: &[End; 2]| {
            ((shift.of)(&a.white) - (shift.of)(&b.white)).abs() > shift.least
                && *spread > shift.least
        };
        let opposite = [&hue, &tint]
            .into_iter()
            .find_map(|of| ends(&tiles, &of.0, &white_of).filter(|ends| differ(of, ends)));
        let one_way = opposite.is_some();
        let ends = opposite.or_else(|| {
            [&hue, &tint].into_iter().find_map(|of| {
                let [low, high] = two_parts(&of.1)?;
                let apart = mean(&of.1, &high) - mean(&of.1, &low);
                let parts = named_parts(&tiles, [&low, &high], &white_of)?;
                (apart > of.0.least && differ(of, &parts)).then_some(parts)
            })
        });
        let mut levels: Vec<f64> = tiles.iter().map(|tile| tile.log_level).collect();
        let by_level = |a: &&Tile, b: &&Tile| a.log_level.total_cmp(&b.log_level);
        let extremes = tiles.iter().min_by(by_level).zip(tiles.iter().max_by(by_level));
        Self {
            stops: range(&mut levels) / std::f64::consts::LN_2,
            ends,
            one_way,
            drift: hue.2,
            extremes: extremes.map(|(dim, bright)| [dim.cells, bright.cells]),
        }
    }
}

/// Mean colours over a grid of tiles; under bands over tiles of whole bands.
fn tiles(
    samples: &Samples,
    banding: Option<&Banding>,
    white_of: &impl Fn([f64; 3]) -> Option<White>,
) -> Vec<Tile> {
    let cut = |axis: Axis| {
        let lines = samples.cells.iter().map(|sample| axis.line(sample));
        let first = lines.clone().min().unwrap_or(0);
        let end = lines.max().map_or(first, |last| last + 1);
        match banding.filter(|banding| banding.axis == axis) {
            Some(banding) => Cut::of_bands(first, end, banding.period),
            None => Cut { first, end, size: (end - first) as f64 / TILES as f64, parts: TILES },
        }
    };
    let (columns, rows) = (cut(Axis::Across), cut(Axis::Down));

    let mut sums = vec![([0.0; 3], 0.0, 0_usize); columns.parts * rows.parts];
    for sample in &samples.cells {
        let (Some(i), Some(j)) = (columns.part(sample.column), rows.part(sample.row)) else {
            continue;
        };
        let (sum, weight, count) = &mut sums[j * columns.parts + i];
        sum.iter_mut().zip(sample.linear).for_each(|(s, v)| *s += v * sample.weight);
        *weight += sample.weight;
        *count += 1;
    }
    let full = (columns.size * rows.size) as usize;
    sums.into_iter()
        .enumerate()
        .filter(|(_, (_, weight, count))| *weight > 0.0 && count * 3 > full)
        .filter_map(|(index, (sum, weight, _))| {
            let linear = sum.map(|s| s / weight);
            let (i, j) = (index % columns.parts, index / columns.parts);
            let log_level = (linear.iter().sum::<f64>() / 3.0).max(1e-6).ln();
            let ([left, right], [top, bottom]) = (columns.lines(i), rows.lines(j));
            Some(Tile {
                at: [i as f64, j as f64],
                log_level,
                white: white_of(linear)?,
                linear,
                cells: CellBox { left, top, right, bottom },
            })
        })
        .collect()
}

/// How lines are cut into parts of equal size.
struct Cut {
    first: usize,
    /// The first line beyond the parts.
    end: usize,
    /// Lines in a part.
    size: f64,
    parts: usize,
}

impl Cut {
    /// Into parts of as few whole bands as leave no more parts than there are tiles.
    fn of_bands(first: usize, end: usize, period: f64) -> Self {
        let whole_bands = ((end - first) as f64 / period).floor().max(1.0);
        let bands = (whole_bands / TILES as f64).ceil();
        let parts = (whole_bands / bands).floor();
        let size = bands * period;
        let end = end.min(first + (parts * size).ceil() as usize);
        Self { first, end, size, parts: parts as usize }
    }

    /// The part that a line lies in, if it is in one.
    fn part(&self, line: usize) -> Option<usize> {
        let part = ((line - self.first) as f64 / self.size) as usize;
        (part < self.parts).then_some(part)
    }

    /// A part's first line and the first beyond it.
    fn lines(&self, part: usize) -> [usize; 2] {
        let edge = |part: usize| (self.first + (part as f64 * self.size) as usize).min(self.end);
        [edge(part), edge(part + 1)]
    }
}

/// One of the ways in which lights differ.
#[derive(Clone, Copy)]
struct Shift {
    of: fn(&White) -> f64,
    /// Less than this is shading, noise and compression.
    least: f64,
}

impl Shift {
    const HUE: Self = Self { of: |white| white.mired().get(), least: LEAST_SHIFT };
    const TINT: Self = Self { of: |white| white.duv.get(), least: LEAST_TINT };
}

/// The tiles' mired or Duv less what goes with their brightness, as far as a tone curve can explain it that
/// leaves this light neutral.
fn tone_free(tiles: &[Tile], shift: &Shift, neutral: f64) -> Vec<f64> {
    let n = tiles.len().max(1) as f64;
    let value = |tile: &Tile| (shift.of)(&tile.white);
    let level = tiles.iter().map(|t| t.log_level).sum::<f64>() / n;
    let middle = tiles.iter().map(value).sum::<f64>() / n;
    let (mut together, mut alone) = (0.0, 1e-9);
    for tile in tiles {
        together += (tile.log_level - level) * (value(tile) - middle);
        alone += (tile.log_level - level).powi(2);
    }
    let colour = least_colour(tiles, level, |tile| value(tile) - neutral);
    let most = shift.least.min(MOST_TONE_SHARE * colour);
    let slope = (together / alone).clamp(-most, most);
    tiles.iter().map(|tile| value(tile) - slope * (tile.log_level - level)).collect()
}

/// How far the parts above and below this level are from neutral, the nearer of the two; none if neutral lies
/// between them.
fn least_colour(tiles: &[Tile], level: f64, from_neutral: impl Fn(&Tile) -> f64) -> f64 {
    let (bright, dim): (Vec<&Tile>, _) = tiles.iter().partition(|tile| tile.log_level > level);
    let far = |part: Vec<&Tile>| {
        part.iter().map(|tile| from_neutral(tile)).sum::<f64>() / part.len().max(1) as f64
    };
    let (bright, dim) = (far(bright), far(dim));
    if bright * dim > 0.0 { bright.abs().min(dim.abs()) } else { 0.0 }
}

/// The mean lights at the two ends of the direction in which they change most.
fn ends(
    tiles: &[Tile],
    shift: &Shift,
    white_of: &impl Fn([f64; 3]) -> Option<White>,
) -> Option<[End; 2]> {
    /// Within 22.5° of an axis the direction is the axis.
    const ASIDE: f64 = 0.414;
    let trend = |axis: usize| {
        let n = tiles.len() as f64;
        let at = tiles.iter().map(|t| t.at[axis]).sum::<f64>() / n;
        tiles.iter().map(|t| (t.at[axis] - at) * (shift.of)(&t.white)).sum::<f64>()
    };
    let (across, down) = (trend(0), trend(1));
    let is_slanting = across.abs().min(down.abs()) > ASIDE * across.abs().max(down.abs());
    let (direction, places) = match () {
        () if is_slanting && across * down > 0.0 => ([1.0, 1.0], ["top left", "bottom right"]),
        () if is_slanting => ([1.0, -1.0], ["bottom left", "top right"]),
        () if across.abs() >= down.abs() => ([1.0, 0.0], ["left", "right"]),
        () => ([0.0, 1.0], ["top", "bottom"]),
    };
    let along = |tile: &Tile| direction[0] * tile.at[0] + direction[1] * tile.at[1];
    let first = tiles.iter().map(along).fold(f64::INFINITY, f64::min);
    let last = tiles.iter().map(along).fold(f64::NEG_INFINITY, f64::max);
    // A quarter of the card.
    let reach = ((last - first) / 4.0).floor();
    let end = |place: &'static str, near: f64| {
        let mut sum = [0.0; 3];
        let at_end = || tiles.iter().filter(|tile| (along(tile) - near).abs() <= reach);
        for tile in at_end() {
            sum.iter_mut().zip(tile.linear).for_each(|(s, v)| *s += v);
        }
        let cells = at_end().map(|tile| tile.cells).reduce(CellBox::with)?;
        Some(End { place, white: white_of(sum)?, cells })
    };
    (last > first).then_some(())?;
    Some([end(places[0], first)?, end(places[1], last)?])
}

/// What a part of a card is called that lies within another, and that other.
pub(super) const MIDDLE: [&str; 2] = ["middle", "edge"];

/// What two parts are called that do not.
const UNEQUAL: [&str; 2] = ["smaller part", "larger part"];

/// The two parts with their lights, the one in the middle first, or else the smaller one.
fn named_parts(
    tiles: &[Tile],
    parts: [&[usize]; 2],
    white_of: &impl Fn([f64; 3]) -> Option<White>,
) -> Option<[End; 2]> {
    /// So much nearer to the card's middle is what lies there.
    const NEARER: f64 = 0.8;
    let n = tiles.len().max(1) as f64;
    let middle = [0, 1].map(|axis| tiles.iter().map(|tile| tile.at[axis]).sum::<f64>() / n);
    let out = |part: &[usize]| {
        let far = |&tile: &usize| {
            let [x, y] = tiles[tile].at;
            (x - middle[0]).hypot(y - middle[1])
        };
        part.iter().map(far).sum::<f64>() / part.len().max(1) as f64
    };
    let far = parts.map(out);
    let is_within = far[0].min(far[1]) < NEARER * far[0].max(far[1]);
    let first = if is_within {
        usize::from(far[1] < far[0])
    } else {
        usize::from(parts[1].len() < parts[0].len())
    };
    let end = |place: &'static str, part: &[usize]| {
        let mut sum = [0.0; 3];
        for &tile in part {
            sum.iter_mut().zip(tiles[tile].linear).for_each(|(s, v)| *s += v);
        }
        let cells = part.iter().map(|&tile| tiles[tile].cells).reduce(CellBox::with)?;
        Some(End { place, white: white_of(sum)?, cells })
    };
    let [inner, outer] = if is_within { MIDDLE } else { UNEQUAL };
    Some([end(inner, parts[first])?, end(outer, parts[1 - first])?])
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
