//! What Exif says about how a picture was taken (CIPA DC-008, Exif 2.32).

use std::io::Cursor;
use std::ops::RangeInclusive;

use exif::{DateTime, Error, Exif, Field, In, Reader, Tag, Value};

use super::Note;
use super::guard::guarded;
use super::sniff::PictureFormat;
use super::xmp::XmpShot;
use crate::colour::Xy;

/// How the picture was taken, as far as the file says. Every field may be missing.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct ShotInfo {
    /// Make and model of the camera, on one line.
    pub camera: Option<String>,
    /// The serial number of its body (Exif `BodySerialNumber`), on one line: it tells two cameras of one
    /// model apart.
    pub body: Option<String>,
    /// When it was taken, in the camera's own time: `YYYY-MM-DDTHH:MM:SS`.
    pub taken: Option<String>,
    /// How many minutes that clock is ahead of UTC.
    pub utc_offset_minutes: Option<i16>,
    /// Exposure time in seconds, above 0.
    pub shutter_seconds: Option<f64>,
    /// The f-number, above 0.
    pub f_number: Option<f64>,
    /// ISO sensitivity, above 0.
    pub iso: Option<u32>,
    /// Whether the flash fired.
    pub flash_fired: Option<bool>,
    /// Whether the camera set its white balance itself (Exif `WhiteBalance` 0); `false` if it was set by hand.
    pub white_balance_auto: Option<bool>,
    /// The Exif `LightSource` code as recorded, 0 (unknown) included.
    pub light_source: Option<u16>,
    /// Exposure compensation in stops.
    pub exposure_bias: Option<f64>,
    /// Exif `Orientation` as recorded, 1–8; 1 where it is missing or makes no sense. The frame is upright
    /// already.
    pub orientation: u8,
    /// The Exif `ColorSpace` code: 1 is sRGB, 65535 uncalibrated.
    pub color_space: Option<u16>,
    /// The as-shot balance that a raw file records.
    pub raw_white: Option<Xy>,
    /// The as-shot balance that a raw file of the same shot beside this one records: what the camera
    /// applied to this one too. Only where the picture was read from a path.
    pub raw_beside: Option<Xy>,
    /// What the embedded XMP packet says.
    pub xmp: Option<XmpShot>,
    /// What a sidecar of the same name says. Only where the picture was read from a path.
    pub sidecar: Option<XmpShot>,
    /// What was ignored or assumed while reading the file.
    pub notes: Vec<Note>,
}

impl Default for ShotInfo {
    fn default() -> Self {
        Self {
            camera: None,
            body: None,
            taken: None,
            utc_offset_minutes: None,
            shutter_seconds: None,
            f_number: None,
            iso: None,
            flash_fired: None,
            white_balance_auto: None,
            light_source: None,
            exposure_bias: None,
            orientation: 1,
            color_space: None,
            raw_white: None,
            raw_beside: None,
            xmp: None,
            sidecar: None,
            notes: Vec::new(),
        }
    }
}

/// Reads the Exif block, and the interoperability index beside it. Damage costs the fields it hits only.
pub(super) fn from_exif(
    block: Option<Vec<u8>>,
    file: &[u8],
    format: PictureFormat,
) -> (ShotInfo, Option<String>) {
    let (exif, note) = guarded(|| parse(block, file, format))
        .unwrap_or((None, Some(Note::BadExif { reason: "it could not be read".to_owned() })));
    let mut shot = exif.as_ref().map(describe).unwrap_or_default();
    // There the picture's own data say how it is turned, and the decoder has done so.
    #[cfg(feature = "jpeg-xl")]
    if format == PictureFormat::JpegXl {
        shot.orientation = 1;
    }
    shot.notes.extend(note);
    let index = exif.as_ref().and_then(|exif| text(exif, Tag::InteroperabilityIndex));
    (shot, index)
}

fn parse(
    block: Option<Vec<u8>>,
    file: &[u8],
    format: PictureFormat,
) -> (Option<Exif>, Option<Note>) {
    let mut reader = Reader::new();
    reader.continue_on_error(true);
    let result = match (block, format) {
        (Some(block), _) => reader.read_raw(without_prefix(&block).to_vec()),
        // A TIFF file is itself an Exif block; a PNG may have its Exif chunk behind the pixels, where
        // the decoder does not look before it is done.
        (None, PictureFormat::Tiff | PictureFormat::Png) => {
            reader.read_from_container(&mut Cursor::new(file))
        }
        (None, _) => return (None, None),
    };
    let mut reasons = Vec::new();
    match result.or_else(|error| error.distill_partial_result(|errors| reasons = errors)) {
        Ok(exif) => {
            let note = reasons.first().map(|error| Note::BadExif { reason: error.to_string() });
            (Some(exif), note)
        }
        Err(Error::NotFound(_)) => (None, None),
        Err(error) => (None, Some(Note::BadExif { reason: error.to_string() })),
    }
}

