//! Made-up photographs of a card that fills the frame, for simulations: a light, and how the shot was taken.

use mirecast::balance::White;

use crate::colorimetry::xyz;
use crate::develop::{Development, Noise, RawImage};
use crate::error::LabError;
use crate::exif::{Rational, ShotData};
use crate::rng::Rng;
use crate::sensor::BalancedCamera;
use crate::spectrum::Spectrum;
use crate::table;
use crate::tone::ToneCurve;

const WIDTH: usize = 384;
const HEIGHT: usize = 256;

/// A light of the simulations.
#[derive(Debug, Clone)]
pub(crate) struct Light {
    pub(crate) spiky: bool,
    pub(crate) spectrum: Spectrum,
    pub(crate) white: White,
}

impl Light {
    /// One of the smooth or of the spiky lights.
    pub(crate) fn drawn<'a>(
        lights: &'a [Self],
        spiky: bool,
        rng: &mut Rng,
    ) -> Result<&'a Self, LabError> {
        let of_kind: Vec<&Self> = lights.iter().filter(|light| light.spiky == spiky).collect();
        let place = (rng.uniform() * of_kind.len() as f64) as usize;
        of_kind
            .get(place.min(of_kind.len().saturating_sub(1)))
            .copied()
            .ok_or(LabError::DamagedTable { line: 1 })
    }
}

/// Half of them smooth by formula, half spiky from the CIE tables.
pub(crate) fn lights() -> Result<Vec<Light>, LabError> {
    let mut spectra: Vec<(bool, Spectrum)> = Vec::new();
    for kelvin in [2300.0, 2500.0, 2700.0, 2850.0, 3000.0, 3200.0, 3400.0, 3800.0, 4500.0] {
        spectra.push((false, Spectrum::planckian(kelvin)));
    }
    for kelvin in [4200.0, 4600.0, 5000.0, 5500.0, 6000.0, 6500.0, 7500.0, 9000.0, 11_000.0] {
        spectra.push((false, Spectrum::daylight(kelvin)?));
    }
    let lamps = table::illuminants()?.into_iter();
    let lamp = |name: &str| ["FL", "HP", "LED"].iter().any(|kind| name.starts_with(kind));
    spectra.extend(lamps.filter(|(name, _)| lamp(name)).map(|(_, spectrum)| (true, spectrum)));
    spectra
        .into_iter()
        .map(|(spiky, spectrum)| {
            Ok(Light { spiky, white: White::from_xyz(xyz(&spectrum)?)?, spectrum })
        })
        .collect()
}

/// How one shot of a card is taken: its curve, level, falloff, noise and compression.
#[derive(Debug, Clone)]
pub(crate) struct CardShot {
    level: f64,
    tone: ToneCurve,
    vignette: f64,
    slope: f64,
    turn: f64,
    shadow: f64,
    noise: Noise,
    /// Seed of the noise.
    pub(crate) noise_seed: u64,
    quality: u8,
}

impl CardShot {
    pub(crate) fn drawn(rng: &mut Rng) -> Self {
        let level = rng.between(0.15, 0.8);
        let tone = match rng.uniform() {
            u if u < 0.3 => ToneCurve::Srgb,
            u if u < 0.75 => ToneCurve::SCurve { strength: rng.between(0.05, 0.7) },
            // Lightened or darkened on top of it, as no card can show.
            _ => ToneCurve::Rendering {
                strength: rng.between(0.0, 0.7),
                power: rng.between(0.96, 1.04),
            },
        };
        let (vignette, slope) = (rng.between(0.0, 0.25), rng.between(0.0, 0.25));
        let turn = rng.between(0.0, std::f64::consts::TAU);
        let shadow = if rng.uniform() < 0.1 { rng.between(0.3, 0.7) } else { 1.0 };
        let noise = Noise::at_iso([100, 200, 400, 800][(rng.uniform() * 4.0) as usize % 4]);
        let noise_seed = rng.next_u64();
        let quality = rng.between(82.0, 97.0) as u8;
        Self { level, tone, vignette, slope, turn, shadow, noise, noise_seed, quality }
    }

    /// The same shot with more or less exposure; never so much that the card is blown out.
    pub(crate) fn exposed(&self, stops: f64) -> Self {
        Self { level: (self.level * stops.exp2()).min(0.85), ..self.clone() }
    }

    /// The JPEG that a camera writes of the card in a light.
    pub(crate) fn jpeg(
        &self,
        camera: &BalancedCamera,
        light: &Spectrum,
        noise_seed: u64,
        light_source: u16,
    ) -> Result<Vec<u8>, LabError> {
        let raw = camera.sensor.response_to_green(light);
        let balanced = std::array::from_fn(|c| raw[c] * camera.gains[c]);
        let brightest = camera.matrix.apply(balanced).into_iter().fold(0.0, f64::max);
        let pixels = (0..WIDTH * HEIGHT)
            .map(|i| {
                let x = (i % WIDTH) as f64 / WIDTH as f64 * 2.0 - 1.0;
                let y = (i / WIDTH) as f64 / HEIGHT as f64 * 2.0 - 1.0;
                let along = x * self.turn.cos() + y * self.turn.sin();
                let shade = (1.0 - self.vignette * 0.5 * (x * x + y * y))
                    * (1.0 - self.slope * 0.5 * (1.0 + along) / 1.5)
                    * if x > 0.1 { self.shadow } else { 1.0 };
                raw.map(|channel| (channel * shade) as f32)
            })
            .collect();
        let development = Development {
            camera: camera.clone(),
            exposure: self.level / brightest,
            tone: self.tone,
            noise: Some(self.noise),
            seed: noise_seed,
        };
        let shot = ShotData {
            model: "Studio camera".to_owned(),
            taken_at: "2026:01:01 12:00:00".to_owned(),
            exposure_time: Rational { numerator: 1, denominator: 50 },
            f_number: Rational { numerator: 4, denominator: 1 },
            iso: 200,
            flash_fired: false,
            auto_balance: false,
            light_source,
        };
        development.jpeg(&RawImage { width: WIDTH, height: HEIGHT, pixels }, self.quality, &shot)
    }
}
