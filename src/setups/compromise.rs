//! One balance for several lights: the one whose worst miss is smallest.

use schemars::JsonSchema;
use serde::Serialize;

use crate::balance::{PresetTable, appearance};
use crate::card::LightReading;

/// The balance that makes the worst miss smallest, in mired and in Duv alike.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct OneBalance {
    /// Its temperature, kelvin.
    pub kelvin: f64,
    /// Its tint: Duv, + green, − magenta.
    pub duv: f64,
    /// The largest miss under it in mired, without sign.
    pub worst_miss_mired: f64,
    /// The largest miss under it in Duv, without sign.
    pub worst_miss_duv: f64,
    /// Each set-up's miss under it.
    pub misses: Vec<SetupMiss>,
    /// The preset that comes nearest to it, by the same worst miss; null where a table has none
    /// to compare.
    pub preset: Option<NearestPreset>,
}

/// One set-up's miss under the one balance.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SetupMiss {
    /// The set-up.
    pub setup: String,
    /// Light − balance in mired: + orange, − blue.
    pub mired: f64,
    /// Light − balance in Duv: + green, − magenta.
    pub duv: f64,
    /// How it looks.
    pub appearance: String,
}

/// The preset whose worst miss is smallest.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct NearestPreset {
    /// Its name.
    pub name: String,
    /// Its temperature, kelvin.
    pub kelvin: f64,
    /// The largest miss under it in mired, without sign.
    pub worst_miss_mired: f64,
    /// The largest miss under it in Duv, without sign.
    pub worst_miss_duv: f64,
}

impl OneBalance {
    /// The balance midway between the extremes; `None` of no lights.
    pub(super) fn of(lights: &[(&str, &LightReading)], presets: &PresetTable) -> Option<Self> {
        let mired = Range::of(lights.iter().map(|(_, light)| light.mired))?;
        let duv = Range::of(lights.iter().map(|(_, light)| light.duv))?;
        let nearest = presets
            .compared()
            .map(|preset| NearestPreset {
                name: preset.name.clone(),
                kelvin: preset.white.cct.get(),
                worst_miss_mired: mired.worst(preset.white.mired().get()),
                worst_miss_duv: duv.worst(preset.white.duv.get()),
            })
            .min_by(|a, b| {
                let of = |preset: &NearestPreset| (preset.worst_miss_mired, preset.worst_miss_duv);
                let ((a_mired, a_duv), (b_mired, b_duv)) = (of(a), of(b));
                a_mired.total_cmp(&b_mired).then(a_duv.total_cmp(&b_duv))
            });
        let misses = lights.iter().map(|(name, light)| {
            let (mired, duv) = (light.mired - mired.middle(), light.duv - duv.middle());
            SetupMiss { setup: (*name).to_owned(), mired, duv, appearance: appearance(mired, duv) }
        });
        Some(Self {
            kelvin: 1e6 / mired.middle(),
            duv: duv.middle(),
            worst_miss_mired: mired.worst(mired.middle()),
            worst_miss_duv: duv.worst(duv.middle()),
            misses: misses.collect(),
            preset: nearest,
        })
    }
}

struct Range {
    low: f64,
    high: f64,
}

impl Range {
    fn of(values: impl Iterator<Item = f64> + Clone) -> Option<Self> {
        Some(Self { low: values.clone().reduce(f64::min)?, high: values.reduce(f64::max)? })
    }

    fn middle(&self) -> f64 {
        f64::midpoint(self.low, self.high)
    }

    fn worst(&self, from: f64) -> f64 {
        (self.high - from).abs().max((self.low - from).abs())
    }
}
