//! A card as the measure of frames: what is neutral in a picture shot as it was.

use std::path::{Path, PathBuf};

use super::{CastPoint, CastPosterior};
use crate::card::{BalanceRecord, CardReading, ShotRecord, Status};
use crate::colour::{Duv, MiredShift};

/// A card that frames shot with the same camera at the same balance are judged against.
#[derive(Debug, Clone, PartialEq)]
pub struct Reference {
    path: PathBuf,
    camera: Option<String>,
    balance: BalanceRecord,
    mired: MiredShift,
    duv: Duv,
    white_linear_srgb: [f64; 3],
}

/// Why a card cannot be the measure of frames.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ReferenceError {
    /// The card cannot be read.
    #[error("the card in it cannot be read: {problem}. {advice}")]
    Refused {
        /// What is wrong with it.
        problem: String,
        /// What to do about it.
        advice: String,
    },
    /// The card's colour is no light's.
    #[error(
        "the card's colour is so strong that no light explains it. Set the camera nearer to the \
         light and photograph the card again."
    )]
    NoLight,
}

impl Reference {
    /// The card in the photo at `path`, as it was read.
    ///
    /// # Errors
    /// [`ReferenceError`] where the card's colour is not known.
    pub fn of(path: &Path, reading: &CardReading) -> Result<Self, ReferenceError> {
        let residual = match (&reading.residual, reading.status) {
            (Some(residual), Status::Read | Status::ResidualOnly) => residual,
            _ => {
                let problem = reading.card.problems.first();
                return Err(ReferenceError::Refused {
                    problem: problem.map_or("no card found", |problem| &problem.message).to_owned(),
                    advice: reading.advice.join(" "),
                });
            }
        };
        let cast = residual.mired.zip(residual.duv);
        let (mired, duv) = cast.ok_or(ReferenceError::NoLight)?;
        Ok(Self {
            path: path.to_path_buf(),
            camera: reading.shot.camera.clone(),
            balance: reading.shot.balance.clone(),
            mired: MiredShift::new(mired),
            duv: Duv::new(duv),
            white_linear_srgb: residual.white_linear_srgb,
        })
    }

    /// The photo of the card.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The card's colour in the picture, in linear sRGB, largest channel 1.
    #[must_use]
    pub fn white_linear_srgb(&self) -> [f64; 3] {
        self.white_linear_srgb
    }

    /// Whether a frame was shot with the card's camera at the card's balance, as far as the two
    /// files say. A balance that the camera chose by itself is never the same twice.
    #[must_use]
    pub fn suits(&self, shot: &ShotRecord, automatic: bool) -> bool {
        let same_camera = match (&self.camera, &shot.camera) {
            (Some(card), Some(frame)) => card == frame,
            _ => true,
        };
        let balance = &shot.balance;
        same_camera
            && !automatic
            && balance.kelvin == self.balance.kelvin
            && balance.duv == self.balance.duv
    }

    /// A frame's cast relative to the card.
    #[must_use]
    pub fn relative(&self, posterior: &CastPosterior) -> CastPosterior {
        let points = posterior.points().iter().map(|point| CastPoint {
            mired: point.mired - self.mired,
            duv: point.duv - self.duv,
            ..*point
        });
        CastPosterior::new(points.collect()).unwrap_or_else(|| posterior.clone())
    }
}
