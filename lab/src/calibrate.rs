//! Calibrates the intervals of card readings: renders many cards with the truth known, has them read, and finds how
//! wide an interval must be to hold the truth as often as it says.
//!
//! Every card has its own made-up sensor, light, preset, tone curve, exposure, falloff, noise and compression. What the
//! reading itself says of its tone curve and its noise stays in; what is fitted here is only the part that sensor and
//! spectrum add, for each kind of lamp: a curve over the residual times a factor over the distance from the loci.

use mirecast::balance::{AsShot, PresetTable, distance_off_loci};
use mirecast::card::{CardOptions, ModelError, Status, read_card};
use mirecast::colour::{Duv, Kelvin};
use mirecast::still::{ReadOptions, read_bytes};
use rayon::prelude::*;

use crate::card_shot::{CardShot, Light, lights};
use crate::error::LabError;
use crate::preset::Preset;
use crate::rng::Rng;
use crate::sensor::{BalancedCamera, Sensor};

/// Residuals, in mired, at which half widths are fitted.
pub const RESIDUALS: [f64; 11] =
    [-180.0, -120.0, -80.0, -50.0, -20.0, 0.0, 20.0, 50.0, 100.0, 150.0, 200.0];

/// Distances from the loci, in Duv, at which factors are fitted.
pub const OFF_LOCI: [f64; 6] = [0.0, 0.001, 0.002, 0.004, 0.007, 0.012];

/// How often an interval holds the truth: a little more than the nine times in ten that it promises, since other
/// cameras' sensors and curves are not quite like these.
const HOLDS: f64 = 0.93;

/// How many readings nearest to a node are used for it.
const NEAREST: usize = 400;

/// Curve and factors are fitted in turn, this many times.
const ROUNDS: usize = 6;

/// A light on the loci is trusted at most so much more than one 0.004 off them: some spiky lamps read as lying on them,
/// and ours are not all there are.
const LEAST_FACTOR: f64 = 0.5;

/// Half widths are never less, mired and Duv: nothing is read that well.
const LEAST_HALF: [f64; 2] = [2.0, 0.0004];

/// One card, rendered and read.
#[derive(Debug, Clone, Copy)]
pub struct Trial {
    /// Whether the lamp's spectrum has spikes.
    pub spiky: bool,
    /// Light as read less the balance, mired.
    pub residual: f64,
    /// How far off the loci the light was read, Duv.
    pub off_loci: f64,
    /// Light as read less the truth, mired and Duv.
    pub error: [f64; 2],
    /// Half widths that the reading gave without sensor and spectrum, mired and Duv.
    pub half: [f64; 2],
}

/// What is fitted of the mired or of the Duv half widths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Widths {
    /// At [`RESIDUALS`].
    pub curve: [f64; RESIDUALS.len()],
    /// At [`OFF_LOCI`].
    pub factors: [f64; OFF_LOCI.len()],
}

/// The figures for one kind of lamp.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// What kind of lamp: `ANY`, `CONTINUOUS` or `SPIKY`.
    pub name: &'static str,
    /// Mired.
    pub mired: Widths,
    /// Duv.
    pub duv: Widths,
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

fn trial(seed: u64, lights: &[Light], presets: &PresetTable) -> Result<Option<Trial>, LabError> {
    let mut rng = Rng::stream(0x6d69_7265_6463, seed);
    let spiky = rng.uniform() < 0.5;
    let light = Light::drawn(lights, spiky, &mut rng)?;
    let preset =
        Preset::ALL[(rng.uniform() * Preset::ALL.len() as f64) as usize % Preset::ALL.len()];
    // Published sensors spread more than the one range and less than the other.
    let seed = rng.next_u64();
    let sensor = if seed.is_multiple_of(2) { Sensor::typical(seed) } else { Sensor::made_up(seed) };
    let camera = BalancedCamera::at_preset(&sensor, preset)?;
    let shot = CardShot::drawn(&mut rng);
    let jpeg = shot.jpeg(&camera, &light.spectrum, shot.noise_seed, preset.exif_light_source())?;

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
        off_loci: distance_off_loci(Kelvin::new(read.cct_kelvin)?, Duv::new(read.duv)),
        error: [read.mired - light.white.mired().get(), read.duv - light.white.duv.get()],
        half: [
            (read.mired_interval[1] - read.mired_interval[0]) / 2.0,
            (read.duv_interval[1] - read.duv_interval[0]) / 2.0,
        ],
    }))
}

/// The half widths that make intervals hold the truth as often as they should.
#[must_use]
pub fn fit(trials: &[Trial]) -> [Fit; 3] {
    let of = |name, kind: Option<bool>| {
        let trials: Vec<&Trial> =
            trials.iter().filter(|trial| kind.is_none_or(|spiky| trial.spiky == spiky)).collect();
        Fit { name, mired: widths(&trials, 0), duv: widths(&trials, 1) }
    };
    let any = of("ANY", None);
    let mut continuous = of("CONTINUOUS", Some(false));
    let mut spiky = of("SPIKY", Some(true));
    // The mix lies between its halves; where it does not, that is chance.
    for (any, continuous, spiky) in [
        (&any.mired, &mut continuous.mired, &mut spiky.mired),
        (&any.duv, &mut continuous.duv, &mut spiky.duv),
    ] {
        for i in 0..RESIDUALS.len() {
            continuous.curve[i] = continuous.curve[i].min(any.curve[i]);
            spiky.curve[i] = spiky.curve[i].max(any.curve[i]);
        }
        for i in 0..OFF_LOCI.len() {
            continuous.factors[i] = continuous.factors[i].min(any.factors[i]);
            let least = (0..RESIDUALS.len())
                .map(|k| any.curve[k] * any.factors[i] / spiky.curve[k])
                .fold(0.0, f64::max);
            spiky.factors[i] = spiky.factors[i].max(least);
        }
    }
    [any, continuous, spiky]
}

