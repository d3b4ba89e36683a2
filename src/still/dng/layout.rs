//! How a raw picture lies in its file: size, planes, pattern, strips or tiles.

use super::tags::*;
use crate::still::ifd::Directory;
use crate::still::options::fits;
use crate::still::raw::{FOUR_COLOURS, ONE_COLOUR};
use crate::still::sensor::{Area, Mosaic, Sensor};
use crate::still::{ReadErrorKind, ReadOptions};

/// How the samples of a segment are stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Compression {
    None,
    LosslessJpeg,
    Deflate,
}

/// A raw picture's description of itself, found sound.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    pub(super) sensor: Sensor,
    pub(super) bits: u32,
    /// Which of the file's colour planes is the frame's first, second and third channel.
    pub(super) order: [usize; 3],
    pub(super) compression: Compression,
    /// Samples to the left that a sample is stored as a difference from; 0 for none.
    pub(super) difference: usize,
    /// Bits of a byte from the lowest up.
    pub(super) low_bit_first: bool,
    /// Size of a strip or tile; those at the right and lower border may reach beyond the picture.
    pub(super) segment: [u32; 2],
    pub(super) tiled: bool,
    /// Offset and length of each segment in the file.
    pub(super) segments: Vec<[u64; 2]>,
}

pub(super) const MOSAIC: u64 = 32_803;
pub(super) const LINEAR: u64 = 34_892;

/// A mosaic repeats after at most this many rows and columns; published ones after 8.
const MOST_REPEATS: u64 = 16;

/// Bounds on hostile data: a side in pixels, and strips or tiles in all.
const LONGEST_SIDE: u32 = 65_535;
const MOST_SEGMENTS: u64 = 1 << 18;

/// A segment may reach beyond a small picture, but not without bound.
const ROOMY_SEGMENT: u64 = 1 << 20;

fn damaged(what: &'static str) -> ReadErrorKind {
    ReadErrorKind::DamagedRaw { what }
}

fn unsupported(found: &'static str) -> ReadErrorKind {
    ReadErrorKind::UnsupportedRaw { found }
}

impl Layout {
    pub(super) fn read(raw: &Directory, options: &ReadOptions) -> Result<Self, ReadErrorKind> {
        let size = |tag| -> Result<u32, ReadErrorKind> {
            let value = raw.uint(tag)?.and_then(|value| u32::try_from(value).ok());
            value.filter(|value| *value > 0).ok_or(damaged("it does not say its size"))
        };
        let (width, height) = (size(IMAGE_WIDTH)?, size(IMAGE_LENGTH)?);
        fits([width, height], options.max_pixels)?;
        if width.max(height) > LONGEST_SIDE {
            return Err(damaged("it is longer than any sensor"));
        }
        let planes = raw.uint(SAMPLES_PER_PIXEL)?.unwrap_or(1);
        let (mosaic, order, planes) = match (raw.uint(PHOTOMETRIC)?, planes) {
            (Some(MOSAIC), 1) => {
                let order = plane_order(raw)?;
                (Some(mosaic(raw, order)?), order, 1)
            }
            (Some(LINEAR), 3) => (None, [0, 1, 2], 3),
            (Some(LINEAR), 4) => return Err(unsupported(FOUR_COLOURS)),
            (Some(LINEAR), 1) => return Err(unsupported(ONE_COLOUR)),
            _ => return Err(damaged("its samples do not fit its pattern")),
        };
        let bits = bits(raw, planes)?;
        let compression = match raw.uint(COMPRESSION)?.unwrap_or(1) {
            1 => Compression::None,
            7 => Compression::LosslessJpeg,
            8 | 32_946 => Compression::Deflate,
            34_892 => return Err(unsupported("samples in lossy compression")),
            52_546 => return Err(unsupported("samples compressed as JPEG XL")),
            _ => return Err(unsupported("samples in an unusual compression")),
        };
        let planar = planes > 1 && raw.uint(PLANAR_CONFIGURATION)? == Some(2);
        let difference = difference(raw, compression, bits, if planar { 1 } else { planes })?;
        let low_bit_first = raw.uint(FILL_ORDER)? == Some(2);
        let active = active_area(raw, width, height)?;
        let crop = default_crop(raw, active, mosaic.as_ref())?;
        let mut layout = Self {
            sensor: Sensor { width, height, planes, planar, mosaic, active, crop },
            bits,
            order,
            compression,
            difference,
            low_bit_first,
            segment: [width, height],
            tiled: raw.has(TILE_OFFSETS),
            segments: Vec::new(),
        };
        layout.find_segments(raw)?;
        Ok(layout)
    }

