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

/// Why a frame is not judged against a card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Misfit {
    /// It was shot with another camera.
    Camera,
    /// The camera balanced it automatically, which is never the same twice.
    Automatic,
    /// The balance of the two is not known to be the same: one of the files does not say it.
    BalanceUnknown,
    /// It was shot at another balance.
    Balance,
}

impl Misfit {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Camera, Self::Automatic, Self::BalanceUnknown, Self::Balance];

    /// What is said of frames that it keeps from being judged.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Camera => "shot with another camera",
            Self::Automatic => "balanced automatically",
            Self::BalanceUnknown => "at a balance that only one of the two files says",
            Self::Balance => "shot at another balance",
        }
    }
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

    /// Why a frame cannot be judged against the card; `None` where it was shot with the card's camera
    /// at the card's balance, as far as the two files say.
    #[must_use]
    pub fn misfit(&self, shot: &ShotRecord, automatic: bool) -> Option<Misfit> {
        let other_camera =
            matches!((&self.camera, &shot.camera), (Some(card), Some(frame)) if card != frame);
        let [card, frame] = [&self.balance, &shot.balance].map(|of| (of.kelvin, of.duv));
        if other_camera {
            Some(Misfit::Camera)
        } else if automatic {
            Some(Misfit::Automatic)
        } else if card.0.is_some() != frame.0.is_some() {
            Some(Misfit::BalanceUnknown)
        } else {
            (card != frame).then_some(Misfit::Balance)
        }
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
