//! `mirecast card`: photos of a card → records.

use std::path::{Path, PathBuf};

use mirecast::card::{CardOptions, read_card};
use mirecast::report::{PhotoRecord, Tally, plain_path};
use mirecast::still::{self, ReadOptions};

use super::args::CardArguments;
use super::complain;
use super::exit::{Outcome, RunError};
use super::interrupt;
use super::output::{CardOutput, repeats_errors};
use super::photos::photos;
use super::reading::options;

pub(crate) fn run(arguments: &CardArguments) -> Result<Outcome, RunError> {
    let mut options = options(&arguments.reading)?;
    options.area = arguments.area;
    let mut photos = photos(&arguments.photos, arguments.files_from.as_deref())?.peekable();
    if photos.peek().is_none() {
        return Err(RunError::NoPhotos);
    }
    let batch = arguments.limits.batch();
    let reading = arguments.limits.reading();
    let mut output = CardOutput::new(arguments.format)?;
    let mut tally = Tally::default();
    let repeats_errors = repeats_errors(arguments.format);
    let ended = batch.in_order(
        photos,
        move |path: &PathBuf| read(path, &options, &reading),
        |path, record| {
            let record = record.unwrap_or_else(|lost| PhotoRecord::failure(path, lost.into()));
            if let Some(error) = record.error().filter(|_| repeats_errors) {
                complain(&format!("{}: {}", plain_path(path), error.message));
            }
            tally.count(&record);
            interrupt::whole(|| output.write(&record)).map_err(RunError::from)
        },
    );
    match &ended {
        // Whoever read the results has gone; there is nothing to finish.
        Err(RunError::Output(_)) => {}
        _ => interrupt::whole(|| output.finish())?,
    }
    ended.map(|()| Outcome::of(tally))
}

fn read(path: &Path, options: &CardOptions, reading: &ReadOptions) -> PhotoRecord {
    match still::read(path, reading) {
        Ok(still) => PhotoRecord::read(path, read_card(&still, options)),
        Err(error) => PhotoRecord::failed(path, &error),
    }
}
