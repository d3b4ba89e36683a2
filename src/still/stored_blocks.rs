//! The colours of a picture as its JPEG stores them, block by block.

use super::jpeg_blocks::{BlockMeans, ColourModel, Plane};
use super::orientation::Orientation;

/// The mean colour of every block of a JPEG as it is stored: luma and the two colour differences, before any
/// rounding to whole levels. Only of pictures that store colour differences.
///
/// A stored difference is a whole number of steps, so the true one lies within half a step of it.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct StoredBlocks {
    /// The steps that the blue and the red difference are stored in, in levels of 8 bits.
    pub steps: [f32; 2],
    /// Width and height of a block in the upright picture, in pixels.
    pub size: [f32; 2],
    /// The blocks that lie wholly in the picture, in no particular order.
    pub blocks: Vec<StoredBlock>,
}

/// One block.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct StoredBlock {
    /// Its middle in the upright picture, in pixels.
    pub middle: [f32; 2],
    /// Mean luma, 0–255 (Y′ of ITU-T T.871).
    pub luma: f32,
    /// Mean blue and red differences, 0 where neutral (C_B − 128 and C_R − 128 of ITU-T T.871).
    pub differences: [f32; 2],
}

impl StoredBlocks {
    /// `None` where the picture does not store colour differences, or not both alike.
    pub(super) fn of(means: &BlockMeans, orientation: Orientation) -> Option<Self> {
        let (ColourModel::YCbCr, [luma, blue, red]) = (means.colour, means.components.as_slice())
        else {
            return None;
        };
        let alike = (blue.columns, blue.rows, blue.block_width, blue.block_height)
            == (red.columns, red.rows, red.block_width, red.block_height);
        if !alike {
            return None;
        }
        let stored = [f64::from(means.width), f64::from(means.height)];
        let mut blocks = Vec::with_capacity(blue.columns * blue.rows);
        for row in 0..blue.rows {
            for column in 0..blue.columns {
                let from = [column as f64 * blue.block_width, row as f64 * blue.block_height];
                let to = [from[0] + blue.block_width, from[1] + blue.block_height];
                if to[0] > stored[0] || to[1] > stored[1] {
                    continue;
                }
                let (Some(luma), Some(blue), Some(red)) =
                    (mean_within(luma, from, to), blue.mean(column, row), red.mean(column, row))
                else {
                    continue;
                };
                let middle = [0, 1].map(|i| f64::midpoint(from[i], to[i]));
                blocks.push(StoredBlock {
                    middle: orientation.upright_place(middle, stored).map(|v| v as f32),
                    luma: luma as f32,
                    differences: [blue - 128.0, red - 128.0],
                });
            }
        }
        let mut size = [blue.block_width as f32, blue.block_height as f32];
        if orientation.transpose {
            size.reverse();
        }
        Some(Self { steps: [blue.step, red.step], size, blocks })
    }
}

/// Mean of the blocks of a plane whose middles lie in an area of the stored picture.
fn mean_within(plane: &Plane, from: [f64; 2], to: [f64; 2]) -> Option<f64> {
    let range = |from: f64, to: f64, size: f64, most: usize| {
        let first = (from / size).round() as usize;
        first..((to / size).round() as usize).clamp(first + 1, most.max(first + 1))
    };
    let columns = range(from[0], to[0], plane.block_width, plane.columns);
    let (mut sum, mut count) = (0.0, 0.0);
    for row in range(from[1], to[1], plane.block_height, plane.rows) {
        for column in columns.clone() {
            sum += f64::from(plane.mean(column, row)?);
            count += 1.0;
        }
    }
    Some(sum / count)
}
