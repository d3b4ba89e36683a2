//! The record that a card's reading ends up in.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::problem::ProblemRecord;
use super::uncertainty::Estimate;
use crate::balance::{AsShot, BalanceSource, Miss, White};
use crate::colour::{Duv, Kelvin};
use crate::still::ShotInfo;

/// Whether and how a card could be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Status {
    /// The light is known.
    Read,
    /// The card is good, but the light cannot be placed without the as-shot balance.
    ResidualOnly,
    /// The card cannot be balanced from.
    Refused,
}

/// What a photo of a card says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CardReading {
    /// Whether and how the card could be read.
    pub status: Status,
    /// The card in the picture.
    pub card: CardRecord,
    /// How the photo was taken.
    pub shot: ShotRecord,
    /// The colour that the card has in the picture; null where it has none that counts.
    pub residual: Option<Residual>,
    /// The light; null unless `status` is `read`.
    pub light: Option<LightReading>,
    /// How far each preset would miss the light, what shows least first; empty unless `status` is `read`.
    pub presets: Vec<Miss>,
    /// What to do next, a sentence each.
    pub advice: Vec<String>,
}

/// The card in the picture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CardRecord {
    /// Part of the frame that the card covers, 0–1.
    pub coverage: f64,
    /// Its four corners in pixels of the upright picture, clockwise as displayed; empty where no
    /// card was found.
    pub area: Vec<[f64; 2]>,
    /// Median level of the card's brightest channel, 0–1 on the encoding's own scale as in a
    /// camera's histogram; null where no card was found.
    pub level: Option<f64>,
    /// Whether the user said where it is; only there where that is so.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub stated: bool,
    /// Everything found wrong.
    pub problems: Vec<ProblemRecord>,
}

/// How the photo was taken, as far as it bears on the reading.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct ShotRecord {
    /// The as-shot balance.
    pub balance: BalanceRecord,
    /// When, by the camera's clock: `YYYY-MM-DDTHH:MM:SS`.
    pub taken: Option<String>,
    /// How many minutes that clock is ahead of UTC; only there where the file says it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub utc_offset_minutes: Option<i16>,
    /// The camera.
    pub camera: Option<String>,
    /// The serial number of the camera's body; only there where the file says it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub body: Option<String>,
    /// Shutter time in seconds.
    pub shutter_seconds: Option<f64>,
}

/// The as-shot balance in a record.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default)]
pub struct BalanceRecord {
    /// Where it is known from.
    pub source: BalanceSource,
    /// The preset's name, where it is one.
    pub name: Option<String>,
    /// Its temperature in kelvin.
    pub kelvin: Option<f64>,
    /// Its tint: Duv, + green, − magenta.
    pub duv: Option<f64>,
}

#[cfg(test)]
impl BalanceRecord {
    /// That of an example shot at the daylight preset.
    pub(crate) fn of_daylight() -> Self {
        Self {
            source: BalanceSource::LightSource,
            name: Some("daylight".to_owned()),
            kelvin: Some(5500.0),
            duv: Some(0.0033),
        }
    }
}

/// The colour that the card has in the picture as recorded.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Residual {
    /// The card's colour in linear sRGB, largest channel 1.
    pub white_linear_srgb: [f64; 3],
    /// Light − as-shot balance in mired, + orange; at a 5500 K balance where none is known. Null
    /// where the colour is so strong that no light explains it.
    pub mired: Option<f64>,
    /// The same in Duv, + green.
    pub duv: Option<f64>,
}

/// The light that the card was photographed in. Intervals are 90 %: over many photographs they
/// hold the truth nine times in ten.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct LightReading {
    /// Correlated colour temperature, kelvin.
    pub cct_kelvin: f64,
    /// Its interval, low to high.
    pub cct_interval_kelvin: [f64; 2],
    /// 10⁶ / kelvin.
    pub mired: f64,
    /// Its interval, low to high.
    pub mired_interval: [f64; 2],
    /// Signed distance from the Planckian locus: + green, − magenta.
    pub duv: f64,
    /// Its interval, low to high.
    pub duv_interval: [f64; 2],
}

impl ShotRecord {
    /// What a file says of how it was taken, and the balance that it counts as taken at.
    #[must_use]
    pub fn of(shot: &ShotInfo, as_shot: &AsShot) -> Self {
        let white = as_shot.white;
        Self {
            balance: BalanceRecord {
                source: as_shot.source,
                name: as_shot.name.clone(),
                kelvin: white.map(|white| white.cct.get()),
                duv: white.map(|white| white.duv.get()),
            },
            taken: shot.taken.clone(),
            utc_offset_minutes: shot.utc_offset_minutes,
            camera: shot.camera.clone(),
            body: shot.body.clone(),
            shutter_seconds: shot.shutter_seconds,
        }
    }
}

impl CardReading {
    /// The as-shot balance as a white, if it is known.
    #[must_use]
    pub fn balance(&self) -> Option<White> {
        let BalanceRecord { kelvin, duv, .. } = self.shot.balance;
        White::new(Kelvin::new(kelvin?).ok()?, Duv::new(duv?)).ok()
    }
}

impl LightReading {
    pub(super) fn of(estimate: &Estimate) -> Self {
        let [low, high] = estimate.mired_interval;
        Self {
            cct_kelvin: estimate.white.cct.get(),
            cct_interval_kelvin: [1e6 / high, 1e6 / low],
            mired: estimate.white.mired().get(),
            mired_interval: [low, high],
            duv: estimate.white.duv.get(),
            duv_interval: estimate.duv_interval,
        }
    }
}
