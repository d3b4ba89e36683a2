//! One set-up: photos of a card in one light, or a light that the user states.

use std::path::PathBuf;

use schemars::JsonSchema;
use serde::Serialize;

use super::pool::Measured;
use crate::balance::{White, appearance, looks_in_a_sentence};
use crate::card::{CardReading, LightReading, Status};

/// One set-up to compare.
#[derive(Debug, Clone, PartialEq)]
pub enum Setup {
    /// A light that the user states, taken as exact.
    Stated {
        /// Its name.
        name: String,
        /// The light.
        white: White,
    },
    /// Photos of a card, all in the one light of the set-up.
    Photographed {
        /// Its name.
        name: String,
        /// The photos; none where a folder held none.
        photos: Vec<SetupPhoto>,
    },
}

/// One photo of a set-up's card.
#[derive(Debug, Clone, PartialEq)]
pub struct SetupPhoto {
    /// The file.
    pub path: PathBuf,
    /// What the card says, or why there is no reading.
    pub reading: Result<CardReading, PhotoFailure>,
    /// The light as this camera takes it: read with [`ModelError::none`], so that its intervals
    /// leave out what sensor and lamp add. For comparing cameras.
    ///
    /// [`ModelError::none`]: crate::card::ModelError::none
    pub apparent: Option<LightReading>,
    /// Whether it is a raw file: these show the card as the sensor saw it, whatever the camera was
    /// set to.
    pub is_raw: bool,
}

/// Why a photo could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhotoFailure {
    /// Short and stable, for scripts.
    pub code: String,
    /// What is wrong and what to do about it.
    pub message: String,
}

/// Whether a set-up's light is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum SetupStatus {
    /// The user states it.
    Stated,
    /// From at least one photo.
    Read,
    /// Its cards are good, but their balance is unknown.
    ResidualOnly,
    /// Its cards cannot be balanced from.
    Refused,
    /// None of its files could be read.
    Failed,
}

/// One set-up in a comparison.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SetupRecord {
    /// Its name, different from all others.
    pub name: String,
    /// Whether its light is known.
    pub status: SetupStatus,
    /// The light; null unless `status` is `stated` or `read`. A stated light's intervals have no
    /// width.
    pub light: Option<LightReading>,
    /// How many photos the light is from; 0 for a stated light.
    pub photos: usize,
    /// How far these lie apart, the most orange from the bluest, in mired; null for fewer than two.
    pub spread_mired: Option<f64>,
    /// Its photos that do not count.
    pub left_out: Vec<LeftOut>,
}

/// A photo that does not count.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LeftOut {
    /// The file as given; what is not Unicode is replaced by U+FFFD.
    pub path: String,
    /// Why, short and stable: the code of the card's problem or of the error.
    pub code: String,
    /// Why, in a sentence.
    pub message: String,
    /// What to do about it, a sentence each.
    pub advice: Vec<String>,
}

impl Setup {
    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Self::Stated { name, .. } | Self::Photographed { name, .. } => name,
        }
    }

    /// Its photos; none of a stated light.
    #[must_use]
    pub fn photos(&self) -> &[SetupPhoto] {
        match self {
            Self::Stated { .. } => &[],
            Self::Photographed { photos, .. } => photos,
        }
    }

    pub(super) fn record(&self) -> SetupRecord {
        let name = self.name().to_owned();
        let photos = match self {
            Self::Stated { white, .. } => {
                let light = Some(exact(*white));
                let status = SetupStatus::Stated;
                let left_out = Vec::new();
                return SetupRecord {
                    name,
                    status,
                    light,
                    photos: 0,
                    spread_mired: None,
                    left_out,
                };
            }
            Self::Photographed { photos, .. } => photos,
        };
        let lights: Vec<LightReading> = photos.iter().filter_map(SetupPhoto::light).collect();
        let light = mean_light(&lights);
        let status = match light {
            Some(_) => SetupStatus::Read,
            None => photos
                .iter()
                .map(SetupPhoto::status)
                .min_by_key(|&status| rank(status))
                .unwrap_or(SetupStatus::Failed),
        };
        SetupRecord {
            name,
            status,
            light,
            photos: lights.len(),
            spread_mired: spread(&lights),
            left_out: photos.iter().filter_map(SetupPhoto::left_out).collect(),
        }
    }
}

/// The better a status, the lower.
fn rank(status: SetupStatus) -> u8 {
    match status {
        SetupStatus::Stated | SetupStatus::Read => 0,
        SetupStatus::ResidualOnly => 1,
        SetupStatus::Refused => 2,
        SetupStatus::Failed => 3,
    }
}

impl SetupPhoto {
    fn light(&self) -> Option<LightReading> {
        self.reading.as_ref().ok().and_then(|reading| reading.light)
    }

    pub(super) fn status(&self) -> SetupStatus {
        match self.reading.as_ref().map(|reading| reading.status) {
            Ok(Status::Read) => SetupStatus::Read,
            Ok(Status::ResidualOnly) => SetupStatus::ResidualOnly,
            Ok(Status::Refused) => SetupStatus::Refused,
            Err(_) => SetupStatus::Failed,
        }
    }

