//! From a stored sample to the share of saturation (DNG 1.6, chapter 5: Mapping Raw Values to
//! Linear Reference Values).

use super::Sensor;
use crate::still::ReadErrorKind;

/// Linearisation, black and white.
#[derive(Debug, Clone)]
pub(in crate::still) struct Levels {
    /// What a stored sample stands for; empty where it stands for itself.
    table: Vec<f32>,
    /// Black level of each place of a row, for each row of the repeating pattern.
    black_rows: Vec<Vec<f32>>,
    /// What a row adds to that; empty for nothing.
    black_of_row: Vec<f32>,
    /// 1 / (white − black), by plane.
    scale: Vec<f32>,
}

/// What a file says about its samples' levels.
#[derive(Debug, Clone, Default)]
pub(in crate::still) struct LevelTags {
    /// What a stored sample stands for; empty where it stands for itself.
    pub(in crate::still) table: Vec<f32>,
    /// Black levels of a pattern that repeats from the active area's corner: row by row, all planes
    /// of a place together.
    pub(in crate::still) black: Vec<f64>,
    /// Columns of that pattern.
    pub(in crate::still) columns: usize,
    /// What each column adds; empty for nothing.
    pub(in crate::still) across: Vec<f64>,
    /// What each row adds; empty for nothing.
    pub(in crate::still) down: Vec<f64>,
    /// Saturation: one level for all planes, or one for each.
    pub(in crate::still) white: Vec<f64>,
}

impl Levels {
    /// For the rows and columns of the sensor's active area.
    pub(in crate::still) fn new(sensor: &Sensor, tags: LevelTags) -> Result<Self, ReadErrorKind> {
        let planes = sensor.planes;
        let width = sensor.active.width as usize;
        let LevelTags { table, black, columns, across, down, white } = tags;
        let most = |values: &[f64]| values.iter().copied().reduce(f64::max).unwrap_or(0.0);
        let most_delta = most(&across) + most(&down);
        let scale: Option<Vec<f32>> = (0..planes)
            .map(|plane| {
                let of_plane = black.iter().skip(plane).step_by(planes).copied();
                let white = white.get(plane).or(white.first())?;
                let span = white - of_plane.fold(f64::NEG_INFINITY, f64::max) - most_delta;
                (span > 0.0 && span.is_finite()).then_some((1.0 / span) as f32)
            })
            .collect();
        let scale = scale
            .ok_or(ReadErrorKind::DamagedRaw { what: "its white level is not above its black" })?;
        let black_rows = black
            .chunks((columns * planes).max(1))
            .map(|pattern| {
                let places = pattern.iter().cycle().zip(0..width * planes);
                places
                    .map(|(black, place)| {
                        (black + across.get(place / planes).unwrap_or(&0.0)) as f32
                    })
                    .collect()
            })
            .collect();
        let black_of_row = down.into_iter().map(|black| black as f32).collect();
        Ok(Self { table, black_rows, black_of_row, scale })
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
