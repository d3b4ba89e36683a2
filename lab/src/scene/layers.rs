//! A view of the scene as one layer of raw responses a group of lights.

use rayon::prelude::*;

use super::bands::{Bands, band_weights, dot, product};
use super::denoise::{Guide, smoothed, without_sparks};
use super::light::GROUPS;
use super::tracer::{Evenly, Tracer};
use super::view::View;
use crate::develop::RawImage;
use crate::rng::Rng;
use crate::sensor::Sensor;

/// How finely a view is rendered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quality {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Rays a pixel.
    pub samples: u32,
    /// Seed of the rays.
    pub seed: u64,
}

/// Raw responses of one sensor to one view, kept apart by group of lights.
#[derive(Debug, Clone)]
pub struct Layers {
    width: usize,
    height: usize,
    groups: [Option<Vec<[f32; 3]>>; GROUPS],
}

/// One pixel while its rays are being followed.
#[derive(Debug, Clone, Copy, Default)]
struct Pixel {
    /// Light scattered to the camera.
    scattered: [[f32; 3]; GROUPS],
    /// Green light that falls on the surface, and its square: their difference tells how noisy it is.
    fallen: [f32; GROUPS],
    square: [f32; GROUPS],
    colour: [[f32; 3]; GROUPS],
    direct: [[f32; 3]; GROUPS],
    scattering: f32,
    guide: Guide,
}

/// Weights that turn bands into a channel's response under each group of lights.
struct Channels {
    weights: [Option<[Bands; 3]>; GROUPS],
    /// Response to a reflectance of 1.
    white: [[f32; 3]; GROUPS],
}

impl Channels {
    fn new(tracer: &Tracer, sensor: &Sensor) -> Self {
        let weights = std::array::from_fn(|group| {
            tracer.lights[group].as_ref().map(|light| {
                std::array::from_fn(|c| band_weights(&light.spectrum.times(&sensor.channels[c])))
            })
        });
        let white = std::array::from_fn(|group| {
            weights[group].as_ref().map_or([1.0; 3], |channels: &[Bands; 3]| {
                std::array::from_fn(|c| channels[c].iter().sum())
            })
        });
        Self { weights, white }
    }
}

impl Layers {
    pub(super) fn render(tracer: &Tracer, view: &View, sensor: &Sensor, quality: Quality) -> Self {
        let Quality { width, height, .. } = quality;
        let lens = view.lens(width, height);
        let channels = Channels::new(tracer, sensor);
        let mut pixels = vec![Pixel::default(); width * height];
        pixels.par_chunks_mut(width).enumerate().for_each(|(row, pixels)| {
            for (column, pixel) in pixels.iter_mut().enumerate() {
                let mut rng = Rng::stream(quality.seed, (row * width + column) as u64);
                let offset = (rng.uniform_f32(), rng.uniform_f32());
                for index in 0..quality.samples {
                    let jitter = (rng.uniform_f32(), rng.uniform_f32());
                    let x = (column as f32 + jitter.0) / width as f32;
                    let y = (row as f32 + jitter.1) / height as f32;
                    let (origin, direction) =
                        lens.ray(x, y, (rng.uniform_f32(), rng.uniform_f32()));
                    let even = Evenly::new(&mut rng, index, Some(offset));
                    let seen = tracer.see(origin, direction, &mut rng, even);
                    let share = 1.0 / quality.samples as f32;
                    pixel.guide.normal = pixel.guide.normal + seen.normal * share;
                    pixel.guide.place = pixel.guide.place + seen.place * share;
                    pixel.guide.distance += (seen.place - origin).length() * share;
                    pixel.scattering += if seen.arriving.is_some() { 1.0 } else { 0.0 };
                    for group in 0..GROUPS {
                        let Some(weights) = &channels.weights[group] else { continue };
                        for (c, weights) in weights.iter().enumerate() {
                            let white = channels.white[group][c];
                            pixel.direct[group][c] += dot(weights, &seen.direct[group]) * share;
                            let Some(arriving) = &seen.arriving else { continue };
                            let colour = dot(weights, &seen.reflectance) / white;
                            let lit = product(&seen.reflectance, &arriving[group]);
                            let scattered = dot(weights, &lit);
                            pixel.colour[group][c] += colour * share;
                            pixel.scattered[group][c] += scattered * share;
                            if c == 1 {
                                let irradiance = scattered / colour.max(1e-4);
                                pixel.fallen[group] += irradiance;
                                pixel.square[group] += irradiance * irradiance;
                            }
                        }
                    }
                }
            }
        });
        let guides: Vec<Guide> = pixels
            .iter()
            .map(|pixel| Guide { normal: pixel.guide.normal.unit(), ..pixel.guide })
            .collect();
        let groups = std::array::from_fn(|group| {
            tracer.lights[group].as_ref()?;
            let (light, variance): (Vec<[f32; 3]>, Vec<f32>) = pixels
                .iter()
                .map(|pixel| {
                    let count = pixel.scattering.max(1.0);
                    let mean = pixel.fallen[group] / count;
                    let variance = (pixel.square[group] / count - mean * mean).max(0.0);
                    let light = std::array::from_fn(|c| {
                        pixel.scattered[group][c] / pixel.colour[group][c].max(1e-5)
                    });
                    (light, variance / count)
                })
                .unzip();
            let light = smoothed(width, light, variance, &guides);
            let layer: Vec<[f32; 3]> = pixels
                .iter()
                .zip(light)
                .map(|(pixel, light)| {
                    std::array::from_fn(|c| {
                        pixel.direct[group][c] + pixel.colour[group][c] * light[c]
                    })
                })
                .collect();
            Some(without_sparks(width, &layer))
        });
        Self { width, height, groups }
    }

    /// The groups put together. `level(group, row)` is the level of a group of lights in a row of the picture, where
    /// row 0 is the top one and 1 the bottom: 1 for steady light, up and down for lamps that flicker on the mains.
    #[must_use]
    pub fn combined(&self, level: impl Fn(usize, f64) -> f64 + Sync) -> RawImage {
        let mut pixels = vec![[0.0_f32; 3]; self.width * self.height];
        pixels.par_chunks_mut(self.width).enumerate().for_each(|(row, out)| {
            let down = row as f64 / self.height as f64;
            for (group, layer) in self.groups.iter().enumerate() {
                let Some(layer) = layer else { continue };
                let level = level(group, down) as f32;
                let start = row * self.width;
                for (out, pixel) in out.iter_mut().zip(&layer[start..start + self.width]) {
                    *out = std::array::from_fn(|c| out[c] + level * pixel[c]);
                }
            }
            for (column, out) in out.iter_mut().enumerate() {
                let across = column as f64 / self.width as f64 - 0.5;
                let off_axis = across * across + (down - 0.5) * (down - 0.5) * 0.44;
                *out = out.map(|value| value * (1.0 - 0.38 * off_axis) as f32);
            }
        });
        RawImage { width: self.width, height: self.height, pixels }
    }
}
