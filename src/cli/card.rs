//! `mirecast card`: photos of a card → records.

use std::path::{Path, PathBuf};

use mirecast::card::{CardOptions, read_card};
use mirecast::report::html::{About, CardPictures, CardView, card_page};
use mirecast::report::{PhotoRecord, Tally, plain_path};
use mirecast::still::{self, ReadError, ReadOptions, Still};

use super::args::CardArguments;
use super::batch::Batch;
use super::complain;
use super::exit::{Outcome, RunError};
use super::output::{CardOutput, repeats_errors};
use super::photos::photos;
use super::reading::options;
use super::report::{about_reading, place};

pub(crate) fn run(arguments: &CardArguments) -> Result<Outcome, RunError> {
    let mut options = options(&arguments.reading)?;
    options.area = arguments.area;
    arguments.report.check(arguments.existing)?;
    let pictured = arguments.report.is_wanted();
    let mut photos = photos(&arguments.photos, arguments.files_from.as_deref())?.peekable();
    if photos.peek().is_none() {
        return Err(RunError::NoPhotos);
    }
    let batch = Batch::new().map_err(RunError::Start)?;
    let mut output = CardOutput::new(arguments.format)?;
    let mut tally = Tally::default();
    let mut shown = Vec::new();
    let repeats_errors = repeats_errors(arguments.format);
    let ended = batch.in_order(
        photos,
        |path: &PathBuf| read(path, &options, pictured),
        |path, read| {
            let (record, pictures) = read.unwrap_or_else(|| (PhotoRecord::stumbled(path), None));
            if let Some(error) = record.error().filter(|_| repeats_errors) {
                complain(&format!("{}: {}", plain_path(path), error.message));
            }
            tally.count(&record);
            output.write(&record)?;
            if pictured {
                shown.push((record, pictures));
            }
            Ok(())
        },
    );
    match &ended {
        // Whoever read the results has gone; there is nothing to finish.
        Err(RunError::Output(_)) => {}
        _ => output.finish()?,
    }
    ended?;
    arguments.report.write(arguments.existing, || {
        let views =
            shown.iter().map(|(record, pictures)| CardView { record, pictures: pictures.as_ref() });
        card_page(&views.collect::<Vec<_>>(), &about(arguments))
    })?;
    Ok(Outcome::of(tally))
}

/// The record, and the pictures for a page where they are wanted.
fn read(path: &Path, options: &CardOptions, pictured: bool) -> (PhotoRecord, Option<CardPictures>) {
    of_still(path, still::read(path, &ReadOptions::default()), options, pictured)
}

/// The same of a photo whose file has been read, or could not be.
pub(crate) fn of_still(
    path: &Path,
    still: Result<Still, ReadError>,
    options: &CardOptions,
    pictured: bool,
) -> (PhotoRecord, Option<CardPictures>) {
    match still {
        Ok(still) => {
            let reading = read_card(&still, options);
            let pictures = pictured.then(|| CardPictures::of(&still.frame, &reading)).flatten();
            (PhotoRecord::read(path, reading), pictures)
        }
        Err(error) => (PhotoRecord::failed(path, &error), None),
    }
}

fn about(arguments: &CardArguments) -> About {
    about_reading("mirecast card", &arguments.reading)
        .with("The card’s place", place(arguments.area))
}
