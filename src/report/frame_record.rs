//! The record of one frame and of one group: what every format is made from.

use std::path::Path;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::rounded::{DUV, MIRED, round, round_shot};
use super::{ErrorRecord, PathRecord};
use crate::frames::{Cast, FrameReading, GroupReading, group_sourced};
use crate::grade::CorrectionRecord;
use crate::still::ReadError;

/// One frame: its path, and what it says or why it could not be read.
///
/// Figures are rounded as in a card's record; gains to 0.0001.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(title = "Frame record")]
pub struct FrameRecord {
    /// The frame.
    #[serde(flatten)]
    pub path: PathRecord,
    /// What came of it.
    #[serde(flatten)]
    pub outcome: FrameOutcome,
    /// The correction of this frame alone; only there where one was asked for a frame.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub correction: Option<CorrectionRecord>,
    /// Which of several inputs it was read from.
    #[serde(skip)]
    source: u32,
}

/// What came of one frame.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum FrameOutcome {
    /// It was checked.
    Reading(Box<FrameReading>),
    /// The file could not be read.
    Failed(FrameFailure),
}

/// Why a frame could not be checked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct FrameFailure {
    /// What went wrong.
    pub error: ErrorRecord,
    /// Whether it is a folder that cannot be looked into, and no frame; only there where it is.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub folder: bool,
}

/// One group of frames that share a cast, figures rounded as in a frame's record.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(title = "Group record")]
pub struct GroupRecord {
    /// What is said of the group.
    #[serde(flatten)]
    reading: GroupReading,
    /// Its correction; only there where corrections were asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub correction: Option<CorrectionRecord>,
}

/// Why a line is no record of a frame.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RecordError {
    /// Not JSON, or not an object.
    #[error("not a JSON record ({0})")]
    Json(serde_json::Error),
    /// An object of another kind.
    #[error("a JSON record, but not a frame's ({0})")]
    Kind(serde_json::Error),
    /// A record of `mirecast card`.
    #[error("a record of mirecast card, not a frame's")]
    OfCard,
    /// No record of a card.
    #[error("a JSON record, but not a card's ({0})")]
    NoCard(serde_json::Error),
}

impl FrameRecord {
    /// The record of a frame that was checked.
    #[must_use]
    pub fn read(path: &Path, mut reading: FrameReading) -> Self {
        round_cast(&mut reading.cast);
        round_shot(&mut reading.shot);
        reading.gains.iter_mut().for_each(|gain| round(gain, GAIN));
        if let Some(card) = &mut reading.reference {
            card.gains.iter_mut().for_each(|gain| round(gain, GAIN));
        }
        Self::of(PathRecord::from(path), FrameOutcome::Reading(Box::new(reading)))
    }

    /// The record of a file that could not be read.
    #[must_use]
    pub fn failed(path: &Path, error: &ReadError) -> Self {
        Self::failure(path, error.into())
    }

    /// The record of a file that could not be checked for another reason.
    #[must_use]
    pub fn failure(path: &Path, error: ErrorRecord) -> Self {
        let outcome = FrameOutcome::Failed(FrameFailure { error, folder: false });
        Self::of(PathRecord::from(path), outcome)
    }

    /// The record of a folder that cannot be looked into: how many frames are in it is not known.
    #[must_use]
    pub fn closed_folder(path: &Path, error: ErrorRecord) -> Self {
        let outcome = FrameOutcome::Failed(FrameFailure { error, folder: true });
        Self::of(PathRecord::from(path), outcome)
    }

    fn of(path: PathRecord, outcome: FrameOutcome) -> Self {
        Self { path, outcome, correction: None, source: 0 }
    }

    /// The record as read from one of several inputs, by its number. Frames of different inputs
    /// that name no camera are taken to be of different cameras.
    #[must_use]
    pub fn from_source(self, source: u32) -> Self {
        Self { source, ..self }
    }

    /// The record in a line of JSON; `None` for a line that holds a group, which follows from the
    /// frames.
    ///
    /// # Errors
    /// [`RecordError`] for anything else.
    pub fn from_json(line: &[u8]) -> Result<Option<Self>, RecordError> {
        use serde_json::{Map, Value};
        let fields: Map<String, Value> = serde_json::from_slice(line).map_err(RecordError::Json)?;
        if fields.contains_key("group") && fields.contains_key("frames") {
            return Ok(None);
        }
        if fields.contains_key("card") && fields.contains_key("residual") {
            return Err(RecordError::OfCard);
        }
        let is_failure = fields.contains_key("error");
        let value = Value::Object(fields);
        let path = PathRecord::deserialize(&value).map_err(RecordError::Kind)?;
        let outcome = if is_failure {
            FrameFailure::deserialize(value).map(FrameOutcome::Failed)
        } else {
            FrameReading::deserialize(value).map(|read| FrameOutcome::Reading(Box::new(read)))
        };
        Ok(Some(Self::of(path, outcome.map_err(RecordError::Kind)?)))
    }

