//! A small Exif writer: what a camera notes about a shot, as a TIFF structure in a JPEG's APP1 segment.

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

/// A value of one of the TIFF field types the writer uses.
enum Value {
    Ascii(String),
    Short(u16),
    Long(u32),
    Rational(Rational),
    Undefined([u8; 4]),
}

impl Value {
    /// TIFF 6.0 field type, number of values, and the bytes in little-endian order.
    fn parts(&self) -> (u16, u32, Vec<u8>) {
        match self {
            Self::Ascii(text) => {
                let bytes: Vec<u8> = text.bytes().chain([0]).collect();
                (2, bytes.len() as u32, bytes)
            }
            Self::Short(number) => (3, 1, number.to_le_bytes().to_vec()),
            Self::Long(number) => (4, 1, number.to_le_bytes().to_vec()),
            Self::Rational(r) => {
                let bytes = [r.numerator.to_le_bytes(), r.denominator.to_le_bytes()].concat();
                (5, 1, bytes)
            }
            Self::Undefined(bytes) => (7, 4, bytes.to_vec()),
        }
    }
}

/// One image file directory at `start` of the TIFF structure; entries must be in ascending order of tag.
fn directory(start: usize, entries: &[(u16, Value)]) -> Vec<u8> {
    let table_length = 2 + 12 * entries.len() + 4;
    let mut table = (entries.len() as u16).to_le_bytes().to_vec();
    let mut overflow = Vec::new();
    for (tag, value) in entries {
        let (kind, count, mut bytes) = value.parts();
        table.extend(tag.to_le_bytes());
        table.extend(kind.to_le_bytes());
        table.extend(count.to_le_bytes());
        if bytes.len() <= 4 {
            bytes.resize(4, 0);
            table.extend(bytes);
        } else {
            table.extend(((start + table_length + overflow.len()) as u32).to_le_bytes());
            bytes.resize(bytes.len().next_multiple_of(2), 0);
            overflow.extend(bytes);
        }
    }
    // No further directory follows.
    table.extend([0; 4]);
    table.extend(overflow);
    table
}

/// The TIFF structure: directory 0, then the Exif directory (Exif 2.32, section 4.6).
fn tiff(shot: &ShotData, (width, height): (u32, u32)) -> Vec<u8> {
    const START: usize = 8;
    let primary = |exif_at: usize| {
        directory(
            START,
            &[
                (0x0110, Value::Ascii(shot.model.clone())),
                (0x0112, Value::Short(1)),
                (0x0132, Value::Ascii(shot.taken_at.clone())),
                (0x8769, Value::Long(exif_at as u32)),
            ],
        )
    };
    // The directory's length does not depend on where it points.
    let exif_at = START + primary(0).len();
    let exif = directory(
        exif_at,
        &[
            (0x829a, Value::Rational(shot.exposure_time)),
            (0x829d, Value::Rational(shot.f_number)),
            (0x8827, Value::Short(shot.iso)),
            (0x9000, Value::Undefined(*b"0232")),
            (0x9003, Value::Ascii(shot.taken_at.clone())),
            (0x9208, Value::Short(shot.light_source)),
            // Bit 0: fired; bit 4: switched off on purpose.
            (0x9209, Value::Short(if shot.flash_fired { 0x01 } else { 0x10 })),
            // sRGB.
            (0xa001, Value::Short(1)),
            (0xa002, Value::Long(width)),
            (0xa003, Value::Long(height)),
            (0xa403, Value::Short(u16::from(!shot.auto_balance))),
        ],
    );
    let mut bytes = b"II*\0".to_vec();
    bytes.extend((START as u32).to_le_bytes());
    bytes.extend(primary(exif_at));
    bytes.extend(exif);
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
