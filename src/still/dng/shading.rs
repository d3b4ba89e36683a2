//! Gain maps (DNG 1.3, opcode 9 of `OpcodeList2`): how a lens and sensor fall off towards the
//! corners, often not alike for each colour. Small lenses need them: without, one light looks like
//! two. Other corrections move or smooth pixels and do nothing to a mean.

use super::layout::Area;
use super::tags::OPCODE_LIST_2;
use crate::still::ReadErrorKind;
use crate::still::ifd::Directory;

const GAIN_MAP: u32 = 9;

/// Bounds on hostile data: real maps have some hundred points, and there is one a colour.
const MOST_MAPS: usize = 16;
const MOST_POINTS: u64 = 1 << 16;

/// The gain maps of a picture; most have none.
#[derive(Debug, Clone, Default)]
pub(super) struct Shading {
    maps: Vec<GainMap>,
}

#[derive(Debug, Clone)]
struct GainMap {
    /// Which pixels it is for, in the active area: first, end, and every so many.
    rows: [u32; 3],
    columns: [u32; 3],
    /// First plane and end.
    planes: [u32; 2],
    down: Points,
    across: Points,
    map_planes: usize,
    /// Row by row, all planes of a point together.
    gains: Vec<f32>,
}

/// The points of a map along one axis, in parts of the picture's length.
#[derive(Debug, Clone, Copy)]
struct Points {
    count: usize,
    spacing: f64,
    origin: f64,
}

/// Two neighbouring points and the share of the second.
type Between = (usize, usize, f32);

impl Points {
    /// Where the middle of pixel `n` of `length` lies; beyond the last points these hold.
    fn between(&self, n: u32, length: u32) -> Between {
        let place = (f64::from(n) + 0.5) / f64::from(length.max(1));
        let last = self.count.saturating_sub(1);
        let at = ((place - self.origin) / self.spacing).clamp(0.0, last as f64);
        let first = (at as usize).min(last);
        (first, (first + 1).min(last), at.fract() as f32)
    }
}

fn damaged() -> ReadErrorKind {
    ReadErrorKind::DamagedRaw { what: "its gain maps make no sense" }
}

impl Shading {
    pub(super) fn read(raw: &Directory) -> Result<Self, ReadErrorKind> {
        let Some(list) = raw.bytes(OPCODE_LIST_2)? else { return Ok(Self::default()) };
        let mut list = Parameters(list);
        let mut maps = Vec::new();
        for _ in 0..list.long()? {
            let (id, _version, _flags, length) =
                (list.long()?, list.long()?, list.long()?, list.long()?);
            let parameters = Parameters(list.take(length as usize)?);
            if id == GAIN_MAP {
                maps.push(GainMap::read(parameters)?);
            }
            if maps.len() > MOST_MAPS {
                return Err(damaged());
            }
        }
        Ok(Self { maps })
    }

    pub(super) fn is_empty(&self) -> bool {
        self.maps.is_empty()
    }

    /// The gain of every column of a row of the active area, for one plane. `gains` is filled.
    pub(super) fn row(&self, row: u32, plane: u32, active: Area, gains: &mut Vec<f32>) {
        gains.clear();
        gains.resize(active.width as usize, 1.0);
        for map in &self.maps {
            map.apply(row, plane, active, gains);
        }
    }
}

impl GainMap {
    fn read(mut parameters: Parameters) -> Result<Self, ReadErrorKind> {
        let [top, left, bottom, right] = parameters.longs()?;
        let [plane, planes, row_pitch, column_pitch] = parameters.longs()?;
        let [points_down, points_across] = parameters.longs()?;
        let [down, across] = [parameters.double()?, parameters.double()?];
        let [origin_down, origin_across] = [parameters.double()?, parameters.double()?];
        let map_planes = parameters.long()?;
        let count = u64::from(points_down)
            .saturating_mul(u64::from(points_across))
            .saturating_mul(u64::from(map_planes));
        // A single point needs no spacing.
        let spaced =
            |points: u32, spacing: f64| points == 1 || (spacing.is_finite() && spacing > 0.0);
        let spacings = spaced(points_down, down) && spaced(points_across, across);
        let origins = origin_down.is_finite() && origin_across.is_finite();
        if !(1..=MOST_POINTS).contains(&count)
            || row_pitch == 0
            || column_pitch == 0
            || !spacings
            || !origins
        {
            return Err(damaged());
        }
        let gains: Result<Vec<f32>, ReadErrorKind> =
            (0..count).map(|_| parameters.long().map(f32::from_bits)).collect();
        let gains = gains?;
        if gains.iter().any(|gain| !(gain.is_finite() && *gain > 0.0)) {
            return Err(damaged());
        }
        let points = |count: u32, spacing: f64, origin: f64| Points {
            count: count as usize,
            spacing: if spacing > 0.0 { spacing } else { 1.0 },
            origin,
        };
        Ok(Self {
            rows: [top, bottom, row_pitch],
            columns: [left, right, column_pitch],
            planes: [plane, plane.saturating_add(planes)],
            down: points(points_down, down, origin_down),
            across: points(points_across, across, origin_across),
            map_planes: map_planes as usize,
            gains,
        })
    }

    fn apply(&self, row: u32, plane: u32, active: Area, gains: &mut [f32]) {
        let [top, bottom, pitch] = self.rows;
        let [first_plane, end_plane] = self.planes;
        if !(top..bottom).contains(&row)
            || !(row - top).is_multiple_of(pitch)
            || !(first_plane..end_plane).contains(&plane)
        {
            return;
        }
        // The last of a map's planes serves all further ones.
        let map_plane = ((plane - first_plane) as usize).min(self.map_planes - 1);
        let (above, below, down) = self.down.between(row, active.height);
        let point = |row: usize, column: usize| {
            let index = (row * self.across.count + column) * self.map_planes + map_plane;
            self.gains.get(index).copied().unwrap_or(1.0)
        };
        let [left, right, pitch] = self.columns;
        for column in (left..right.min(active.width)).step_by(pitch as usize) {
            let (before, after, across) = self.across.between(column, active.width);
            let blend =
                |row| point(row, before) + across * (point(row, after) - point(row, before));
            if let Some(gain) = gains.get_mut(column as usize) {
                *gain *= blend(above) + down * (blend(below) - blend(above));
            }
        }
    }
}

/// The parameters of opcodes, big-endian whatever the file's own order.
struct Parameters<'a>(&'a [u8]);

impl<'a> Parameters<'a> {
    fn take(&mut self, length: usize) -> Result<&'a [u8], ReadErrorKind> {
        let (taken, rest) = self.0.split_at_checked(length).ok_or_else(damaged)?;
        self.0 = rest;
        Ok(taken)
    }

    fn long(&mut self) -> Result<u32, ReadErrorKind> {
        let bytes = self.take(4)?.first_chunk().ok_or_else(damaged)?;
        Ok(u32::from_be_bytes(*bytes))
    }

    fn longs<const N: usize>(&mut self) -> Result<[u32; N], ReadErrorKind> {
        let mut longs = [0; N];
        for long in &mut longs {
            *long = self.long()?;
        }
        Ok(longs)
    }

    fn double(&mut self) -> Result<f64, ReadErrorKind> {
        let bytes = self.take(8)?.first_chunk().ok_or_else(damaged)?;
        Ok(f64::from_be_bytes(*bytes))
    }
}
