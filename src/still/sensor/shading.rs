//! How a lens and sensor fall off towards the corners, often not alike for each colour. Small lenses
//! need it undone: else one light looks like two.

use super::Area;

/// The gain maps of a picture; most have none.
#[derive(Debug, Clone, Default)]
pub(in crate::still) struct Shading {
    pub(in crate::still) maps: Vec<GainMap>,
}

/// A grid of gains over the active area.
#[derive(Debug, Clone)]
pub(in crate::still) struct GainMap {
    /// Which pixels it is for, in the active area: first, end, and every so many.
    pub(in crate::still) rows: [u32; 3],
    pub(in crate::still) columns: [u32; 3],
    /// First plane and end.
    pub(in crate::still) planes: [u32; 2],
    pub(in crate::still) down: Points,
    pub(in crate::still) across: Points,
    pub(in crate::still) map_planes: usize,
    /// Row by row, all planes of a point together.
    pub(in crate::still) gains: Vec<f32>,
}

/// The points of a map along one axis, in parts of the picture's length.
#[derive(Debug, Clone, Copy)]
pub(in crate::still) struct Points {
    pub(in crate::still) count: usize,
    pub(in crate::still) spacing: f64,
    pub(in crate::still) origin: f64,
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

impl Shading {
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
