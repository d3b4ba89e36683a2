//! From raw responses to what a sensor with a mosaic of filters writes down.

use mirecast::colour::{CameraCalibration, CameraColour, Matrix3};

use super::RawSamples;
use crate::develop::{Noise, RawImage};
use crate::rng::Rng;
use crate::tiff::Value;

/// How a sensor is read out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Readout {
    /// Raw response times this is the share of saturation.
    pub exposure: f64,
    /// The noise, or none.
    pub noise: Option<Noise>,
    /// Seed of the noise.
    pub seed: u64,
    /// Bits a sample, 8–16.
    pub bits: u32,
    /// What the sensor gives in the dark.
    pub black: u16,
}

impl Readout {
    /// What the sensor gives when it is saturated.
    #[must_use]
    pub fn white(&self) -> u16 {
        u16::MAX >> (16 - self.bits)
    }

    /// The raw directory's entries for black and white.
    #[must_use]
    pub fn level_tags(&self) -> Vec<(u16, Value)> {
        vec![(50_714, Value::short(self.black)), (50_717, Value::short(self.white()))]
    }

    /// One sample of a channel's response.
    pub fn sample(&self, response: f64, rng: &mut Rng) -> u16 {
        let level = response * self.exposure;
        let level = self.noise.map_or(level, |noise| noise.added_to(level, rng));
        let span = f64::from(self.white() - self.black);
        (f64::from(self.black) + span * level).round().clamp(0.0, f64::from(self.white())) as u16
    }

    /// The samples behind a mosaic of filters: rows, columns and the colour of each place.
    #[must_use]
    pub fn mosaic(
        &self,
        image: &RawImage,
        (rows, columns, colours): (usize, usize, &[u8]),
    ) -> RawSamples {
        let mut rng = Rng::new(self.seed);
        let samples = image.pixels.iter().enumerate().map(|(index, pixel)| {
            let (row, column) = (index / image.width % rows, index % image.width % columns);
            let colour = usize::from(colours[row * columns + column]);
            self.sample(f64::from(pixel[colour]), &mut rng)
        });
        let samples = samples.collect();
        RawSamples { width: image.width, height: image.height, planes: 1, bits: self.bits, samples }
    }

    /// The samples of a sensor that sees all three channels in each pixel.
    #[must_use]
    pub fn linear(&self, image: &RawImage) -> RawSamples {
        let mut rng = Rng::new(self.seed);
        let samples = image.pixels.as_flattened().iter();
        let samples = samples.map(|&response| self.sample(f64::from(response), &mut rng)).collect();
        RawSamples { width: image.width, height: image.height, planes: 3, bits: self.bits, samples }
    }
}

/// The main directory's colour entries: calibrations, and the channels of what the camera took for neutral.
#[must_use]
pub fn colour_tags(
    calibrations: &[(CameraCalibration, u16)],
    neutral: Option<[f64; 3]>,
) -> Vec<(u16, Value)> {
    let mut tags = Vec::new();
    for (n, (calibration, code)) in (0..).zip(calibrations) {
        let Matrix3(rows) = calibration.from_xyz;
        tags.push((50_721 + n, Value::signed_decimals(rows.as_flattened())));
        tags.push((50_778 + n, Value::short(*code)));
    }
    if let Some(neutral) = neutral {
        let largest = neutral.into_iter().fold(0.0, f64::max);
        tags.push((50_728, Value::decimals(&neutral.map(|channel| channel / largest))));
    }
    tags
}

impl super::DngFile {
    /// Sets the colour entries for a camera calibrated under standard light A and D65.
    pub fn set_colour(&mut self, camera: &CameraColour, neutral: Option<[f64; 3]>) {
        let (first, second) = camera.calibrations();
        let calibrations: Vec<_> =
            [Some((first, 17)), second.map(|second| (second, 21))].into_iter().flatten().collect();
        self.main_tags.extend(colour_tags(&calibrations, neutral));
    }
}
