//! A small picture to look at, from the cells of a frame.

use std::io::Cursor;
use std::sync::LazyLock;

use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, ImageReader};
use palette::LinSrgb;

use super::LinearFrame;
use crate::colour::{Adaptation, Matrix3, TransferCurve, chromaticity, srgb};

/// A picture in linear sRGB, no larger than it is meant to be shown.
///
/// Colours outside sRGB are kept and are clipped only where it is encoded.
#[derive(Debug, Clone, PartialEq)]
pub struct Preview {
    width: u32,
    height: u32,
    /// Row by row from the top left.
    pixels: Vec<[f32; 3]>,
}

impl Preview {
    /// The frame at most `long_side` pixels wide and high, and never larger than its cells are
    /// many: nothing is read again for it. `None` of a frame without cells.
    #[must_use]
    pub fn of(frame: &LinearFrame, long_side: u32) -> Option<Self> {
        let to_srgb = frame.encoding.to_linear_srgb();
        let cells = Self {
            width: frame.columns,
            height: frame.rows,
            pixels: frame.cells.iter().map(|cell| cell.mean).collect(),
        };
        let whole = cells.pixels.len() == frame.columns as usize * frame.rows as usize;
        // Smaller first: a matrix may as well come after a mean.
        (whole && !cells.pixels.is_empty()).then(|| cells.at_most(long_side).through(to_srgb))
    }

    /// The picture that a JPEG of [`Preview::jpeg`] holds, as exactly as that was encoded; `None`
    /// of other bytes.
    #[must_use]
    pub fn from_jpeg(bytes: &[u8]) -> Option<Self> {
        let reader = ImageReader::with_format(Cursor::new(bytes), image::ImageFormat::Jpeg);
        let picture = reader.decode().ok()?.into_rgb8();
        let linear: [f32; 256] =
            std::array::from_fn(|code| TransferCurve::Srgb.decode(code as f64 / 255.0) as f32);
        let decoded = |code: u8| linear.get(usize::from(code)).copied().unwrap_or_default();
        let pixels = picture.pixels().map(|pixel| pixel.0.map(decoded));
        Some(Self { width: picture.width(), height: picture.height(), pixels: pixels.collect() })
    }

    /// Width in pixels.
    #[must_use]
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Height in pixels.
    #[must_use]
    pub fn height(&self) -> u32 {
        self.height
    }

    /// The picture at most `long_side` pixels wide and high, by the mean of what each pixel covers.
    #[must_use]
    pub fn at_most(self, long_side: u32) -> Self {
        let longest = self.width.max(self.height);
        let long_side = long_side.max(1);
        if longest <= long_side {
            return self;
        }
        let scaled = |side: u32| {
            let side = (u64::from(side) * u64::from(long_side)).div_ceil(u64::from(longest));
            u32::try_from(side).unwrap_or(long_side).clamp(1, long_side)
        };
        let (width, height) = (scaled(self.width), scaled(self.height));
        let columns = shares(self.width, width);
        let rows = shares(self.height, height);
        let mut pixels = Vec::with_capacity(width as usize * height as usize);
        for row in &rows {
            for column in &columns {
                let mut sum = [0.0_f32; 3];
                for &(y, down) in row {
                    for &(x, across) in column {
                        let index = y as usize * self.width as usize + x as usize;
                        let pixel = self.pixels.get(index).copied().unwrap_or_default();
                        sum.iter_mut().zip(pixel).for_each(|(s, v)| *s += v * down * across);
                    }
                }
                pixels.push(sum);
            }
        }
        Self { width, height, pixels }
    }

    /// The picture in another balance: what has the colour `from` in it has the chromaticity `to`
    /// then, at the same luminance. Both are linear sRGB; their brightness does not matter.
    ///
    /// Unchanged where one of them is no colour.
    #[must_use]
    pub fn rebalanced(&self, from: [f64; 3], to: [f64; 3]) -> Self {
        let white = |[red, green, blue]: [f64; 3]| {
            let colour = srgb::to_xyz(LinSrgb::new(red, green, blue));
            chromaticity(colour).ok().map(|xy| xy.to_xyz())
        };
        let Some((from, to)) = white(from).zip(white(to)) else { return self.clone() };
        let matrix = srgb::FROM_XYZ * Adaptation::Cat16.between(from, to) * srgb::TO_XYZ;
        if !matrix.is_finite() {
            return self.clone();
        }
        self.clone().through(matrix)
    }

    fn through(mut self, Matrix3(matrix): Matrix3) -> Self {
        let rows = matrix.map(|row| row.map(|value| value as f32));
        for pixel in &mut self.pixels {
            let [red, green, blue] = *pixel;
            *pixel = rows.map(|[r, g, b]| r * red + g * green + b * blue);
        }
        self
    }