    /// Segments in a row and rows of them.
    pub(super) fn segment_grid(&self) -> [u32; 2] {
        let [width, height] = self.segment;
        [self.sensor.width.div_ceil(width.max(1)), self.sensor.height.div_ceil(height.max(1))]
    }

    fn find_segments(&mut self, raw: &Directory) -> Result<(), ReadErrorKind> {
        let (offsets, counts) = if self.tiled {
            let side = |tag| -> Result<u32, ReadErrorKind> {
                let side = raw.uint(tag)?.and_then(|side| u32::try_from(side).ok());
                side.filter(|side| *side > 0).ok_or(damaged("it does not say its tiles' size"))
            };
            self.segment = [side(TILE_WIDTH)?, side(TILE_LENGTH)?];
            (TILE_OFFSETS, TILE_BYTE_COUNTS)
        } else {
            let rows = raw.uint(ROWS_PER_STRIP)?.unwrap_or(u64::from(self.sensor.height));
            let rows = u32::try_from(rows).unwrap_or(self.sensor.height).min(self.sensor.height);
            self.segment = [self.sensor.width, rows];
            if rows == 0 {
                return Err(damaged("its strips have no rows"));
            }
            (STRIP_OFFSETS, STRIP_BYTE_COUNTS)
        };
        let [width, height] = self.segment.map(u64::from);
        let picture = u64::from(self.sensor.width) * u64::from(self.sensor.height);
        if width * height > ROOMY_SEGMENT.max(2 * picture) {
            return Err(damaged("its tiles are far larger than the picture"));
        }
        let [across, down] = self.segment_grid().map(u64::from);
        let sheets = if self.sensor.planar { self.sensor.planes as u64 } else { 1 };
        let expected = across * down * sheets;
        if expected > MOST_SEGMENTS {
            return Err(damaged("it has more strips or tiles than make sense"));
        }
        let expected = expected as usize;
        let offsets = raw.uints(offsets, expected)?.unwrap_or_default();
        let counts = raw.uints(counts, expected)?.unwrap_or_default();
        if offsets.len() != expected || counts.len() != expected {
            return Err(damaged("strips or tiles are missing"));
        }
        self.segments = offsets.into_iter().zip(counts).map(|(at, size)| [at, size]).collect();
        Ok(())
    }
}

fn bits(raw: &Directory, planes: usize) -> Result<u32, ReadErrorKind> {
    if raw.uint(SAMPLE_FORMAT)?.is_some_and(|format| format != 1) {
        return Err(unsupported("floating-point or signed samples"));
    }
    let bits = raw.uints(BITS_PER_SAMPLE, planes)?.unwrap_or_else(|| vec![1]);
    let first = bits.first().copied().unwrap_or(1);
    if bits.iter().any(|each| *each != first) {
        return Err(unsupported("channels of different depth"));
    }
    match first {
        8..=16 => Ok(first as u32),
        17..=32 => Err(unsupported("samples of more than 16 bits")),
        _ => Err(damaged("it does not say its samples' depth")),
    }
}

/// The predictor's reach in samples (TIFF 6.0, section 14; DNG 1.4 for the wider ones).
fn difference(
    raw: &Directory,
    compression: Compression,
    bits: u32,
    planes: usize,
) -> Result<usize, ReadErrorKind> {
    if compression != Compression::Deflate {
        return Ok(0);
    }
    let reach = match raw.uint(PREDICTOR)?.unwrap_or(1) {
        1 => return Ok(0),
        2 => 1,
        34_892 => 2,
        34_893 => 4,
        _ => return Err(unsupported("floating-point or signed samples")),
    };
    match bits {
        8 | 16 => Ok(reach * planes),
        _ => Err(unsupported("differences of packed samples")),
    }
}