    /// Why it does not count, if it does not.
    #[must_use]
    pub fn left_out(&self) -> Option<LeftOut> {
        let path = self.path.to_string_lossy().into_owned();
        let (code, message, advice) = match &self.reading {
            Ok(reading) if reading.light.is_some() => return None,
            Ok(reading) => {
                let (code, message) = why(reading);
                // The first advice is on balancing from such a photo, not on its light.
                let others = usize::from(reading.status == Status::ResidualOnly);
                (code, message, reading.advice.iter().skip(others).cloned().collect())
            }
            Err(PhotoFailure { code, message }) => (code.clone(), message.clone(), Vec::new()),
        };
        Some(LeftOut { path, code, message, advice })
    }
}

/// What keeps a reading from having a light.
fn why(reading: &CardReading) -> (String, String) {
    // Problems that stop a reading come first, and the unknown balance is one of them.
    let unknown = |code: &str| matches!(code, "balance-unknown" | "auto-balance");
    let problems = &reading.card.problems;
    let problem = match reading.status {
        Status::ResidualOnly => problems.iter().find(|problem| unknown(&problem.code)),
        _ => problems.first(),
    };
    let (code, message) = match problem {
        Some(problem) => (problem.code.clone(), problem.message.clone()),
        None => ("not-read".to_owned(), "its light could not be read".to_owned()),
    };
    let residual = reading.residual.as_ref().filter(|_| reading.status == Status::ResidualOnly);
    match residual.and_then(|residual| residual.mired.zip(residual.duv)) {
        Some((mired, duv)) => {
            let look = match appearance(mired, duv).as_str() {
                "about right" => "about neutral".to_owned(),
                look => looks_in_a_sentence(look),
            };
            (code, format!("{message}; the card came out {look}"))
        }
        None => (code, message),
    }
}

/// A stated light as a reading of no uncertainty.
fn exact(white: White) -> LightReading {
    let (kelvin, mired, duv) = (white.cct.get(), white.mired().get(), white.duv.get());
    LightReading {
        cct_kelvin: kelvin,
        cct_interval_kelvin: [kelvin; 2],
        mired,
        mired_interval: [mired; 2],
        duv,
        duv_interval: [duv; 2],
    }
}

/// The one light that several readings are of.
pub(super) fn mean_light(lights: &[LightReading]) -> Option<LightReading> {
    let of = |quantity: fn(&LightReading) -> Measured| {
        Measured::mean_of_one_light(&lights.iter().map(quantity).collect::<Vec<_>>())
    };
    let (mired, duv) = (of(Measured::mired)?, of(Measured::duv)?);
    let [low, high] = mired.interval();
    Some(LightReading {
        cct_kelvin: 1e6 / mired.value,
        cct_interval_kelvin: [1e6 / high, 1e6 / low.max(f64::MIN_POSITIVE)],
        mired: mired.value,
        mired_interval: [low, high],
        duv: duv.value,
        duv_interval: duv.interval(),
    })
}

fn spread(lights: &[LightReading]) -> Option<f64> {
    let mired = || lights.iter().map(|light| light.mired);
    let (low, high) = (mired().reduce(f64::min)?, mired().reduce(f64::max)?);
    (lights.len() > 1).then_some(high - low)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::setups::examples::{light, photo};

    #[test]
    fn photos_of_one_setup_are_averaged_and_their_spread_is_shown() {
        let photos = vec![photo("a.jpg", 200.0), photo("b.jpg", 206.0)];
        let record = Setup::Photographed { name: "window".to_owned(), photos }.record();
        let read = record.light.unwrap();
        assert_eq!((record.status, record.photos), (SetupStatus::Read, 2));
        assert!(
            (read.mired - 203.0).abs() < 1e-9 && (read.cct_kelvin * read.mired - 1e6).abs() < 1e-3
        );
        assert_eq!(record.spread_mired, Some(6.0));
        let half = (light(203.0).mired_interval[1] - 203.0).abs();
        assert!(read.mired_interval[1] - read.mired > half, "the scatter is added: {read:?}");
    }

    #[test]
    fn a_refused_photo_is_named_and_left_out() {
        let mut dark = photo("dark.jpg", 900.0);
        if let Ok(reading) = &mut dark.reading {
            reading.status = Status::Refused;
            reading.light = None;
            reading.card.problems = vec![crate::card::ProblemRecord {
                code: "dark".to_owned(),
                message: "under-exposed".to_owned(),
                places: Vec::new(),
            }];
        }
        let missing = SetupPhoto {
            path: "gone.jpg".into(),
            reading: Err(PhotoFailure { code: "missing".to_owned(), message: "no".to_owned() }),
            apparent: None,
            is_raw: false,
        };
        let photos = vec![dark.clone(), missing.clone(), photo("good.jpg", 200.0)];
        let record = Setup::Photographed { name: "a".to_owned(), photos }.record();
        assert_eq!(
            (record.status, record.photos, record.spread_mired),
            (SetupStatus::Read, 1, None)
        );
        let codes: Vec<_> = record.left_out.iter().map(|out| out.code.as_str()).collect();
        assert_eq!(codes, ["dark", "missing"]);
        let none = |photos| Setup::Photographed { name: "a".to_owned(), photos }.record().status;
        assert_eq!(none(vec![missing.clone(), dark]), SetupStatus::Refused);
        assert_eq!(none(vec![missing]), SetupStatus::Failed);
        assert_eq!(none(Vec::new()), SetupStatus::Failed);
    }
}
