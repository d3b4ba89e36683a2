//! What of a picture must be kept to say whether it bears a correction.

use crate::still::{Cell, LinearFrame};

/// Colours from all over a picture, in linear sRGB: some kilobytes that stand for it when its
/// correction is known, which for a group is only after its last frame was read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ColourSample {
    pub(super) colours: Vec<[f32; 3]>,
    pub(super) blown: f32,
}

impl ColourSample {
    /// Colours kept of a picture.
    const MOST: usize = 512;
    /// A cell with more of its pixels at the top of the scale in all channels is burnt out.
    const BURNT_OUT: f32 = 0.5;

    /// The sample of a frame: cells by a sequence that spreads evenly over it however many columns
    /// it has (multiples of the golden ratio).
    #[must_use]
    pub fn of(frame: &LinearFrame) -> Self {
        const GOLDEN: f64 = 0.618_033_988_749_894_9;
        let to_srgb = frame.encoding.to_linear_srgb();
        let count = frame.cells.len();
        let visible = |cell: &&Cell| cell.weight > 0.5;
        let places: Vec<usize> = if count <= Self::MOST {
            (0..count).collect()
        } else {
            let place = |k: usize| ((k as f64 * GOLDEN).fract() * count as f64) as usize;
            (0..Self::MOST).map(place).collect()
        };
        let cells: Vec<&Cell> =
            places.iter().filter_map(|place| frame.cells.get(*place)).filter(visible).collect();
        let (blown, kept): (Vec<&Cell>, Vec<&Cell>) = cells
            .iter()
            .partition(|cell| cell.clipped_channels.iter().all(|share| *share > Self::BURNT_OUT));
        let colour = |cell: &Cell| to_srgb.apply(cell.mean.map(f64::from)).map(|v| v as f32);
        Self {
            colours: kept.into_iter().map(colour).collect(),
            blown: blown.len() as f32 / cells.len().max(1) as f32,
        }
    }

    /// Colours in linear sRGB, without those that are burnt out in all channels.
    #[must_use]
    pub fn colours(&self) -> &[[f32; 3]] {
        &self.colours
    }

    /// Share of the picture that is burnt out, 0–1.
    #[must_use]
    pub fn blown(&self) -> f64 {
        f64::from(self.blown)
    }
}
