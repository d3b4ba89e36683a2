//! Calibrates the intervals of card readings: renders many cards with the truth known, has them read, and finds how
//! wide an interval must be to hold the truth as often as it says.
//!
//! Every card has its own made-up sensor, light, preset, tone curve, exposure, falloff, noise and compression. What the
//! reading itself says of its tone curve and its noise stays in; what is fitted here is only the part that sensor and
//! spectrum add, over the residual and for each kind of lamp.

use mirecast::balance::{AsShot, PresetTable, White};
use mirecast::card::{CardOptions, ModelError, Status, read_card};
use mirecast::still::{ReadOptions, read_bytes};
use rayon::prelude::*;

use crate::colorimetry::xyz;
use crate::develop::{Development, Noise, RawImage};
use crate::error::LabError;
use crate::exif::{Rational, ShotData};
use crate::preset::Preset;
use crate::rng::Rng;
use crate::sensor::{BalancedCamera, Sensor};
use crate::spectrum::Spectrum;
use crate::table;
use crate::tone::ToneCurve;

/// Residuals, in mired, at which half widths are fitted.
pub const RESIDUALS: [f64; 11] =
    [-180.0, -120.0, -80.0, -50.0, -20.0, 0.0, 20.0, 50.0, 100.0, 150.0, 200.0];

/// How often an interval holds the truth: a little more than the nine times in ten that it promises, since other
/// cameras' sensors and curves are not quite like these.
const HOLDS: f64 = 0.92;

/// How many readings nearest to a node are used for it.
const NEAREST: usize = 400;

/// One card, rendered and read.
#[derive(Debug, Clone, Copy)]
pub struct Trial {
    /// Whether the lamp's spectrum has spikes.
    pub spiky: bool,
    /// Light as read less the balance, mired.
    pub residual: f64,
    /// Light as read less the truth, mired and Duv.
    pub error: [f64; 2],
    /// Half widths that the reading gave without sensor and spectrum, mired and Duv.
    pub half: [f64; 2],
}

/// Half widths at [`RESIDUALS`], mired and Duv.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// What kind of lamp: `ANY`, `CONTINUOUS` or `SPIKY`.
    pub name: &'static str,
    /// Mired.
    pub mired: [f64; RESIDUALS.len()],
    /// Duv.
    pub duv: [f64; RESIDUALS.len()],
}

/// Renders and reads `count` cards; the same for the same count.
///
/// # Errors
/// [`LabError`] where the bench itself is broken. Cards that are refused are left out.
pub fn trials(count: u64) -> Result<Vec<Trial>, LabError> {
    let lights = lights()?;
    let presets = PresetTable::built_in().map_err(|error| LabError::Presets(error.to_string()))?;
    let all: Result<Vec<Option<Trial>>, LabError> =
        (0..count).into_par_iter().map(|seed| trial(seed, &lights, &presets)).collect();
    Ok(all?.into_iter().flatten().collect())
}

