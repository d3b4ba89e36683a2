//! Calibrates the intervals of raw cards: how far a camera's own matrices put the light off.
//!
//! Nothing is rendered. Noise is in each reading's own interval already, and a raw file has no tone curve, so what is
//! left is exact: a sensor's response to a light, the way back through the two matrices that the camera's maker would
//! have fitted, and the difference to the truth.

use mirecast::balance::White;
use mirecast::colour::{CameraCalibration, CameraColour, CctDuv, Matrix3, Mired};
use rayon::prelude::*;

use crate::calibrate::{Light, lights};
use crate::colorimetry::xyz;
use crate::error::LabError;
use crate::sensor::Sensor;
use crate::spectrum::Spectrum;
use crate::table;

/// Lights, in mired, at which half widths are fitted.
pub const LIGHTS: [f64; 9] = [90.0, 120.0, 155.0, 190.0, 230.0, 270.0, 320.0, 370.0, 440.0];

/// How often an interval holds the truth: a little more than the nine times in ten that it promises, since real cameras
/// are not quite like these.
const HOLDS: f64 = 0.92;

/// The share of all readings, those nearest to a node, that are used for it.
const NEAREST: f64 = 0.25;

/// One light seen by one camera.
#[derive(Debug, Clone, Copy)]
pub struct RawTrial {
    /// Whether the lamp's spectrum has spikes.
    pub spiky: bool,
    /// The light as read, mired.
    pub mired: f64,
    /// Light as read less the truth, mired and Duv.
    pub error: [f64; 2],
}

/// Half widths at [`LIGHTS`], mired and Duv.
#[derive(Debug, Clone, PartialEq)]
pub struct RawFit {
    /// What kind of lamp: `ANY`, `CONTINUOUS` or `SPIKY`.
    pub name: &'static str,
    /// Mired.
    pub mired: [f64; LIGHTS.len()],
    /// Duv.
    pub duv: [f64; LIGHTS.len()],
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
    let mut samples = vec![(light.clone(), white_weight)];
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
        Ok(lights.iter().filter_map(|light| trial(&sensor, &camera, light)).collect())
    };
    let all: Result<Vec<_>, LabError> = (0..cameras).into_par_iter().map(of_camera).collect();
    Ok(all?.concat())
}

fn trial(sensor: &Sensor, camera: &CameraColour, light: &Light) -> Option<RawTrial> {
    let read = camera.white_of(sensor.response(&light.spectrum)).ok()?;
    let read = White::from(CctDuv::from_xy(read).ok()?);
    Some(RawTrial {
        spiky: light.spiky,
        mired: read.mired().get(),
        error: [
            (read.mired() - light.white.mired()).get(),
            (read.duv - light.white.duv).get(),
        ],
    })
}

/// The half widths that make intervals hold the truth as often as they should.
#[must_use]
pub fn fit(trials: &[RawTrial]) -> [RawFit; 3] {
    let of = |name, kind: Option<bool>| {
        let trials: Vec<&RawTrial> =
            trials.iter().filter(|trial| kind.is_none_or(|spiky| trial.spiky == spiky)).collect();
        let widths = |i: usize| LIGHTS.map(|node| half_width(&trials, node, i));
        RawFit { name, mired: widths(0), duv: widths(1) }
    };
    [of("ANY", None), of("CONTINUOUS", Some(false)), of("SPIKY", Some(true))]
}

fn half_width(trials: &[&RawTrial], node: f64, i: usize) -> f64 {
    let mut nearest: Vec<&RawTrial> = trials.to_vec();
    nearest.sort_by(|a, b| (a.mired - node).abs().total_cmp(&(b.mired - node).abs()));
    nearest.truncate((NEAREST * trials.len() as f64) as usize);
    let mut errors: Vec<f64> = nearest.iter().map(|trial| trial.error[i].abs()).collect();
    errors.sort_by(f64::total_cmp);
    let place = (HOLDS * errors.len() as f64) as usize;
    errors.get(place).or(errors.last()).copied().unwrap_or(0.0)
}

/// The fits as the source file that the library is built with.
#[must_use]
pub fn source(fits: &[RawFit]) -> String {
    let numbers = |values: &[f64], digits: usize| {
        values.iter().map(|v| format!("{v:.digits$}")).collect::<Vec<_>>().join(", ")
    };
    let mut text = format!(
        "//! Made by `cargo run --release -p lab -- calibrate-raw --write`; do not edit by hand.\n\n\
         use super::raw_error::RawCurves;\n\n\
         /// Lights, in mired, at which the half widths are given.\n\
         pub(crate) const LIGHTS: [f64; {}] = [{}];\n",
        LIGHTS.len(),
        numbers(&LIGHTS, 1)
    );
    for fit in fits {
        text += &format!(
            "\npub(crate) const {}: RawCurves = RawCurves {{\n    mired: [{}],\n    duv: [{}],\n}};\n",
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
        let trials: Vec<RawTrial> = (0..1000)
            .map(|i| RawTrial { spiky: false, mired: 200.0, error: [f64::from(i), 0.0] })
            .collect();
        let [any, ..] = fit(&trials);
        let held = trials[..250].iter().filter(|t| t.error[0] < any.mired[0]).count();
        assert!((held as f64 / 250.0 - HOLDS).abs() < 0.01, "{held}");
    }
}
