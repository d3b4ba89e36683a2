//! The levels of a raw picture's samples: linearisation, black and white.

use super::layout::Layout;
use super::tags::*;
use crate::still::ReadErrorKind;
use crate::still::ifd::Directory;
use crate::still::sensor::{Area, LevelTags, Levels};

/// A black level pattern repeats after at most this many rows and columns.
const MOST_REPEATS: u64 = 64;
/// A linearisation table has an entry for each sample at most.
const MOST_TABLE: usize = 1 << 16;

/// For the rows and columns of the active area.
pub(super) fn read(raw: &Directory, layout: &Layout) -> Result<Levels, ReadErrorKind> {
    let planes = layout.sensor.planes;
    let Area { width, height, .. } = layout.sensor.active;
    let (width, height) = (width as usize, height as usize);
    let repeat = match raw.uints(BLACK_LEVEL_REPEAT_DIM, 2)?.as_deref() {
        None => [1, 1],
        Some(&[rows, columns])
            if (1..=MOST_REPEATS).contains(&rows) && (1..=MOST_REPEATS).contains(&columns) =>
        {
            [rows as usize, columns as usize]
        }
        Some(_) => {
            return Err(ReadErrorKind::DamagedRaw { what: "its black levels do not repeat" });
        }
    };
    let [rows, columns] = repeat;
    let count = rows * columns * planes;
    let black = raw.reals(BLACK_LEVEL, count)?.unwrap_or_else(|| vec![0.0; count]);
    if black.len() != count {
        return Err(ReadErrorKind::DamagedRaw { what: "black levels are missing" });
    }
    let across = raw.reals(BLACK_LEVEL_DELTA_H, width)?.unwrap_or_else(|| vec![0.0; width]);
    let down = raw.reals(BLACK_LEVEL_DELTA_V, height)?.unwrap_or_default();
    if across.len() != width || !(down.is_empty() || down.len() == height) {
        return Err(ReadErrorKind::DamagedRaw { what: "black levels are missing" });
    }
    let white = white_levels(raw, layout)?;

    let table = raw.uints(LINEARIZATION_TABLE, MOST_TABLE)?.unwrap_or_default();
    let table = table.into_iter().map(|value| value as f32).collect();
    Levels::new(&layout.sensor, LevelTags { table, black, columns, across, down, white })
}

/// One level for all planes or one for each; the largest number that can be stored where none is
/// given.
fn white_levels(raw: &Directory, layout: &Layout) -> Result<Vec<f64>, ReadErrorKind> {
    let largest = f64::from((1_u32 << layout.bits.min(31)) - 1);
    let white = raw.reals(WHITE_LEVEL, layout.sensor.planes)?.unwrap_or_else(|| vec![largest]);
    match white.as_slice() {
        [one] => Ok(vec![*one; layout.sensor.planes]),
        each if each.len() == layout.sensor.planes => Ok(white),
        _ => Err(ReadErrorKind::DamagedRaw { what: "white levels are missing" }),
    }
}
