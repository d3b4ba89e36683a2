//! `mirecast card`: photos of a card → records.

use std::path::{Path, PathBuf};

use mirecast::card::{CardOptions, read_card};
use mirecast::grade::unique_names;
use mirecast::report::html::{About, CardPictures, CardView, card_page};
use mirecast::report::{PhotoRecord, Tally};
use mirecast::still::{self, ReadError, ReadOptions, Still};

use super::args::CardArguments;
use super::audience::Audience;
use super::complaint::{complain, whole_path};
use super::exit::{Outcome, RunError};
use super::grading::{Grading, Named, tell};
use super::interrupt;
use super::output::{CardOutput, repeats_errors};
use super::photos::photos;
use super::reading::options;
use super::report::{about_reading, place};
use super::unreadable::unreadable;

pub(crate) fn run(arguments: &CardArguments) -> Result<Outcome, RunError> {
    let mut options = options(&arguments.reading)?;
    options.area = arguments.area;
    let pictured = arguments.report.is_wanted();
    let mut photos = photos(&arguments.photos, arguments.files_from.as_deref())?.peekable();
    if photos.peek().is_none() {
        return Err(RunError::NoPhotos);
    }
    arguments.report.check(arguments.grade.existing)?;
    let folder = arguments.targets.corrections.as_deref();
    let mut graded = Vec::new();
    // A correction is named after its photo and unlike all others, so all photos must be known.
    let (photos, names) = match folder {
        None => (Box::new(photos) as Box<dyn Iterator<Item = _> + Send>, Vec::new()),
        Some(_) => {
            let paths = photos.collect::<Result<Vec<PathBuf>, _>>()?;
            let names = unique_names(&paths);
            (Box::new(paths.into_iter().map(Ok)) as _, names)
        }
    };
    let grading = Grading::begin(folder, &arguments.grade, Named::Pictures(&names))?;
    let mut names = names.into_iter();
    let batch = arguments.limits.batch();
    let reading = arguments.limits.reading();
    let mut audience = Audience::new(pictured || grading.is_some());
    let mut output = None;
    audience.show(|| {
        output = Some(CardOutput::new(arguments.format)?);
        Ok(())
    })?;
    let mut tally = Tally::default();
    let mut shown = Vec::new();
    let repeats_errors = repeats_errors(arguments.format);
    let ended = batch.in_order(
        photos,
        move |path: &PathBuf| read(path, &options, &reading, pictured),
        |path, read| {
            let (mut record, pictures) =
                read.unwrap_or_else(|lost| (PhotoRecord::failure(path, lost.into()), None));
            let name = names.next();
            if let (Some(grading), Some(name)) = (&grading, name) {
                graded.extend(grading.deciding.card(path, &name, &mut record));
            }
            if let Some(error) = record.error().filter(|_| repeats_errors) {
                complain(&format!("{}: {}", whole_path(path), error.message));
            }
            tally.count(&record);
            if let Some(output) = &mut output {
                audience.show(|| interrupt::whole(|| output.write(&record)))?;
            }
            if pictured {
                shown.push((record, pictures));
            }
            Ok(())
        },
    );
    match (&ended, output) {
        // Whoever read the results has gone; there is nothing to finish.
        (Err(RunError::Output(_)), _) | (_, None) => {}
        (_, Some(output)) => audience.show(|| interrupt::whole(|| output.finish()))?,
    }
    ended?;
    let made = grading.map(|grading| grading.write(&graded).map(|()| grading.page(&graded)));
    let made = made.transpose();
    let page = arguments.report.write(arguments.grade.existing, || {
        let views =
            shown.iter().map(|(record, pictures)| CardView { record, pictures: pictures.as_ref() });
        let made = made.as_ref().ok().and_then(Option::as_ref);
        card_page(&views.collect::<Vec<_>>(), made, &about(arguments))
    });
    if let Some(made) = made? {
        audience.show(|| tell(&made, arguments.format))?;
    }
    page?;
    audience.end()?;
    Ok(Outcome::of(tally))
}

/// The record, and the pictures for a page where they are wanted.
fn read(
    path: &Path,
    options: &CardOptions,
    reading: &ReadOptions,
    pictured: bool,
) -> (PhotoRecord, Option<CardPictures>) {
    match still::read(path, reading) {
        Err(error) => {
            let error = unreadable("card", path, &error, &options.presets);
            (PhotoRecord::failure(path, error), None)
        }
        still => of_still(path, still, options, pictured),
    }
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
            let pictures = || CardPictures::of(&still.frame_in(options.stated()), &reading);
            let pictures = pictured.then(pictures).flatten();
            (PhotoRecord::read(path, reading), pictures)
        }
        Err(error) => (PhotoRecord::failed(path, &error), None),
    }
}

fn about(arguments: &CardArguments) -> About {
    about_reading("mirecast card", &arguments.reading, &[])
        .with("The card’s place", place(arguments.area))
}
