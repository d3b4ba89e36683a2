//! A small DNG writer (DNG 1.6): mosaics and linear raw in every packing that cameras use, so that reading them can be
//! tested without a file from outside.

mod lossless;
mod mosaic;

use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;

use crate::exif::{EXIF_DIRECTORY, ShotData};
use crate::tiff::{ByteOrder, HEADER_LENGTH, Value, directory};

pub use lossless::LosslessJpeg;
pub use mosaic::{Readout, colour_tags};

/// How the samples are packed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Packing {
    /// Uncompressed; 9 to 15 bits without gaps.
    #[default]
    Plain,
    /// Lossless JPEG.
    LosslessJpeg(LosslessJpeg),
    /// Deflate, each sample as the difference to that so many pixels before it; 0 for none.
    Deflate {
        /// 0, 1, 2 or 4.
        difference: usize,
    },
}

/// How the picture is divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Division {
    /// Strips of so many rows.
    Strips(usize),
    /// Tiles of a width and height.
    Tiles(usize, usize),
}

/// The samples of a raw picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RawSamples {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Samples a pixel: 1 for a mosaic, 3 for linear raw.
    pub planes: usize,
    /// Bits a sample, 8–16.
    pub bits: u32,
    /// Row by row.
    pub samples: Vec<u16>,
}

/// A DNG file to be.
#[derive(Debug, Clone)]
pub struct DngFile {
    /// The raw picture.
    pub raw: RawSamples,
    /// The colours of the mosaic: rows, columns, and a colour for each place (0 red, 1 green, 2 blue). `None` for
    /// linear raw.
    pub mosaic: Option<(u16, u16, Vec<u8>)>,
    /// How the samples are packed.
    pub packing: Packing,
    /// How the picture is divided.
    pub division: Division,
    /// The order of bytes.
    pub order: ByteOrder,
    /// Further entries of the raw picture's directory: levels, areas.
    pub raw_tags: Vec<(u16, Value)>,
    /// Further entries of the main directory: matrices and balance.
    pub main_tags: Vec<(u16, Value)>,
    /// How the shot was taken, if the file says so.
    pub shot: Option<ShotData>,
    /// A preview of one grey in the main directory, with the raw picture in a directory below it.
    pub preview: bool,
}

impl DngFile {
    /// A mosaic of 2 × 2 with red at the top left and blue at the bottom right, uncompressed in one strip.
    #[must_use]
    pub fn new(raw: RawSamples) -> Self {
        Self {
            division: Division::Strips(raw.height),
            mosaic: (raw.planes == 1).then(|| (2, 2, vec![0, 1, 1, 2])),
            raw,
            packing: Packing::Plain,
            order: ByteOrder::LittleEndian,
            raw_tags: Vec::new(),
            main_tags: Vec::new(),
            shot: None,
            preview: false,
        }
    }

    /// The file.
    #[must_use]
    pub fn bytes(&self) -> Vec<u8> {
        let segments = self.segments();
        // Where things are hangs on how long the directories are, which does not hang on where things are.
        let laid_out = |exif_at: usize, raw_at: usize, data_at: usize| {
            let mut main = self.main_tags.clone();
            let raw = self.raw_entries(&segments, data_at);
            if let Some(shot) = &self.shot {
                main.extend(shot.main_entries());
                main.push((EXIF_DIRECTORY, Value::long(exif_at as u32)));
            }
            main.extend([
                (50_706, Value::Bytes(vec![1, 6, 0, 0])),
                (50_707, Value::Bytes(vec![1, 1, 0, 0])),
            ]);
            if self.preview {
                let preview_at = data_at + segments.concat().len();
                main.extend(preview_entries(preview_at));
                main.push((330, Value::long(raw_at as u32)));
            } else {
                main.extend(raw.clone());
            }
            let exif = self.shot.as_ref().map(|shot| shot.exif_entries()).unwrap_or_default();
            [
                directory(self.order, HEADER_LENGTH, &main, 0),
                directory(self.order, exif_at, &exif, 0),
                directory(self.order, raw_at, &raw, 0),
            ]
        };
        let [main, exif, raw] = laid_out(0, 0, 0).map(|directory| directory.len());
        let exif_at = HEADER_LENGTH + main;
        let (raw_at, data_at) = (exif_at + exif, exif_at + exif + raw);
        let mut bytes = self.order.header();
        bytes.extend(laid_out(exif_at, raw_at, data_at).concat());
        bytes.extend(segments.concat());
        bytes.extend([128; PREVIEW_SIDE * PREVIEW_SIDE]);
        bytes
    }

