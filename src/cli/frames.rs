//! `mirecast frames`: stills without a card → casts, verdicts and groups.

use std::path::{Path, PathBuf};

use mirecast::card::{CardOptions, read_card};
use mirecast::frames::{FrameOptions, Reference, check_frame};
use mirecast::report::html::{About, FramePicture, frames_page};
use mirecast::report::{ErrorRecord, FrameRecord, FramesPage, GroupRecord, plain_path};
use mirecast::still::{self, ReadError, ReadOptions, Still};

use super::batch::Batch;
use super::complain;
use super::exit::{Outcome, RunError};
use super::frame_args::{FramesArguments, Only};
use super::frames_output::{FramesStream, outcome, write_frames};
use super::output::repeats_errors;
use super::photos::photos;
use super::progress::Progress;
use super::reading::balances;
use super::report::about;
use super::walk::{Found, walk};

pub(crate) fn run(arguments: &FramesArguments) -> Result<Outcome, RunError> {
    arguments.report.check(arguments.existing)?;
    let pictured = arguments.report.is_wanted();
    let options = options(arguments)?;
    let paths = photos(&arguments.paths, arguments.files_from.as_deref())?;
    let mut found = paths
        .flat_map(|path| match path {
            Ok(path) => Box::new(walk(path).map(Ok)) as Box<dyn Iterator<Item = _> + Send>,
            Err(error) => Box::new(std::iter::once(Err(error))),
        })
        .peekable();
    if found.peek().is_none() {
        return Err(match arguments.files_from {
            Some(_) => RunError::NoPhotos,
            None => RunError::NoPictures,
        });
    }
    let batch = Batch::new().map_err(RunError::Start)?;
    let progress = progress(arguments);
    let listing = arguments.listing;
    let repeats_errors = repeats_errors(listing.format);
    let mut failed = 0;
    let mut records = Vec::new();
    let mut pictures = Vec::new();
    let mut stream = arguments.no_groups.then(|| FramesStream::new(listing.format)).transpose()?;
    let ended = batch.in_order(
        found,
        |found| check(found, &options, pictured),
        |found, checked| {
            progress.step();
            let (record, picture) = checked.unwrap_or_else(|| (stumbled(found), None));
            if let Some(error) = record.error() {
                failed += 1;
                if repeats_errors {
                    let path = plain_path(found.path());
                    progress.aside(|| complain(&format!("{path}: {}", error.message)));
                }
            }
            if let Some(stream) = &mut stream {
                progress.aside(|| stream.write(record.clone(), listing))?;
            }
            if pictured || stream.is_none() {
                records.push(record);
                pictures.push(picture);
            }
            Ok::<(), RunError>(())
        },
    );
    drop(progress);
    let groups = match stream {
        Some(_) => Vec::new(),
        None => GroupRecord::of_frames(&mut records),
    };
    match (&ended, stream) {
        // Whoever read the results has gone; there is nothing to finish.
        (Err(RunError::Output(_)), _) => {}
        (_, Some(stream)) => stream.finish(listing)?,
        (_, None) => write_frames(&records, &groups, listing)?,
    }
    ended?;
    let (filter, order) = (listing.filter(), listing.order());
    let page = FramesPage { frames: &records, groups: &groups, filter, order };
    let about = || about_frames(arguments);
    arguments.report.write(arguments.existing, || frames_page(&page, &pictures, &about()))?;
    Ok(outcome(failed))
}

fn about_frames(arguments: &FramesArguments) -> About {
    let tolerance = arguments.tolerance;
    let reference = arguments.reference.as_deref();
    let neutral = format!("within {} mired and Duv {}", tolerance.mired, tolerance.duv);
    let listed = match arguments.listing.only {
        None => "every frame",
        Some(Only::Casts) => "only frames with a cast",
        Some(Only::Undecided) => "only frames that do not tell",
    };
    let groups = if arguments.no_groups { "not asked for" } else { "frames that share a light" };
    about("mirecast frames", arguments.shot_at.as_deref(), arguments.presets.as_deref())
        .with("Counts as neutral", neutral)
        .with("Judged against", reference.map_or_else(|| "nothing".to_owned(), plain_path))
        .with("Listed", listed)
        .with("Groups", groups)
}

fn options(arguments: &FramesArguments) -> Result<FrameOptions, RunError> {
    let (presets, shot_at) = balances(arguments.presets.as_deref(), arguments.shot_at.as_deref())?;
    let mut options = FrameOptions::new(presets);
    options.shot_at = shot_at;
    options.tolerance = arguments.tolerance;
    options.reference =
        arguments.reference.as_deref().map(|card| reference(card, &options)).transpose()?;
    Ok(options)
}

/// Reads the card that frames are to be judged against.
fn reference(path: &Path, frames: &FrameOptions) -> Result<Reference, RunError> {
    let cannot = |problem| RunError::Reference { path: path.to_path_buf(), problem };
    let still = still::read(path, &ReadOptions::default())
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
        folders.map(|path| walk(path).count() as u64).sum()
    });
    Progress::new(total)
}

/// The record, and the picture for a page where one is wanted.
fn check(
    found: &Found,
    options: &FrameOptions,
    pictured: bool,
) -> (FrameRecord, Option<FramePicture>) {
    match found {
        Found::Picture(path) => {
            let mut reading = ReadOptions::default();
            reading.stored_colours = false;
            of_still(path, still::read(path, &reading), options, pictured)
        }
        Found::Closed(path, error) => (FrameRecord::failure(path, error.clone()), None),
    }
}

/// The same of a frame whose file has been read, or could not be.
pub(crate) fn of_still(
    path: &Path,
    still: Result<Still, ReadError>,
    options: &FrameOptions,
    pictured: bool,
) -> (FrameRecord, Option<FramePicture>) {
    match still {
        Ok(still) => {
            let picture = pictured.then(|| FramePicture::of(&still.frame)).flatten();
            (FrameRecord::read(path, check_frame(&still, options)), picture)
        }
        Err(error) => (FrameRecord::failed(path, &error), None),
    }
}

fn stumbled(found: &Found) -> FrameRecord {
    FrameRecord::failure(found.path(), ErrorRecord::stumbled())
}

impl Found {
    fn path(&self) -> &PathBuf {
        match self {
            Self::Picture(path) | Self::Closed(path, _) => path,
        }
    }
}
