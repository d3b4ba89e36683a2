//! Two cameras in one light: what they differ by is theirs.

use schemars::JsonSchema;
use serde::Serialize;

use super::pool::Measured;
use super::setup::{Setup, mean_light};
use crate::balance::White;
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

/// A camera as its photos of the light show it.
pub(super) struct Camera<'a> {
    name: &'a str,
    light: LightReading,
    balance: Option<White>,
}

impl<'a> Camera<'a> {
    /// `None` where none of the set-up's photos gives a light.
    pub(super) fn of(setup: &'a Setup) -> Option<Self> {
        let photos = || setup.photos().iter().filter(|photo| photo.apparent.is_some());
        let lights: Vec<LightReading> = photos().filter_map(|photo| photo.apparent).collect();
        let mut balances = photos().filter_map(|photo| {
            let balance = &photo.reading.as_ref().ok()?.shot.balance;
            Some((balance.kelvin?, balance.duv?))
        });
        let first = balances.next().filter(|first| balances.all(|other| other == *first));
        let balance = first.and_then(|(kelvin, duv)| {
            White::new(crate::colour::Kelvin::new(kelvin).ok()?, Duv::new(duv)).ok()
        });
        Some(Self { name: setup.name(), light: mean_light(&lights)?, balance })
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