/// Some writers leave the JPEG segment's identifier in front of the block in PNG and WebP files.
pub(super) fn without_prefix(block: &[u8]) -> &[u8] {
    block.strip_prefix(b"Exif\0\0").unwrap_or(block)
}

fn describe(exif: &Exif) -> ShotInfo {
    let (taken, utc_offset_minutes) = taken(exif).unzip();
    ShotInfo {
        camera: camera(exif),
        body: text(exif, Tag::BodySerialNumber),
        taken,
        utc_offset_minutes: utc_offset_minutes.flatten(),
        shutter_seconds: real(exif, Tag::ExposureTime)
            .or_else(|| real(exif, Tag::ShutterSpeedValue).map(|apex| (-apex).exp2()))
            .filter(|seconds| *seconds > 0.0),
        f_number: real(exif, Tag::FNumber)
            .or_else(|| real(exif, Tag::ApertureValue).map(|apex| (apex / 2.0).exp2()))
            .filter(|number| *number > 0.0),
        iso: iso(exif),
        flash_fired: uint(exif, Tag::Flash).map(|flash| flash & 1 == 1),
        white_balance_auto: match uint(exif, Tag::WhiteBalance) {
            Some(0) => Some(true),
            Some(1) => Some(false),
            _ => None,
        },
        light_source: uint(exif, Tag::LightSource).and_then(|code| u16::try_from(code).ok()),
        exposure_bias: real(exif, Tag::ExposureBiasValue),
        orientation: uint(exif, Tag::Orientation)
            .and_then(|code| u8::try_from(code).ok())
            .filter(|code| (1..=8).contains(code))
            .unwrap_or(1),
        color_space: uint(exif, Tag::ColorSpace).and_then(|code| u16::try_from(code).ok()),
        raw_white: None,
        raw_beside: None,
        xmp: None,
        sidecar: None,
        notes: Vec::new(),
    }
}

/// `PhotographicSensitivity` is 16 bits and says 65535 for anything larger; the value is then elsewhere.
fn iso(exif: &Exif) -> Option<u32> {
    let usual = uint(exif, Tag::PhotographicSensitivity).filter(|iso| (1..65_535).contains(iso));
    let further = [Tag::RecommendedExposureIndex, Tag::StandardOutputSensitivity, Tag::ISOSpeed];
    usual.or_else(|| further.into_iter().find_map(|tag| uint(exif, tag).filter(|iso| *iso > 0)))
}

/// Make and model; the make is left out where the model begins with it.
fn camera(exif: &Exif) -> Option<String> {
    let make = text(exif, Tag::Make);
    let model = text(exif, Tag::Model);
    match (make, model) {
        (Some(make), Some(model)) if !model.to_lowercase().starts_with(&make.to_lowercase()) => {
            Some(format!("{make} {model}"))
        }
        (make, model) => model.or(make),
    }
}

/// The camera's clock, and its offset from UTC.
fn taken(exif: &Exif) -> Option<(String, Option<i16>)> {
    const TIMES: [(Tag, Tag); 2] = [
        (Tag::DateTimeOriginal, Tag::OffsetTimeOriginal),
        (Tag::DateTimeDigitized, Tag::OffsetTimeDigitized),
    ];
    TIMES.into_iter().find_map(|(time, offset)| {
        let time = iso_time(ascii(field(exif, time)?)?)?;
        Some((time, field(exif, offset).and_then(ascii).and_then(utc_offset)))
    })
}

