//! Photos → what the page shows of them, with the same readers and the same pages as the commands.

use std::path::PathBuf;

use mirecast::Told;
use mirecast::balance::{AsShot, GelTable, PresetTable};
use mirecast::card::CardOptions;
use mirecast::colour::TransferCurve;
use mirecast::frames::{FrameOptions, Tolerance};
use mirecast::report::html::{
    About, CardPictures, CardView, FramePicture, SetupPicture, card_page, frames_page, setups_page,
};
use mirecast::report::{
    FrameFilter, FrameOrder, FrameRecord, FramesPage, GroupRecord, PhotoRecord, rounded_comparison,
};
use mirecast::setups::{ComparisonOptions, Setup, compare};
use mirecast::still::{self, ReadError, ReadOptions, Still};
use serde::Serialize;

use super::parcel::Photo;
use super::refusal::Refusal;
use super::seal::{Seal, Sealed, With};
use crate::cli::photo::PhotoExtras;
use crate::cli::{card, frames, photo, report};

/// How photos are read.
#[derive(Debug)]
pub(crate) struct Reader {
    pub(crate) presets: PresetTable,
    /// The file that the table is from, where it is not the built-in one.
    pub(crate) presets_file: Option<PathBuf>,
    pub(crate) gels: GelTable,
    /// The file that it is from, where it is not the built-in one.
    pub(crate) gels_file: Option<PathBuf>,
    /// What still counts as neutral in frames.
    pub(crate) tolerance: Tolerance,
    /// What the numbers in photos of a card mean, where that is known.
    pub(crate) encoding: Option<TransferCurve>,
    /// L*a*b* of a card that is not neutral.
    pub(crate) card_lab: Option<[f64; 3]>,
    pub(crate) read: ReadOptions,
}

/// A report in three parts: put together it is the page that the command writes; the part in the
/// middle is what the desk shows.
#[derive(Debug, PartialEq, Eq, Serialize)]
pub(crate) struct Report {
    head: String,
    section: String,
    tail: String,
}

/// What came of a photo of a card.
#[derive(Debug, Serialize)]
pub(crate) struct CardAnswer {
    #[serde(flatten)]
    answer: Answer,
    /// The same once more, for what the page has made of it later.
    sealed: Sealed,
}

/// What came of a frame: its record, once with its picture and once with its colours.
#[derive(Debug, Serialize)]
pub(crate) struct FrameAnswer {
    shown: Sealed,
    sampled: Sealed,
}

/// What came of a photo of a card, or of set-ups.
#[derive(Debug, Serialize)]
pub(crate) struct Answer {
    /// The command's own line of JSON.
    record: String,
    #[serde(flatten)]
    report: Report,
}

/// What came of several, in one report.
#[derive(Debug, Serialize)]
pub(crate) struct Answers {
    /// The command's own lines of JSON: cards, or the frames and then the groups.
    records: Vec<String>,
    #[serde(flatten)]
    report: Report,
}

impl Reader {
    /// A photo of a card.
    pub(crate) fn card(&self, photo: Photo, seal: &Seal) -> Result<CardAnswer, Refusal> {
        let options = self.card_options(&photo)?;
        let about = self.about_card(photo.shot_at.as_deref());
        let path = PathBuf::from(photo.name.clone());
        let still = self.card_still(&photo);
        let (record, pictures) = card::of_still(&path, still, &options, true);
        let view = CardView { record: &record, pictures: pictures.as_ref() };
        let report = Report::of(card_page(&[view], None, &about))?;
        let with = pictures.as_ref().map(serde_json::to_vec).transpose();
        let with = with.map_err(|_| Refusal::Stumbled)?;
        let record = line(&record)?;
        let sealed = seal.close(&record, With::CardPictures, with.as_deref())?;
        Ok(CardAnswer { answer: Answer { record, report }, sealed })
    }

    /// Cards that have been read, in one report.
    pub(crate) fn cards(&self, cards: &[Sealed], seal: &Seal) -> Result<Answers, Refusal> {
        let opened = cards.iter().map(|card| card_of(card, seal));
        let opened = opened.collect::<Result<Vec<_>, _>>()?;
        let views = opened.iter().map(|(record, pictures)| {
            let pictures = pictures.as_ref();
            CardView { record, pictures }
        });
        let views: Vec<_> = views.collect();
        // Each card was read at a balance of its own, which its part of the page says.
        let report = Report::of(card_page(&views, None, &self.about_card(None)))?;
        let records = opened.iter().map(|(record, _)| line(record));
        Ok(Answers { records: records.collect::<Result<_, _>>()?, report })
    }

