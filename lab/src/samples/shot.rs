//! What makes a sample shot: light, card, camera, and what is to be learned from it.

use crate::develop::Noise;
use crate::error::LabError;
use crate::exif::{Rational, ShotData};
use crate::preset::Preset;
use crate::scene::{CardPlace, Lighting, Prop, Vec3, View};
use crate::tone::ToneCurve;

/// What a shot is an example of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A card that fills the frame, in one light.
    Clean,
    /// A whole card with the studio about it.
    Framed,
    /// A card that covers little of the frame.
    Small,
    /// A card with a saturated channel.
    Clipped,
    /// A card near black.
    Dark,
    /// A card in two lights.
    Mixed,
    /// A card with a shadow's edge on it.
    Shadow,
    /// A card with mains banding.
    Banded,
    /// A card with a bright reflection.
    Glare,
    /// A card with print, marks and a thumb on it.
    Marked,
    /// A card taken with automatic balance.
    AutoBalance,
    /// No card in it.
    NoCard,
    /// One of a bracket of balance settings.
    Bracket,
    /// A frame of the studio to check for a cast.
    Frame,
}

/// What the camera's white balance was set to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Balance {
    /// A preset, recorded in Exif.
    Preset(Preset),
    /// Automatic; the temperature in kelvin is where it settled, which only a raw file records.
    Auto {
        /// Where it settled.
        settled_kelvin: f64,
    },
    /// A number on the kelvin dial, which Exif has no place for.
    Dial {
        /// The number.
        kelvin: f64,
    },
}

/// Lamps that flicker at twice the mains frequency under a shutter that runs down the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flicker {
    /// The group of lights that flickers.
    pub group: usize,
    /// Share of its light that comes and goes.
    pub depth: f64,
    /// Mains frequency, Hz.
    pub mains_hz: f64,
    /// Time between the first and the last row, seconds.
    pub readout_seconds: f64,
}

impl Flicker {
    /// Mean level over the exposure of a row; `down` runs from 0 at the top to 1.
    #[must_use]
    pub fn level(&self, down: f64, exposure_seconds: f64) -> f64 {
        // The light follows the square of the mains voltage; this is that, averaged over the time the row is open.
        let angular = std::f64::consts::TAU * 2.0 * self.mains_hz;
        let middle = down * self.readout_seconds;
        let half = angular * exposure_seconds * 0.5;
        1.0 - self.depth * (angular * middle).cos() * half.sin() / half
    }
}

/// How the exposure is set: a quantile of the strongest channel in part of the picture is brought to a level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meter {
    /// Left, top, right and bottom of the part metered, 0 to 1.
    pub area: [f32; 4],
    /// The quantile.
    pub quantile: f64,
    /// The level, 1 where the sensor saturates.
    pub level: f64,
}

/// One sample shot.
#[derive(Debug, Clone)]
pub struct Shot {
    /// File name.
    pub file: &'static str,
    /// What is to be seen, for the table.
    pub story: &'static str,
    /// The light, in words.
    pub light: &'static str,
    /// What the program should say of it.
    pub expected: &'static str,
    /// What it is an example of.
    pub kind: Kind,
    /// Whether a light can be read from it.
    pub usable: bool,
    /// Makes the lights.
    pub lighting: fn() -> Result<Lighting, LabError>,
    /// The card, if there is one.
    pub card: Option<CardPlace>,
    /// What else stands there.
    pub props: Vec<Prop>,
    /// Where the truth is taken if there is no card: a place and the direction it faces.
    pub subject: (Vec3, Vec3),
    /// The camera's place.
    pub view: View,
    /// Seed of the camera's sensor, and its name.
    pub camera: (u64, &'static str),
    /// The camera's tone curve.
    pub tone: ToneCurve,
    /// The camera's balance.
    pub balance: Balance,
    /// The camera's exposure.
    pub meter: Meter,
    /// Flickering lamps, if any.
    pub flicker: Option<Flicker>,
    /// Time of day, `HH:MM:SS`.
    pub time: &'static str,
    /// Exposure time as a fraction of a second.
    pub exposure_time: (u32, u32),
    /// Aperture number times ten.
    pub f_number_tenths: u32,
    /// ISO speed.
    pub iso: u16,
}

impl Shot {
    /// Whether the camera wrote a raw file.
    #[must_use]
    pub fn is_raw(&self) -> bool {
        self.file.ends_with(".dng")
    }

    /// The noise at the shot's ISO speed.
    #[must_use]
    pub fn noise(&self) -> Noise {
        Noise::at_iso(self.iso)
    }

    /// What the camera notes about the shot.
    #[must_use]
    pub fn data(&self) -> ShotData {
        let (auto_balance, light_source) = match self.balance {
            Balance::Preset(preset) => (false, preset.exif_light_source()),
            Balance::Auto { .. } => (true, 0),
            Balance::Dial { .. } => (false, 0),
        };
        ShotData {
            model: self.camera.1.to_owned(),
            taken_at: format!("2024:03:12 {}", self.time),
            exposure_time: Rational {
                numerator: self.exposure_time.0,
                denominator: self.exposure_time.1,
            },
            f_number: Rational { numerator: self.f_number_tenths, denominator: 10 },
            iso: self.iso,
            flash_fired: false,
            auto_balance,
            light_source,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn flicker_vanishes_over_whole_half_waves() {
        let flicker = Flicker { group: 2, depth: 0.6, mains_hz: 50.0, readout_seconds: 0.03 };
        for row in 0..20 {
            let down = f64::from(row) / 20.0;
            assert!((flicker.level(down, 0.01) - 1.0).abs() < 1e-9);
        }
        let levels: Vec<f64> =
            (0..100).map(|row| flicker.level(f64::from(row) / 100.0, 1.0 / 320.0)).collect();
        let spread = levels.iter().copied().fold(f64::MIN, f64::max)
            - levels.iter().copied().fold(f64::MAX, f64::min);
        assert!(spread > 0.8, "{spread}");
    }
}
