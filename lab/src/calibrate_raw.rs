//! Calibrates the intervals of raw cards: how far a camera's own matrices put the light off.
//!
//! Nothing is rendered. Noise is in each reading's own interval already, and a raw file has no tone curve, so what is
//! left is exact: a sensor's response to a light, the way back through the two matrices that the camera's maker would
//! have fitted, and the difference to the truth.

use mirecast::balance::{White, distance_off_loci};
use mirecast::colour::{CameraCalibration, CameraColour, CctDuv, Duv, Matrix3, Mired};
use rayon::prelude::*;

use crate::card_shot::{Light, lights};
use crate::colorimetry::xyz;
use crate::error::LabError;
use crate::rng::Rng;
use crate::sensor::Sensor;
use crate::spectrum::Spectrum;
use crate::table;

/// Lights, in mired, at which half widths are fitted.
pub const LIGHTS: [f64; 8] = [100.0, 140.0, 180.0, 220.0, 260.0, 310.0, 360.0, 430.0];

/// Distances in Duv from filaments and daylight at which half widths are fitted.
pub const DISTANCES: [f64; 5] = [0.0, 0.001, 0.002, 0.0035, 0.006];

/// How often an interval holds the truth: more than the nine times in ten that it promises, since made-up sensitivities
/// are smoother than real ones and any lamp may come, not only the tabulated.
const HOLDS: f64 = 0.95;

/// The share of all readings, those nearest to a node, that are used for it, and what counts as equally far: so many
/// mired, so much Duv. There are few tabulated lamps and any may come: a node must not hang on one of them.
const NEAREST: f64 = 0.12;
const FAR_MIRED: f64 = 70.0;
const FAR_DUV: f64 = 0.001;

/// One light seen by one camera.
#[derive(Debug, Clone, Copy)]
pub struct RawTrial {
    /// Whether the lamp's spectrum has spikes.
    pub spiky: bool,
    /// The light as read, mired.
    pub mired: f64,
    /// The light as read, Duv.
    pub duv: f64,
    /// Light as read less the truth, mired and Duv.
    pub error: [f64; 2],
}

impl RawTrial {
    /// How far the light as read is from filaments and daylight, Duv.
    fn off_the_loci(&self) -> f64 {
        Mired::new(self.mired)
            .map_or(0.0, |mired| distance_off_loci(mired.kelvin(), Duv::new(self.duv)))
    }
}

/// Half widths at [`DISTANCES`] (rows) and [`LIGHTS`] (columns).
pub type Widths = [[f64; LIGHTS.len()]; DISTANCES.len()];

/// The half widths for one kind of lamp.
#[derive(Debug, Clone, PartialEq)]
pub struct RawFit {
    /// What kind of lamp: `ANY`, `CONTINUOUS` or `SPIKY`.
    pub name: &'static str,
    /// Mired.
    pub mired: Widths,
    /// Duv.
    pub duv: Widths,
}

/// The colour calibration that a maker would write into the raw files of a camera with this sensor: matrices from XYZ
/// to its channels, fitted over the 24-patch chart under standard light A and D65.
///
/// `white_weight` is how many patches' worth the white counts beside the 24: makers hold it more or less firmly.
///
/// # Errors
/// [`LabError::SingularFit`] where the channels are not independent.
pub fn calibrated(sensor: &Sensor, white_weight: f64) -> Result<CameraColour, LabError> {
    let at = |name, kelvin: f64| -> Result<CameraCalibration, LabError> {
        let illuminant = Some(Mired::new(1e6 / kelvin)?.kelvin());
        let from_xyz = fitted(sensor, &table::illuminant(name)?, white_weight)?;
        Ok(CameraCalibration { illuminant, from_xyz })
    };
    Ok(CameraColour::new(at("A", 2856.0)?, Some(at("D65", 6504.0)?))?)
}

/// Least squares from XYZ to the channels, scaled so that the light's own white has a largest channel of 1.
fn fitted(sensor: &Sensor, light: &Spectrum, white_weight: f64) -> Result<Matrix3, LabError> {
    let white = xyz(light)?;
    let level = sensor.response(light).into_iter().fold(0.0, f64::max);
    let mut samples = vec![(*light, white_weight)];
    samples.extend(table::chart()?.iter().map(|patch| (patch.times(light), 1.0)));

    // For each channel the normal equations: (Σ w x xᵀ) m = Σ w x c.
    let mut squares = [[0.0; 3]; 3];
    let mut products = [[0.0; 3]; 3];
    for (seen, weight) in samples {
        let x: [f64; 3] = (xyz(&seen)? * (1.0 / white.y)).into();
        let channels = sensor.response(&seen).map(|response| response / level);
        for i in 0..3 {
            for j in 0..3 {
                squares[i][j] += weight * x[i] * x[j];
                products[i][j] += weight * channels[i] * x[j];
            }
        }
    }
    let inverse = Matrix3(squares).inverse().ok_or(LabError::SingularFit)?;
    Ok(Matrix3(products) * inverse)
}

