//! How long a frame's cast takes once the frame is read: one thread, frames a second.

use std::io::Cursor;
use std::sync::LazyLock;

use divan::{Bencher, black_box};
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use mirecast::balance::White;
use mirecast::frames::{cast_training::Evidence, estimate};
use mirecast::still::{LinearFrame, ReadOptions, read_bytes};

fn main() {
    divan::main();
}

/// As many cells as a frame has at most, with detail everywhere.
static FRAME: LazyLock<LinearFrame> = LazyLock::new(|| {
    let mut state = 1_u64;
    let picture = RgbImage::from_fn(384, 288, |x, y| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let noise = (state >> 60) as f32;
        let (x, y) = (x as f32, y as f32);
        let slope = 90.0 + 60.0 * (x / 9.0).sin() * (y / 7.0).cos();
        let tints = [(x / 40.0).sin(), 0.0, (y / 50.0).cos()];
        Rgb(tints.map(|tint| (slope * (1.0 + 0.3 * tint) + noise).clamp(0.0, 255.0) as u8))
    });
    let mut bytes = Cursor::new(Vec::new());
    let written = DynamicImage::ImageRgb8(picture).write_to(&mut bytes, ImageFormat::Png);
    assert!(written.is_ok(), "a picture in memory can be written");
    match read_bytes(bytes.get_ref(), &ReadOptions::default()) {
        Ok(still) => still.frame,
        Err(error) => panic!("a picture just written can be read: {error}"),
    }
});

#[divan::bench]
fn whole_estimate(bencher: Bencher) {
    let Some(daylight) = White::photographic_daylight() else { return };
    bencher.bench(|| estimate(black_box(&FRAME), &daylight));
}

#[divan::bench]
fn evidence(bencher: Bencher) {
    bencher.bench(|| Evidence::of(black_box(&FRAME)));
}
