//! Raw files in cameras' own formats, by a decoder library (`rawler`): it unpacks the samples and
//! knows each model's levels, pattern and colour matrices. Everything after that is as for DNG.
//!
//! The matrices are those of the model, not of the camera in hand.

mod bounds;

use std::cmp::Ordering;

use rawler::decoders::{Decoder, FormatHint, RawDecodeParams};
use rawler::exif::Exif;
use rawler::imgop::xyz::Illuminant;
use rawler::rawimage::RawPhotometricInterpretation;
use rawler::rawsource::RawSource;
use rawler::{CFA, RawImage, RawImageData, RawlerError};

use super::guard::guarded;
use super::ifd::TiffBytes;
use super::options::fits;
use super::orientation::Orientation;
use super::raw::{
    AsShotNeutral, Calibrated, FOUR_COLOURS, ONE_COLOUR, RawColour, light_source_kelvin,
};
use super::sensor::{Area, LevelTags, Levels, Mosaic, Reducer, Sensor, Shading};
use super::sniff::PictureFormat;
use super::{ReadErrorKind, ReadOptions, ShotInfo, Still, shot};
use crate::colour::{CameraCalibration, CameraColour, Kelvin, Matrix3};

/// A mosaic repeats after at most this many rows and columns.
const MOST_REPEATS: usize = 16;

/// How such files' names end, in small letters. A DNG is not among them: it has a reader of its own.
pub(super) fn endings() -> impl Iterator<Item = String> {
    let endings = rawler::decoders::supported_extensions().iter().map(|e| e.to_ascii_lowercase());
    // A finished picture is no raw file, whatever some camera stored under its name.
    endings.filter(|e| !["dng", "tif", "tiff", "jpg", "jpeg"].contains(&e.as_str()))
}

/// The library's decoder of a file. What is a DNG is read by our own reader; a version hidden elsewhere
/// makes none.
fn opened(file: &RawSource) -> Result<Box<dyn Decoder + '_>, ReadErrorKind> {
    let decoder = rawler::get_decoder(file).map_err(sort)?;
    match decoder.format_hint() {
        FormatHint::DNG => Err(damaged("it is a DNG in one place and none in another")),
        _ => Ok(decoder),
    }
}

/// What a raw file says without its samples: the calibration and how it was taken.
pub(super) fn calibrated(
    bytes: &[u8],
    options: &ReadOptions,
) -> Result<(Calibrated, ShotInfo), ReadErrorKind> {
    check(bytes, options)?;
    let file = RawSource::new_from_slice(bytes);
    let decoder = opened(&file)?;
    let image = outline(&*decoder, &file, options)?;
    Ok((calibration(&image)?, taken(&*decoder, &file, bytes)))
}

/// Reads a raw file.
pub(super) fn read(bytes: &[u8], options: &ReadOptions) -> Result<Still, ReadErrorKind> {
    check(bytes, options)?;
    let file = RawSource::new_from_slice(bytes);
    let decoder = opened(&file)?;
    outline(&*decoder, &file, options)?;
    let mut shot = taken(&*decoder, &file, bytes);
    let image = decoder.raw_image(&file, &RawDecodeParams::default(), false).map_err(sort)?;

    let sensor = sensor(&image)?;
    let colour = RawColour::new(calibration(&image)?)?;
    shot.raw_white = colour.recorded_white();
    let levels = Levels::new(&sensor, level_tags(&image, &sensor))?;
    let RawImageData::Integer(samples) = &image.data else {
        return Err(unsupported("floating-point or signed samples"));
    };
    let orientation = Orientation::from_exif(shot.orientation);
    let shading = Shading::default();
    let mut reducer = Reducer::new(&sensor, &levels, &shading, orientation, options);
    let whole = Area { x: 0, y: 0, width: sensor.width, height: sensor.height };
    let row_samples = sensor.width as usize * sensor.planes;
    if samples.len() < row_samples * sensor.height as usize {
        return Err(ReadErrorKind::Truncated { source: None });
    }
    for (row, samples) in (0..sensor.height).zip(samples.chunks_exact(row_samples.max(1))) {
        reducer.add_row(whole, row, 0, samples);
    }
    let bits = u8::try_from(image.bps.clamp(8, 16)).unwrap_or(16);
    let frame = reducer.finish(&colour, bits, orientation);
    Ok(Still { frame, shot, raw: Some(colour) })
}

/// Refuses what the library would never come to the end of, or ask the system for endless memory for: a
/// program cannot go on after that.
fn check(bytes: &[u8], options: &ReadOptions) -> Result<(), ReadErrorKind> {
    if TiffBytes::overstates(bytes) {
        return Err(damaged("an entry counts more bytes than the file has"));
    }
    bounds::check(bytes, options.max_pixels)
}

/// The picture's description, with nothing of its size allocated; refused if it is too large.
fn outline(
    decoder: &dyn Decoder,
    file: &RawSource,
    options: &ReadOptions,
) -> Result<RawImage, ReadErrorKind> {
    let image = decoder.raw_image(file, &RawDecodeParams::default(), true).map_err(sort)?;
    let (width, height) = size(&image)?;
    fits([width, height], options.max_pixels)?;
    Ok(image)
}

