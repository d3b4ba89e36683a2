//! Made-up readings for the tests of this layer.

use super::SetupPhoto;
use crate::card::{
    BalanceRecord, CardReading, CardRecord, LightReading, Residual, ShotRecord, Status,
};

/// A light that is known to 12 mired and 0.004 Duv.
pub(in crate::setups) fn light(mired: f64) -> LightReading {
    LightReading {
        cct_kelvin: 1e6 / mired,
        cct_interval_kelvin: [1e6 / (mired + 12.0), 1e6 / (mired - 12.0)],
        mired,
        mired_interval: [mired - 12.0, mired + 12.0],
        duv: 0.0,
        duv_interval: [-0.004, 0.004],
    }
}

/// A good card that was read, taken at the daylight preset.
pub(in crate::setups) fn photo(path: &str, mired: f64) -> SetupPhoto {
    let reading = CardReading {
        status: Status::Read,
        card: CardRecord {
            coverage: 1.0,
            area: Vec::new(),
            level: Some(0.7),
            stated: false,
            problems: Vec::new(),
        },
        shot: ShotRecord { balance: BalanceRecord::of_daylight(), ..ShotRecord::default() },
        residual: Some(Residual {
            white_linear_srgb: [1.0; 3],
            mired: Some(mired - 1e6 / 5500.0),
            duv: Some(0.0),
        }),
        light: Some(light(mired)),
        presets: Vec::new(),
        advice: Vec::new(),
    };
    let mut apparent = light(mired);
    apparent.mired_interval = [mired - 2.0, mired + 2.0];
    SetupPhoto { path: path.into(), reading: Ok(reading), apparent: Some(apparent), is_raw: false }
}
