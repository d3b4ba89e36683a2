//! What a file really is, by its first bytes.

use super::advice::{DEVELOP, PHONE, SAVE_AS, STILL_FRAME};
use super::{ReadErrorKind, tiff};

/// The picture formats that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PictureFormat {
    Jpeg,
    Png,
    Tiff,
    WebP,
    #[cfg(feature = "jpeg-xl")]
    JpegXl,
}

const SOUND: &str = "a sound file";

/// The format of a picture that can be read, or an error that names what the file is instead.
pub(super) fn picture_format(bytes: &[u8]) -> Result<PictureFormat, ReadErrorKind> {
    if bytes.starts_with(b"\xFF\xD8\xFF") || bytes == b"\xFF\xD8" {
        return Ok(PictureFormat::Jpeg);
    }
    if bytes.starts_with(b"\x89PNG\r\n\x1A\n") {
        return Ok(PictureFormat::Png);
    }
    if at(bytes, 0, b"RIFF") && at(bytes, 8, b"WEBP") {
        return Ok(PictureFormat::WebP);
    }
    #[cfg(feature = "jpeg-xl")]
    if is_jpeg_xl(bytes) {
        return Ok(PictureFormat::JpegXl);
    }
    if is_other_raw(bytes) {
        return Err(ReadErrorKind::UnsupportedFormat {
            found: "a camera raw file",
            advice: DEVELOP,
        });
    }
    if tiff::is_tiff(bytes) {
        return Ok(PictureFormat::Tiff);
    }
    Err(other_picture(bytes).or_else(|| base_media(bytes)).unwrap_or_else(|| not_a_picture(bytes)))
}

/// Whether bytes begin like a picture, a raw file, a film, or a sound file of any kind that is known here,
/// read or not: what a program that writes something else should not write over.
#[must_use]
pub fn looks_like_media(bytes: &[u8]) -> bool {
    match picture_format(bytes) {
        Ok(_) | Err(ReadErrorKind::UnsupportedFormat { .. }) => true,
        Err(ReadErrorKind::NotAPicture { found }) => found == SOUND,
        Err(_) => false,
    }
}

fn at(bytes: &[u8], offset: usize, magic: &[u8]) -> bool {
    bytes.get(offset..).is_some_and(|tail| tail.starts_with(magic))
}

/// Raw files that are no TIFF, or a TIFF in all but the magic number.
pub(super) fn is_other_raw(bytes: &[u8]) -> bool {
    [
        (0, &b"IIRO"[..]),
        (0, b"IIRS"),
        (0, b"MMOR"),
        (0, b"IIU\0"),
        (8, b"CR\x02\0"),
        (8, b"CCD-RAW"),
        (0, b"\0MRM"),
        (0, b"FOVb"),
        (6, b"HEAPCCDR"),
        (4, b"ftypcrx "),
    ]
    .iter()
    .any(|(offset, magic)| at(bytes, *offset, magic))
}

/// A bare codestream, or one in boxes (ISO/IEC 18181-2).
fn is_jpeg_xl(bytes: &[u8]) -> bool {
    bytes.starts_with(b"\xFF\x0A") || bytes.starts_with(b"\0\0\0\x0CJXL \r\n\x87\n")
}

fn other_picture(bytes: &[u8]) -> Option<ReadErrorKind> {
    let known: [(usize, &[u8], &str); 12] = [
        (0, b"\0\0\0\x0CjP  \r\n\x87\n", "a JPEG 2000 picture"),
        (0, b"\xFF\x4F\xFF\x51", "a JPEG 2000 picture"),
        (0, b"GIF8", "a GIF picture"),
        (0, b"BM", "a BMP picture"),
        (0, b"8BPS", "a layered picture"),
        (0, b"\x76\x2F\x31\x01", "an OpenEXR picture"),
        (0, b"#?RADIANCE", "a Radiance HDR picture"),
        (0, b"SDPX", "a DPX frame"),
        (0, b"XPDS", "a DPX frame"),
        (0, b"\0\0\x01\0", "an icon"),
        (0, b"II\xBC\x01", "a JPEG XR picture"),
        (0, b"qoif", "a QOI picture"),
    ];
    let netpbm = matches!(bytes, [b'P', b'1'..=b'7', space, ..] if space.is_ascii_whitespace());
    let found = known
        .iter()
        // Two letters alone would claim any text that starts with them.
        .filter(|(_, magic, _)| *magic != b"BM" || bytes.contains(&0))
        .find(|(offset, magic, _)| at(bytes, *offset, magic))
        .map(|(_, _, name)| *name)
        .or(netpbm.then_some("a Netpbm picture"))
        .or(is_jpeg_xl(bytes).then_some("a JPEG XL picture"))?;
    Some(ReadErrorKind::UnsupportedFormat { found, advice: SAVE_AS })
}