    fn raw_entries(&self, segments: &[Vec<u8>], data_at: usize) -> Vec<(u16, Value)> {
        let RawSamples { width, height, planes, bits, .. } = self.raw;
        let lengths: Vec<u32> = segments.iter().map(|segment| segment.len() as u32).collect();
        let offsets = lengths.iter().scan(data_at as u32, |at, length| {
            let here = *at;
            *at += length;
            Some(here)
        });
        let offsets = Value::Longs(offsets.collect());
        let mut entries = vec![
            (254, Value::long(0)),
            (256, Value::long(width as u32)),
            (257, Value::long(height as u32)),
            (258, Value::Shorts(vec![bits as u16; planes])),
            (
                259,
                Value::short(match self.packing {
                    Packing::Plain => 1,
                    Packing::LosslessJpeg(_) => 7,
                    Packing::Deflate { .. } => 8,
                }),
            ),
            (262, Value::short(if self.mosaic.is_some() { 32_803 } else { 34_892 })),
            (277, Value::short(planes as u16)),
            (284, Value::short(1)),
        ];
        match self.division {
            Division::Strips(rows) => entries.extend([
                (273, offsets),
                (278, Value::long(rows as u32)),
                (279, Value::Longs(lengths)),
            ]),
            Division::Tiles(width, height) => entries.extend([
                (322, Value::long(width as u32)),
                (323, Value::long(height as u32)),
                (324, offsets),
                (325, Value::Longs(lengths)),
            ]),
        }
        match self.packing {
            Packing::Deflate { difference: 1 } => entries.push((317, Value::short(2))),
            Packing::Deflate { difference: 2 } => entries.push((317, Value::short(34_892))),
            Packing::Deflate { difference: 4 } => entries.push((317, Value::short(34_893))),
            _ => {}
        }
        if let Some((rows, columns, colours)) = &self.mosaic {
            entries.push((33_421, Value::Shorts(vec![*rows, *columns])));
            entries.push((33_422, Value::Bytes(colours.clone())));
        }
        entries.extend(self.raw_tags.iter().cloned());
        entries
    }

    /// The packed strips or tiles, in order.
    fn segments(&self) -> Vec<Vec<u8>> {
        let RawSamples { width, height, planes, ref samples, .. } = self.raw;
        let (across, down, tiled) = match self.division {
            Division::Strips(rows) => (width, rows, false),
            Division::Tiles(across, down) => (across, down, true),
        };
        let mut segments = Vec::new();
        for top in (0..height).step_by(down) {
            for left in (0..width).step_by(across) {
                let rows = if tiled { down } else { down.min(height - top) };
                // Beyond the border the last row and column go on.
                let segment: Vec<u16> = (top..top + rows)
                    .flat_map(|row| (left..left + across).map(move |column| (row, column)))
                    .flat_map(|(row, column)| {
                        let pixel = row.min(height - 1) * width + column.min(width - 1);
                        samples[pixel * planes..(pixel + 1) * planes].iter().copied()
                    })
                    .collect();
                segments.push(self.packed(&segment, across * planes));
            }
        }
        segments
    }

    fn packed(&self, samples: &[u16], row_samples: usize) -> Vec<u8> {
        let bits = self.raw.bits;
        match self.packing {
            Packing::Plain => plain(samples, row_samples, bits, self.order),
            Packing::LosslessJpeg(coding) => coding.encode(samples, row_samples, bits),
            Packing::Deflate { difference } => {
                let reach = difference * self.raw.planes;
                let mut rows = samples.to_vec();
                for row in rows.chunks_mut(row_samples).filter(|_| reach > 0) {
                    for place in (reach..row.len()).rev() {
                        row[place] =
                            row[place].wrapping_sub(row[place - reach]) & (u16::MAX >> (16 - bits));
                    }
                }
                let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
                // Writing to memory does not fail.
                let written = encoder.write_all(&plain(&rows, row_samples, bits, self.order));
                written.and_then(|()| encoder.finish()).unwrap_or_default()
            }
        }
    }
}

const PREVIEW_SIDE: usize = 8;

fn preview_entries(at: usize) -> Vec<(u16, Value)> {
    vec![
        (254, Value::long(1)),
        (256, Value::long(PREVIEW_SIDE as u32)),
        (257, Value::long(PREVIEW_SIDE as u32)),
        (258, Value::short(8)),
        (259, Value::short(1)),
        (262, Value::short(1)),
        (273, Value::long(at as u32)),
        (277, Value::short(1)),
        (278, Value::long(PREVIEW_SIDE as u32)),
        (279, Value::long((PREVIEW_SIDE * PREVIEW_SIDE) as u32)),
    ]
}

/// Rows that start on whole bytes; samples from the highest bit down where they are not 8 or 16 bits.
fn plain(samples: &[u16], row_samples: usize, bits: u32, order: ByteOrder) -> Vec<u8> {
    let mut bytes = Vec::new();
    for row in samples.chunks(row_samples) {
        if bits == 16 {
            bytes.extend(row.iter().flat_map(|sample| order.short(*sample)));
            continue;
        }
        let (mut held, mut count) = (0_u32, 0);
        for &sample in row {
            held = held << bits | u32::from(sample);
            count += bits;
            while count >= 8 {
                count -= 8;
                bytes.push((held >> count) as u8);
            }
        }
        if count > 0 {
            bytes.push((held << (8 - count)) as u8);
        }
    }
    bytes
}
