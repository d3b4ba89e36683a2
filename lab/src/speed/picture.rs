//! Pictures with about as much in them as photographs have: surfaces, texture at all sizes, and a sensor's noise.

use std::fmt;

use jpeg_encoder::{ColorType, Encoder, SamplingFactor};

use crate::{LabError, Rng};

/// How a JPEG is coded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// All coefficients of a block together, as cameras do.
    Baseline,
    /// In several scans over the picture.
    Progressive,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Baseline => "baseline",
            Self::Progressive => "progressive",
        })
    }
}

const WIDTH: usize = 4000;
const HEIGHT: usize = 3000;
/// Sizes of texture, in pixels; each finer one is fainter, as in nature.
const SIZES: [usize; 8] = [512, 256, 128, 64, 32, 16, 8, 4];

/// A JPEG of 12 megapixels in 4:2:0; the same for the same seed.
pub(super) fn render(kind: Kind, seed: u64, quality: u8) -> Result<Vec<u8>, LabError> {
    let rgb = pixels(seed);
    let mut jpeg = Vec::new();
    let mut encoder = Encoder::new(&mut jpeg, quality);
    encoder.set_sampling_factor(SamplingFactor::F_2_2);
    encoder.set_progressive(kind == Kind::Progressive);
    encoder.encode(&rgb, WIDTH as u16, HEIGHT as u16, ColorType::Rgb)?;
    Ok(jpeg)
}

fn pixels(seed: u64) -> Vec<u8> {
    let mut rng = Rng::new(seed);
    let layers = SIZES.map(|size| Lattice::new(size, &mut rng));
    let [warm, cool] = [256, 64].map(|size| Lattice::new(size, &mut rng));
    let mut rgb = Vec::with_capacity(WIDTH * HEIGHT * 3);
    for y in 0..HEIGHT {
        let mut noise = Rng::stream(seed, y as u64);
        for x in 0..WIDTH {
            let mut level = 110.0;
            for (size, layer) in SIZES.iter().zip(&layers) {
                level += 5.0 * (*size as f32).sqrt().min(9.0) * layer.at(x, y);
            }
            // Sixteen small numbers at a time: four of four bits a channel are near enough to normal.
            let bits = noise.next_u64();
            let tints = [1.0 + 0.3 * warm.at(x, y), 1.0, 1.0 + 0.3 * cool.at(x, y)];
            for (channel, tint) in tints.into_iter().enumerate() {
                let four = bits >> (16 * channel);
                let sum: u64 = (0..4).map(|part| four >> (4 * part) & 15).sum();
                let grain = (sum as f32 - 30.0) * 0.3;
                rgb.push((level * tint + grain).clamp(0.0, 255.0) as u8);
            }
        }
    }
    rgb
}

/// Smooth noise between −1 and 1: numbers at the corners of squares, and between them by interpolation.
struct Lattice {
    size: usize,
    columns: usize,
    corners: Vec<f32>,
}

impl Lattice {
    fn new(size: usize, rng: &mut Rng) -> Self {
        let (columns, rows) = (WIDTH / size + 2, HEIGHT / size + 2);
        let corners = (0..columns * rows).map(|_| 2.0 * rng.uniform_f32() - 1.0).collect();
        Self { size, columns, corners }
    }

    fn at(&self, x: usize, y: usize) -> f32 {
        let (column, row) = (x / self.size, y / self.size);
        let part = |at: usize| (at % self.size) as f32 / self.size as f32;
        let corner = |right: usize, down: usize| {
            let index = (row + down) * self.columns + column + right;
            self.corners.get(index).copied().unwrap_or_default()
        };
        let (right, down) = (part(x), part(y));
        let upper = corner(0, 0) + (corner(1, 0) - corner(0, 0)) * right;
        let lower = corner(0, 1) + (corner(1, 1) - corner(0, 1)) * right;
        upper + (lower - upper) * down
    }
}