/// Minutes ahead of UTC, from Exif's `+HH:MM`; `None` where no clock on Earth is so far off.
pub(super) fn utc_offset(ascii: &[u8]) -> Option<i16> {
    /// Fourteen hours to the east, twelve to the west.
    const OFFSETS: RangeInclusive<i16> = -12 * 60..=14 * 60;
    let text = std::str::from_utf8(ascii).ok()?.trim_end_matches(['\0', ' ']);
    let (sign, rest) = match text.split_at_checked(1)? {
        ("+", rest) => (1, rest),
        ("-", rest) => (-1, rest),
        _ => return None,
    };
    let two_digits = |part: &str| {
        let is_number = part.len() == 2 && part.bytes().all(|byte| byte.is_ascii_digit());
        part.parse::<i16>().ok().filter(|_| is_number)
    };
    let (hours, minutes) = rest.split_once(':')?;
    let (hours, minutes) = (two_digits(hours)?, two_digits(minutes).filter(|m| *m < 60)?);
    Some(sign * (60 * hours + minutes)).filter(|offset| OFFSETS.contains(offset))
}

/// Years that a photograph's clock may be in. What lies beyond is a clock that was never set, or a field that
/// somebody filled with noughts or nines.
const YEARS: RangeInclusive<u16> = 1826..=2199;

/// How many days a month has; none where there is no such month.
fn days_of(year: u16, month: u8) -> u8 {
    let is_leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        2 => 28 + u8::from(is_leap),
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => 0,
    }
}

/// The camera's clock as ISO 8601, from Exif's own form; `None` where that is no time.
pub(super) fn iso_time(ascii: &[u8]) -> Option<String> {
    let DateTime { year, month, day, hour, minute, second, .. } =
        DateTime::from_ascii(ascii).ok()?;
    let real = YEARS.contains(&year)
        && (1..=days_of(year, month)).contains(&day)
        && hour < 24
        && minute < 60
        && second <= 60;
    real.then(|| format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}"))
}

fn field(exif: &Exif, tag: Tag) -> Option<&Field> {
    exif.get_field(tag, In::PRIMARY)
}

fn uint(exif: &Exif, tag: Tag) -> Option<u32> {
    field(exif, tag)?.value.get_uint(0)
}

fn real(exif: &Exif, tag: Tag) -> Option<f64> {
    let value = match &field(exif, tag)?.value {
        Value::Rational(values) => values.first()?.to_f64(),
        Value::SRational(values) => values.first()?.to_f64(),
        Value::Float(values) => f64::from(*values.first()?),
        Value::Double(values) => *values.first()?,
        other => f64::from(other.get_uint(0)?),
    };
    value.is_finite().then_some(value)
}

fn ascii(field: &Field) -> Option<&[u8]> {
    match &field.value {
        Value::Ascii(lines) => lines.first().map(Vec::as_slice),
        _ => None,
    }
}

fn text(exif: &Exif, tag: Tag) -> Option<String> {
    one_line(&String::from_utf8_lossy(ascii(field(exif, tag)?)?))
}

/// Text from a file, fit to be shown: one line, no control characters, not endless.
pub(super) fn one_line(text: &str) -> Option<String> {
    const LONGEST: usize = 100;
    let clean: String = text.chars().filter(|c| !c.is_control()).take(LONGEST).collect();
    let trimmed = clean.trim();
    (!trimmed.is_empty()).then(|| trimmed.to_owned())
}

#[cfg(test)]
mod tests {
    use super::{iso_time, utc_offset};

    #[test]
    fn a_clock_that_shows_no_day_says_nothing() {
        let time = |text: &str| iso_time(text.as_bytes());
        assert_eq!(time("2024:02:29 18:41:05").as_deref(), Some("2024-02-29T18:41:05"));
        assert!(time("1970:01:01 00:00:00").is_some(), "a clock that was never set still runs");
        for nonsense in [
            "9999:12:31 23:59:59",
            "0000:00:00 00:00:00",
            "0001:01:01 00:00:00",
            "2023:02:29 10:00:00",
            "2024:04:31 10:00:00",
            "2024:13:01 10:00:00",
            "2024:01:01 24:00:00",
        ] {
            assert_eq!(time(nonsense), None, "{nonsense}");
        }
    }

    #[test]
    fn offsets_are_those_of_clocks_on_earth() {
        let minutes = |text: &str| utc_offset(text.as_bytes());
        assert_eq!(
            ["+00:00", "-03:30\0", "+14:00 "].map(minutes),
            [Some(0), Some(-210), Some(840)]
        );
        for nonsense in
            ["", "   :  ", "+9:00", "09:00", "+09:60", "+15:00", "+1é:00", "++9:00", "Z"]
        {
            assert_eq!(minutes(nonsense), None, "{nonsense}");
        }
    }
}