    /// As a baseline JPEG in sRGB, `quality` 1–100; empty only if the encoder fails, which it does
    /// for no picture that a preview can be.
    #[must_use]
    pub fn jpeg(&self, quality: u8) -> Vec<u8> {
        let encoded: Vec<u8> = self.pixels.iter().flat_map(|pixel| encode(*pixel)).collect();
        let mut bytes = Vec::new();
        let quality = quality.clamp(1, 100);
        let written = JpegEncoder::new_with_quality(&mut bytes, quality).encode(
            &encoded,
            self.width,
            self.height,
            ExtendedColorType::Rgb8,
        );
        if written.is_err() {
            bytes.clear();
        }
        bytes
    }

    /// As [`Preview::jpeg`], at the highest of a few qualities from 78 down to 30 that stays within
    /// so many bytes, or at 30.
    #[must_use]
    pub fn jpeg_within(&self, bytes: usize) -> Vec<u8> {
        const QUALITIES: [u8; 4] = [78, 64, 48, 30];
        let mut jpeg = Vec::new();
        for quality in QUALITIES {
            jpeg = self.jpeg(quality);
            if jpeg.len() <= bytes {
                break;
            }
        }
        jpeg
    }
}

/// For each of `to` pixels the pixels out of `from` that it covers, each with its share of the
/// whole.
fn shares(from: u32, to: u32) -> Vec<Vec<(u32, f32)>> {
    let step = f64::from(from) / f64::from(to.max(1));
    (0..to)
        .map(|pixel| {
            let (start, end) = (f64::from(pixel) * step, f64::from(pixel + 1) * step);
            let last = (end.ceil() as u32).min(from);
            let covered = |x: u32| f64::from(x + 1).min(end) - f64::from(x).max(start);
            let parts = (start as u32..last).map(|x| (x, (covered(x) / step) as f32));
            parts.filter(|(_, share)| *share > 1e-6).collect()
        })
        .collect()
}

/// Encoded sRGB in 8 bits. What is brighter than white or outside the gamut is clipped.
fn encode(linear: [f32; 3]) -> [u8; 3] {
    /// Finer than a step of 8 bits wherever the curve is steepest.
    const STEPS: u16 = 16_384;
    static CODES: LazyLock<Vec<u8>> = LazyLock::new(|| {
        let code = |step: u16| {
            let light = f64::from(step) / f64::from(STEPS);
            (TransferCurve::Srgb.encode(light) * 255.0).round().clamp(0.0, 255.0) as u8
        };
        (0..=STEPS).map(code).collect()
    });
    linear.map(|light| {
        let step = (light.clamp(0.0, 1.0) * f32::from(STEPS)).round() as usize;
        CODES.get(step).copied().unwrap_or_default()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::still::{ReadOptions, read_bytes};

    fn striped() -> LinearFrame {
        let picture = image::RgbImage::from_fn(600, 300, |x, _| {
            image::Rgb(if x < 300 { [200, 120, 60] } else { [40, 60, 90] })
        });
        let mut bytes = Vec::new();
        picture.write_to(&mut Cursor::new(&mut bytes), image::ImageFormat::Png).unwrap();
        read_bytes(&bytes, &ReadOptions::default()).unwrap().frame
    }

    fn corner(preview: &Preview) -> [u8; 3] {
        encode(preview.pixels[0])
    }

    #[test]
    fn a_preview_keeps_colours_and_proportions() {
        let frame = striped();
        let preview = Preview::of(&frame, 240).unwrap();
        assert_eq!((preview.width(), preview.height()), (240, 120));
        assert_eq!(corner(&preview), [200, 120, 60]);
        assert_eq!(encode(*preview.pixels.last().unwrap()), [40, 60, 90]);
        let unchanged = Preview::of(&frame, 5000).unwrap();
        assert_eq!((unchanged.width(), unchanged.height()), (frame.columns, frame.rows));
    }

    #[test]
    fn rebalancing_makes_the_one_colour_neutral() {
        let preview = Preview::of(&striped(), 100).unwrap();
        let from = preview.pixels[0].map(f64::from);
        let [red, green, blue] = corner(&preview.rebalanced(from, [1.0; 3]));
        assert!(red.abs_diff(green) <= 1 && green.abs_diff(blue) <= 1, "{red} {green} {blue}");
        assert_eq!(preview.rebalanced([0.0; 3], [1.0; 3]), preview);
    }

    #[test]
    fn a_jpeg_holds_the_picture_within_its_bytes() {
        let preview = Preview::of(&striped(), 240).unwrap();
        let jpeg = preview.jpeg_within(6_000);
        assert!(jpeg.len() <= 6_000, "{} bytes", jpeg.len());
        let back = Preview::from_jpeg(&jpeg).unwrap();
        assert_eq!((back.width(), back.height()), (240, 120));
        let (was, is) = (corner(&preview), corner(&back));
        assert!(was.iter().zip(is).all(|(a, b)| a.abs_diff(b) <= 4), "{was:?} {is:?}");
        assert!(Preview::from_jpeg(b"no picture").is_none());
    }
}
