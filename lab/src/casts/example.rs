//! Frames with their truth.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use mirecast::balance::{White, light_of};
use mirecast::colour::{Xyz, illuminants::ENCODING_D65, srgb};
use mirecast::frames::cast_training::Evidence;
use mirecast::still::{self, ReadOptions};
use serde::Deserialize;

use super::classical::{self, CLASSICAL_COUNT};
use super::crops::crop;
use crate::{LabError, Rng};

/// So many parts of each frame are trained on beside the whole.
pub(super) const CROPS: usize = 4;

/// A frame whose cast is known.
#[derive(Debug, Clone)]
pub struct Example {
    /// Its file.
    pub path: PathBuf,
    /// The scene; frames of one scene share it.
    pub scene: String,
    /// The true cast in mired, as the folder's truth says.
    pub mired: f64,
    /// The true cast by the colour that a neutral surface has: mired and Duv from 5500 K daylight.
    pub seen: [f64; 2],
    /// The colour of a neutral surface in linear sRGB.
    pub white: [f64; 3],
    /// What the estimator makes of the frame.
    pub evidence: Evidence,
    /// What it makes of parts of it.
    pub crops: [Evidence; CROPS],
    /// What the classical estimators say.
    pub classical: [[f64; 3]; CLASSICAL_COUNT],
}

#[derive(Deserialize)]
struct Truth {
    base: String,
    mired: f64,
    white: [f64; 3],
}

/// Photographic daylight, which frames are taken to be balanced for.
///
/// # Errors
/// [`LabError::NoDaylight`], which cannot happen.
pub(super) fn daylight() -> Result<White, LabError> {
    White::photographic_daylight().ok_or(LabError::NoDaylight)
}

/// Reads a folder of frames: a picture a name in its `truth.json`, which gives each frame's scene as `base`, its
/// `mired`, and the colour of a neutral surface in linear sRGB as `white`.
///
/// # Errors
/// [`LabError`] where a file is missing or cannot be read.
pub fn read(folder: &Path) -> Result<Vec<Example>, LabError> {
    let file = folder.join("truth.json");
    let text = std::fs::read_to_string(&file)
        .map_err(|source| LabError::Read { path: file.clone(), source })?;
    let truths: BTreeMap<String, Truth> =
        serde_json::from_str(&text).map_err(|source| LabError::Truth { path: file, source })?;
    let balance = daylight()?;
    truths
        .into_iter()
        .zip(0..)
        .map(|((name, truth), at)| {
            let mut rng = Rng::stream(77, at);
            let path = folder.join(name);
            let still = still::read(&path, &ReadOptions::default().for_frames())?;
            let [x, y, z] = srgb::TO_XYZ.apply(truth.white);
            let light = light_of(Xyz::new(x, y, z), ENCODING_D65.to_xyz(), balance)?;
            Ok(Example {
                path,
                scene: truth.base,
                mired: truth.mired,
                seen: [(light.mired() - balance.mired()).get(), (light.duv - balance.duv).get()],
                white: truth.white,
                evidence: Evidence::of(&still.frame),
                crops: std::array::from_fn(|_| Evidence::of(&crop(&still.frame, &mut rng))),
                classical: classical::whites(&still.frame),
            })
        })
        .collect()
}
