//! Gain maps (DNG 1.3, opcode 9 of `OpcodeList2`). Other corrections move or smooth pixels and do
//! nothing to a mean.

use super::tags::OPCODE_LIST_2;
use crate::still::ReadErrorKind;
use crate::still::ifd::Directory;
use crate::still::sensor::{GainMap, Points, Shading};

const GAIN_MAP: u32 = 9;

/// Bounds on hostile data: real maps have some hundred points, and there is one a colour.
const MOST_MAPS: usize = 16;
const MOST_POINTS: u64 = 1 << 16;

fn damaged() -> ReadErrorKind {
    ReadErrorKind::DamagedRaw { what: "its gain maps make no sense" }
}

/// The gain maps of a raw picture.
pub(super) fn read(raw: &Directory) -> Result<Shading, ReadErrorKind> {
    let Some(list) = raw.bytes(OPCODE_LIST_2)? else { return Ok(Shading::default()) };
    let mut list = Parameters(list);
    let mut maps = Vec::new();
    for _ in 0..list.long()? {
        let (id, _version, _flags, length) =
            (list.long()?, list.long()?, list.long()?, list.long()?);
        let parameters = Parameters(list.take(length as usize)?);
        if id == GAIN_MAP {
            maps.push(gain_map(parameters)?);
        }
        if maps.len() > MOST_MAPS {
            return Err(damaged());
        }
    }
    Ok(Shading { maps })
}

fn gain_map(mut parameters: Parameters) -> Result<GainMap, ReadErrorKind> {
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
    let spaced = |points: u32, spacing: f64| points == 1 || (spacing.is_finite() && spacing > 0.0);
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
    Ok(GainMap {
        rows: [top, bottom, row_pitch],
        columns: [left, right, column_pitch],
        planes: [plane, plane.saturating_add(planes)],
        down: points(points_down, down, origin_down),
        across: points(points_across, across, origin_across),
        map_planes: map_planes as usize,
        gains,
    })
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
