//! Small pictures made on the spot, shared by the tests of reading stills.
#![allow(dead_code, reason = "each test program uses its own part of this module")]

use std::io::Cursor;

use exif::experimental::Writer;
use exif::{Field, In, Tag, Value};
use image::codecs::{jpeg::JpegEncoder, png::PngEncoder, tiff::TiffEncoder, webp::WebPEncoder};
use image::{DynamicImage, ImageEncoder, ImageFormat, Rgb, RgbImage};
use mirecast::still::{ReadError, ReadOptions, Still, read_bytes};

/// What goes into a file beside the pixels.
#[derive(Default, Clone)]
pub(crate) struct Extras {
    pub(crate) icc: Option<Vec<u8>>,
    pub(crate) exif: Option<Vec<u8>>,
}

impl Extras {
    pub(crate) fn icc(icc: Vec<u8>) -> Self {
        Self { icc: Some(icc), exif: None }
    }

    pub(crate) fn exif(exif: Vec<u8>) -> Self {
        Self { icc: None, exif: Some(exif) }
    }
}

/// Encodes a picture; WebP is lossless, JPEG as good as it gets.
pub(crate) fn encode(image: &DynamicImage, format: ImageFormat, extras: Extras) -> Vec<u8> {
    let mut bytes = Vec::new();
    match format {
        ImageFormat::Jpeg => write(JpegEncoder::new_with_quality(&mut bytes, 100), image, extras),
        ImageFormat::Png => write(PngEncoder::new(&mut bytes), image, extras),
        ImageFormat::WebP => write(WebPEncoder::new_lossless(&mut bytes), image, extras),
        ImageFormat::Tiff => {
            let mut cursor = Cursor::new(&mut bytes);
            write(TiffEncoder::new(&mut cursor), image, extras);
        }
        other => panic!("no encoder set up for {other:?}"),
    }
    bytes
}

fn write(mut encoder: impl ImageEncoder, image: &DynamicImage, extras: Extras) {
    if let Some(icc) = extras.icc {
        encoder.set_icc_profile(icc).expect("the format holds a profile");
    }
    if let Some(exif) = extras.exif {
        encoder.set_exif_metadata(exif).expect("the format holds Exif");
    }
    encoder
        .write_image(image.as_bytes(), image.width(), image.height(), image.color().into())
        .expect("encodes");
}

/// Reads bytes with the default options.
pub(crate) fn still(bytes: &[u8]) -> Still {
    read_bytes(bytes, &ReadOptions::default()).expect("reads")
}

/// Why bytes could not be read.
pub(crate) fn refusal(bytes: &[u8]) -> ReadError {
    read_bytes(bytes, &ReadOptions::default()).expect_err("is refused")
}

/// A picture with detail everywhere, from a fixed pseudo-random sequence (seed 1).
pub(crate) fn busy(width: u32, height: u32) -> DynamicImage {
    let mut state = 1u32;
    let mut next = move || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 24) as u8
    };
    RgbImage::from_fn(width, height, |_, _| Rgb([next(), next(), next()])).into()
}

/// A picture of one colour.
pub(crate) fn flat(width: u32, height: u32, colour: [u8; 3]) -> DynamicImage {
    RgbImage::from_pixel(width, height, Rgb(colour)).into()
}

/// An Exif block.
pub(crate) fn exif_block(fields: &[(Tag, Value)]) -> Vec<u8> {
    let fields: Vec<Field> = fields
        .iter()
        .map(|(tag, value)| Field { tag: *tag, ifd_num: In::PRIMARY, value: value.clone() })
        .collect();
    let mut writer = Writer::new();
    for field in &fields {
        writer.push_field(field);
    }
    let mut block = Cursor::new(Vec::new());
    writer.write(&mut block, false).expect("Exif is written");
    block.into_inner()
}

/// A text value.
pub(crate) fn ascii(text: &str) -> Value {
    Value::Ascii(vec![text.as_bytes().to_vec()])
}

/// The sRGB curve by its definition (IEC 61966-2-1), for a value 0–1.
pub(crate) fn srgb_to_linear(encoded: f64) -> f64 {
    if encoded <= 0.040_45 { encoded / 12.92 } else { ((encoded + 0.055) / 1.055).powf(2.4) }
}

/// The inverse of [`srgb_to_linear`].
pub(crate) fn linear_to_srgb(linear: f64) -> f64 {
    if linear <= 0.003_130_8 { linear * 12.92 } else { 1.055 * linear.powf(1.0 / 2.4) - 0.055 }
}

/// Fails unless the numbers agree.
#[track_caller]
pub(crate) fn assert_close(got: f64, want: f64, tolerance: f64, what: &str) {
    assert!((got - want).abs() <= tolerance, "{what}: {got} is not {want} ± {tolerance}");
}