    /// Photos of a card in several lights.
    pub(crate) fn setups(&self, photos: Vec<Photo>) -> Result<Answer, Refusal> {
        if photos.len() < 2 {
            return Err(Refusal::Malformed("one set-up alone cannot be compared".to_owned()));
        }
        let about = self
            .about_card(None)
            .with("Gels", report::table(self.gels_file.as_deref()))
            .with("Set-ups are", "lights to be compared");
        let mut setups = Vec::new();
        let mut pictures = Vec::new();
        let mut names: Vec<String> = Vec::new();
        for photo in photos {
            let options = self.card_options(&photo)?;
            let path = PathBuf::from(photo.name.clone());
            let name = distinct(photo.called.as_ref().unwrap_or(&photo.name), &names);
            names.push(name.clone());
            let still = self.card_still(&photo);
            let wanted = PhotoExtras { picture: true, ..PhotoExtras::default() };
            let (read, picture) = photo::of_still(&path, still, options, wanted);
            let path = path.to_string_lossy().into_owned();
            let setup = name.clone();
            pictures.extend(picture.map(|picture| SetupPicture { setup, path, picture }));
            setups.push(Setup::Photographed { name, photos: vec![read] });
        }
        let (presets, gels) = (self.presets.clone(), self.gels.clone());
        let options = ComparisonOptions { presets, gels, same_light: false };
        let comparison = rounded_comparison(compare(&setups, &options));
        let page = setups_page(&comparison, &pictures, &about);
        Ok(Answer { record: line(&comparison)?, report: Report::of(page)? })
    }

    /// A frame without a card, to be grouped with others later.
    pub(crate) fn frame(&self, photo: Photo, seal: &Seal) -> Result<FrameAnswer, Refusal> {
        let mut options = FrameOptions::new(self.presets.clone());
        options.shot_at = self.stated(&photo)?;
        options.tolerance = self.tolerance;
        let path = PathBuf::from(photo.name.clone());
        let still = still::read_bytes(&photo.bytes, &self.read.clone().for_frames());
        let wanted = frames::FrameExtras { picture: true, sample: true };
        let frames::Checked { record, picture, sample, .. } =
            frames::of_still(&path, still, &options, wanted);
        let picture = picture.as_ref().map(FramePicture::jpeg);
        let sample = sample.map(|sample| sample.to_bytes());
        let record = line(&record)?;
        Ok(FrameAnswer {
            shown: seal.close(&record, With::FramePicture, picture)?,
            sampled: seal.close(&record, With::ColourSample, sample.as_deref())?,
        })
    }

    /// Frames that have been checked, in groups.
    pub(crate) fn frames(&self, frames: &[Sealed], seal: &Seal) -> Result<Answers, Refusal> {
        let opened = frames.iter().map(|frame| frame_of(frame, seal));
        let (mut records, pictures): (Vec<_>, Vec<_>) =
            opened.collect::<Result<Vec<_>, _>>()?.into_iter().unzip();
        let groups = GroupRecord::of_frames(&mut records);
        let (filter, order) = (FrameFilter::All, FrameOrder::Given);
        let page =
            FramesPage { frames: &records, groups: &groups, filter, order, told: Told::OnPage };
        let about = self
            .about(None)
            .with("Counts as neutral", report::neutral(self.tolerance))
            .with("Groups", "frames that share a light");
        let page = frames_page(&page, &pictures, None, &about);
        let lines = records.iter().map(line).chain(groups.iter().map(line));
        Ok(Answers { records: lines.collect::<Result<_, _>>()?, report: Report::of(page)? })
    }

    fn card_options(&self, photo: &Photo) -> Result<CardOptions, Refusal> {
        let mut options = CardOptions::new(self.presets.clone());
        options.shot_at = self.stated(photo)?;
        options.told = Told::OnPage;
        (options.encoding, options.card_lab) = (self.encoding, self.card_lab);
        Ok(options)
    }

    fn stated(&self, photo: &Photo) -> Result<Option<AsShot>, Refusal> {
        let stated = photo.shot_at.as_deref().map(|text| AsShot::stated(text, &self.presets));
        stated.transpose().map_err(|error| Refusal::Unusable(error.to_string()))
    }

