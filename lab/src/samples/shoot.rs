//! Takes a sample shot.

use super::shot::{Balance, Kind, Shot};
use super::truth::Truth;
use crate::calibrate_raw;
use crate::colorimetry::cct_duv;
use crate::develop::{Development, RawImage, metered_exposure};
use crate::dial::neutral_setting;
use crate::dng::{DngFile, LosslessJpeg, Packing, Readout};
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
    pub bytes: Vec<u8>,
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
    let quality = if shot.is_raw() { raw_quality(quality) } else { quality };
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
    let seed = shot.file.bytes().fold(0, |seed, byte| seed * 31 % 1_000_003 + u64::from(byte));
    let bytes = if shot.is_raw() {
        dng(shot, &raw, &camera, exposure, seed)?
    } else {
        let noise = Some(shot.noise());
        Development { camera, exposure, tone: shot.tone, noise, seed }.jpeg(
            &raw,
            JPEG_QUALITY,
            &shot.data(),
        )?
    };
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
    Ok(Taken { bytes, truth })
}

/// A raw file holds every sample: so that it stays small, the picture is.
fn raw_quality(quality: Quality) -> Quality {
    let half = |side: usize| (side / 2).next_multiple_of(2);
    Quality { width: half(quality.width), height: half(quality.height), ..quality }
}

/// How firmly the cameras' makers held the white when they fitted the matrices.
const WHITE_WEIGHT: f64 = 30.0;

fn dng(
    shot: &Shot,
    image: &RawImage,
    camera: &BalancedCamera,
    exposure: f64,
    seed: u64,
) -> Result<Vec<u8>, LabError> {
    let readout = Readout { exposure, noise: Some(shot.noise()), seed, bits: 12, black: 128 };
    let mut file = DngFile::new(readout.mosaic(image, (2, 2, &[0, 1, 1, 2])));
    file.packing = Packing::LosslessJpeg(LosslessJpeg::default());
    file.raw_tags = readout.level_tags();
    let calibrated = calibrate_raw::calibrated(&camera.sensor, WHITE_WEIGHT)?;
    file.set_colour(&calibrated, Some(camera.gains.map(|gain| 1.0 / gain)));
    file.shot = Some(shot.data());
    file.preview = true;
    Ok(file.bytes())
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
