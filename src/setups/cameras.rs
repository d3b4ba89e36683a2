//! Two cameras in one light: what they differ by is theirs.

use schemars::JsonSchema;
use serde::Serialize;

use super::pool::Measured;
use super::setup::{Setup, mean_light};
use crate::balance::{White, rough_kelvin_number};
use crate::card::LightReading;
use crate::colour::{Duv, Mired};

/// What to dial on one camera so that it matches another. Intervals are 90 %.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct CameraOffset {
    /// The camera that the other is to match: the first set-up.
    pub reference: String,
    /// The camera to dial.
    pub camera: String,
    /// What to add to the reference's balance, in mired: + where this camera takes the light for
    /// more orange than the reference does.
    pub mired: f64,
    /// Its interval, low to high.
    pub mired_interval: [f64; 2],
    /// What to add to the reference's balance, in Duv: + where this camera takes the light for
    /// greener, so that its tint is to be dialled toward magenta.
    pub duv: f64,
    /// Its interval, low to high.
    pub duv_interval: [f64; 2],
    /// Whether the cameras differ by more than the uncertainty.
    pub is_real: bool,
    /// The balance that the reference's photos were taken at, kelvin; null where they differ.
    pub reference_kelvin: Option<f64>,
    /// Its tint: Duv.
    pub reference_duv: Option<f64>,
    /// With the reference at that balance, what to set this camera to, kelvin.
    pub setting_kelvin: Option<f64>,
    /// Its tint: Duv.
    pub setting_duv: Option<f64>,
}

/// How far the curve and the picture style of a camera may put a photo off for each mired of its
/// residual: half a 90 % interval in mired and in Duv. Found by simulation (`lab dial`).
const STRAY_MIRED: f64 = 0.16;
const STRAY_DUV: f64 = 2.5e-5;
/// Residuals larger than this, mired, leave an offset that a second photo would much improve.
const FAR_OFF: f64 = 20.0;

/// A camera as its photos of the light show it.
pub(super) struct Camera<'a> {
    name: &'a str,
    light: LightReading,
    balance: Option<White>,
    /// The largest residual of its photos, mired, without sign.
    farthest: f64,
}

impl<'a> Camera<'a> {
    /// `None` where none of the set-up's photos gives a light.
    pub(super) fn of(setup: &'a Setup) -> Option<Self> {
        let taken: Vec<(LightReading, White)> = setup
            .photos()
            .iter()
            .filter_map(|photo| Some((photo.apparent?, photo.reading.as_ref().ok()?.balance()?)))
            .collect();
        let residual =
            |light: &LightReading, balance: &White| (light.mired - balance.mired().get()).abs();
        let lights: Vec<LightReading> = taken
            .iter()
            .map(|(light, balance)| with_stray(*light, residual(light, balance)))
            .collect();
        let first = taken.first().map(|(_, balance)| *balance);
        Some(Self {
            name: setup.name(),
            light: mean_light(&lights)?,
            balance: first.filter(|first| taken.iter().all(|(_, other)| other == first)),
            farthest: taken.iter().map(|(l, b)| residual(l, b)).fold(0.0, f64::max),
        })
    }

    /// What would make the offset closer, where much would: a photo at a setting near the light.
    pub(super) fn advice(&self) -> Option<String> {
        let near = self.light.cct_kelvin;
        (self.farthest > FAR_OFF).then(|| {
            format!(
                "For a closer match set {} near {} K and photograph the card again.",
                self.name,
                rough_kelvin_number(near)
            )
        })
    }

    /// What to dial on this camera to match `reference`.
    pub(super) fn offset_from(&self, reference: &Self) -> CameraOffset {
        let mired = Measured::mired(&self.light).minus(Measured::mired(&reference.light));
        let duv = Measured::duv(&self.light).minus(Measured::duv(&reference.light));
        let setting = reference.balance.and_then(|balance| {
            let mired = Mired::new(balance.mired().get() + mired.value).ok()?;
            White::new(mired.kelvin(), balance.duv + Duv::new(duv.value)).ok()
        });
        let kelvin = |white: White| white.cct.get();
        let tint = |white: White| white.duv.get();
        CameraOffset {
            reference: reference.name.to_owned(),
            camera: self.name.to_owned(),
            mired: mired.value,
            mired_interval: mired.interval(),
            duv: duv.value,
            duv_interval: duv.interval(),
            is_real: mired.is_real() || duv.is_real(),
            reference_kelvin: reference.balance.map(kelvin),
            reference_duv: reference.balance.map(tint),
            setting_kelvin: setting.map(kelvin),
            setting_duv: setting.map(tint),
        }
    }
}

/// Doubts that what was photographed is one light, where the cameras are too far apart for that.
pub(super) fn doubt(offset: &CameraOffset) -> Option<String> {
    /// Cameras of one light may differ by a picture style and a sensor; hardly by so many mired.
    const TOO_FAR: f64 = 60.0;
    let [low, high] = offset.mired_interval;
    (low > TOO_FAR || high < -TOO_FAR).then(|| {
        format!(
            "Cameras in one light hardly differ by so much: make sure that {} and {} were \
             photographed in the same light.",
            offset.reference, offset.camera
        )
    })
}

/// A light with what curve and style leave open at such a residual added to its intervals.
fn with_stray(light: LightReading, residual: f64) -> LightReading {
    let wider = |value: f64, [low, high]: [f64; 2], stray: f64| {
        [value - stray.hypot(value - low), value + stray.hypot(high - value)]
    };
    LightReading {
        mired_interval: wider(light.mired, light.mired_interval, STRAY_MIRED * residual),
        duv_interval: wider(light.duv, light.duv_interval, STRAY_DUV * residual),
        ..light
    }
}