fn size(image: &RawImage) -> Result<(u32, u32), ReadErrorKind> {
    /// As in a DNG: no sensor is longer.
    const LONGEST_SIDE: usize = 65_535;
    match (image.width, image.height) {
        (0, _) | (_, 0) => Err(damaged("it does not say its size")),
        (width, height) if width.max(height) > LONGEST_SIDE => {
            Err(damaged("it is longer than any sensor"))
        }
        (width, height) => Ok((width as u32, height as u32)),
    }
}

fn sensor(image: &RawImage) -> Result<Sensor, ReadErrorKind> {
    let (width, height) = size(image)?;
    if image.fuji_rotation_width.is_some() {
        return Err(unsupported("a sensor turned by 45 degrees"));
    }
    let area = |rect: rawler::imgop::Rect| -> Option<Area> {
        let [x, y, w, h] =
            [rect.p.x, rect.p.y, rect.d.w, rect.d.h].map(|side| u32::try_from(side).ok());
        let area = Area { x: x?, y: y?, width: w?, height: h? };
        let inside = area.x.checked_add(area.width)? <= width
            && area.y.checked_add(area.height)? <= height
            && area.width > 0
            && area.height > 0;
        inside.then_some(area)
    };
    let whole = Area { x: 0, y: 0, width, height };
    let active = match image.active_area {
        Some(rect) => area(rect).ok_or(damaged("its active area lies outside the picture"))?,
        None => whole,
    };
    let (planes, mosaic) = match (&image.photometric, image.cpp) {
        (RawPhotometricInterpretation::Cfa(config), 1) => (1, Some(mosaic(&config.cfa, active)?)),
        (RawPhotometricInterpretation::LinearRaw, 3) => (3, None),
        (RawPhotometricInterpretation::BlackIsZero, _) | (_, 1) => {
            return Err(unsupported(ONE_COLOUR));
        }
        _ => return Err(unsupported(FOUR_COLOURS)),
    };
    let (columns, rows) = mosaic.as_ref().map_or((1, 1), |m| (m.columns as u32, m.rows as u32));
    let crop = image.crop_area.and_then(area).unwrap_or(active);
    let [x, y] = [crop.x.saturating_sub(active.x), crop.y.saturating_sub(active.y)];
    let across = crop.width.min(active.width.saturating_sub(x));
    let down = crop.height.min(active.height.saturating_sub(y));
    let crop = Area { x, y, width: across - across % columns, height: down - down % rows };
    if crop.width == 0 || crop.height == 0 {
        return Err(damaged("its crop lies outside the picture"));
    }
    Ok(Sensor { width, height, planes, planar: false, mosaic, active, crop })
}

/// The pattern from the active area's corner on; the library counts from the sensor's.
fn mosaic(cfa: &CFA, active: Area) -> Result<Mosaic, ReadErrorKind> {
    let (rows, columns) = (cfa.height, cfa.width);
    if !(1..=MOST_REPEATS).contains(&rows) || !(1..=MOST_REPEATS).contains(&columns) {
        return Err(damaged("its colour pattern does not repeat"));
    }
    let [left, top] = [active.x as usize, active.y as usize];
    let places = (0..rows).flat_map(|row| (0..columns).map(move |column| (row, column)));
    let channels: Vec<u8> = places
        .map(|(row, column)| cfa.color_at((row + top) % rows, (column + left) % columns) as u8)
        .collect();
    if channels.iter().any(|channel| *channel > 2) {
        return Err(unsupported(FOUR_COLOURS));
    }
    if !(0..3).all(|channel| channels.contains(&channel)) {
        return Err(damaged("its colour pattern is incomplete"));
    }
    Ok(Mosaic { rows, columns, channels })
}

fn level_tags(image: &RawImage, sensor: &Sensor) -> LevelTags {
    let black = image.blacklevel.shift(sensor.active.x as usize, sensor.active.y as usize);
    let white = image.whitelevel.0.iter().map(|level| f64::from(*level));
    LevelTags {
        black: black.as_vec().into_iter().map(f64::from).collect(),
        columns: black.width,
        white: match sensor.mosaic {
            // One for each colour of the mosaic, whose samples are one plane: the lowest, so that
            // none is past saturation unseen.
            Some(_) => white.reduce(f64::min).into_iter().collect(),
            None => white.collect(),
        },
        ..LevelTags::default()
    }
}

