//! From raw responses to the picture a camera writes: noise, saturation, balance, matrix, tone, JPEG.

use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, ImageEncoder};
use rayon::prelude::*;

use crate::error::LabError;
use crate::exif::{self, ShotData};
use crate::rng::Rng;
use crate::sensor::BalancedCamera;
use crate::tone::ToneCurve;

/// Raw responses over a picture, rows from the top; what saturates the sensor is set by [`Development::exposure`].
#[derive(Debug, Clone)]
pub struct RawImage {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Red, green and blue responses of each pixel.
    pub pixels: Vec<[f32; 3]>,
}

/// Photon and readout noise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Electrons in a pixel at saturation.
    pub full_well_electrons: f64,
    /// Readout noise, electrons r.m.s.
    pub read_electrons: f64,
}

impl Noise {
    /// The noise of a picture reduced from a large sensor, at an ISO speed.
    #[must_use]
    pub fn at_iso(iso: u16) -> Self {
        Self { full_well_electrons: 9.0e6 / f64::from(iso.max(1)), read_electrons: 9.0 }
    }

    /// A level, as a share of saturation, with noise drawn from `rng`.
    pub(crate) fn added_to(self, level: f64, rng: &mut Rng) -> f64 {
        let electrons = level.max(0.0) * self.full_well_electrons;
        let deviation = (electrons + self.read_electrons.powi(2)).sqrt();
        (electrons + deviation * rng.normal()) / self.full_well_electrons
    }
}

/// All that happens between the sensor and the file.
#[derive(Debug, Clone)]
pub struct Development {
    /// The sensor and its balance.
    pub camera: BalancedCamera,
    /// Raw response times this is the share of saturation.
    pub exposure: f64,
    /// The tone curve.
    pub tone: ToneCurve,
    /// The noise, or none.
    pub noise: Option<Noise>,
    /// Seed of the noise.
    pub seed: u64,
}

impl Development {
    /// Linear sRGB, 0 to 1, of one raw response, without noise.
    #[must_use]
    pub fn linear(&self, raw: [f64; 3]) -> [f64; 3] {
        self.linear_of_exposed(raw.map(|response| response * self.exposure))
    }

    /// Encoded sRGB, 0 to 1, of one raw response, with noise drawn from `rng`.
    pub fn pixel(&self, raw: [f64; 3], rng: &mut Rng) -> [f64; 3] {
        let exposed = raw.map(|response| {
            let level = response * self.exposure;
            self.noise.map_or(level, |noise| noise.added_to(level, rng))
        });
        self.linear_of_exposed(exposed).map(|level| self.tone.encode(level))
    }

    fn linear_of_exposed(&self, exposed: [f64; 3]) -> [f64; 3] {
        // Clipped before and after the gains, as cameras do, so that blown highlights are white whatever the light.
        let balanced: [f64; 3] =
            std::array::from_fn(|c| (exposed[c].clamp(0.0, 1.0) * self.camera.gains[c]).min(1.0));
        self.camera.matrix.apply(balanced).map(|level| level.clamp(0.0, 1.0))
    }

    /// The developed picture as 8-bit RGB bytes; the same whatever the number of threads.
    #[must_use]
    pub fn develop(&self, raw: &RawImage) -> Vec<u8> {
        let mut bytes = vec![0; raw.width * raw.height * 3];
        let rows = bytes.par_chunks_mut(raw.width * 3).zip(raw.pixels.par_chunks(raw.width));
        rows.enumerate().for_each(|(row, (out, pixels))| {
            let mut rng = Rng::stream(self.seed, row as u64);
            for (out, pixel) in out.chunks_exact_mut(3).zip(pixels) {
                let encoded = self.pixel(pixel.map(f64::from), &mut rng);
                for (byte, value) in out.iter_mut().zip(encoded) {
                    *byte = (value * 255.0).round() as u8;
                }
            }
        });
        bytes
    }

    /// The picture as a JPEG file with Exif.
    ///
    /// # Errors
    /// [`LabError::Encode`] where the encoder refuses the size.
    pub fn jpeg(&self, raw: &RawImage, quality: u8, shot: &ShotData) -> Result<Vec<u8>, LabError> {
        let mut plain = Vec::new();
        let size = (raw.width as u32, raw.height as u32);
        JpegEncoder::new_with_quality(&mut plain, quality).write_image(
            &self.develop(raw),
            size.0,
            size.1,
            ExtendedColorType::Rgb8,
        )?;
        Ok(exif::with_exif(&plain, shot, size))
    }
}

/// The exposure at which a quantile of some raw pixels' strongest balanced channel comes to `level` of full scale.
#[must_use]
pub fn metered_exposure(
    pixels: impl Iterator<Item = [f32; 3]>,
    gains: [f64; 3],
    quantile: f64,
    level: f64,
) -> f64 {
    let mut strongest: Vec<f64> = pixels
        .map(|raw| raw.iter().zip(gains).map(|(&r, g)| f64::from(r) * g).fold(0.0, f64::max))
        .collect();
    strongest.sort_by(f64::total_cmp);
    let last = strongest.len().saturating_sub(1);
    let place = (quantile.clamp(0.0, 1.0) * last as f64).round() as usize;
    strongest.get(place).filter(|&&value| value > 0.0).map_or(1.0, |value| level / value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::preset::Preset;
    use crate::sensor::Sensor;

    fn development(noise: Option<Noise>) -> Result<Development, LabError> {
        let camera = BalancedCamera::at_preset(&Sensor::made_up(1), Preset::Daylight)?;
        Ok(Development { camera, exposure: 1.0, tone: ToneCurve::Srgb, noise, seed: 5 })
    }

    #[test]
    fn blown_highlights_are_white() -> Result<(), LabError> {
        assert_eq!(development(None)?.linear([9.0, 7.0, 3.0]).map(|v| (v * 1e9).round()), [1e9; 3]);
        Ok(())
    }

    #[test]
    fn noise_is_seeded_and_of_the_stated_size() -> Result<(), LabError> {
        let noise = Noise { full_well_electrons: 1000.0, read_electrons: 3.0 };
        let mut made = development(Some(noise))?;
        made.camera.matrix = mirecast::colour::Matrix3::IDENTITY;
        made.camera.gains = [1.0; 3];
        made.tone = ToneCurve::Gamma { gamma: 1.0 };
        let raw = RawImage { width: 100, height: 100, pixels: vec![[0.4; 3]; 10_000] };
        let bytes = made.develop(&raw);
        assert_eq!(bytes, made.develop(&raw));
        let values: Vec<f64> = bytes.iter().map(|&b| f64::from(b) / 255.0).collect();
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let deviation =
            (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / values.len() as f64).sqrt();
        let expected = (400.0_f64 + 9.0).sqrt() / 1000.0;
        assert!((mean - 0.4).abs() < 0.001, "{mean}");
        assert!((deviation / expected - 1.0).abs() < 0.05, "{deviation} {expected}");
        Ok(())
    }

    #[test]
    fn meter_puts_the_quantile_at_the_level() {
        let pixels = (1..=100).map(|i| [i as f32, 0.0, 0.0]);
        let exposure = metered_exposure(pixels, [2.0, 1.0, 1.0], 1.0, 0.5);
        assert!((exposure - 0.5 / 200.0).abs() < 1e-12);
        assert_eq!(metered_exposure(std::iter::empty(), [1.0; 3], 0.5, 0.5), 1.0);
    }
}