    /// A photo of a card, every pixel of it.
    fn card_still(&self, photo: &Photo) -> Result<Still, ReadError> {
        still::read_bytes(&photo.bytes, &self.read)
    }

    fn about_card(&self, shot_at: Option<&str>) -> About {
        self.about(shot_at)
            .with("The card", report::card(self.card_lab))
            .with("Encoding", report::encoding(self.encoding))
    }

    fn about(&self, shot_at: Option<&str>) -> About {
        report::about("mirecast desk", shot_at, self.presets_file.as_deref())
    }
}

impl Report {
    /// Nothing before a page's main part can hold its tag: names in titles are escaped.
    fn of(page: String) -> Result<Self, Refusal> {
        const BEGIN: &str = "<main>\n";
        const END: &str = "\n</main>";
        let begin = page.find(BEGIN).map(|at| at + BEGIN.len());
        let (begin, end) = begin.zip(page.rfind(END)).ok_or(Refusal::Stumbled)?;
        let (head, rest) = page.split_at_checked(begin).ok_or(Refusal::Stumbled)?;
        let (section, tail) = end
            .checked_sub(begin)
            .and_then(|at| rest.split_at_checked(at))
            .ok_or(Refusal::Stumbled)?;
        Ok(Self { head: head.to_owned(), section: section.to_owned(), tail: tail.to_owned() })
    }
}

pub(super) fn line(record: &impl Serialize) -> Result<String, Refusal> {
    serde_json::to_string(record).map_err(|_| Refusal::Stumbled)
}

/// A card as it was read.
fn card_of(card: &Sealed, seal: &Seal) -> Result<(PhotoRecord, Option<CardPictures>), Refusal> {
    let (record, pictures) = seal.open(card, With::CardPictures)?;
    let record = card_record(record)?;
    let pictures = pictures.map(|bytes| serde_json::from_slice(&bytes)).transpose();
    Ok((record, pictures.map_err(|_| Refusal::Stumbled)?))
}

/// A frame as it was checked.
fn frame_of(frame: &Sealed, seal: &Seal) -> Result<(FrameRecord, Option<FramePicture>), Refusal> {
    let (record, picture) = seal.open(frame, With::FramePicture)?;
    Ok((frame_record(record)?, picture.and_then(FramePicture::from_jpeg)))
}

/// The record in a card's line.
pub(super) fn card_record(line: &str) -> Result<PhotoRecord, Refusal> {
    PhotoRecord::from_json(line.as_bytes()).map_err(|_| Refusal::Stumbled)
}

/// The record in a frame's line.
pub(super) fn frame_record(line: &str) -> Result<FrameRecord, Refusal> {
    FrameRecord::from_json(line.as_bytes()).ok().flatten().ok_or(Refusal::Stumbled)
}

/// A name unlike those before it.
fn distinct(name: &str, taken: &[String]) -> String {
    let free = |candidate: &String| !taken.contains(candidate);
    let numbered = (2..).map(|number| format!("{name} ({number})"));
    std::iter::once(name.to_owned()).chain(numbered).find(free).unwrap_or_default()
}

/// With the built-in tables.
#[cfg(test)]
pub(crate) fn built_in() -> Reader {
    Reader {
        presets: PresetTable::built_in().expect("is sound"),
        presets_file: None,
        gels: GelTable::built_in().expect("is sound"),
        gels_file: None,
        tolerance: Tolerance::default(),
        encoding: None,
        card_lab: None,
        read: ReadOptions::default(),
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use mirecast::report::html::card_section;

    #[test]
    fn a_report_in_parts_is_the_report() {
        let name = Path::new("</main>\n<main>\n.jpg");
        let failure =
            mirecast::report::PhotoRecord::failure(name, mirecast::report::ErrorRecord::stumbled());
        let view = CardView { record: &failure, pictures: None };
        let page = card_page(&[view], None, &About::default());
        let report = Report::of(page.clone()).unwrap();
        assert_eq!(report.head.clone() + &report.section + &report.tail, page);
        assert_eq!(report.section.trim_end(), card_section(&view, "photo-1").trim_end());
    }

    #[test]
    fn names_are_made_to_differ() {
        let taken = ["a".to_owned(), "a (2)".to_owned()];
        assert_eq!(distinct("b", &taken), "b");
        assert_eq!(distinct("a", &taken), "a (3)");
    }
}