/// What `cameras` made-up cameras make of every light.
///
/// # Errors
/// [`LabError`] where the bench itself is broken. Lights that a camera takes for no light are left out.
pub fn trials(cameras: u64) -> Result<Vec<RawTrial>, LabError> {
    let lights = lights()?;
    let of_camera = |seed: u64| -> Result<Vec<RawTrial>, LabError> {
        let sensor = Sensor::typical(seed);
        // From hardly more than a patch to almost exact.
        let white_weight = [1.0, 10.0, 100.0][(seed % 3) as usize];
        let camera = calibrated(&sensor, white_weight)?;
        let mut rng = Rng::stream(UNIT_SEED, seed);
        let unit = std::array::from_fn(|_| (UNIT_VARIATION * rng.normal()).exp());
        Ok(lights.iter().filter_map(|light| trial(&sensor, unit, &camera, light)).collect())
    };
    let all: Result<Vec<_>, LabError> = (0..cameras).into_par_iter().map(of_camera).collect();
    Ok(all?.concat())
}

/// How far the channels of one camera depart from those of the camera that its maker measured: half a percent, which
/// is why the DNG specification has a calibration for each camera beside that of its model. With it smooth lights are
/// read as far off as by published cameras.
const UNIT_VARIATION: f64 = 0.005;
const UNIT_SEED: u64 = 0x756e_6974;

fn trial(
    sensor: &Sensor,
    unit: [f64; 3],
    camera: &CameraColour,
    light: &Light,
) -> Option<RawTrial> {
    let response = sensor.response(&light.spectrum);
    let read = camera.white_of(std::array::from_fn(|c| response[c] * unit[c])).ok()?;
    let read = White::from(CctDuv::from_xy(read).ok()?);
    Some(RawTrial {
        spiky: light.spiky,
        mired: read.mired().get(),
        duv: read.duv.get(),
        error: [(read.mired() - light.white.mired()).get(), (read.duv - light.white.duv).get()],
    })
}

/// The half widths that make intervals hold the truth as often as they should.
#[must_use]
pub fn fit(trials: &[RawTrial]) -> [RawFit; 3] {
    let of = |name, kind: Option<bool>| {
        let trials: Vec<&RawTrial> =
            trials.iter().filter(|trial| kind.is_none_or(|spiky| trial.spiky == spiky)).collect();
        let widths = |i: usize| {
            outward(DISTANCES.map(|off| LIGHTS.map(|light| half_width(&trials, light, off, i))))
        };
        RawFit { name, mired: widths(0), duv: widths(1) }
    };
    [of("ANY", None), of("CONTINUOUS", Some(false)), of("SPIKY", Some(true))]
}

/// The half width that holds the truth in [`HOLDS`] of the readings nearest to a node, each kind of lamp as likely as
/// the other.
fn half_width(trials: &[&RawTrial], light: f64, off: f64, i: usize) -> f64 {
    let spiky = trials.iter().filter(|trial| trial.spiky).count() as f64;
    let smooth = trials.len() as f64 - spiky;
    let distance = |trial: &RawTrial| {
        let off = (trial.off_the_loci() - off) / FAR_DUV;
        ((trial.mired - light) / FAR_MIRED).hypot(off)
    };
    let mut nearest: Vec<&RawTrial> = trials.to_vec();
    nearest.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
    nearest.truncate((NEAREST * trials.len() as f64).ceil() as usize);
    nearest.sort_by(|a, b| a.error[i].abs().total_cmp(&b.error[i].abs()));
    let weight = |trial: &RawTrial| 1.0 / if trial.spiky { spiky } else { smooth };
    let wanted = HOLDS * nearest.iter().map(|trial| weight(trial)).sum::<f64>();
    let mut held = 0.0;
    let enough = nearest.iter().find(|trial| {
        held += weight(trial);
        held >= wanted
    });
    enough.map_or(0.0, |trial| trial.error[i].abs())
}

