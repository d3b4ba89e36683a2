//! A sensor's samples → cells, whatever the file was: what each sample is of, its levels, its mean.
//!
//! No demosaic: a cell is a mean of each channel's own samples.

mod levels;
mod reduce;
mod shading;

pub(super) use levels::{LevelTags, Levels};
pub(super) use reduce::Reducer;
pub(super) use shading::{GainMap, Points, Shading};

/// A rectangle of pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::still) struct Area {
    pub(in crate::still) x: u32,
    pub(in crate::still) y: u32,
    pub(in crate::still) width: u32,
    pub(in crate::still) height: u32,
}

/// Which channel each pixel of a repeating pattern holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::still) struct Mosaic {
    pub(in crate::still) rows: usize,
    pub(in crate::still) columns: usize,
    /// Channel of the frame, 0–2, row by row.
    pub(in crate::still) channels: Vec<u8>,
}

/// What the samples of a raw picture are of.
#[derive(Debug, Clone)]
pub(in crate::still) struct Sensor {
    /// Size as stored, in pixels.
    pub(in crate::still) width: u32,
    pub(in crate::still) height: u32,
    /// Samples a pixel: 1 in a mosaic, 3 in linear raw.
    pub(in crate::still) planes: usize,
    /// Each plane in rows of its own.
    pub(in crate::still) planar: bool,
    /// `None` for linear raw, in which every pixel has all channels.
    pub(in crate::still) mosaic: Option<Mosaic>,
    /// The part that is exposed.
    pub(in crate::still) active: Area,
    /// The part of that which is the picture, relative to it.
    pub(in crate::still) crop: Area,
}
