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
    /// The step that the means are quantised in, on the scale 0–255 of the samples.
    pub(crate) step: f32,
    /// The first coefficients, in steps of eight times that.
    values: Vec<i16>,
    /// The energy of the others; empty where it was not asked for or is not known.
    energies: Vec<f32>,
    /// Values in a row.
    stride: usize,
}

impl Plane {
    /// The mean of a block on the scale 0–255 of the samples; `None` outside the picture. Quantisation may take it a
    /// little out of that range. A block at the right or bottom edge may reach out of the picture; its mean
    /// then includes whatever the encoder put there, usually the edge pixels repeated.
    pub(crate) fn mean(&self, column: usize, row: usize) -> Option<f32> {
        self.row(&self.values, row).get(column).map(|value| self.level(*value))
    }

    /// The means of a row of blocks.
    pub(crate) fn means(&self, row: usize) -> impl Iterator<Item = f32> {
        self.row(&self.values, row).iter().map(|value| self.level(*value))
    }

    /// A block's first coefficient is eight times the mean of its samples less 128 (T.81, A.3).
    fn level(&self, value: i16) -> f32 {
        f32::from(value) * self.step + 128.0
    }

    /// About the variance within each block of a row, on the square of the samples' scale: by Parseval's theorem the
    /// energy of the coefficients but the first, here of the lowest, which hold most of it. To a third or so in
    /// busy blocks. Nothing where it is not [known](Self::has_variances).
    pub(crate) fn variances(&self, row: usize) -> impl Iterator<Item = f32> {
        // The transform is orthonormal (T.81, A.3.3): a mean square of 64 samples.
        self.row(&self.energies, row).iter().map(|energy| energy / 64.0)
    }

    /// Whether the variances are known.
    pub(crate) fn has_variances(&self) -> bool {
        !self.energies.is_empty()
    }

    fn row<'a, T>(&self, values: &'a [T], row: usize) -> &'a [T] {
        let first = row.min(self.rows) * self.stride;
        let columns = if row < self.rows { self.columns } else { 0 };
        values.get(first..first + columns).unwrap_or_default()
    }

    /// The mean of the block that holds a picture point.
    fn mean_at(&self, x: f64, y: f64) -> Option<f64> {
        let column = (x / self.block_width) as usize;
        let row = (y / self.block_height) as usize;
        self.mean(column, row).map(f64::from)
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

    /// The plane, without the blocks that fill up the coding units.
    pub(super) fn into_plane(self, frame: &Frame, component: &Component) -> Plane {
        let size = |most: u8, factor: u8| 8.0 * f64::from(most) / f64::from(factor);
        Plane {
            columns: component.columns,
            rows: component.rows,
            block_width: size(frame.most_across, component.across),
            block_height: size(frame.most_down, component.down),
            step: f32::from(self.step.unwrap_or(0)) / 8.0,
            values: self.values,
            energies: self.energies,
            stride: self.stride,
        }
    }
}
