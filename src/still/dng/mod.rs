//! Raw files by the DNG specification (Adobe, DNG 1.6.0.0, December 2021; TIFF 6.0; ISO 12234-2).
//!
//! Read: mosaics of three colours and linear raw, 8 to 16 bits, uncompressed, lossless JPEG and
//! deflate, in strips or tiles. Nothing of the raw picture's size is ever held in memory: each row
//! goes into the cells as it is decoded. The embedded previews are left alone.

mod bits;
mod colour;
mod gain_maps;
mod layout;
mod levels;
mod lossless;
mod segment;
mod tags;

use super::ifd::{Directory, TiffBytes};
use super::orientation::Orientation;
use super::raw::{Calibrated, RawColour};
use super::sensor::{Area, Reducer};
use super::{LinearFrame, ReadErrorKind, ReadOptions};
use layout::Layout;
use tags::*;

/// The newest version of the format that a file may ask its readers to know.
const NEWEST: [u8; 2] = [1, 7];

/// A raw file's directories.
pub(super) struct Dng<'a> {
    file: TiffBytes<'a>,
    directories: Vec<Directory<'a>>,
}

impl<'a> Dng<'a> {
    /// `None` where the file does not say that it is a DNG.
    pub(super) fn open(bytes: &'a [u8]) -> Option<Self> {
        let file = TiffBytes::new(bytes)?;
        let directories = file.directories();
        let is_dng = directories.first().is_some_and(|main| main.has(DNG_VERSION));
        is_dng.then_some(Self { file, directories })
    }

    fn main(&self) -> Result<&Directory<'a>, ReadErrorKind> {
        self.directories.first().ok_or(ReadErrorKind::Truncated { source: None })
    }

    /// The full raw picture: of those with raw samples the one that is no reduced or other copy,
    /// and of several the largest.
    fn raw(&self) -> Result<&Directory<'a>, ReadErrorKind> {
        let is_raw = |directory: &&Directory| {
            matches!(directory.peek(PHOTOMETRIC, 0), Some(layout::MOSAIC | layout::LINEAR))
        };
        let rank = |directory: &&Directory| {
            let side = |tag| directory.peek(tag, 0).unwrap_or(0);
            let is_main = directory.peek(NEW_SUBFILE_TYPE, 0).unwrap_or(0) == 0;
            (is_main, side(IMAGE_WIDTH).saturating_mul(side(IMAGE_LENGTH)))
        };
        let raw = self.directories.iter().filter(is_raw).max_by_key(rank);
        raw.ok_or(ReadErrorKind::DamagedRaw { what: "it has no raw picture" })
    }

    /// The camera's calibration and its as-shot balance, without the picture.
    pub(super) fn calibrated(&self) -> Result<Calibrated, ReadErrorKind> {
        let order = layout::plane_order(self.raw()?)?;
        colour::read(self.main()?, order)
    }

    /// Reads the raw picture.
    pub(super) fn read(
        &self,
        orientation: Orientation,
        options: &ReadOptions,
    ) -> Result<(LinearFrame, RawColour), ReadErrorKind> {
        self.check_version()?;
        let raw = self.raw()?;
        let layout = Layout::read(raw, options)?;
        let calibrated = colour::read(self.main()?, layout.order)?;
        let colour = RawColour::new(calibrated)?;
        let levels = levels::read(raw, &layout)?;
        let shading = gain_maps::read(raw)?;
        let mut reducer = Reducer::new(&layout.sensor, &levels, &shading, orientation, options);
        for (number, [at, length]) in layout.segments.iter().enumerate() {
            let bytes = self.file.slice(*at, *length);
            let bytes = bytes.ok_or(ReadErrorKind::Truncated { source: None })?;
            self.add_segment(&mut reducer, &layout, number, bytes)?;
        }
        let bits = u8::try_from(layout.bits).unwrap_or(16);
        Ok((reducer.finish(&colour, bits, orientation), colour))
    }

    /// Adds the rows of the segment of the given number.
    fn add_segment(
        &self,
        reducer: &mut Reducer,
        layout: &Layout,
        number: usize,
        bytes: &[u8],
    ) -> Result<(), ReadErrorKind> {
        let [across, down] = layout.segment_grid().map(|count| count.max(1) as usize);
        let plane = number / (across * down);
        let place = number % (across * down);
        let [width, height] = layout.segment;
        let left = (place % across) as u32 * width;
        let top = (place / across) as u32 * height;
        let sensor = &layout.sensor;
        let visible = Area {
            x: left,
            y: top,
            width: width.min(sensor.width - left),
            height: height.min(sensor.height - top),
        };
        let first = sensor.active.y + sensor.crop.y;
        if visible.y + visible.height <= first || visible.y >= first + sensor.crop.height {
            return Ok(());
        }
        let rows = visible.height as usize;
        segment::each_row(layout, self.file.is_little(), bytes, rows, |n, samples| {
            reducer.add_row(visible, top + n as u32, plane, samples);
            Ok(())
        })
    }

    fn check_version(&self) -> Result<(), ReadErrorKind> {
        let needed = self.main()?.bytes(DNG_BACKWARD_VERSION)?.unwrap_or(&[1, 0]);
        match needed {
            [major, minor, ..] if [*major, *minor] <= NEWEST => Ok(()),
            _ => Err(ReadErrorKind::UnsupportedRaw { found: "a newer kind of DNG" }),
        }
    }
}
