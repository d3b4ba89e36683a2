//! Means of decoded pixels beside block means.
//!
//! The decoder rounds twice, to whole levels of luma and colour difference and to whole levels of red, green
//! and blue; where a block is flat all its pixels are rounded alike. Half a level for each rounding makes at
//! most one level in luma, and in a colour difference taken back from the rounded pixels no more. Where a
//! colour difference is subsampled the decoder interpolates between blocks, which keeps a block's mean only
//! as far as its neighbours lie on a slope with it. In varied blocks the roundings even out, as the mean of all
//! differences shows.

use image::codecs::jpeg::JpegEncoder;
use image::{ImageFormat, Rgb, RgbImage};
use jpeg_encoder::{ColorType, Encoder, SamplingFactor};

use super::super::colour::ColourModel;
use super::super::planes::Plane;
use super::super::{BlockMeans, read, read_with_variances};
use super::{FIXTURES, Numbers};

/// Most that a block's mean of a colour difference may be off, in levels.
const FULL_CHROMA: f64 = 1.0;
/// The same where it is subsampled.
const COARSE_CHROMA: f64 = 1.2;

/// A slope in each channel with noise in all alike, away from black and white so that nothing clips.
fn picture(width: u32, height: u32, noise: usize) -> RgbImage {
    let mut numbers = Numbers(u64::from(width) << 20 | u64::from(height));
    RgbImage::from_fn(width, height, |x, y| {
        let wobble = numbers.below(2 * noise + 1) as f64 - noise as f64;
        let (x, y) = (f64::from(x) / f64::from(width), f64::from(y) / f64::from(height));
        Rgb([100.0 + 60.0 * x, 90.0 + 70.0 * y, 150.0 - 50.0 * x]
            .map(|level| (level + wobble) as u8))
    })
}

fn decoded(jpeg: &[u8]) -> RgbImage {
    image::load_from_memory_with_format(jpeg, ImageFormat::Jpeg).unwrap().to_rgb8()
}

/// What the pixels say a component's samples are.
fn sample(Rgb(rgb): Rgb<u8>, colour: ColourModel, component: usize) -> f64 {
    let [red, green, blue] = rgb.map(f64::from);
    let luma = 0.299 * red + 0.587 * green + 0.114 * blue;
    match (colour, component) {
        (ColourModel::Rgb, _) => [red, green, blue][component],
        (_, 0) => luma,
        (_, 1) => (blue - luma) / 1.772 + 128.0,
        _ => (red - luma) / 1.402 + 128.0,
    }
}

/// Differences between a component's means and the means of the decoded pixels under each block that lies
/// whole in the picture.
fn differences(means: &BlockMeans, pixels: &RgbImage, component: usize) -> Vec<f64> {
    let plane: &Plane = &means.components[component];
    let (width, height) = (plane.block_width as u32, plane.block_height as u32);
    let mut found = Vec::new();
    for row in 0..pixels.height() / height {
        for column in 0..pixels.width() / width {
            let mut sum = 0.0;
            for y in row * height..(row + 1) * height {
                for x in column * width..(column + 1) * width {
                    sum += sample(*pixels.get_pixel(x, y), means.colour, component);
                }
            }
            let mean = plane.mean(column as usize, row as usize).unwrap();
            found.push(f64::from(mean) - sum / f64::from(width * height));
        }
    }
    found
}

