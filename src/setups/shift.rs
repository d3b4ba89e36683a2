//! How far one set-up's light lies from another's.

use schemars::JsonSchema;
use serde::Serialize;

use super::pool::Measured;
use crate::balance::appearance;
use crate::card::LightReading;

/// From one set-up to another. Intervals are 90 %.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Shift {
    /// The set-up from which it is counted.
    pub from: String,
    /// The set-up to which it is counted.
    pub to: String,
    /// `to` − `from` in mired: + `to` is more orange.
    pub mired: f64,
    /// Its interval, low to high.
    pub mired_interval: [f64; 2],
    /// `to` − `from` in Duv: + `to` is greener.
    pub duv: f64,
    /// Its interval, low to high.
    pub duv_interval: [f64; 2],
    /// Whether the mired shift is more than the uncertainty: its interval leaves 0 out.
    pub mired_is_real: bool,
    /// Whether the Duv shift is.
    pub duv_is_real: bool,
    /// How `to` looks under a balance that is right for `from`.
    pub appearance: String,
}

impl Shift {
    pub(super) fn between(from: (&str, &LightReading), to: (&str, &LightReading)) -> Self {
        let mired = Measured::mired(to.1).minus(Measured::mired(from.1));
        let duv = Measured::duv(to.1).minus(Measured::duv(from.1));
        Self {
            from: from.0.to_owned(),
            to: to.0.to_owned(),
            mired: mired.value,
            mired_interval: mired.interval(),
            duv: duv.value,
            duv_interval: duv.interval(),
            mired_is_real: mired.is_real(),
            duv_is_real: duv.is_real(),
            appearance: appearance(mired.value, duv.value),
        }
    }

    /// Whether the two set-ups differ by more than the uncertainty at all.
    #[must_use]
    pub fn is_real(&self) -> bool {
        self.mired_is_real || self.duv_is_real
    }
}
