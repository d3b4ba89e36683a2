//! What fuzzing found, each as the smallest file that shows it.

mod still_common;

use std::time::{Duration, Instant};

use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use mirecast::balance::PresetTable;
use mirecast::still::{ReadOptions, read_bytes};
use mirecast::{CardOptions, read_card};
use still_common::{Extras, encode, flat, still};

fn code(bytes: &[u8]) -> &'static str {
    read_bytes(bytes, &ReadOptions::default()).map_or_else(|error| error.code(), |_| "read")
}

#[test]
fn thousands_of_saturated_specks_on_a_card_are_read_in_moments() {
    // One pixel a cell; every third one of every third row is burnt out.
    let card = RgbImage::from_fn(384, 288, |x, y| {
        let speck = x % 3 == 0 && y % 3 == 0;
        Rgb(if speck { [255; 3] } else { [180 - (x / 48) as u8, 178, 176] })
    });
    let still = still(&encode(&card.into(), ImageFormat::Png, Extras::default()));
    let presets = PresetTable::built_in().expect("the built-in table");
    let start = Instant::now();
    let reading = read_card(&still, &CardOptions::new(presets));
    assert!(start.elapsed() < Duration::from_secs(10), "{:?}", start.elapsed());
    assert!(reading.card.coverage > 0.0 || !reading.card.problems.is_empty());
}

#[test]
fn what_a_long_exposure_shows_is_no_flicker() {
    let card = RgbImage::from_fn(384, 288, |x, y| {
        let wave = 14.0 * (f64::from(y) / 10.0).sin();
        let noise = f64::from((7 * x + 13 * y) % 3);
        Rgb([176.0, 178.0, 172.0].map(|level| (level + wave + noise) as u8))
    });
    let mut still = still(&encode(&card.into(), ImageFormat::Png, Extras::default()));
    let options = CardOptions::new(PresetTable::built_in().expect("the built-in table"));
    let mut is_flicker = |shutter: Option<f64>| {
        still.shot.shutter_seconds = shutter;
        let codes = read_card(&still, &options).card.problems;
        codes.iter().any(|problem| problem.code == "banding")
    };
    assert_eq!([None, Some(0.01), Some(0.25)].map(&mut is_flicker), [true, true, false]);
}

/// A PNG chunk with its checksum.
fn chunk(name: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let mut sum = flate2::Crc::new();
    sum.update(name);
    sum.update(data);
    [&(data.len() as u32).to_be_bytes()[..], name, data, &sum.sum().to_be_bytes()].concat()
}

#[test]
fn a_palette_that_is_no_whole_number_of_colours_is_damaged() {
    for (length, wanted) in [(0, "damaged"), (1, "damaged"), (5, "damaged"), (6, "read")] {
        let mut pixels = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::fast());
        std::io::Write::write_all(&mut pixels, &[0, 0b0100_0000]).expect("to memory");
        let bytes = [
            b"\x89PNG\r\n\x1A\n".to_vec(),
            chunk(b"IHDR", &[0, 0, 0, 2, 0, 0, 0, 1, 1, 3, 0, 0, 0]),
            chunk(b"PLTE", &vec![9; length]),
            chunk(b"IDAT", &pixels.finish().expect("to memory")),
            chunk(b"IEND", &[]),
        ]
        .concat();
        assert_eq!(code(&bytes), wanted, "{length} bytes");
    }
}

#[test]
fn a_header_that_promises_far_more_than_there_is_costs_no_decoding() {
    let small: DynamicImage = flat(16, 16, [90; 3]);
    let mut jpeg = encode(&small, ImageFormat::Jpeg, Extras::default());
    let frame = jpeg.windows(2).position(|pair| pair == [0xFF, 0xC0]).expect("a frame");
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0x36, 0xB0, 0x36, 0xB0]);
    let mut png = encode(&small, ImageFormat::Png, Extras::default());
    let mut header = png[16..29].to_vec();
    header[..8].copy_from_slice(&[0, 0, 0x36, 0xB0, 0, 0, 0x36, 0xB0]);
    png.splice(8..33, chunk(b"IHDR", &header));
    for bytes in [jpeg, png] {
        let start = Instant::now();
        assert_eq!(code(&bytes), "truncated");
        assert!(start.elapsed() < Duration::from_secs(5));
    }
}

#[test]
fn limits_on_memory_and_directories_are_kept() {
    let picture = encode(&flat(100, 100, [90; 3]), ImageFormat::Tiff, Extras::default());
    let mut options = ReadOptions::default();
    let refused =
        |options: &ReadOptions| read_bytes(&picture, options).expect_err("refused").code();
    options.max_memory_bytes = 29_999;
    assert_eq!(refused(&options), "too-large");
    options.max_memory_bytes = 1 << 20;
    assert!(read_bytes(&picture, &options).is_ok());
    options.max_directories = 0;
    assert_eq!(refused(&options), "too-large");
}

#[cfg(feature = "jpeg-xl")]
#[test]
fn a_jpeg_xl_that_does_not_name_its_curve_is_refused() {
    let bytes = include_bytes!("data/still/findings/nameless-curve.jxl");
    assert_eq!(code(bytes), "unsupported-colour");
}