fn worst(differences: &[f64]) -> f64 {
    differences.iter().fold(0.0, |worst, difference| difference.abs().max(worst))
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn check(name: &str, jpeg: &[u8], most_chroma: f64) -> usize {
    let means = read(jpeg).unwrap_or_else(|error| panic!("{name}: {error:?}"));
    let pixels = decoded(jpeg);
    assert_eq!((means.width, means.height), pixels.dimensions(), "{name}");
    let mut count = 0;
    for component in 0..means.components.len() {
        let found = differences(&means, &pixels, component);
        let is_luma = component == 0 || means.colour == ColourModel::Rgb;
        let (most, most_mean) = if is_luma { (1.0, 0.1) } else { (most_chroma, 0.3) };
        assert!(worst(&found) <= most, "{name}, component {component}: {}", worst(&found));
        // A reader that rounded, or took a neighbour's block, would not get there. Colour differences have
        // no noise here: many blocks are rounded alike.
        if found.len() >= 30 {
            assert!(mean(&found).abs() < most_mean, "{name}, {component}: {}", mean(&found));
        }
        count += found.len();
    }
    count
}

#[test]
fn smooth_and_noisy_pictures_of_all_sizes() {
    let sizes =
        [(1, 1), (7, 9), (8, 8), (16, 16), (17, 33), (33, 17), (64, 48), (100, 75), (253, 127)];
    let mut compared = 0;
    for (width, height) in sizes {
        for noise in [0, 3, 25] {
            for quality in [30, 75, 90, 100] {
                let picture = picture(width, height, noise);
                let mut jpeg = Vec::new();
                JpegEncoder::new_with_quality(&mut jpeg, quality).encode_image(&picture).unwrap();
                let name = format!("{width} × {height}, noise {noise}, quality {quality}");
                compared += check(&name, &jpeg, FULL_CHROMA);
            }
        }
    }
    assert!(compared > 5_000, "{compared}");
}

#[test]
fn files_of_other_layouts() {
    for (name, jpeg) in FIXTURES {
        assert!(
            check(name, jpeg, if name.starts_with("42") { COARSE_CHROMA } else { FULL_CHROMA })
                >= 7 * 5,
            "{name}"
        );
        let means = read(jpeg).unwrap();
        let expected = match name {
            "rgb-baseline" => ColourModel::Rgb,
            "grey-baseline" | "grey-progressive" => ColourModel::Grey,
            _ => ColourModel::YCbCr,
        };
        assert_eq!(means.colour, expected, "{name}");
    }
}

#[test]
fn flat_areas_keep_the_fraction_that_rounding_takes() {
    // A quarter of the pixels one level up: the mean has a fraction, no pixel of a blurred copy has.
    let picture =
        RgbImage::from_fn(64, 64, |x, y| Rgb([120 + u8::from(x % 2 == 0 && y % 2 == 0); 3]));
    let mut jpeg = Vec::new();
    // Steps of 3 (quality 90) leave nothing of the pattern.
    JpegEncoder::new_with_quality(&mut jpeg, 90).encode_image(&picture).unwrap();
    let [red, green, blue] = read(&jpeg).unwrap().rgb_at(20.0, 20.0).unwrap();
    assert!((red - 120.25 / 255.0).abs() * 255.0 < 3.0 / 16.0 + 1e-6, "{}", red * 255.0);
    assert_eq!((red, red), (green, blue));
    assert!((red * 255.0).fract() > 0.01);
}

/// Data is passed in two places at once, at restarts or from some bit in the middle; that must not show.
#[test]
fn restarts_make_no_difference() {
    let (width, height) = (701, 530);
    let mut numbers = Numbers(11);
    let rgb: Vec<u8> = (0..width * height)
        .flat_map(|at| {
            // Flat above and busy below, so that the two places do not keep pace.
            let most = 1 + 200 * (at / width) / height;
            [0, 1, 2].map(|_| 30 + numbers.below(most) as u8)
        })
        .collect();
    let samplings = [
        SamplingFactor::F_1_1,
        SamplingFactor::F_2_1,
        SamplingFactor::F_1_2,
        SamplingFactor::F_2_2,
    ];
    for sampling in samplings {
        let jpeg = |interval| {
            let mut jpeg = Vec::new();
            let mut encoder = Encoder::new(&mut jpeg, 92);
            encoder.set_sampling_factor(sampling);
            encoder.set_restart_interval(interval);
            encoder.encode(&rgb, width as u16, height as u16, ColorType::Rgb).unwrap();
            read_with_variances(&jpeg).map(|means| BlockMeans { end: 0, ..means })
        };
        let whole = jpeg(0).unwrap();
        for interval in [1, 4, 45, 1000, 20_000] {
            assert_eq!(jpeg(interval).unwrap(), whole, "{sampling:?}, every {interval}");
        }
    }
}
