//! The record of one photo: what every format is made from.

use std::path::{Path, PathBuf};
use std::time::Duration;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::frame_record::RecordError;
use super::rounded::{DUV, KELVIN, MIRED, round, round_light, round_residual, round_shot};
use crate::card::{CardReading, Status};
use crate::grade::CorrectionRecord;
use crate::still::ReadError;

/// One photo of a card: its path, and the reading or why there is none.
///
/// Figures are rounded as they are meant to be read: kelvin to 0.1, mired to 0.01, Duv to
/// 0.000 01, parts of a whole to 0.001, pixels to 0.1.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(title = "Card record")]
pub struct PhotoRecord {
    /// The photo.
    #[serde(flatten)]
    pub path: PathRecord,
    /// What came of it.
    #[serde(flatten)]
    pub outcome: PhotoOutcome,
    /// The verdict in a word: `status`, with good cards told from those that have notes.
    pub verdict: CardVerdict,
    /// The correction of footage shot as the card was; only there where one was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub correction: Option<CorrectionRecord>,
}

/// A photo's path as it was given.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct PathRecord {
    /// The path as given. Where it is not Unicode, the parts that are not are replaced by U+FFFD
    /// and `path_bytes` holds the whole.
    pub path: String,
    /// The path's bytes in hexadecimal; only there where the path is not Unicode.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub path_bytes: Option<String>,
}

/// What came of one photo.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum PhotoOutcome {
    /// The photo was read; its `status` says how well.
    Reading(Box<CardReading>),
    /// The file could not be read as a photo.
    Failed(Failure),
}

/// Whether a card can be balanced from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum CardVerdict {
    /// Good to balance from.
    Good,
    /// It can be balanced from, and something about it is to be noted.
    SeeNotes,
    /// It can be balanced from, but its light is unknown.
    LightUnknown,
    /// It cannot be balanced from.
    Refused,
    /// The file could not be read.
    Failed,
}

impl CardVerdict {
    fn of(outcome: &PhotoOutcome) -> Self {
        match outcome {
            PhotoOutcome::Failed(_) => Self::Failed,
            PhotoOutcome::Reading(reading) => match reading.status {
                Status::Read if reading.card.problems.is_empty() => Self::Good,
                Status::Read => Self::SeeNotes,
                Status::ResidualOnly => Self::LightUnknown,
                Status::Refused => Self::Refused,
            },
        }
    }

    /// As a record has it.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::SeeNotes => "see-notes",
            Self::LightUnknown => "light-unknown",
            Self::Refused => "refused",
            Self::Failed => "failed",
        }
    }
}

/// Why there is no reading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Failure {
    /// Always `failed`.
    pub status: FailureStatus,
    /// What went wrong.
    pub error: ErrorRecord,
}

/// The one status of a photo that could not be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FailureStatus {
    /// The file could not be read as a photo.
    Failed,
}

/// An error in a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ErrorRecord {
    /// Short and stable, for scripts.
    pub code: String,
    /// What is wrong and what to do about it, in sentences for people.
    pub message: String,
}

impl PhotoRecord {
    fn of(path: PathRecord, outcome: PhotoOutcome) -> Self {
        Self { path, verdict: CardVerdict::of(&outcome), outcome, correction: None }
    }

    /// The record of a photo that was read.
    #[must_use]
    pub fn read(path: &Path, reading: CardReading) -> Self {
        let outcome = PhotoOutcome::Reading(Box::new(rounded(reading)));
        Self::of(PathRecord::from(path), outcome)
    }

    /// The record of a file that could not be read.
    #[must_use]
    pub fn failed(path: &Path, error: &ReadError) -> Self {
        Self::failure(path, ErrorRecord::from(error))
    }

    /// The record of a photo that could not be read for another reason.
    #[must_use]
    pub fn failure(path: &Path, error: ErrorRecord) -> Self {
        let outcome = PhotoOutcome::Failed(Failure { status: FailureStatus::Failed, error });
        Self::of(PathRecord::from(path), outcome)
    }

    /// The record in a line of JSON, without a correction.
    ///
    /// # Errors
    /// [`RecordError`] for anything else.
    pub fn from_json(line: &[u8]) -> Result<Self, RecordError> {
        let value: serde_json::Value = serde_json::from_slice(line).map_err(RecordError::Json)?;
        let path = PathRecord::deserialize(&value).map_err(RecordError::NoCard)?;
        let outcome = if value.get("error").is_some() {
            Failure::deserialize(value).map(PhotoOutcome::Failed)
        } else {
            CardReading::deserialize(value).map(|read| PhotoOutcome::Reading(Box::new(read)))
        };
        Ok(Self::of(path, outcome.map_err(RecordError::NoCard)?))
    }