/// Never narrower farther off the loci, which is chance where it happens.
fn outward(mut widths: Widths) -> Widths {
    for row in 1..widths.len() {
        let nearer = widths[row - 1];
        for (width, nearer) in widths[row].iter_mut().zip(nearer) {
            *width = width.max(nearer);
        }
    }
    widths
}

/// The fits as the source file that the library is built with.
#[must_use]
pub fn source(fits: &[RawFit]) -> String {
    let numbers = |values: &[f64], digits: usize| {
        values.iter().map(|v| format!("{v:.digits$}")).collect::<Vec<_>>().join(", ")
    };
    let rows = |widths: &Widths, digits: usize| {
        widths
            .iter()
            .map(|row| format!("        [{}],\n", numbers(row, digits)))
            .collect::<String>()
    };
    let mut text = format!(
        "//! Made by `cargo run --release -p lab -- calibrate-raw --write`; do not edit by hand.\n\n\
         use super::half_widths::Plane;\n\n\
         pub(super) type RawCurves = Plane<{{ DISTANCES.len() }}, {{ LIGHTS.len() }}>;\n\n\
         /// Lights, in mired, at which the half widths are given.\n\
         pub(crate) const LIGHTS: [f64; {}] = [{}];\n\n\
         /// Distances from the loci of filaments and daylight, in Duv, at which they are given.\n\
         pub(crate) const DISTANCES: [f64; {}] = [{}];\n",
        LIGHTS.len(),
        numbers(&LIGHTS, 1),
        DISTANCES.len(),
        numbers(&DISTANCES, 4)
    );
    for RawFit { name, mired, duv } in fits {
        text += &format!(
            "\npub(crate) const {name}: RawCurves = RawCurves {{\n    mired: [\n{}    ],\n    duv: [\n{}    ],\n}};\n",
            rows(mired, 1),
            rows(duv, 4)
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quantile(mut values: Vec<f64>, share: f64) -> f64 {
        values.sort_by(f64::total_cmp);
        values[(share * (values.len() - 1) as f64) as usize]
    }

    #[test]
    fn a_camera_knows_the_lights_it_was_calibrated_under() -> Result<(), LabError> {
        for seed in 0..20 {
            let sensor = Sensor::typical(seed);
            let camera = calibrated(&sensor, 100.0)?;
            for (name, kelvin) in [("A", 2855.7), ("D65", 6502.7)] {
                let white = camera.white_of(sensor.response(&table::illuminant(name)?))?;
                let miss = 1e6 / CctDuv::from_xy(white)?.cct.get() - 1e6 / kelvin;
                assert!(miss.abs() < 1.5, "seed {seed}, {name}: {miss} mired");
            }
        }
        Ok(())
    }

    /// The figures to compare with: over many published sensors raw cards are off by a median of 1.7 mired, smooth
    /// lights alone by 1.2.
    #[test]
    fn made_up_cameras_are_about_as_far_off_as_published_ones() -> Result<(), LabError> {
        let trials = trials(60)?;
        let errors = |spiky: bool| {
            let of_kind = trials.iter().filter(|trial| trial.spiky == spiky);
            of_kind.map(|trial| trial.error[0].abs()).collect::<Vec<f64>>()
        };
        assert!(errors(false).len() > 900 && errors(true).len() > 900);
        let smooth = quantile(errors(false), 0.5);
        assert!((0.2..2.0).contains(&smooth), "smooth {smooth}");
        let spiky = quantile(errors(true), 0.9);
        assert!((5.0..25.0).contains(&spiky), "spiky {spiky}");
        Ok(())
    }

    #[test]
    fn the_fitted_width_holds_the_share_it_should() {
        let trials =
            vec![RawTrial { spiky: false, mired: 200.0, duv: 0.0, error: [0.0; 2] }; 10_000];
        let share = (NEAREST * trials.len() as f64) as usize;
        let trials: Vec<RawTrial> = (0..)
            .zip(trials)
            .map(|(i, trial)| RawTrial { error: [f64::from(i), 0.0], ..trial })
            .collect();
        let [_, continuous, _] = fit(&trials);
        for half in continuous.mired.as_flattened() {
            let held = trials[..share].iter().filter(|t| t.error[0] <= *half).count();
            assert!((held as f64 / share as f64 - HOLDS).abs() < 0.01, "{held}");
        }
    }
}
