//! The result: planes of block means.

use super::colour::{ColourModel, rgb_from_ycbcr};
use super::frame::{Component, Frame};

/// The block means of a JPEG, per component, before any rounding.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct BlockMeans {
    /// Picture pixels across, as stored: the camera's orientation is not applied.
    pub(crate) width: u32,
    /// Picture pixels down.
    pub(crate) height: u32,
    /// One plane a component: one if the picture is grey, else three.
    pub(crate) components: Vec<Plane>,
    /// What the components stand for.
    pub(crate) colour: ColourModel,
    /// The offset in the file at which reading stopped: behind the scan with the last mean.
    pub(crate) end: usize,
}

/// The block means of one component.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Plane {
    /// Blocks across that hold picture. Blocks that only fill up a coding unit are cut off.
    pub(crate) columns: usize,
    /// Blocks down that hold picture.
    pub(crate) rows: usize,
    /// Picture pixels that one block covers across: 8, or a multiple where the component is sampled more
    /// coarsely than the finest one (16 for the colour differences in 4:2:0).
    pub(crate) block_width: f64,
    /// Picture pixels that one block covers down.
    pub(crate) block_height: f64,
    /// Means on the scale 0–255 of the samples, row by row, `columns` to a row. Quantisation may take them a
    /// little out of that range. A block at the right or bottom edge may reach out of the picture; its mean
    /// then includes whatever the encoder put there, usually the edge pixels repeated.
    pub(crate) means: Vec<f32>,
    /// The step that the means are quantised in, on the same scale.
    pub(crate) step: f32,
    /// About the variance within each block, on the square of that scale: by Parseval's theorem the energy of
    /// the coefficients but the first, here of the lowest, which hold most of it. To a third or so in busy
    /// blocks. Empty where it was not asked for or is not known.
    pub(crate) variances: Vec<f32>,
}

impl Plane {
    /// The mean of the block that holds a picture point.
    fn mean_at(&self, x: f64, y: f64) -> Option<f64> {
        let column = (x / self.block_width) as usize;
        let row = (y / self.block_height) as usize;
        if column >= self.columns {
            return None;
        }
        self.means.get(row * self.columns + column).map(|mean| f64::from(*mean))
    }
}

impl BlockMeans {
    /// Mean encoded RGB around a picture point, from the block that each component has there.
    ///
    /// `x` and `y` are in pixels from the top left corner of the picture as stored; pixel (0, 0) reaches from
    /// 0 to 1. `None` outside the picture.
    ///
    /// The result is on the scale 0–1 and may leave it slightly: nothing is clipped. Where the components'
    /// blocks differ in size, so do the areas averaged; and it is the encoded values that are averaged, not
    /// light. Both matter little where the picture is flat, which is where to ask.
    #[must_use]
    pub(crate) fn rgb_at(&self, x: f64, y: f64) -> Option<[f64; 3]> {
        let is_inside = |at: f64, size: u32| (0.0..f64::from(size)).contains(&at);
        if !is_inside(x, self.width) || !is_inside(y, self.height) {
            return None;
        }
        let rgb = match (self.colour, self.components.as_slice()) {
            (ColourModel::Grey, [grey]) => [grey.mean_at(x, y)?; 3],
            (colour, [first, second, third]) => {
                let means = [first.mean_at(x, y)?, second.mean_at(x, y)?, third.mean_at(x, y)?];
                if colour == ColourModel::Rgb { means } else { rgb_from_ycbcr(means) }
            }
            _ => return None,
        };
        Some(rgb.map(|value| value / 255.0))
    }
}

/// The first coefficients of one component, still quantised.
#[derive(Debug)]
pub(super) struct Coefficients {
    /// Row by row, with the blocks that fill up the coding units.
    pub(super) values: Vec<i16>,
    /// The energy of the others, in the same places; empty where it is not wanted.
    pub(super) energies: Vec<f32>,
    /// Which others are not zero, in the same places; empty where nobody asks.
    pub(super) nonzero: Vec<u64>,
    /// Values in a row.
    pub(super) stride: usize,
    /// The quantisation step, once a scan has come.
    pub(super) step: Option<u16>,
    /// The lowest bit that is known: 0 when all are, `None` before the first scan.
    pub(super) lowest_bit: Option<u8>,
}

impl Coefficients {
    /// Room for a component.
    pub(super) fn new(frame: &Frame, component: &Component) -> Self {
        let (units_across, units_down) = frame.units();
        let stride = units_across * usize::from(component.across);
        let rows = units_down * usize::from(component.down);
        Self {
            values: vec![0; stride * rows],
            energies: Vec::new(),
            nonzero: Vec::new(),
            stride,
            step: None,
            lowest_bit: None,
        }
    }

    /// Makes room for the energies.
    pub(super) fn want_energies(&mut self) {
        self.energies.resize(self.values.len(), 0.0);
    }

    /// Makes room for what is known of the other coefficients.
    pub(super) fn want_nonzero(&mut self) {
        self.nonzero.resize(self.values.len(), 0);
    }

    /// Whether every bit has come.
    pub(super) fn is_complete(&self) -> bool {
        self.lowest_bit == Some(0)
    }

    /// The means. A block's first coefficient is eight times the mean of its samples less 128 (T.81, A.3).
    pub(super) fn into_plane(self, frame: &Frame, component: &Component) -> Plane {
        let scale = f32::from(self.step.unwrap_or(0)) / 8.0;
        let mut means = Vec::with_capacity(component.columns * component.rows);
        for row in self.values.chunks_exact(self.stride.max(1)).take(component.rows) {
            let picture = row.iter().take(component.columns);
            means.extend(picture.map(|value| f32::from(*value) * scale + 128.0));
        }
        // The transform is orthonormal (T.81, A.3.3): a mean square of 64 samples.
        let energies = self.energies.chunks_exact(self.stride.max(1)).take(component.rows);
        let picture = energies.flat_map(|row| row.iter().take(component.columns));
        let variances = picture.map(|energy| energy / 64.0).collect();
        let size = |most: u8, factor: u8| 8.0 * f64::from(most) / f64::from(factor);
        Plane {
            columns: component.columns,
            rows: component.rows,
            block_width: size(frame.most_across, component.across),
            block_height: size(frame.most_down, component.down),
            means,
            step: scale,
            variances,
        }
    }
}
