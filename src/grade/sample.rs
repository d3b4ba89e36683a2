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

    /// The sample as bytes, for whoever keeps it beside a frame's record.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        let values = std::iter::once(&self.blown).chain(self.colours.iter().flatten());
        values.flat_map(|value| value.to_le_bytes()).collect()
    }

    /// The sample that [`ColourSample::to_bytes`] gave; `None` of anything else.
    #[must_use]
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let (blown, colours) = bytes.split_first_chunk::<4>()?;
        let blown = f32::from_le_bytes(*blown);
        let (values, []) = colours.as_chunks::<4>() else { return None };
        let values: Vec<f32> = values.iter().map(|value| f32::from_le_bytes(*value)).collect();
        let (colours, []) = values.as_chunks::<3>() else { return None };
        let sound = colours.len() <= Self::MOST && values.iter().all(|value| value.is_finite());
        let sound = sound && (0.0..=1.0).contains(&blown);
        sound.then(|| Self { colours: colours.to_vec(), blown })
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sample_comes_back_from_its_bytes_as_it_was() {
        let sample =
            ColourSample { colours: vec![[0.1, 0.2, 0.3], [1.5, -0.01, 0.0]], blown: 0.25 };
        let bytes = sample.to_bytes();
        assert_eq!(ColourSample::from_bytes(&bytes), Some(sample));
        assert_eq!(
            ColourSample::from_bytes(&ColourSample::default().to_bytes()),
            Some(ColourSample::default())
        );
        for wrong in [&bytes[1..], &bytes[..bytes.len() - 4], &[0; 2], &[255; 16], &[]] {
            assert_eq!(ColourSample::from_bytes(wrong), None);
        }
    }
}