/// Curve and factors for mired (0) or Duv (1): the one with the other held, in turn.
fn widths(trials: &[&Trial], quantity: usize) -> Widths {
    let mut found = Widths { curve: [1.0; RESIDUALS.len()], factors: [1.0; OFF_LOCI.len()] };
    for _ in 0..ROUNDS {
        found.curve = RESIDUALS.map(|node| {
            let near = nearest(trials, |trial| (trial.residual - node).abs());
            needed(&near, quantity, |trial| at(&OFF_LOCI, &found.factors, trial.off_loci))
                .max(LEAST_HALF[quantity])
        });
        found.curve = outward(found.curve);
        found.factors = OFF_LOCI.map(|node| {
            let near = nearest(trials, |trial| (trial.off_loci - node).abs());
            let least = LEAST_HALF[quantity] / found.curve[RESIDUALS.len() / 2];
            needed(&near, quantity, |trial| at(&RESIDUALS, &found.curve, trial.residual)).max(least)
        });
        let least = LEAST_FACTOR * found.factors[OFF_LOCI.len() / 2];
        found.factors = found.factors.map(|factor| factor.max(least));
        for i in 1..OFF_LOCI.len() {
            found.factors[i] = found.factors[i].max(found.factors[i - 1]);
        }
    }
    found
}

fn nearest<'a>(trials: &[&'a Trial], distance: impl Fn(&Trial) -> f64) -> Vec<&'a Trial> {
    let mut nearest = trials.to_vec();
    nearest.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
    nearest.truncate(NEAREST.min(trials.len() / 4).max(1));
    nearest
}

/// What half width, in units of `unit` and added in squares to what each reading gives itself, holds the truth in
/// [`HOLDS`] of the readings.
fn needed(trials: &[&Trial], quantity: usize, unit: impl Fn(&Trial) -> f64) -> f64 {
    let mut needed: Vec<f64> = trials
        .iter()
        .map(|trial| {
            let square = trial.error[quantity].powi(2) - trial.half[quantity].powi(2);
            square.max(0.0).sqrt() / unit(trial)
        })
        .collect();
    needed.sort_by(f64::total_cmp);
    let place = (HOLDS * needed.len() as f64) as usize;
    needed.get(place).or(needed.last()).copied().unwrap_or(0.0)
}

/// Straight lines between the nodes, level beyond them.
fn at(nodes: &[f64], values: &[f64], place: f64) -> f64 {
    let right = nodes.iter().position(|&node| node >= place).unwrap_or(nodes.len() - 1).max(1);
    let part = (place - nodes[right - 1]) / (nodes[right] - nodes[right - 1]);
    values[right - 1] + part.clamp(0.0, 1.0) * (values[right] - values[right - 1])
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
         use super::half_widths::Product;\n\n\
         pub(super) type Curves = Product<{{ RESIDUALS.len() }}, {{ OFF_LOCI.len() }}>;\n\n\
         /// Residuals, in mired, at which the half widths are given.\n\
         pub(crate) const RESIDUALS: [f64; {}] =\n    [{}];\n\n\
         /// Distances from the loci, in Duv, at which the factors are given.\n\
         pub(crate) const OFF_LOCI: [f64; {}] = [{}];\n",
        RESIDUALS.len(),
        numbers(&RESIDUALS, 1),
        OFF_LOCI.len(),
        numbers(&OFF_LOCI, 3),
    );
    for fit in fits {
        text += &format!(
            "\npub(crate) const {}: Curves = Curves {{\n    mired: [{}],\n    mired_factors: [{}],\n    \
             duv: [{}],\n    duv_factors: [{}],\n}};\n",
            fit.name,
            numbers(&fit.mired.curve, 1),
            numbers(&fit.mired.factors, 2),
            numbers(&fit.duv.curve, 4),
            numbers(&fit.duv.factors, 2),
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Errors spread evenly up to a bound that grows off the loci.
    fn made_up(count: u32) -> Vec<Trial> {
        (0..count)
            .map(|i| {
                let off_loci = f64::from(i % 7) * 0.002;
                let error = f64::from(i.wrapping_mul(7919) % 1000) / 1000.0 * 20.0;
                let error = error * (1.0 + off_loci * 100.0);
                Trial {
                    spiky: i % 2 == 0,
                    residual: f64::from(i % 400) - 200.0,
                    off_loci,
                    error: [error, error * 1e-4],
                    half: [3.0, 0.0],
                }
            })
            .collect()
    }

    #[test]
    fn the_fitted_widths_hold_the_share_they_should() {
        let trials = made_up(4000);
        let [any, ..] = fit(&trials);
        for (quantity, widths) in [any.mired, any.duv].into_iter().enumerate() {
            let held = |t: &&Trial| {
                let half = at(&RESIDUALS, &widths.curve, t.residual)
                    * at(&OFF_LOCI, &widths.factors, t.off_loci);
                t.error[quantity] <= half.hypot(t.half[quantity])
            };
            for off in [0.0, 0.004, 0.012] {
                let there: Vec<&Trial> =
                    trials.iter().filter(|t| (t.off_loci - off).abs() < 1e-9).collect();
                let share = there.iter().filter(|t| held(t)).count() as f64 / there.len() as f64;
                assert!((share - HOLDS).abs() < 0.05, "quantity {quantity} off {off}: {share}");
            }
        }
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
