//! The truth about the samples, as JSON.

use std::collections::BTreeMap;

use serde::Serialize;

use super::shot::{Kind, Shot};
use crate::error::LabError;

/// What light a sample was in, and what was to be expected of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Truth {
    /// What it is an example of.
    pub kind: Kind,
    /// Correlated colour temperature of the light on the middle of the card, or on the subject of a frame, in kelvin.
    pub cct: f64,
    /// The same in mired.
    pub mired: f64,
    /// Distance from the Planckian locus, + above it.
    pub duv: f64,
    /// The preset the camera was set to; `None` for automatic balance.
    pub preset: Option<&'static str>,
    /// Whether the file records it.
    pub preset_recorded: bool,
    /// What the kelvin dial was set to, for a bracket.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dial_kelvin: Option<f64>,
    /// What it would have to be set to for the card to be neutral on this camera, for a bracket.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub neutral_kelvin: Option<f64>,
    /// Whether the light can be read from the picture.
    pub usable: bool,
}

/// One object by file name, in order of name.
pub(super) fn json(album: &[(Shot, Truth)]) -> Result<String, LabError> {
    let round = |value: f64, places: i32| {
        let scale = 10_f64.powi(places);
        (value * scale).round() / scale
    };
    let by_name: BTreeMap<&str, Truth> = album
        .iter()
        .map(|(shot, truth)| {
            let truth = Truth {
                cct: round(truth.cct, 1),
                mired: round(truth.mired, 2),
                duv: round(truth.duv, 5),
                neutral_kelvin: truth.neutral_kelvin.map(|kelvin| round(kelvin, 1)),
                ..truth.clone()
            };
            (shot.file, truth)
        })
        .collect();
    Ok(serde_json::to_string_pretty(&by_name)? + "\n")
}
