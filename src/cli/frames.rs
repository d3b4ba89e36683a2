//! `mirecast frames`: stills without a card → casts, verdicts and groups.

use std::path::{Path, PathBuf};

use mirecast::card::{CardOptions, read_card};
use mirecast::frames::{FrameOptions, Reference, check_frame};
use mirecast::report::{ErrorRecord, FrameRecord, GroupRecord, plain_path};
use mirecast::still::{self, ReadOptions};

use super::complain;
use super::exit::{Outcome, RunError};
use super::frame_args::FramesArguments;
use super::frames_output::{FramesStream, outcome, write_frames};
use super::interrupt;
use super::limits::Limits;
use super::output::repeats_errors;
use super::passed_over::PassedOver;
use super::patience::Lost;
use super::photos::photos;
use super::progress::Progress;
use super::reading::balances;
use super::walk::{Found, walk};

pub(crate) fn run(arguments: &FramesArguments) -> Result<Outcome, RunError> {
    let options = options(arguments)?;
    let mut reading = arguments.limits.reading();
    reading.stored_colours = false;
    let paths = photos(&arguments.paths, arguments.files_from.as_deref())?;
    let passed = PassedOver::default();
    let counted = passed.clone();
    let mut found = paths
        .flat_map(move |path| match path {
            Ok(path) => {
                Box::new(walk(path, counted.clone()).map(Ok)) as Box<dyn Iterator<Item = _> + Send>
            }
            Err(error) => Box::new(std::iter::once(Err(error))),
        })
        .peekable();
    if found.peek().is_none() {
        mention(&passed);
        return Err(match arguments.files_from {
            Some(_) => RunError::NoPhotos,
            None => RunError::NoPictures,
        });
    }
    let batch = arguments.limits.batch();
    let progress = progress(arguments);
    let listing = arguments.listing;
    let repeats_errors = repeats_errors(listing.format);
    let mut failed = 0;
    let mut records = Vec::new();
    let mut stream = arguments.no_groups.then(|| FramesStream::new(listing.format)).transpose()?;
    let ended = batch.in_order(
        found,
        move |found| check(found, &options, &reading),
        |found, record| {
            progress.step();
            let record =
                record.unwrap_or_else(|lost| FrameRecord::failure(found.path(), lost.into()));
            if let Some(error) = record.error() {
                failed += 1;
                if repeats_errors {
                    let path = plain_path(found.path());
                    progress.aside(|| complain(&format!("{path}: {}", error.message)));
                }
            }
            match &mut stream {
                Some(stream) => {
                    progress.aside(|| interrupt::whole(|| stream.write(record, listing)))?;
                }
                None => records.push(record),
            }
            Ok::<(), RunError>(())
        },
    );
    drop(progress);
    mention(&passed);
    match (&ended, stream) {
        // Whoever read the results has gone; there is nothing to finish.
        (Err(RunError::Output(_)), _) => {}
        (_, Some(stream)) => interrupt::whole(|| stream.finish(listing))?,
        (_, None) => {
            let groups = GroupRecord::of_frames(&mut records);
            interrupt::whole(|| write_frames(&records, &groups, listing))?;
        }
    }
    ended.map(|()| outcome(failed))
}

fn mention(passed: &PassedOver) {
    if let Some(line) = passed.line() {
        complain(&line);
    }
}

fn options(arguments: &FramesArguments) -> Result<FrameOptions, RunError> {
    let (presets, shot_at) = balances(arguments.presets.as_deref(), arguments.shot_at.as_deref())?;
    let mut options = FrameOptions::new(presets);
    options.shot_at = shot_at;
    options.tolerance = arguments.tolerance;
    options.reference = arguments
        .reference
        .as_deref()
        .map(|card| reference(card, &options, &arguments.limits))
        .transpose()?;
    Ok(options)
}

/// Reads the card that frames are to be judged against.
fn reference(path: &Path, frames: &FrameOptions, limits: &Limits) -> Result<Reference, RunError> {
    let cannot = |problem| RunError::Reference { path: path.to_path_buf(), problem };
    let (options, mut read) = (limits.reading(), Err(Lost::Panicked));
    limits.batch().in_order(
        std::iter::once(Ok(path.to_path_buf())),
        move |path| still::read(path, &options),
        |_, result| {
            read = result;
            Ok::<(), RunError>(())
        },
    )?;
    let still = read
        .map_err(|lost| cannot(ErrorRecord::from(lost).message))?
        .map_err(|error| cannot(error.kind().to_string()))?;
    let mut options = CardOptions::new(frames.presets.clone());
    options.shot_at = frames.shot_at.clone();
    Reference::of(path, &read_card(&still, &options)).map_err(|error| cannot(error.to_string()))
}

/// The total is counted beforehand where somebody watches and the paths are there to be counted.
fn progress(arguments: &FramesArguments) -> Progress {
    if !Progress::is_seen() {
        return Progress::hidden();
    }
    let total = arguments.files_from.is_none().then(|| {
        let folders = arguments.paths.iter().cloned();
        folders.map(|path| walk(path, PassedOver::default()).count() as u64).sum()
    });
    Progress::new(total)
}

fn check(found: &Found, options: &FrameOptions, reading: &ReadOptions) -> FrameRecord {
    match found {
        Found::Picture(path) => match still::read(path, reading) {
            Ok(still) => FrameRecord::read(path, check_frame(&still, options)),
            Err(error) => FrameRecord::failed(path, &error),
        },
        Found::Closed(path, error) => FrameRecord::failure(path, error.clone()),
    }
}

impl Found {
    fn path(&self) -> &PathBuf {
        match self {
            Self::Picture(path) | Self::Closed(path, _) => path,
        }
    }
}