/// Files in boxes (ISO/IEC 14496-12), and other containers of films.
fn base_media(bytes: &[u8]) -> Option<ReadErrorKind> {
    const HEIF: [&[u8]; 10] =
        [b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1", b"mif2", b"miaf"];
    let film = |found| Some(ReadErrorKind::UnsupportedFormat { found, advice: STILL_FRAME });
    let picture = |found| Some(ReadErrorKind::UnsupportedFormat { found, advice: PHONE });
    if at(bytes, 4, b"ftyp") {
        let size = bytes.first_chunk().map_or(0, |size| u32::from_be_bytes(*size) as usize);
        // The major brand, then the compatible ones.
        let brands = bytes.get(8..size.clamp(12, 256).min(bytes.len())).unwrap_or_default();
        let has = |brand: &[u8]| brands.chunks(4).any(|found| found == brand);
        return if has(b"avif") || has(b"avis") {
            picture("an AVIF picture")
        } else if HEIF.iter().any(|brand| has(brand)) {
            picture("a HEIF picture (HEIC)")
        } else {
            film("a film (MP4 or MOV)")
        };
    }
    if [&b"moov"[..], b"mdat", b"wide", b"free", b"skip"].iter().any(|name| at(bytes, 4, name)) {
        return film("a film (MOV)");
    }
    if at(bytes, 0, b"\x1A\x45\xDF\xA3") {
        return film("a film (Matroska or WebM)");
    }
    if at(bytes, 0, b"RIFF") && at(bytes, 8, b"AVI ") {
        return film("a film (AVI)");
    }
    if at(bytes, 0, b"\x06\x0E\x2B\x34\x02\x05\x01\x01") {
        return film("a film (MXF)");
    }
    if is_transport_stream(bytes) {
        return film("a film (MPEG transport stream, as MTS)");
    }
    if at(bytes, 0, b"\0\0\x01\xBA") || at(bytes, 0, b"\0\0\x01\xB3") {
        return film("a film (MPEG)");
    }
    // The header object's GUID.
    if at(bytes, 0, b"\x30\x26\xB2\x75\x8E\x66\xCF\x11") {
        return film("a film (ASF or WMV)");
    }
    if at(bytes, 0, b"OggS") {
        return film("a film or sound file (Ogg)");
    }
    None
}

/// Packets of 188 bytes that begin with 0x47 (ISO/IEC 13818-1, 2.4.3.2), each behind a time of four bytes
/// in what cameras write.
fn is_transport_stream(bytes: &[u8]) -> bool {
    const PACKETS: usize = 4;
    let runs = |first: usize, step: usize| {
        (0..PACKETS).all(|n| bytes.get(first + n * step) == Some(&0x47))
    };
    runs(0, 188) || runs(4, 192)
}

fn not_a_picture(bytes: &[u8]) -> ReadErrorKind {
    let found = if at(bytes, 0, b"%PDF") {
        "a PDF document"
    } else if at(bytes, 0, b"PK\x03\x04") || at(bytes, 0, b"PK\x05\x06") {
        "an archive or an office document"
    } else if at(bytes, 0, b"RIFF") && at(bytes, 8, b"WAVE") || at(bytes, 0, b"ID3") {
        SOUND
    } else if bytes.iter().take(4096).all(|byte| *byte == 0) {
        "a file of zeros (a copy that was never finished)"
    } else if looks_like_text(bytes) {
        "a text file"
    } else {
        "a file of some unknown kind"
    };
    ReadErrorKind::NotAPicture { found }
}

fn looks_like_text(bytes: &[u8]) -> bool {
    let head = bytes.get(..512).unwrap_or(bytes);
    let text = match str::from_utf8(head) {
        Ok(text) => text,
        // A character cut in two by the end of the stretch is no fault.
        Err(error) if error.error_len().is_none() => {
            head.get(..error.valid_up_to()).and_then(|h| str::from_utf8(h).ok()).unwrap_or("")
        }
        Err(_) => return false,
    };
    !text.is_empty() && !text.chars().any(|c| c.is_control() && !matches!(c, '\t' | '\r' | '\n'))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(bytes: &[u8]) -> (&'static str, String) {
        let error = picture_format(bytes).expect_err("not read");
        (error.code(), error.to_string())
    }

    #[test]
    fn read_formats_are_recognised() {
        assert_eq!(picture_format(b"\xFF\xD8\xFF\xE0").ok(), Some(PictureFormat::Jpeg));
        assert_eq!(picture_format(b"\x89PNG\r\n\x1A\n").ok(), Some(PictureFormat::Png));
        assert_eq!(picture_format(b"MM\0\x2A\0\0\0\x08").ok(), Some(PictureFormat::Tiff));
        assert_eq!(picture_format(b"RIFF\0\0\0\0WEBPVP8 ").ok(), Some(PictureFormat::WebP));
    }

    #[test]
    fn other_files_are_named() {
        let mut packets = [0; 4 * 192];
        packets.iter_mut().skip(4).step_by(192).for_each(|byte| *byte = 0x47);
        let cases: [(&[u8], &str, &str); 18] = [
            (&packets, "unsupported-format", "a film (MPEG transport stream"),
            (b"\x1A\x45\xDF\xA3\x01", "unsupported-format", "a film (Matroska"),
            (b"RIFF\0\0\0\0AVI LIST", "unsupported-format", "a film (AVI)"),
            (b"OggS\0\x02", "unsupported-format", "a film or sound file"),
            (b"\0\0\x01\xBA\x44", "unsupported-format", "a film (MPEG)"),
            (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "unsupported-format", "a HEIF picture"),
            (b"\0\0\0\x1Cftypmif1\0\0\0\0avifmif1", "unsupported-format", "an AVIF picture"),
            (b"\0\0\0\x18ftypcrx \0\0\0\x01crx isom", "unsupported-format", "a camera raw file"),
            (b"\0\0\0\x14ftypqt  \0\0\0\0qt  ", "unsupported-format", "a film"),
            (b"\0\0\0\x14ftypisom\0\0\0\0mp42", "unsupported-format", "a film"),
            (b"\0\0\0\x08moov", "unsupported-format", "a film"),
            (b"IIRO\x08\0\0\0", "unsupported-format", "a camera raw file"),
            (b"GIF89a", "unsupported-format", "a GIF picture"),
            (b"%PDF-1.7\n", "not-a-picture", "a PDF document"),
            ("Grüße, BM und so".as_bytes(), "not-a-picture", "a text file"),
            (b"BM stands for", "not-a-picture", "a text file"),
            (&[0; 100], "not-a-picture", "a file of zeros"),
            (b"\x01\x02\x03\xFE", "not-a-picture", "some unknown kind"),
        ];
        for (bytes, code, name) in cases {
            let (got, text) = said(bytes);
            assert_eq!(got, code, "{text}");
            assert!(text.contains(name), "{text}");
        }
    }

    #[test]
    fn jpeg_xl_is_known_with_its_decoder_and_without() {
        for head in [&b"\xFF\x0A\0\0"[..], b"\0\0\0\x0CJXL \r\n\x87\n\0\0\0\x14ftyp"] {
            #[cfg(feature = "jpeg-xl")]
            assert_eq!(picture_format(head).ok(), Some(PictureFormat::JpegXl));
            #[cfg(not(feature = "jpeg-xl"))]
            assert!(said(head).1.contains("a JPEG XL picture"));
        }
    }

    #[test]
    fn what_phones_and_films_hold_comes_with_a_way_to_a_picture() {
        assert!(said(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").1.contains("save photos as JPEG"));
        assert!(said(b"\0\0\0\x14ftypqt  \0\0\0\0qt  ").1.contains("save that one frame"));
    }

    #[test]
    fn every_short_head_is_survived() {
        for magic in [&b"\0\0\0\x18ftypheic\0\0\0\0mif1"[..], b"RIFF\0\0\0\0WEBP", b"II\x2A\0"] {
            for cut in 0..magic.len() {
                let _ = picture_format(&magic[..cut]);
            }
        }
    }
}
