//! Files that cannot be read: each says what it is, none panics.

mod still_common;

use std::fs;
use std::path::Path;

use image::{DynamicImage, ImageBuffer, ImageFormat, Rgb32FImage};
use mirecast::still::{ReadErrorKind, ReadOptions, read, read_bytes};
use still_common::{Extras, busy, encode, flat, refusal, still};

use ImageFormat::{Jpeg, Png, Tiff, WebP};

fn code(bytes: &[u8]) -> &'static str {
    match read_bytes(bytes, &ReadOptions::default()) {
        Ok(_) => "read",
        Err(error) => error.code(),
    }
}

#[test]
fn cut_files_are_refused_and_never_panic() {
    let image = busy(96, 64);
    for format in [Jpeg, Png, Tiff, WebP] {
        let whole = encode(&image, format, Extras::default());
        assert_eq!(code(&whole), "read", "{format:?}");
        let step = (whole.len() / 400).max(1);
        for cut in (1..whole.len()).step_by(step) {
            let got = code(&whole[..cut]);
            assert_ne!(got, "internal", "{format:?} cut at {cut}");
            // With a twentieth or more missing there is no reading.
            if cut * 20 < whole.len() * 19 {
                assert_ne!(got, "read", "{format:?} cut at {cut} of {}", whole.len());
            }
            // From the middle on, the file is known for what it is.
            if (whole.len() / 2..whole.len() * 19 / 20).contains(&cut) {
                assert_eq!(got, "truncated", "{format:?} cut at {cut} of {}", whole.len());
            }
        }
    }
}

#[test]
fn jpeg_without_its_last_bytes_is_read_with_a_note() {
    let mut bytes = encode(&busy(32, 1000), Jpeg, Extras::default());
    bytes.truncate(bytes.len() - 2);
    let codes: Vec<_> = still(&bytes).shot.notes.iter().map(|note| note.code()).collect();
    assert_eq!(codes, ["missing-end"]);
}

#[test]
fn jpeg_with_zeros_for_its_second_half_is_truncated() {
    let mut bytes = encode(&busy(96, 64), Jpeg, Extras::default());
    let half = bytes.len() / 2;
    bytes[half..].fill(0);
    assert_eq!(code(&bytes), "truncated");
}

#[test]
fn jpeg_that_stops_making_sense_is_damaged() {
    // Either marker in the middle of the data stops the decoder: the first makes it fill the rest with
    // mid-grey, the second makes it leave the rest black.
    for marker in [[0xFF, 0xDC, 0, 2], [0xFF, 0xFE, 0, 2]] {
        let mut bytes = encode(&busy(640, 480), Jpeg, Extras::default());
        let half = bytes.len() / 2;
        bytes[half..half + 4].copy_from_slice(&marker);
        assert_eq!(code(&bytes), "damaged", "{marker:?}");
    }
}

#[test]
fn dark_and_grey_bars_are_no_missing_data() {
    for level in [0, 128] {
        for bar in [8, 10, 16, 30, 100, 240, 479] {
            let mut picture = busy(640, 480).to_rgb8();
            for (_, y, pixel) in picture.enumerate_pixels_mut() {
                if y >= 480 - bar {
                    *pixel = image::Rgb([level; 3]);
                }
            }
            let bytes = encode(&picture.into(), Jpeg, Extras::default());
            assert_eq!(code(&bytes), "read", "{bar} rows of {level}");
        }
    }
}

#[test]
fn mid_grey_card_is_no_missing_data() {
    // The colour the decoder fills missing rows with, as a real picture.
    let frame = still(&encode(&flat(640, 480, [128; 3]), Jpeg, Extras::default())).frame;
    assert_eq!(frame.width, 640);
}

#[test]
fn cut_progressive_jpeg_is_truncated() {
    let whole = include_bytes!("data/still/progressive.jpg");
    assert_eq!(code(whole), "read");
    for cut in 3..whole.len() {
        assert_eq!(code(&whole[..cut]), "truncated", "cut at {cut}");
    }
}

#[test]
fn flipped_bytes_never_panic() {
    let image = busy(40, 24);
    let mut tried = 0;
    for format in [Jpeg, Png, Tiff, WebP] {
        let whole = encode(&image, format, Extras::default());
        let step = (whole.len() / 300).max(1);
        for at in (0..whole.len()).step_by(step).chain(0..whole.len().min(200)) {
            for mask in [0xFF, 0x01, 0x80] {
                let mut bent = whole.clone();
                bent[at] ^= mask;
                // The decoders' own panics are caught and reported as "internal"; either way this returns.
                let _ = code(&bent);
                tried += 1;
            }
        }
    }
    assert!(tried > 4 * 3 * 300);
}

#[test]
fn garbage_after_any_signature_is_refused() {
    let noise = busy(64, 64).into_bytes();
    for magic in [
        &b"\xFF\xD8\xFF\xE0"[..],
        b"\xFF\xD8\xFF",
        b"\xFF\xD8",
        b"\x89PNG\r\n\x1A\n",
        b"\x89PNG\r\n\x1A\n\0\0\0\rIHDR",
        b"II\x2A\0\x08\0\0\0",
        b"MM\0\x2A\0\0\0\x08",
        b"II\x2B\0\x08\0\0\0",
        b"RIFF\xFF\xFF\0\0WEBPVP8 ",
        b"RIFF\x00\x10\0\0WEBPVP8X",
    ] {
        for length in [0, 1, 7, 100, noise.len()] {
            let bytes = [magic, &noise[..length]].concat();
            let got = code(&bytes);
            assert_ne!(got, "read", "{magic:?} + {length}");
            assert_ne!(got, "internal", "{magic:?} + {length}");
        }
    }
}