pub(crate) struct Light {
    pub(crate) spiky: bool,
    pub(crate) spectrum: Spectrum,
    pub(crate) white: White,
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

const WIDTH: usize = 384;
const HEIGHT: usize = 256;

fn trial(seed: u64, lights: &[Light], presets: &PresetTable) -> Result<Option<Trial>, LabError> {
    let mut rng = Rng::stream(0x6d69_7265_6463, seed);
    let spiky = rng.uniform() < 0.5;
    let of_kind: Vec<&Light> = lights.iter().filter(|light| light.spiky == spiky).collect();
    let light = of_kind[(rng.uniform() * of_kind.len() as f64) as usize % of_kind.len()];
    let preset =
        Preset::ALL[(rng.uniform() * Preset::ALL.len() as f64) as usize % Preset::ALL.len()];
    let sensor = Sensor::typical(rng.next_u64());
    let jpeg = photo(&sensor, preset, light, &mut rng)?;

    let Ok(still) = read_bytes(&jpeg, &ReadOptions::default()) else { return Ok(None) };
    let mut options = CardOptions::new(presets.clone());
    options.model_error = ModelError::none();
    options.shot_at = AsShot::stated(preset.name(), presets).ok();
    let reading = read_card(&still, &options);
    let (Status::Read, Some(read)) = (reading.status, reading.light) else { return Ok(None) };
    let residual = reading.residual.and_then(|residual| residual.mired).unwrap_or_default();
    Ok(Some(Trial {
        spiky,
        residual,
        error: [read.mired - light.white.mired().get(), read.duv - light.white.duv.get()],
        half: [
            (read.mired_interval[1] - read.mired_interval[0]) / 2.0,
            (read.duv_interval[1] - read.duv_interval[0]) / 2.0,
        ],
    }))
}

/// A card that fills the frame.
fn photo(
    sensor: &Sensor,
    preset: Preset,
    light: &Light,
    rng: &mut Rng,
) -> Result<Vec<u8>, LabError> {
    let camera = BalancedCamera::at_preset(sensor, preset)?;
    let raw = sensor.response_to_green(&light.spectrum);
    let balanced = std::array::from_fn(|c| raw[c] * camera.gains[c]);
    let brightest = camera.matrix.apply(balanced).into_iter().fold(0.0, f64::max);
    let exposure = rng.between(0.15, 0.8) / brightest;
    let tone = match rng.uniform() {
        u if u < 0.3 => ToneCurve::Srgb,
        u if u < 0.85 => ToneCurve::SCurve { strength: rng.between(0.05, 0.7) },
        _ => ToneCurve::Filmic { toe: rng.between(0.0, 0.01), shoulder: rng.between(0.1, 0.8) },
    };

    let (vignette, slope) = (rng.between(0.0, 0.25), rng.between(0.0, 0.25));
    let turn = rng.between(0.0, std::f64::consts::TAU);
    let shadow = if rng.uniform() < 0.1 { rng.between(0.3, 0.7) } else { 1.0 };
    let pixels = (0..WIDTH * HEIGHT)
        .map(|i| {
            let x = (i % WIDTH) as f64 / WIDTH as f64 * 2.0 - 1.0;
            let y = (i / WIDTH) as f64 / HEIGHT as f64 * 2.0 - 1.0;
            let shade = (1.0 - vignette * 0.5 * (x * x + y * y))
                * (1.0 - slope * 0.5 * (1.0 + x * turn.cos() + y * turn.sin()) / 1.5)
                * if x > 0.1 { shadow } else { 1.0 };
            raw.map(|channel| (channel * shade) as f32)
        })
        .collect();
    let noise = Some(Noise::at_iso([100, 200, 400, 800][(rng.uniform() * 4.0) as usize % 4]));
    let development = Development { camera, exposure, tone, noise, seed: rng.next_u64() };
    let quality = rng.between(82.0, 97.0) as u8;
    let shot = ShotData {
        model: "Studio camera".to_owned(),
        taken_at: "2026:01:01 12:00:00".to_owned(),
        exposure_time: Rational { numerator: 1, denominator: 50 },
        f_number: Rational { numerator: 4, denominator: 1 },
        iso: 200,
        flash_fired: false,
        auto_balance: false,
        light_source: preset.exif_light_source(),
    };
    development.jpeg(&RawImage { width: WIDTH, height: HEIGHT, pixels }, quality, &shot)
}

/// The half widths that make intervals hold the truth as often as they should.
#[must_use]
pub fn fit(trials: &[Trial]) -> [Fit; 3] {
    let of = |name, kind: Option<bool>| {
        let trials: Vec<&Trial> =
            trials.iter().filter(|trial| kind.is_none_or(|spiky| trial.spiky == spiky)).collect();
        let widths = |i: usize| outward(RESIDUALS.map(|node| half_width(&trials, node, i)));
        Fit { name, mired: widths(0), duv: widths(1) }
    };
    let any = of("ANY", None);
    let mut continuous = of("CONTINUOUS", Some(false));
    let mut spiky = of("SPIKY", Some(true));
    // The mix lies between its halves; where it does not, that is chance.
    for i in 0..RESIDUALS.len() {
        continuous.mired[i] = continuous.mired[i].min(any.mired[i]);
        continuous.duv[i] = continuous.duv[i].min(any.duv[i]);
        spiky.mired[i] = spiky.mired[i].max(any.mired[i]);
        spiky.duv[i] = spiky.duv[i].max(any.duv[i]);
    }
    [any, continuous, spiky]
}

/// The half width at one node: added in squares to what each reading gives itself, it holds the truth in [`HOLDS`] of
/// the readings nearest to the node.
fn half_width(trials: &[&Trial], node: f64, i: usize) -> f64 {
    let mut nearest: Vec<&Trial> = trials.to_vec();
    nearest.sort_by(|a, b| (a.residual - node).abs().total_cmp(&(b.residual - node).abs()));
    nearest.truncate(NEAREST);
    let mut needed: Vec<f64> = nearest
        .iter()
        .map(|trial| (trial.error[i].powi(2) - trial.half[i].powi(2)).max(0.0).sqrt())
        .collect();
    needed.sort_by(f64::total_cmp);
    let place = (HOLDS * needed.len() as f64) as usize;
    needed.get(place).or(needed.last()).copied().unwrap_or(0.0)
}

/// Never narrower farther from a residual of 0, which is chance where it happens.
fn outward(mut widths: [f64; RESIDUALS.len()]) -> [f64; RESIDUALS.len()] {
    let middle = RESIDUALS.iter().position(|&node| node == 0.0).unwrap_or(0);
    for i in middle + 1..widths.len() {
        widths[i] = widths[i].max(widths[i - 1]);
    }
    for i in (0..middle).rev() {
        widths[i] = widths[i].max(widths[i + 1]);
    }
    widths
}

/// The fits as the source file that the library is built with.
#[must_use]
pub fn source(fits: &[Fit]) -> String {
    let numbers = |values: &[f64], digits: usize| {
        values.iter().map(|v| format!("{v:.digits$}")).collect::<Vec<_>>().join(", ")
    };
    let mut text = format!(
        "//! Made by `cargo run --release -p lab -- calibrate --write`; do not edit by hand.\n\n\
         use super::model_error::Curves;\n\n\
         /// Residuals, in mired, at which the half widths are given.\n\
         pub(crate) const RESIDUALS: [f64; {}] =\n    [{}];\n",
        RESIDUALS.len(),
        numbers(&RESIDUALS, 1)
    );
    for fit in fits {
        text += &format!(
            "\npub(crate) const {}: Curves = Curves {{\n    mired: [{}],\n    duv: [{}],\n}};\n",
            fit.name,
            numbers(&fit.mired, 1),
            numbers(&fit.duv, 4)
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn made_up(spiky: bool, residual: f64, error: f64) -> Trial {
        Trial { spiky, residual, error: [error, error * 1e-4], half: [3.0, 0.0] }
    }

    #[test]
    fn the_fitted_width_holds_the_share_it_should() {
        let trials: Vec<Trial> =
            (0..1000).map(|i| made_up(false, 0.0, f64::from(i) / 1000.0 * 20.0)).collect();
        let [any, ..] = fit(&trials[..NEAREST]);
        let half = any.mired[5].hypot(3.0);
        let held = trials[..NEAREST].iter().filter(|t| t.error[0] <= half).count();
        assert!((held as f64 / NEAREST as f64 - HOLDS).abs() < 0.01, "{held}");
    }

    #[test]
    fn widths_never_shrink_outward() {
        let widths = outward([1.0, 5.0, 2.0, 3.0, 1.0, 2.0, 1.0, 4.0, 3.0, 6.0, 5.0]);
        assert_eq!(widths, [5.0, 5.0, 3.0, 3.0, 2.0, 2.0, 2.0, 4.0, 4.0, 6.0, 6.0]);
    }

    #[test]
    fn rendered_cards_are_read_near_the_truth() -> Result<(), LabError> {
        let trials = trials(24)?;
        assert!(trials.len() >= 18, "{} of 24 were read", trials.len());
        let mut errors: Vec<f64> = trials.iter().map(|trial| trial.error[0].abs()).collect();
        errors.sort_by(f64::total_cmp);
        assert!(errors[errors.len() / 2] < 15.0, "{errors:?}");
        Ok(())
    }
}
