//! What a user may say about card photos.

use super::model_error::ModelError;
use crate::balance::{AsShot, PresetTable};
use crate::colour::{TransferCurve, Xy};
use crate::told::Told;

/// How card photos are read.
#[derive(Debug, Clone)]
pub struct CardOptions {
    /// The presets that are compared, and known by name.
    pub presets: PresetTable,
    /// The balance the photos were taken with, where the user says so; it comes before what the
    /// file records.
    pub shot_at: Option<AsShot>,
    /// Where the card is, instead of a search.
    pub area: Option<Area>,
    /// CIE L*a*b* (D50, 2°) of a card that is not neutral.
    pub card_lab: Option<[f64; 3]>,
    /// What the recorded numbers mean, where that is known; otherwise the file's encoding under
    /// a contrast curve that is not known.
    pub encoding: Option<TransferCurve>,
    /// What sensor and lamp add to the intervals: [`ModelError::of`] a lamp.
    pub model_error: ModelError,
    /// Where the advice is read.
    pub told: Told,
}

/// An upright rectangle in pixels of the upright picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Left edge.
    pub x: f64,
    /// Top edge.
    pub y: f64,
    /// Width, above 0.
    pub width: f64,
    /// Height, above 0.
    pub height: f64,
}

impl CardOptions {
    /// The white of the stated balance.
    #[must_use]
    pub fn stated(&self) -> Option<Xy> {
        self.shot_at.as_ref()?.xy()
    }

    /// The defaults with a preset table.
    #[must_use]
    pub fn new(presets: PresetTable) -> Self {
        Self {
            presets,
            shot_at: None,
            area: None,
            card_lab: None,
            encoding: None,
            model_error: ModelError::default(),
            told: Told::default(),
        }
    }
}
