//! TIFF directories, as far as is needed to tell a finished picture from a raw file, and to find the profile.
//!
//! A raw file that is a TIFF would otherwise be read as the thumbnail in its first directory. The decoder
//! does not see a profile whose tag has the type that the ICC specification asks for (UNDEFINED).

use super::ReadErrorKind;
use super::ifd::TiffBytes;

/// What the directories say.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Directories<'a> {
    /// It is a raw file: DNG version, or mosaic or linear raw samples in any directory.
    raw: bool,
    /// It has a DNG version.
    #[cfg(feature = "raw-formats")]
    dng: bool,
    /// The first picture is a reduced copy of another (`NewSubfileType`, bit 0).
    thumbnail_first: bool,
    /// `PhotometricInterpretation` of the first picture.
    photometric: Option<u64>,
    /// `SampleFormat` of the first picture's first channel.
    sample_format: Option<u64>,
    /// The first picture's ICC profile.
    profile: Option<&'a [u8]>,
}

const NEW_SUBFILE_TYPE: u16 = 254;
const PHOTOMETRIC: u16 = 262;
const SAMPLE_FORMAT: u16 = 339;
const ICC_PROFILE: u16 = 34675;
const XMP: u16 = 700;
const DNG_VERSION: u16 = 50706;
/// Photometric interpretations of raw data (DNG 1.6, chapter 4).
const RAW_PHOTOMETRIC: [u64; 2] = [32803, 34892];

/// Whether these are the bytes of a TIFF file, classic or 64-bit.
pub(super) fn is_tiff(bytes: &[u8]) -> bool {
    [b"II\x2A\0", b"MM\0\x2A", b"II\x2B\0", b"MM\0\x2B"].iter().any(|m| bytes.starts_with(*m))
}

/// Whether it is a raw file in a camera's own format.
#[cfg(feature = "raw-formats")]
pub(super) fn is_other_raw(bytes: &[u8]) -> bool {
    is_tiff(bytes) && {
        let found = directories(bytes);
        found.raw && !found.dng
    }
}

/// Refuses a TIFF whose first picture is not a finished grey or RGB picture; gives that picture's profile.
pub(super) fn check(bytes: &[u8]) -> Result<Option<&[u8]>, ReadErrorKind> {
    let found = directories(bytes);
    if found.raw {
        return Err(ReadErrorKind::UnsupportedFormat {
            found: "a camera raw file",
            advice: super::advice::DEVELOP,
        });
    }
    if found.thumbnail_first {
        return Err(ReadErrorKind::UnsupportedFormat {
            found: "a TIFF file that starts with a thumbnail",
            advice: super::advice::SAVE_AS,
        });
    }
    let colour = match (found.photometric, found.sample_format) {
        (_, Some(3)) => "floating-point numbers",
        (_, Some(2)) => "signed numbers",
        (Some(3), _) => "a palette",
        (Some(4), _) => "a transparency mask",
        (Some(5), _) => "CMYK",
        (Some(6), _) => "YCbCr in a TIFF file",
        (Some(8..=10), _) => "L*a*b*",
        _ => return Ok(found.profile),
    };
    Err(ReadErrorKind::UnsupportedColour { found: colour.to_owned() })
}

/// The XMP packet of the first picture (ISO 16684-3).
pub(super) fn xmp(bytes: &[u8]) -> Option<&[u8]> {
    let file = TiffBytes::new(bytes)?;
    file.directories().first()?.bytes(XMP).ok().flatten()
}

fn directories(bytes: &[u8]) -> Directories<'_> {
    let mut found = Directories::default();
    let Some(file) = TiffBytes::new(bytes) else { return found };
    for (n, directory) in file.directories().iter().enumerate() {
        let photometric = directory.peek(PHOTOMETRIC, 0);
        found.raw |= directory.has(DNG_VERSION);
        #[cfg(feature = "raw-formats")]
        {
            found.dng |= directory.has(DNG_VERSION);
        }
        found.raw |= photometric.is_some_and(|value| RAW_PHOTOMETRIC.contains(&value));
        if n == 0 {
            found.photometric = photometric;
            found.thumbnail_first = directory.peek(NEW_SUBFILE_TYPE, 0).is_some_and(|v| v & 1 == 1);
            found.sample_format = directory.peek(SAMPLE_FORMAT, 0);
            found.profile = directory.bytes(ICC_PROFILE).ok().flatten();
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    const SUB_IFDS: u16 = 330;

    /// A little-endian TIFF of directories with LONG values only.
    fn tiff(directories: &[&[(u16, u32)]]) -> Vec<u8> {
        let mut bytes = b"II*\0\x08\0\0\0".to_vec();
        for (n, directory) in directories.iter().enumerate() {
            bytes.extend((directory.len() as u16).to_le_bytes());
            for (tag, value) in *directory {
                bytes.extend(tag.to_le_bytes());
                bytes.extend(4u16.to_le_bytes());
                bytes.extend(1u32.to_le_bytes());
                bytes.extend(value.to_le_bytes());
            }
            let next = if n + 1 < directories.len() { bytes.len() as u32 + 4 } else { 0 };
            bytes.extend(next.to_le_bytes());
        }
        bytes
    }

    fn code(bytes: &[u8]) -> Option<&'static str> {
        check(bytes).err().map(|error| error.code())
    }

    #[test]
    fn finished_pictures_pass() {
        assert_eq!(code(&tiff(&[&[(PHOTOMETRIC, 2)]])), None);
        assert_eq!(code(&tiff(&[&[(PHOTOMETRIC, 1)], &[(NEW_SUBFILE_TYPE, 1)]])), None);
    }

    #[test]
    fn raw_files_are_told_apart() {
        assert_eq!(code(&tiff(&[&[(DNG_VERSION, 1)]])), Some("unsupported-format"));
        let later = tiff(&[&[(PHOTOMETRIC, 2)], &[(PHOTOMETRIC, 32803)]]);
        assert_eq!(code(&later), Some("unsupported-format"));
        // The same, with the second directory reachable only as a sub-directory.
        let second = 8 + 2 + 2 * 12 + 4;
        let mut below = tiff(&[&[(PHOTOMETRIC, 2), (SUB_IFDS, second)], &[(PHOTOMETRIC, 34892)]]);
        below[second as usize - 4..second as usize].fill(0);
        assert_eq!(code(&below), Some("unsupported-format"));
    }

    #[test]
    fn colours_that_are_not_read_are_named() {
        for (photometric, name) in [(3, "a palette"), (5, "CMYK"), (8, "L*a*b*")] {
            let error = check(&tiff(&[&[(PHOTOMETRIC, photometric)]])).expect_err("not read");
            assert!(error.to_string().contains(name), "{error}");
        }
        assert_eq!(code(&tiff(&[&[(SAMPLE_FORMAT, 3)]])), Some("unsupported-colour"));
    }

    #[test]
    fn loops_and_nonsense_end() {
        let mut bytes = tiff(&[&[(PHOTOMETRIC, 2), (SUB_IFDS, 8)]]);
        let end = bytes.len();
        bytes[end - 4] = 8; // the next directory is this one
        assert_eq!(code(&bytes), None);
        for cut in 0..bytes.len() {
            let _ = directories(&bytes[..cut]);
        }
        bytes[8..10].fill(0xFF);
        assert_eq!(code(&bytes), None);
    }
}