/// A PNG header that promises a size, and nothing else.
fn png_header(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = encode(&flat(1, 1, [0; 3]), Png, Extras::default());
    bytes[16..20].copy_from_slice(&width.to_be_bytes());
    bytes[20..24].copy_from_slice(&height.to_be_bytes());
    let checksum = crc32(&bytes[12..29]);
    bytes[29..33].copy_from_slice(&checksum.to_be_bytes());
    bytes
}

/// The checksum of PNG chunks (PNG third edition, annex D).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0u32, |sum, byte| {
        (0..8).fold(sum ^ u32::from(*byte), |sum, _| {
            if sum & 1 == 1 { sum >> 1 ^ 0xEDB8_8320 } else { sum >> 1 }
        })
    })
}

#[test]
fn enormous_pictures_are_refused_by_their_header() {
    assert_eq!(code(&png_header(1, 1)), "read");
    let error = refusal(&png_header(30_000, 30_000));
    assert_eq!(error.code(), "too-large");
    assert!(error.to_string().contains("30000 × 30000"), "{error}");
    assert!(matches!(error.kind(), ReadErrorKind::TooManyPixels { width: 30_000, .. }));

    let mut options = ReadOptions::default();
    options.max_pixels = 63;
    for format in [Jpeg, Png, Tiff, WebP] {
        let bytes = encode(&flat(8, 8, [9; 3]), format, Extras::default());
        let refused = read_bytes(&bytes, &options).expect_err("64 pixels");
        assert_eq!(refused.code(), "too-large", "{format:?}");
    }
    options.max_pixels = 64;
    options.max_file_bytes = 10;
    let bytes = encode(&flat(8, 8, [9; 3]), Png, Extras::default());
    assert_eq!(read_bytes(&bytes, &options).expect_err("11 bytes").code(), "too-large");
}

#[test]
fn colours_that_are_not_read_are_named() {
    let error = refusal(include_bytes!("data/still/cmyk.jpg"));
    assert_eq!(error.code(), "unsupported-colour");
    assert!(error.to_string().contains("CMYK"), "{error}");

    let float: DynamicImage = Rgb32FImage::from_pixel(4, 4, image::Rgb([0.5; 3])).into();
    let error = refusal(&encode(&float, Tiff, Extras::default()));
    assert_eq!(error.code(), "unsupported-colour");
    assert!(error.to_string().contains("floating-point"), "{error}");

    let deep: DynamicImage = ImageBuffer::from_pixel(4, 4, image::Rgb([9u16; 3])).into();
    assert_eq!(code(&encode(&deep, Tiff, Extras::default())), "read");
}

#[test]
fn files_are_told_by_content_and_named_in_the_error() {
    let folder = tempfile::tempdir().expect("a folder");
    let options = ReadOptions::default();
    let refused = |path: &Path| {
        let error = read(path, &options).expect_err("is refused");
        assert_eq!(error.path(), Some(path));
        assert!(error.to_string().starts_with(&path.display().to_string()), "{error}");
        error.code()
    };
    let write = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        fs::write(&path, bytes).expect("writes");
        path
    };
    assert_eq!(refused(&folder.path().join("none.jpg")), "missing");
    assert_eq!(refused(folder.path()), "not-a-file");
    assert_eq!(refused(&write("empty.jpg", b"")), "empty");
    assert_eq!(refused(&write("notes.jpg", b"Card at the window, second take\n")), "not-a-picture");
    assert_eq!(
        refused(&write("clip.jpg", b"\0\0\0\x14ftypqt  \0\0\0\0qt  ")),
        "unsupported-format"
    );

    let bytes = encode(&flat(4, 4, [200, 100, 50]), Png, Extras::default());
    let misnamed = write("card.JPG", &bytes);
    let from_file = read(&misnamed, &options).expect("a PNG under another name");
    assert_eq!(from_file, read_bytes(&bytes, &options).expect("reads"));
    let mut small = ReadOptions::default();
    small.max_file_bytes = bytes.len() as u64 - 1;
    assert_eq!(read(&misnamed, &small).expect_err("too long").code(), "too-large");
}

#[cfg(unix)]
#[test]
fn special_files_are_refused_without_waiting() {
    let error = read(Path::new("/dev/null"), &ReadOptions::default()).expect_err("a device");
    assert_eq!(error.code(), "not-a-file");
    assert!(error.to_string().contains("a device"), "{error}");

    let folder = tempfile::tempdir().expect("a folder");
    let socket = folder.path().join("socket");
    let _listener = std::os::unix::net::UnixListener::bind(&socket).expect("binds");
    let error = read(&socket, &ReadOptions::default()).expect_err("a socket");
    assert!(error.to_string().contains("a socket"), "{error}");
}