/// The frame's channels in the order of the file's colour planes: red, green, blue where these are
/// the colours, else as they come.
pub(super) fn plane_order(raw: &Directory) -> Result<[usize; 3], ReadErrorKind> {
    let colours = raw.uints(CFA_PLANE_COLOR, 4)?.unwrap_or_else(|| vec![0, 1, 2]);
    let colours: [u64; 3] = match colours.len() {
        3 => colours.try_into().unwrap_or_default(),
        4 => return Err(unsupported(FOUR_COLOURS)),
        1 => return Err(unsupported(ONE_COLOUR)),
        _ => return Err(damaged("its pattern has two colours")),
    };
    let plane_of = |colour| colours.iter().position(|found| *found == colour);
    Ok(match [plane_of(0), plane_of(1), plane_of(2)] {
        [Some(red), Some(green), Some(blue)] => [red, green, blue],
        _ => [0, 1, 2],
    })
}

fn mosaic(raw: &Directory, order: [usize; 3]) -> Result<Mosaic, ReadErrorKind> {
    if raw.uint(CFA_LAYOUT)?.is_some_and(|layout| layout != 1) {
        return Err(unsupported("a staggered pattern"));
    }
    let (rows, columns) = match raw.uints(CFA_REPEAT_PATTERN_DIM, 2)?.as_deref() {
        Some(&[rows, columns])
            if (1..=MOST_REPEATS).contains(&rows) && (1..=MOST_REPEATS).contains(&columns) =>
        {
            (rows as usize, columns as usize)
        }
        _ => return Err(damaged("its colour pattern does not repeat")),
    };
    let colours = raw.uints(CFA_PLANE_COLOR, 4)?.unwrap_or_else(|| vec![0, 1, 2]);
    let pattern = raw.bytes(CFA_PATTERN)?.unwrap_or_default();
    let channels: Option<Vec<u8>> = pattern
        .iter()
        .map(|colour| {
            let plane = colours.iter().position(|found| *found == u64::from(*colour))?;
            order.iter().position(|of_channel| *of_channel == plane).map(|channel| channel as u8)
        })
        .collect();
    let channels = channels.ok_or(damaged("its pattern has a colour that it does not name"))?;
    let complete = (0..3).all(|channel| channels.contains(&channel));
    if channels.len() != rows * columns || !complete {
        return Err(damaged("its colour pattern is incomplete"));
    }
    Ok(Mosaic { rows, columns, channels })
}

fn active_area(raw: &Directory, width: u32, height: u32) -> Result<Area, ReadErrorKind> {
    let Some(edges) = raw.uints(ACTIVE_AREA, 4)? else {
        return Ok(Area { x: 0, y: 0, width, height });
    };
    let edges: Vec<u32> = edges.iter().filter_map(|edge| u32::try_from(*edge).ok()).collect();
    match *edges.as_slice() {
        [top, left, bottom, right]
            if top < bottom && left < right && bottom <= height && right <= width =>
        {
            Ok(Area { x: left, y: top, width: right - left, height: bottom - top })
        }
        _ => Err(damaged("its active area lies outside the picture")),
    }
}

/// The default crop in whole pixels, cut to whole repeats of the pattern.
fn default_crop(
    raw: &Directory,
    active: Area,
    mosaic: Option<&Mosaic>,
) -> Result<Area, ReadErrorKind> {
    let outside = || damaged("its crop lies outside the picture");
    let pair = |tag, default: [f64; 2]| match raw.reals(tag, 2)?.as_deref() {
        None => Ok(default),
        Some(&[x, y]) => Ok([x.round(), y.round()]),
        Some(_) => Err(outside()),
    };
    let whole = [f64::from(active.width), f64::from(active.height)];
    let [x, y] = pair(DEFAULT_CROP_ORIGIN, [0.0; 2])?;
    let [width, height] = pair(DEFAULT_CROP_SIZE, [whole[0] - x, whole[1] - y])?;
    if x < 0.0 || y < 0.0 || x + width > whole[0] || y + height > whole[1] {
        return Err(outside());
    }
    let (columns, rows) = mosaic.map_or((1, 1), |m| (m.columns as u32, m.rows as u32));
    let (width, height) = (width.max(0.0) as u32, height.max(0.0) as u32);
    let (width, height) = (width - width % columns, height - height % rows);
    if width == 0 || height == 0 {
        return Err(outside());
    }
    Ok(Area { x: x as u32, y: y as u32, width, height })
}
