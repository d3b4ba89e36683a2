//! How fast block means are read, beside the full decode of the same file: one thread, pixels a second.

use std::sync::LazyLock;

use divan::counter::{BytesCount, ItemsCount};
use divan::{Bencher, black_box};
use image::codecs::jpeg::JpegEncoder;
use image::{ImageFormat, Rgb, RgbImage};

// The reader is private to the library, and needs nothing else of it.
#[allow(dead_code, unused_imports, reason = "a bench uses one function of the module")]
#[path = "../src/still/jpeg_blocks/mod.rs"]
mod jpeg_blocks;

/// 12 megapixels, as a camera's.
const WIDTH: u32 = 4000;
const HEIGHT: u32 = 3000;
const QUALITY: u8 = 90;

fn main() {
    let bytes = JPEG.len();
    assert!(bytes > 1_000_000, "the picture has too little detail to stand for a photograph");
    divan::main();
}

static JPEG: LazyLock<Vec<u8>> = LazyLock::new(|| {
    let mut state = 1_u64;
    let picture = RgbImage::from_fn(WIDTH, HEIGHT, |x, y| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        // Noise as a sensor has it, some structure, and flat areas between.
        let noise = (state >> 61) as f32 - 3.5;
        let (x, y) = (x as f32, y as f32);
        let detail =
            if (y / 300.0).sin() > 0.0 { 40.0 * (x / 5.0).sin() * (y / 7.0).cos() } else { 0.0 };
        let slope = 90.0 + 80.0 * (x / 900.0).sin() * (y / 700.0).cos();
        Rgb([1.1, 1.0, 0.8].map(|gain| (gain * (slope + detail) + noise).clamp(0.0, 255.0) as u8))
    });
    let mut jpeg = Vec::new();
    let written = JpegEncoder::new_with_quality(&mut jpeg, QUALITY).encode_image(&picture);
    written.map(|()| jpeg).unwrap_or_default()
});

fn pixels() -> ItemsCount {
    ItemsCount::new(WIDTH * HEIGHT)
}

#[divan::bench]
fn block_means(bencher: Bencher) {
    let counted = bencher.counter(pixels()).counter(BytesCount::new(JPEG.len()));
    counted.bench(|| jpeg_blocks::read(black_box(&JPEG)));
}

#[divan::bench]
fn full_decode(bencher: Bencher) {
    let counted = bencher.counter(pixels()).counter(BytesCount::new(JPEG.len()));
    counted.bench(|| image::load_from_memory_with_format(black_box(&JPEG), ImageFormat::Jpeg));
}
