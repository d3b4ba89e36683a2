//! A small Exif writer: what a camera notes about a shot, as a TIFF structure in a JPEG's APP1 segment.

use crate::tiff::{ByteOrder, HEADER_LENGTH, Value, directory};

/// A positive fraction, as Exif's RATIONAL.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rational {
    /// Above the line.
    pub numerator: u32,
    /// Below the line; not 0.
    pub denominator: u32,
}

/// What the camera notes about a shot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShotData {
    /// The camera's model name.
    pub model: String,
    /// When it was taken, `YYYY:MM:DD HH:MM:SS`.
    pub taken_at: String,
    /// Exposure time, seconds.
    pub exposure_time: Rational,
    /// Aperture number.
    pub f_number: Rational,
    /// ISO speed.
    pub iso: u16,
    /// Whether the flash fired.
    pub flash_fired: bool,
    /// Whether the balance was automatic.
    pub auto_balance: bool,
    /// The LightSource code, 0 for unknown.
    pub light_source: u16,
}

impl ShotData {
    /// The entries of the main directory that say how the shot was taken, but for the place of the Exif directory.
    pub(crate) fn main_entries(&self) -> Vec<(u16, Value)> {
        vec![
            (0x0110, Value::Ascii(self.model.clone())),
            (0x0112, Value::short(1)),
            (0x0132, Value::Ascii(self.taken_at.clone())),
        ]
    }

    /// The entries of the Exif directory (Exif 2.32, section 4.6) that do not hang on the picture.
    pub(crate) fn exif_entries(&self) -> Vec<(u16, Value)> {
        let rational = |r: Rational| Value::Rationals(vec![[r.numerator, r.denominator]]);
        vec![
            (0x829a, rational(self.exposure_time)),
            (0x829d, rational(self.f_number)),
            (0x8827, Value::short(self.iso)),
            (0x9000, Value::Undefined(b"0232".to_vec())),
            (0x9003, Value::Ascii(self.taken_at.clone())),
            (0x9208, Value::short(self.light_source)),
            // Bit 0: fired; bit 4: switched off on purpose.
            (0x9209, Value::short(if self.flash_fired { 0x01 } else { 0x10 })),
            (0xa403, Value::short(u16::from(!self.auto_balance))),
        ]
    }
}

/// Where a directory says that the Exif directory is.
pub(crate) const EXIF_DIRECTORY: u16 = 0x8769;

/// The TIFF structure: directory 0, then the Exif directory.
fn tiff(shot: &ShotData, (width, height): (u32, u32)) -> Vec<u8> {
    let order = ByteOrder::LittleEndian;
    let primary = |exif_at: usize| {
        let mut entries = shot.main_entries();
        entries.push((EXIF_DIRECTORY, Value::long(exif_at as u32)));
        directory(order, HEADER_LENGTH, &entries, 0)
    };
    let exif_at = HEADER_LENGTH + primary(0).len();
    let mut entries = shot.exif_entries();
    entries.extend([
        // sRGB.
        (0xa001, Value::short(1)),
        (0xa002, Value::long(width)),
        (0xa003, Value::long(height)),
    ]);
    let mut bytes = order.header();
    bytes.extend(primary(exif_at));
    bytes.extend(directory(order, exif_at, &entries, 0));
    bytes
}

/// A JPEG file with an Exif segment put right after its start marker.
#[must_use]
pub fn with_exif(jpeg: &[u8], shot: &ShotData, size: (u32, u32)) -> Vec<u8> {
    let (start, rest) = jpeg.split_at(jpeg.len().min(2));
    let mut payload = b"Exif\0\0".to_vec();
    payload.extend(tiff(shot, size));
    let mut out = start.to_vec();
    out.extend([0xff, 0xe1]);
    out.extend((payload.len() as u16 + 2).to_be_bytes());
    out.extend(payload);
    out.extend(rest);
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use exif_reader::{In, Reader, Tag};

    #[test]
    fn reads_back() -> Result<(), Box<dyn std::error::Error>> {
        let shot = ShotData {
            model: "Studio camera A".into(),
            taken_at: "2024:03:12 09:41:00".into(),
            exposure_time: Rational { numerator: 1, denominator: 125 },
            f_number: Rational { numerator: 28, denominator: 10 },
            iso: 400,
            flash_fired: false,
            auto_balance: false,
            light_source: 3,
        };
        let file = with_exif(&[0xff, 0xd8, 0xff, 0xd9], &shot, (1200, 800));
        let exif = Reader::new().read_from_container(&mut std::io::Cursor::new(&file))?;
        let number = |tag| exif.get_field(tag, In::PRIMARY).and_then(|f| f.value.get_uint(0));
        let text = |tag| exif.get_field(tag, In::PRIMARY).map(|f| f.display_value().to_string());
        assert_eq!(text(Tag::Model).as_deref(), Some("\"Studio camera A\""));
        assert_eq!(text(Tag::DateTimeOriginal).as_deref(), Some("2024-03-12 09:41:00"));
        assert_eq!(text(Tag::ExposureTime).as_deref(), Some("1/125"));
        assert_eq!(text(Tag::FNumber).as_deref(), Some("2.8"));
        assert_eq!(number(Tag::PhotographicSensitivity), Some(400));
        assert_eq!(number(Tag::LightSource), Some(3));
        assert_eq!(number(Tag::WhiteBalance), Some(1));
        assert_eq!(number(Tag::Flash), Some(16));
        assert_eq!(number(Tag::ColorSpace), Some(1));
        assert_eq!(number(Tag::Orientation), Some(1));
        assert_eq!(number(Tag::PixelXDimension), Some(1200));
        Ok(())
    }
}