    /// What the frame says, where it could be read.
    #[must_use]
    pub fn reading(&self) -> Option<&FrameReading> {
        match &self.outcome {
            FrameOutcome::Reading(reading) => Some(reading),
            FrameOutcome::Failed(_) => None,
        }
    }

    /// Why the frame could not be checked, if it could not.
    #[must_use]
    pub fn error(&self) -> Option<&ErrorRecord> {
        match &self.outcome {
            FrameOutcome::Reading(_) => None,
            FrameOutcome::Failed(failure) => Some(&failure.error),
        }
    }

    /// Whether it is of a folder that cannot be looked into.
    #[must_use]
    pub fn is_folder(&self) -> bool {
        matches!(&self.outcome, FrameOutcome::Failed(failure) if failure.folder)
    }
}

impl GroupRecord {
    /// What is said of the group.
    #[must_use]
    pub fn reading(&self) -> &GroupReading {
        &self.reading
    }

    /// Groups frames by what their records say, and writes into each record which group it is in.
    /// What is black and white says nothing of its light and is in none; nor is what holds nothing to judge by
    /// and does not say between which others it was taken.
    #[must_use]
    pub fn of_frames(records: &mut [FrameRecord]) -> Vec<Self> {
        let readings: Vec<_> = records
            .iter()
            .filter_map(|record| {
                Some((record.path.path.as_str(), record.reading()?, record.source))
            })
            .filter(|(_, reading, _)| is_grouped(reading))
            .collect();
        let found = group_sourced(&readings);
        let read = records.iter_mut().filter_map(|record| match &mut record.outcome {
            FrameOutcome::Reading(reading) if is_grouped(reading) => Some(reading),
            _ => None,
        });
        for (reading, group) in read.zip(found.group_of) {
            reading.group = Some(group);
        }
        found.groups.into_iter().map(Self::from).collect()
    }
}

/// Whether anything says which group a frame belongs to.
fn is_grouped(reading: &FrameReading) -> bool {
    let is_placed = reading.reason.is_none() || reading.shot.taken.is_some();
    is_placed && !reading.black_and_white
}

impl From<GroupReading> for GroupRecord {
    fn from(mut group: GroupReading) -> Self {
        round_cast(&mut group.cast);
        group.gains.iter_mut().flatten().for_each(|gain| round(gain, GAIN));
        if let Some(drift) = &mut group.drift {
            round(&mut drift.mired, MIRED);
            drift.mired_interval.iter_mut().for_each(|mired| round(mired, MIRED));
        }
        Self { reading: group, correction: None }
    }
}

const CHANNEL: f64 = 1e4;
const GAIN: f64 = 1e4;

fn round_cast(cast: &mut Cast) {
    round(&mut cast.mired, MIRED);
    cast.mired_interval.iter_mut().for_each(|mired| round(mired, MIRED));
    round(&mut cast.duv, DUV);
    cast.duv_interval.iter_mut().for_each(|duv| round(duv, DUV));
    cast.white_linear_srgb.iter_mut().for_each(|channel| round(channel, CHANNEL));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::frame_examples;

    fn lines(records: &[FrameRecord]) -> Vec<String> {
        records.iter().map(|record| serde_json::to_string(record).unwrap()).collect()
    }

    #[test]
    fn a_record_comes_back_from_its_line_as_it_was() {
        let (records, groups) = frame_examples::shoot();
        let error = ErrorRecord { code: "io".to_owned(), message: "closed".to_owned() };
        let closed = FrameRecord::closed_folder(Path::new("closed"), error);
        for record in records.iter().chain([&closed]) {
            let line = serde_json::to_vec(record).unwrap();
            assert_eq!(FrameRecord::from_json(&line).unwrap().as_ref(), Some(record));
        }
        let group = serde_json::to_vec(&groups[0]).unwrap();
        assert_eq!(FrameRecord::from_json(&group).unwrap(), None);
    }

    #[test]
    fn groups_follow_from_the_records_in_whatever_order_they_come() {
        let (records, groups) = frame_examples::shoot();
        let mut turned: Vec<_> = records.iter().rev().cloned().collect();
        assert_eq!(GroupRecord::of_frames(&mut turned), groups);
        turned.reverse();
        assert_eq!(lines(&turned), lines(&records));
    }

    #[test]
    fn what_is_no_record_says_what_is_wrong_with_it() {
        let said = |line: &str| FrameRecord::from_json(line.as_bytes()).unwrap_err().to_string();
        assert!(said("Dear diary").contains("not a JSON record"));
        assert!(said("[1, 2]").contains("not a JSON record"));
        assert!(said("{\"path\":\"a.jpg\"}").contains("missing field `verdict`"));
        let card = serde_json::to_string(&crate::report::examples::of_every_kind()[0]).unwrap();
        assert_eq!(said(&card), "a record of mirecast card, not a frame's");
        assert!(said("{\"verdict\":\"neutral\"}").contains("missing field `path`"));
        assert!(said("{\"path\":\"a\",\"verdict\":\"mauve\"}").contains("mauve"));
    }
}
