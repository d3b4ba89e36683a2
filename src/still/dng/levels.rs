//! From a stored sample to the share of saturation (DNG 1.6, chapter 5: Mapping Raw Values to
//! Linear Reference Values).

use super::layout::{Area, Layout};
use super::tags::*;
use crate::still::ReadErrorKind;
use crate::still::ifd::Directory;

/// Linearisation, black and white.
#[derive(Debug, Clone)]
pub(super) struct Levels {
    /// What a stored sample stands for; empty where it stands for itself.
    table: Vec<f32>,
    /// Black level of each place of a row, for each row of the repeating pattern.
    black_rows: Vec<Vec<f32>>,
    /// What a row adds to that; empty for nothing.
    black_of_row: Vec<f32>,
    /// 1 / (white − black), by plane.
    scale: Vec<f32>,
}

/// A black level pattern repeats after at most this many rows and columns.
const MOST_REPEATS: u64 = 64;
/// A linearisation table has an entry for each sample at most.
const MOST_TABLE: usize = 1 << 16;

impl Levels {
    /// For the rows and columns of the active area.
    pub(super) fn read(raw: &Directory, layout: &Layout) -> Result<Self, ReadErrorKind> {
        let planes = layout.planes;
        let Area { width, height, .. } = layout.active;
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

        let most = |values: &[f64]| values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let most_delta = most(&across) + if down.is_empty() { 0.0 } else { most(&down) };
        let scale: Option<Vec<f32>> = (0..planes)
            .map(|plane| {
                let of_plane = black.iter().skip(plane).step_by(planes).copied();
                let span =
                    white.get(plane)? - of_plane.fold(f64::NEG_INFINITY, f64::max) - most_delta;
                (span > 0.0).then_some((1.0 / span) as f32)
            })
            .collect();
        let scale = scale
            .ok_or(ReadErrorKind::DamagedRaw { what: "its white level is not above its black" })?;

        let black_rows = black
            .chunks(columns * planes)
            .map(|pattern| {
                let places = pattern.iter().cycle().zip(0..width * planes);
                places
                    .map(|(black, place)| {
                        (black + across.get(place / planes).unwrap_or(&0.0)) as f32
                    })
                    .collect()
            })
            .collect();
        let table = raw.uints(LINEARIZATION_TABLE, MOST_TABLE)?.unwrap_or_default();
        Ok(Self {
            table: table.into_iter().map(|value| value as f32).collect(),
            black_rows,
            black_of_row: down.into_iter().map(|black| black as f32).collect(),
            scale,
        })
    }

    /// The levels of one row of the active area.
    pub(super) fn row(&self, row: usize) -> RowLevels<'_> {
        let black = self.black_rows.get(row % self.black_rows.len().max(1));
        RowLevels {
            table: &self.table,
            black: black.map_or(&[], Vec::as_slice),
            black_of_row: self.black_of_row.get(row).copied().unwrap_or(0.0),
            scale: &self.scale,
        }
    }
}

/// One level for all planes or one for each; the largest number that can be stored where none is
/// given.
fn white_levels(raw: &Directory, layout: &Layout) -> Result<Vec<f64>, ReadErrorKind> {
    let largest = f64::from((1_u32 << layout.bits.min(31)) - 1);
    let white = raw.reals(WHITE_LEVEL, layout.planes)?.unwrap_or_else(|| vec![largest]);
    match white.as_slice() {
        [one] => Ok(vec![*one; layout.planes]),
        each if each.len() == layout.planes => Ok(white),
        _ => Err(ReadErrorKind::DamagedRaw { what: "white levels are missing" }),
    }
}

/// The levels of one row.
pub(super) struct RowLevels<'a> {
    table: &'a [f32],
    black: &'a [f32],
    black_of_row: f32,
    scale: &'a [f32],
}

impl RowLevels<'_> {
    /// The share of saturation that a sample stands for: at most 1, and a little below 0 where
    /// noise takes it there. `column` counts in the active area.
    #[inline]
    pub(super) fn linear(&self, sample: u16, column: usize, plane: usize) -> f32 {
        let stored = match self.table.last() {
            None => f32::from(sample),
            // Samples beyond the table stand for its last entry.
            Some(last) => self.table.get(usize::from(sample)).copied().unwrap_or(*last),
        };
        let black = self.black.get(column * self.scale.len() + plane).copied().unwrap_or(0.0);
        let scale = self.scale.get(plane).copied().unwrap_or(0.0);
        ((stored - black - self.black_of_row) * scale).min(1.0)
    }
}
