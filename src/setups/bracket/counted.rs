//! The photos of a bracket that count, and the settings they were taken at.

use super::fit::{Pair, Point};
use crate::balance::White;
use crate::setups::setup::SetupPhoto;

/// How far beyond or beside neutral a further setting is best, mired.
pub(super) const STEP: f64 = 15.0;

/// A photo that counts.
#[derive(Debug, Clone)]
pub(super) struct Counted {
    pub(super) path: String,
    pub(super) setting: White,
    pub(super) point: Point,
}

impl Counted {
    /// Its setting, mired.
    pub(super) fn place(&self) -> f64 {
        self.setting.mired().get()
    }

    /// The same picture, had it been taken at another setting.
    pub(super) fn at_setting(&self, setting: White) -> Self {
        let Pair { mired, duv } = self.point.residual;
        let light = Pair { mired: setting.mired().get() + mired, duv: setting.duv.get() + duv };
        Self { setting, point: Point { light, ..self.point }, ..self.clone() }
    }

    pub(super) fn of(photo: &SetupPhoto) -> Option<Self> {
        let reading = photo.reading.as_ref().ok()?;
        let (light, setting) = (reading.light?, reading.balance()?);
        let half = |[low, high]: [f64; 2]| (high - low) / 2.0;
        Some(Self {
            path: photo.path.to_string_lossy().into_owned(),
            setting,
            point: Point {
                residual: Pair {
                    mired: light.mired - setting.mired().get(),
                    duv: light.duv - setting.duv.get(),
                },
                light: Pair { mired: light.mired, duv: light.duv },
                half: Pair { mired: half(light.mired_interval), duv: half(light.duv_interval) },
            },
        })
    }
}

/// The largest and the smallest.
pub(super) fn ends(values: impl Iterator<Item = f64> + Clone) -> Option<(f64, f64)> {
    Some((values.clone().reduce(f64::max)?, values.reduce(f64::min)?))
}

/// The number nearest to a place on the mired scale that a dial has.
pub(super) fn dial(mired: f64) -> f64 {
    let kelvin = 1e6 / mired.max(1.0);
    let step = if kelvin < 4000.0 { 50.0 } else { 100.0 };
    (kelvin / step).round() * step
}
