//! Takes a sample shot.

use super::shot::{Balance, Kind, Shot};
use super::truth::Truth;
use crate::colorimetry::cct_duv;
use crate::develop::{Development, RawImage, metered_exposure};
use crate::dial::neutral_setting;
use crate::error::LabError;
use crate::preset::dialled;
use crate::scene::{Quality, Studio};
use crate::sensor::{BalancedCamera, Sensor};

/// Paths followed to find the true light; leaves it uncertain by well under a mired.
const TRUTH_PATHS: u32 = 60_000;
/// JPEG quality of the samples.
const JPEG_QUALITY: u8 = 91;

/// A shot taken.
#[derive(Debug, Clone)]
pub struct Taken {
    /// The file.
    pub jpeg: Vec<u8>,
    /// What light it was in.
    pub truth: Truth,
}

/// Renders and develops a shot; the same bytes each time.
///
/// # Errors
/// Any of [`LabError`] but those of files.
pub fn taken(shot: &Shot, quality: Quality) -> Result<Taken, LabError> {
    let studio = Studio::new(&(shot.lighting)()?, shot.card.as_ref(), &shot.props);
    let (place, facing) = match &shot.card {
        Some(card) => (card.centre, card.facing),
        None => shot.subject,
    };
    let (spectrum, _) = studio.light_at(place, facing, TRUTH_PATHS);
    let light = cct_duv(&spectrum)?;

    let sensor = Sensor::made_up(shot.camera.0);
    let camera = match shot.balance {
        Balance::Preset(preset) => BalancedCamera::at_preset(&sensor, preset)?,
        Balance::Auto { settled_kelvin: kelvin } | Balance::Dial { kelvin } => {
            BalancedCamera::at_light(&sensor, &dialled(kelvin)?)?
        }
    };
    let exposure_seconds = f64::from(shot.exposure_time.0) / f64::from(shot.exposure_time.1);
    let layers = studio.photographed(&shot.view, &sensor, quality);
    let raw = layers.combined(|group, down| match shot.flicker {
        Some(flicker) if flicker.group == group => flicker.level(down, exposure_seconds),
        _ => 1.0,
    });
    let exposure = metered_exposure(
        part(&raw, shot.meter.area),
        camera.gains,
        shot.meter.quantile,
        shot.meter.level,
    );
    let development = Development {
        camera,
        exposure,
        tone: shot.tone,
        noise: Some(shot.noise()),
        seed: shot.file.bytes().fold(0, |seed, byte| seed * 31 % 1_000_003 + u64::from(byte)),
    };
    let jpeg = development.jpeg(&raw, JPEG_QUALITY, &shot.data())?;
    let preset = match shot.balance {
        Balance::Preset(preset) => Some(preset.name()),
        Balance::Auto { .. } | Balance::Dial { .. } => None,
    };
    let neutral_kelvin = match shot.balance {
        Balance::Dial { .. } => neutral_setting(&sensor, &spectrum)?.map(|[mired, _]| 1e6 / mired),
        _ => None,
    };
    let truth = Truth {
        kind: shot.kind,
        cct: light.cct.get(),
        mired: 1e6 / light.cct.get(),
        duv: light.duv.get(),
        preset,
        preset_recorded: preset.is_some(),
        dial_kelvin: match shot.balance {
            Balance::Dial { kelvin } => Some(kelvin),
            _ => None,
        },
        neutral_kelvin,
        usable: shot.usable && shot.kind != Kind::Frame,
    };
    Ok(Taken { jpeg, truth })
}

/// The pixels in a part of a picture.
fn part(raw: &RawImage, [left, top, right, bottom]: [f32; 4]) -> impl Iterator<Item = [f32; 3]> {
    let scaled = |share: f32, size: usize| (share * size as f32) as usize;
    let columns = scaled(left, raw.width)..scaled(right, raw.width);
    (scaled(top, raw.height)..scaled(bottom, raw.height)).flat_map(move |row| {
        let start = row * raw.width;
        columns.clone().filter_map(move |column| raw.pixels.get(start + column).copied())
    })
}
