//! Raw samples → cells, row by row.

use super::{Area, Levels, Sensor, Shading};
use crate::colour::TransferCurve;
use crate::still::grid::Axis;
use crate::still::orientation::Orientation;
use crate::still::{Cell, Encoding, LinearFrame, RawColour, ReadOptions};

/// What is added up over one channel of a cell, as shares of saturation.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    total: f64,
    squares: f64,
    count: u32,
    clipped: u32,
    black: u32,
}

/// A sample from this share of saturation on is saturated: the same place on the encoded scale as
/// in finished pictures (253 of 255), within the noise of a real sensor's saturation.
const CLIPPED: f32 = 0.98;
/// As 1 of 255 on the encoded scale.
const BLACK: f32 = 0.000_3;

impl Sum {
    /// Adds a sample; the gain undoes the lens's falloff there, which saturation comes before.
    #[inline]
    fn add(&mut self, value: f32, gain: f32) {
        self.clipped += u32::from(value >= CLIPPED);
        self.black += u32::from(value <= BLACK);
        let value = value * gain;
        self.total += f64::from(value);
        self.squares += f64::from(value) * f64::from(value);
        self.count += 1;
    }

    fn mean(&self) -> f64 {
        self.total / f64::from(self.count.max(1))
    }

    fn variance(&self) -> f64 {
        let mean = self.mean();
        (self.squares / f64::from(self.count.max(1)) - mean * mean).max(0.0)
    }
}

/// Sums over the cells of the crop, as it is stored.
pub(in crate::still) struct Reducer<'a> {
    sensor: &'a Sensor,
    levels: &'a Levels,
    shading: &'a Shading,
    /// The shading's gains along the row in hand, for each plane; empty where there is none.
    shading_gains: [Vec<f32>; 3],
    x: Axis,
    y: Axis,
    sums: Vec<[Sum; 3]>,
    /// The cell of each column of the crop.
    cell_of_column: Vec<u32>,
}

impl<'a> Reducer<'a> {
    pub(in crate::still) fn new(
        sensor: &'a Sensor,
        levels: &'a Levels,
        shading: &'a Shading,
        orientation: Orientation,
        options: &ReadOptions,
    ) -> Self {
        let Area { width, height, .. } = sensor.crop;
        // Whole repeats of the pattern, so that every cell has every channel.
        let repeat =
            sensor.mosaic.as_ref().map_or(1, |m| common_multiple(m.rows, m.columns) as u32);
        let least = width.max(height).div_ceil(options.long_side_cells.max(1)).max(1);
        let cell = least.next_multiple_of(repeat);
        let x = Axis::new(width, cell, orientation.flip_x);
        let y = Axis::new(height, cell, orientation.flip_y);
        let sums = vec![[Sum::default(); 3]; x.cells() as usize * y.cells() as usize];
        let cell_of_column = (0..width).map(|column| x.cell_of(column)).collect();
        Self {
            sensor,
            levels,
            shading,
            shading_gains: Default::default(),
            x,
            y,
            sums,
            cell_of_column,
        }
    }