fn calibration(image: &RawImage) -> Result<Calibrated, ReadErrorKind> {
    let mut known: Vec<CameraCalibration> = image
        .color_matrix
        .iter()
        .filter_map(|(light, matrix)| {
            let illuminant =
                light_source_kelvin(light_code(light)).and_then(|k| Kelvin::new(k).ok());
            Some(CameraCalibration { illuminant, from_xyz: matrix3(matrix)? })
        })
        .collect();
    // The table has no order of its own. From the warmest light to the coolest, unknown ones last.
    let rank = |c: &CameraCalibration| c.illuminant.map_or(f64::INFINITY, |kelvin| kelvin.get());
    known.sort_by(|a, b| rank(a).partial_cmp(&rank(b)).unwrap_or(Ordering::Equal));
    let first = *known.first().ok_or(unsupported("no colour matrix"))?;
    let second = known.iter().rev().find(|c| c.illuminant.is_some()).copied();
    let camera = CameraColour::new(first, second)
        .map_err(|_| damaged("its colour matrix has no inverse"))?;
    let as_shot =
        as_shot_neutral(image.wb_coeffs).and_then(|neutral| AsShotNeutral::of(neutral, &camera));
    Ok(Calibrated { camera, as_shot })
}

/// The library numbers lights as Exif `LightSource` does.
fn light_code(light: &Illuminant) -> u64 {
    *light as u64
}

fn matrix3(values: &[f32]) -> Option<Matrix3> {
    let values: Vec<f64> = values.iter().map(|value| f64::from(*value)).collect();
    match values.as_chunks::<3>() {
        (&[first, second, third], []) => Some(Matrix3([first, second, third])),
        _ => None,
    }
}

/// From the channels' multipliers. Equal ones stand for a balance that was not found: no sensor's
/// channels are balanced by themselves.
fn as_shot_neutral(multipliers: [f32; 4]) -> Option<[f64; 3]> {
    let [red, green, blue, _] = multipliers.map(f64::from);
    let used = [red, green, blue];
    let real = used.iter().all(|m| m.is_finite() && *m > 0.0);
    let found = red != green || green != blue;
    (real && found).then(|| used.map(|multiplier| 1.0 / multiplier))
}

/// How it was taken: by the file's own Exif block where it is a TIFF, else by what the library
/// finds in its boxes.
fn taken(decoder: &dyn Decoder, file: &RawSource, bytes: &[u8]) -> ShotInfo {
    if super::tiff::is_tiff(bytes) {
        return shot::from_exif(None, bytes, PictureFormat::Tiff).0;
    }
    // What it says beside the picture may be damaged, and the picture still sound.
    let metadata = guarded(|| decoder.raw_metadata(file, &RawDecodeParams::default()).ok());
    let Some(metadata) = metadata.flatten() else { return ShotInfo::default() };
    let real = |value: Option<f64>| value.filter(|value| value.is_finite() && *value > 0.0);
    let Exif {
        orientation,
        exposure_time,
        fnumber,
        iso_speed_ratings,
        date_time_original,
        offset_time_original,
        serial_number,
        ..
    } = metadata.exif;
    ShotInfo {
        camera: shot::one_line(&format!("{} {}", metadata.make, metadata.model)),
        body: serial_number.as_deref().and_then(shot::one_line),
        taken: date_time_original.and_then(|time| shot::iso_time(time.as_bytes())),
        utc_offset_minutes: offset_time_original
            .and_then(|offset| shot::utc_offset(offset.as_bytes())),
        shutter_seconds: real(exposure_time.map(|time| f64::from(time.n) / f64::from(time.d))),
        f_number: real(fnumber.map(|number| f64::from(number.n) / f64::from(number.d))),
        iso: iso_speed_ratings.map(u32::from).filter(|iso| *iso > 0),
        orientation: orientation
            .and_then(|code| u8::try_from(code).ok())
            .filter(|code| (1..=8).contains(code))
            .unwrap_or(1),
        ..ShotInfo::default()
    }
}

fn sort(error: RawlerError) -> ReadErrorKind {
    match error {
        RawlerError::Unsupported { .. } => unsupported("a format or model that is not known"),
        RawlerError::DecoderFailed(_) => ReadErrorKind::Damaged { source: Some(Box::new(error)) },
    }
}

fn damaged(what: &'static str) -> ReadErrorKind {
    ReadErrorKind::DamagedRaw { what }
}

fn unsupported(found: &'static str) -> ReadErrorKind {
    ReadErrorKind::UnsupportedRaw { found }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_balance_that_was_not_found_is_none() {
        assert_eq!(
            as_shot_neutral([2.0, 1.0, 1.6, f32::NAN]),
            Some([0.5, 1.0, 1.0 / f64::from(1.6_f32)])
        );
        for nothing in [[1.0; 4], [f32::NAN; 4], [0.0, 1.0, 1.0, 0.0], [-1.0, 1.0, 2.0, 0.0]] {
            assert_eq!(as_shot_neutral(nothing), None);
        }
    }

    #[test]
    fn a_pattern_counts_from_the_active_area() {
        let area = |x, y| Area { x, y, width: 8, height: 8 };
        let channels = |x, y| mosaic(&CFA::new("RGGB"), area(x, y)).unwrap().channels;
        assert_eq!(channels(0, 0), [0, 1, 1, 2]);
        assert_eq!(channels(1, 0), [1, 0, 2, 1]);
        assert_eq!(channels(3, 1), [2, 1, 1, 0]);
        assert!(mosaic(&CFA::new("RGEB"), area(0, 0)).is_err());
    }
}
