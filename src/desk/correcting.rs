//! What was read → corrections to save, decided on as the commands do.

use std::path::PathBuf;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use mirecast::Told;
use mirecast::grade::{
    ColourSample, Footage, GradeOptions, Strength, correction_files, unique_names,
};
use mirecast::report::html::corrections_section;
use mirecast::report::{CorrectionsPage, GroupRecord};
use serde::{Deserialize, Serialize};

use super::bundle::zipped;
use super::refusal::Refusal;
use super::seal::{Seal, Sealed, With};
use super::work::{card_record, frame_record, line};
use crate::cli::deciding::{Deciding, Graded, lines, plans};

/// What is to be corrected, and how.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CorrectionsRequest {
    footage: String,
    strength: String,
    /// Cards that were read; none with frames.
    #[serde(default)]
    pub(crate) cards: Vec<Sealed>,
    /// Frames that were checked, with their colours.
    #[serde(default)]
    pub(crate) frames: Vec<Sealed>,
    /// Whether each frame is corrected by itself, not with its group.
    #[serde(default)]
    each_frame: bool,
}

/// What became of it.
#[derive(Debug, Serialize)]
pub(crate) struct Corrections {
    /// What is said of them, as a part of a page.
    section: String,
    /// The command's own lines of JSON, with what was decided.
    records: Vec<String>,
    /// How many files there are.
    files: usize,
    /// All of them as a ZIP archive in base64; null where there are none.
    zip: Option<String>,
}

impl CorrectionsRequest {
    /// Decides, and makes the files.
    pub(crate) fn corrections(&self, seal: &Seal) -> Result<Corrections, Refusal> {
        let footage: Footage =
            self.footage.parse().map_err(|error: mirecast::grade::FootageError| {
                Refusal::Unusable(error.told(Told::OnPage))
            })?;
        let strength: Strength =
            self.strength.parse().map_err(|error: mirecast::grade::StrengthError| {
                Refusal::Unusable(error.to_string())
            })?;
        let options = GradeOptions::new(footage, strength).told(Told::OnPage);
        let deciding = Deciding { options, with_files: true };
        let (graded, records) = match (self.cards.is_empty(), self.frames.is_empty()) {
            (false, true) => self.of_cards(deciding, seal)?,
            (true, false) => self.of_frames(deciding, seal)?,
            _ => return Err(Refusal::Malformed("neither cards nor frames alone".to_owned())),
        };
        let page = CorrectionsPage {
            folder: None,
            footage: footage.to_string(),
            strength,
            lines: lines(&graded),
            left_over: Vec::new(),
            proofs: None,
        };
        let files = correction_files(&plans(&graded)).map_err(|_| Refusal::Stumbled)?;
        Ok(Corrections {
            section: corrections_section(&page),
            records,
            files: files.len(),
            zip: zipped(&files)?.map(|bytes| STANDARD.encode(bytes)),
        })
    }

    fn of_cards(
        &self,
        deciding: Deciding,
        seal: &Seal,
    ) -> Result<(Vec<Graded>, Vec<String>), Refusal> {
        let cards =
            self.cards.iter().map(|card| card_record(seal.open(card, With::CardPictures)?.0));
        let mut records = cards.collect::<Result<Vec<_>, Refusal>>()?;
        let paths: Vec<_> = records.iter().map(|card| PathBuf::from(&card.path.path)).collect();
        let names = unique_names(&paths);
        let mut graded = Vec::new();
        for ((record, path), name) in records.iter_mut().zip(&paths).zip(&names) {
            graded.extend(deciding.card(path, name, record));
        }
        Ok((graded, records.iter().map(line).collect::<Result<_, _>>()?))
    }

    fn of_frames(
        &self,
        deciding: Deciding,
        seal: &Seal,
    ) -> Result<(Vec<Graded>, Vec<String>), Refusal> {
        let mut records = Vec::new();
        let mut pictures = Vec::new();
        for frame in &self.frames {
            let (record, sample) = seal.open(frame, With::ColourSample)?;
            let record = frame_record(record)?;
            let sample = sample.and_then(|bytes| ColourSample::from_bytes(&bytes));
            pictures.push((PathBuf::from(&record.path.path), sample));
            records.push(record);
        }
        let mut groups = GroupRecord::of_frames(&mut records);
        let (graded, _) = match self.each_frame {
            true => {
                let paths: Vec<_> = pictures.iter().map(|(path, _)| path.as_path()).collect();
                deciding.by_frame(&pictures, &unique_names(&paths), &mut records)
            }
            false => deciding.by_group(&pictures, &records, &mut groups),
        };
        let lines = records.iter().map(line).chain(groups.iter().map(line));
        Ok((graded, lines.collect::<Result<_, _>>()?))
    }
}