    /// What the photo says, where it could be read.
    #[must_use]
    pub fn reading(&self) -> Option<&CardReading> {
        match &self.outcome {
            PhotoOutcome::Reading(reading) => Some(reading),
            PhotoOutcome::Failed(_) => None,
        }
    }

    /// Why the file could not be read, if it could not.
    #[must_use]
    pub fn error(&self) -> Option<&ErrorRecord> {
        match &self.outcome {
            PhotoOutcome::Failed(failure) => Some(&failure.error),
            PhotoOutcome::Reading(_) => None,
        }
    }
}

impl ErrorRecord {
    /// The program itself stumbled.
    #[must_use]
    pub fn stumbled() -> Self {
        let message = "a fault in this program stopped the reading. Save the photo again from \
                       another program and try that copy.";
        Self { code: "internal".to_owned(), message: message.to_owned() }
    }
}

impl ErrorRecord {
    /// Reading the file took longer than it may.
    #[must_use]
    pub fn too_slow(limit: Duration) -> Self {
        let message = format!(
            "it took longer than {} seconds to read and was given up. If it is a sound photograph, \
             allow more with --max-seconds.",
            limit.as_secs_f64()
        );
        Self { code: "too-slow".to_owned(), message }
    }
}

impl From<&ReadError> for ErrorRecord {
    fn from(error: &ReadError) -> Self {
        Self { code: error.code().to_owned(), message: error.kind().to_string() }
    }
}

impl From<&Path> for PathRecord {
    fn from(path: &Path) -> Self {
        let lossless = path.to_str().is_some();
        let hex = |bytes: &[u8]| bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        Self {
            path: path.to_string_lossy().into_owned(),
            path_bytes: (!lossless).then(|| hex(path.as_os_str().as_encoded_bytes())),
        }
    }
}

impl From<PathBuf> for PathRecord {
    fn from(path: PathBuf) -> Self {
        Self::from(path.as_path())
    }
}

/// Digits beyond what a reading can mean only make records long and comparisons fail.
fn rounded(mut reading: CardReading) -> CardReading {
    let card = &mut reading.card;
    round(&mut card.coverage, 1e3);
    card.area.iter_mut().flatten().for_each(|pixels| round(pixels, 10.0));
    card.level.iter_mut().for_each(|level| round(level, 1e3));
    let places = card.problems.iter_mut().flat_map(|problem| problem.places.iter_mut());
    places.flatten().for_each(|pixels| round(pixels, 10.0));

    round_shot(&mut reading.shot);
    if let Some(residual) = &mut reading.residual {
        round_residual(residual);
    }
    if let Some(light) = &mut reading.light {
        round_light(light);
    }
    for miss in &mut reading.presets {
        round(&mut miss.kelvin, KELVIN);
        round(&mut miss.duv, DUV);
        round(&mut miss.miss_mired, MIRED);
        round(&mut miss.miss_duv, DUV);
        round(&mut miss.delta_e_2000, 1e2);
    }
    reading
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::examples;

    #[test]
    fn figures_are_rounded_and_zero_has_no_sign() {
        let mut value = -0.000_001;
        round(&mut value, DUV);
        assert_eq!((value, value.is_sign_negative()), (0.0, false));
        let mut reading = examples::daylight();
        reading.presets[0].miss_mired = 1.23456;
        let PhotoOutcome::Reading(reading) = PhotoRecord::read(Path::new("a"), reading).outcome
        else {
            panic!("was read");
        };
        assert_eq!(reading.presets[0].miss_mired, 1.23);
    }

    #[test]
    fn a_record_comes_back_from_its_line_as_it_was() {
        let records = examples::of_every_kind();
        assert!(records.iter().any(|record| record.error().is_some()));
        for record in records {
            let line = serde_json::to_vec(&record).unwrap();
            assert_eq!(PhotoRecord::from_json(&line).unwrap(), record);
        }
        assert!(matches!(PhotoRecord::from_json(b"[1]"), Err(RecordError::NoCard(_))));
        assert!(matches!(PhotoRecord::from_json(b"Dear diary"), Err(RecordError::Json(_))));
    }

    #[cfg(unix)]
    #[test]
    fn a_path_that_is_not_unicode_loses_nothing() {
        use std::ffi::OsStr;
        use std::os::unix::ffi::OsStrExt;
        let path = PathRecord::from(Path::new(OsStr::from_bytes(b"a\xff.jpg")));
        assert_eq!(path.path, "a\u{fffd}.jpg");
        assert_eq!(path.path_bytes.as_deref(), Some("61ff2e6a7067"));
        assert_eq!(PathRecord::from(Path::new("a.jpg")).path_bytes, None);
    }
}