    /// Adds one stored row of the samples in `visible`; `plane` counts where each has rows of its
    /// own.
    pub(in crate::still) fn add_row(
        &mut self,
        visible: Area,
        row: u32,
        plane: usize,
        samples: &[u16],
    ) {
        let sensor = self.sensor;
        let (active, crop) = (sensor.active, sensor.crop);
        let Some(active_row) = row.checked_sub(active.y) else { return };
        let Some(crop_row) = active_row.checked_sub(crop.y) else { return };
        if crop_row >= crop.height {
            return;
        }
        let start = visible.x.max(active.x + crop.x);
        let end = (visible.x + visible.width).min(active.x + crop.x + crop.width);
        if start >= end {
            return;
        }
        let stride = if sensor.planar { 1 } else { sensor.planes };
        let skipped = (start - visible.x) as usize * stride;
        let used = samples.get(skipped..skipped + (end - start) as usize * stride);
        let levels = self.levels.row(active_row as usize);
        if !self.shading.is_empty() {
            for (plane, gains) in (0..).zip(&mut self.shading_gains).take(sensor.planes) {
                self.shading.row(active_row, plane, active, gains);
            }
        }
        let shading_gains = &self.shading_gains;
        let gain = |plane: usize, column: usize| {
            shading_gains.get(plane).and_then(|gains| gains.get(column)).copied().unwrap_or(1.0)
        };
        let columns = self.x.cells() as usize;
        let line = self.y.cell_of(crop_row) as usize * columns;
        let Some(sums) = self.sums.get_mut(line..line + columns) else { return };
        let cells = self.cell_of_column.get((start - active.x - crop.x) as usize..);
        let (Some(used), Some(cells)) = (used, cells) else { return };
        let active_columns = (start - active.x) as usize..;

        if let Some(mosaic) = &sensor.mosaic {
            let pattern_row = active_row as usize % mosaic.rows * mosaic.columns;
            let pattern = mosaic.channels.get(pattern_row..pattern_row + mosaic.columns);
            let channels = pattern.unwrap_or_default().iter().cycle();
            let channels = channels.skip(active_columns.start % mosaic.columns);
            let places = used.iter().zip(cells).zip(channels).zip(active_columns);
            for (((&sample, &cell), &channel), column) in places {
                let sum = sums.get_mut(cell as usize).and_then(|s| s.get_mut(usize::from(channel)));
                if let Some(sum) = sum {
                    sum.add(levels.linear(sample, column, 0), gain(0, column));
                }
            }
            return;
        }
        for ((pixel, &cell), column) in used.chunks(stride).zip(cells).zip(active_columns) {
            let Some(sums) = sums.get_mut(cell as usize) else { continue };
            for (n, &sample) in pixel.iter().enumerate() {
                if let Some(sum) = sums.get_mut(plane + n) {
                    let plane = plane + n;
                    sum.add(levels.linear(sample, column, plane), gain(plane, column));
                }
            }
        }
    }

    /// The picture: each channel times its gain, turned upright. `bits` is what a sample had.
    pub(in crate::still) fn finish(
        self,
        colour: &RawColour,
        bits: u8,
        orientation: Orientation,
    ) -> LinearFrame {
        let gains = colour.gains();
        let stored: Vec<Cell> = self.sums.iter().map(|sums| cell(sums, gains)).collect();
        let crop = self.sensor.crop;
        let (width, height) = orientation.upright_size(crop.width, crop.height);
        let (columns, rows) = orientation.upright_size(self.x.cells(), self.y.cells());
        LinearFrame {
            width,
            height,
            cell: self.x.cell(),
            columns,
            rows,
            cells: orientation.upright(stored, self.x.cells() as usize),
            encoding: Encoding::raw(colour.to_xyz(), colour.reference_white()),
            bits,
            stored: None,
        }
    }
}

fn cell(sums: &[Sum; 3], gains: [f64; 3]) -> Cell {
    if sums.iter().any(|sum| sum.count == 0) {
        return Cell::default();
    }
    let share = |part: u32, sum: &Sum| (f64::from(part) / f64::from(sum.count)) as f32;
    let clipped_channels = sums.each_ref().map(|sum| share(sum.clipped, sum));
    let mean: [f64; 3] = std::array::from_fn(|i| sums[i].mean() * gains[i]);
    // Of the signal (R + 2 G + B) / 4 as elsewhere, on the encoded scale: each channel's samples
    // are others than the next one's, so their variances add up.
    let variance: f64 = sums
        .iter()
        .zip(gains)
        .zip(mean)
        .zip([1.0, 2.0, 1.0])
        .map(|(((sum, gain), mean), weight)| {
            let slope = encoded_slope(mean) * gain * weight / 4.0;
            slope * slope * sum.variance()
        })
        .sum();
    Cell {
        mean: mean.map(|value| value as f32),
        block_mean: None,
        spread: variance.sqrt() as f32,
        clipped: clipped_channels.into_iter().fold(0.0, f32::max),
        clipped_channels,
        black: sums.iter().map(|sum| share(sum.black, sum)).fold(0.0, f32::max),
        weight: 1.0,
    }
}

/// How fast the encoded value rises with linear light.
fn encoded_slope(linear: f64) -> f64 {
    const STEP: f64 = 1e-4;
    let encode = |value: f64| TransferCurve::Srgb.encode(value.max(0.0));
    (encode(linear + STEP) - encode(linear)) / STEP
}

fn common_multiple(a: usize, b: usize) -> usize {
    let (mut large, mut small) = (a.max(b).max(1), a.min(b));
    while small > 0 {
        (large, small) = (small, large % small);
    }
    a.max(1) / large * b.max(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn common_multiples() {
        assert_eq!(
            [(2, 2), (6, 6), (4, 6), (3, 2)].map(|(a, b)| common_multiple(a, b)),
            [2, 6, 12, 6]
        );
    }
}
