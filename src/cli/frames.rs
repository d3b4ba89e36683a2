//! `mirecast frames`: stills without a card → casts, verdicts and groups.

use std::path::{Path, PathBuf};

use mirecast::Told;
use mirecast::card::{CardOptions, read_card};
use mirecast::frames::{FrameOptions, Misfit, Reference, check_frame};
use mirecast::grade::ColourSample;
use mirecast::report::html::{About, FramePicture, frames_page};
use mirecast::report::{ErrorRecord, FrameRecord, FramesPage, GroupRecord, plain_path};
use mirecast::still::{self, ReadError, ReadOptions, Still};

use super::args::{FramesArguments, Limits, Only};
use super::audience::Audience;
use super::complaint::{complain, whole_path};
use super::exit::{Outcome, RunError};
use super::frames_grading::{FramesGraded, FramesGrading};
use super::frames_output::{FramesStream, outcome, write_frames};
use super::interrupt;
use super::misfits::Misfits;
use super::output::repeats_errors;
use super::passed_over::PassedOver;
use super::patience::Lost;
use super::photos::photos;
use super::progress::Progress;
use super::reading::balances;
use super::report::{about, neutral};
use super::unreadable::{in_words, unreadable};
use super::walk::{Found, Once, walk};

pub(crate) fn run(arguments: &FramesArguments) -> Result<Outcome, RunError> {
    let pictured = arguments.report.is_wanted();
    let options = options(arguments)?;
    let reading = arguments.limits.reading().for_frames();
    let paths = photos(&arguments.paths, arguments.files_from.as_deref())?;
    let passed = PassedOver::default();
    let counted = passed.clone();
    let walked = counted.clone();
    let found = paths.flat_map(move |path| match path {
        Ok(path) => {
            Box::new(walk(path, walked.clone()).map(Ok)) as Box<dyn Iterator<Item = _> + Send>
        }
        Err(error) => Box::new(std::iter::once(Err(error))),
    });
    let mut once = Once::default();
    let found = found.filter(move |found| {
        found.as_ref().map_or(true, |found: &Found| once.is_new(found.path(), &counted))
    });
    // What is made of the frames is named after them and unlike all others, so all must be known; and
    // where somebody looks on, how many they are.
    let is_counted = Progress::is_seen() && arguments.files_from.is_none();
    let grades = arguments.targets.are_wanted();
    let (found, total, known) = if grades || is_counted {
        let found: Vec<Result<Found, RunError>> = found.collect();
        let paths = found.iter().flatten().filter(|_| grades);
        let (total, known) =
            (found.len() as u64, paths.map(|found| found.path().clone()).collect());
        (Box::new(found.into_iter()) as Box<dyn Iterator<Item = _> + Send>, Some(total), known)
    } else {
        (Box::new(found) as _, None, Vec::new())
    };
    let mut found = found.peekable();
    if found.peek().is_none() {
        mention(&passed, true);
        return Err(match arguments.files_from {
            Some(_) => RunError::NoPhotos,
            None => RunError::NoPictures(named(&arguments.paths)),
        });
    }
    arguments.report.check(arguments.grade.existing)?;
    let grading = FramesGrading::begin(arguments, &options, &known)?;
    let batch = arguments.limits.batch();
    let progress = Progress::new(total);
    let listing = arguments.listing;
    let repeats_errors = repeats_errors(listing.format);
    let mut failed = 0;
    let mut is_begun = false;
    let mut records = Vec::new();
    let mut pictures = Vec::new();
    let mut samples = Vec::new();
    let mut misfits = Misfits::default();
    let mut overruled = 0;
    let wanted = FrameExtras { picture: pictured, sample: grading.is_some() };
    let mut audience = Audience::new(pictured || grading.is_some());
    let streamed = arguments.no_groups;
    let mut stream = None;
    if streamed {
        audience.show(|| {
            stream = Some(FramesStream::new(listing.format)?);
            Ok(())
        })?;
    }
    let ended = batch.in_order(
        found,
        move |found| check(found, &options, &reading, wanted),
        |found, checked| {
            is_begun = true;
            progress.step();
            let checked = checked.unwrap_or_else(|lost| {
                Checked::of(FrameRecord::failure(found.path(), lost.into()))
            });
            let Checked { record, picture, sample, misfit, is_overruled } = checked;
            overruled += usize::from(is_overruled);
            if wanted.sample {
                samples.push((found.path().clone(), sample));
            }
            if let Some(error) = record.error() {
                failed += 1;
                if repeats_errors {
                    let path = whole_path(found.path());
                    progress.aside(|| complain(&format!("{path}: {}", error.message)));
                }
            } else {
                misfits.count(misfit);
            }
            if let Some(stream) = &mut stream {
                let write = || interrupt::whole(|| stream.write(record.clone(), listing));
                progress.aside(|| audience.show(write))?;
            }
            if pictured || !streamed {
                records.push(record);
                pictures.push(picture);
            }
            Ok::<(), RunError>(())
        },
    );
    drop(progress);
    // As of a list that is none: there are no results.
    let ended = match ended {
        Err(error) if !is_begun => return Err(error),
        ended => ended,
    };
    mention(&passed, false);
    mention_overruled(overruled);
    if let Some(said) = arguments.reference.as_deref().and_then(|card| misfits.sentence(card)) {
        complain(&said);
    }
    // Whoever read the results has gone, and nothing else was asked for.
    if let Err(gone @ RunError::Output(_)) = ended {
        return Err(gone);
    }
    let mut groups = if streamed { Vec::new() } else { GroupRecord::of_frames(&mut records) };
    let grading = grading.filter(|_| ended.is_ok());
    let graded = grading.map(|g| g.finish(&batch, &samples, &mut records, &mut groups));
    audience.show(|| {
        interrupt::whole(|| match stream {
            Some(stream) => stream.finish(listing),
            None if streamed => Ok(()),
            None => write_frames(&records, &groups, listing),
        })
    })?;
    ended?;
    let (filter, order) = (listing.filter(), listing.order());
    let told = Told::AtTerminal;
    let page = FramesPage { frames: &records, groups: &groups, filter, order, told };
    let about = || about_frames(arguments, &misfits);
    let existing = arguments.grade.existing;
    let graded = graded.transpose();
    let made = graded.as_ref().ok().and_then(Option::as_ref).map(FramesGraded::page);
    let written =
        arguments.report.write(existing, || frames_page(&page, &pictures, made, &about()));
    if let Some(graded) = graded? {
        failed += graded.failed();
        audience.show(|| graded.tell(listing.format))?;
    }
    written?;
    audience.end()?;
    Ok(outcome(failed))
}

fn about_frames(arguments: &FramesArguments, misfits: &Misfits) -> About {
    let reference = arguments.reference.as_deref().map(|card| match misfits.are_all() {
        true => format!("{}, which no frame fits", plain_path(card)),
        false => plain_path(card),
    });
    let listed = match arguments.listing.only {
        None => "every frame",
        Some(Only::Casts) => "only frames with a cast",
        Some(Only::Undecided) => "only frames that do not tell",
    };
    let groups = if arguments.no_groups { "not asked for" } else { "frames that share a light" };
    about("mirecast frames", arguments.shot_at.as_deref(), arguments.presets.as_deref())
        .with("Counts as neutral", neutral(arguments.tolerance.unwrap_or_default()))
        .with("Judged against", reference.unwrap_or_else(|| "nothing".to_owned()))
        .with("Listed", listed)
        .with("Groups", groups)
}

/// The first of some paths; a line is not to be filled with them.
fn named(paths: &[PathBuf]) -> String {
    const MOST: usize = 3;
    let mut names: Vec<String> =
        paths.iter().take(MOST).map(|path| format!("`{}`", whole_path(path))).collect();
    if paths.len() > MOST {
        names.push(format!("and {} more", paths.len() - MOST));
    }
    names.join(", ")
}

fn mention(passed: &PassedOver, nothing_found: bool) {
    passed.lines(nothing_found).iter().for_each(|line| complain(line));
}

fn mention_overruled(files: usize) {
    if files > 0 {
        let record = if files == 1 { "1 file records" } else { &format!("{files} files record") };
        complain(&format!("{record} another balance than --shot-at says, which counts."));
    }
}

fn options(arguments: &FramesArguments) -> Result<FrameOptions, RunError> {
    let (presets, shot_at) = balances(arguments.presets.as_deref(), arguments.shot_at.as_deref())?;
    let mut options = FrameOptions::new(presets);
    options.shot_at = shot_at;
    options.tolerance = arguments.tolerance.unwrap_or_default();
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
        .map_err(|error| cannot(in_words(error.kind())))?;
    let mut options = CardOptions::new(frames.presets.clone());
    options.shot_at = frames.shot_at.clone();
    Reference::of(path, &read_card(&still, &options)).map_err(|error| cannot(error.to_string()))
}

/// What is kept of a frame besides its record.
#[derive(Debug, Clone, Copy)]
pub(crate) struct FrameExtras {
    /// A picture for a page.
    pub(crate) picture: bool,
    /// A sample of its colours, for what a correction does to them.
    pub(crate) sample: bool,
}

/// A frame that was checked.
pub(crate) struct Checked {
    pub(crate) record: FrameRecord,
    pub(crate) picture: Option<FramePicture>,
    pub(crate) sample: Option<ColourSample>,
    /// Why it was not judged against the card, where one was named.
    pub(crate) misfit: Option<Misfit>,
    /// Whether its file records another balance than the user states.
    pub(crate) is_overruled: bool,
}

impl Checked {
    /// With nothing besides.
    fn of(record: FrameRecord) -> Self {
        Self { record, picture: None, sample: None, misfit: None, is_overruled: false }
    }
}

fn check(
    found: &Found,
    options: &FrameOptions,
    reading: &ReadOptions,
    wanted: FrameExtras,
) -> Checked {
    match found {
        Found::Picture(path) => match still::read(path, reading) {
            Err(error) => {
                let error = unreadable("frames", path, &error, &options.presets);
                Checked::of(FrameRecord::failure(path, error))
            }
            still => of_still(path, still, options, wanted),
        },
        Found::Closed(path, error) => Checked::of(FrameRecord::closed_folder(path, error.clone())),
    }
}

/// The same of a frame whose file has been read, or could not be.
pub(crate) fn of_still(
    path: &Path,
    still: Result<Still, ReadError>,
    options: &FrameOptions,
    wanted: FrameExtras,
) -> Checked {
    match still {
        Ok(still) => {
            let is_wanted = wanted.picture || wanted.sample;
            let frame = is_wanted.then(|| still.frame_in(options.stated()));
            let frame = frame.as_deref();
            Checked {
                record: FrameRecord::read(path, check_frame(&still, options)),
                picture: frame.filter(|_| wanted.picture).and_then(FramePicture::of),
                sample: frame.filter(|_| wanted.sample).map(ColourSample::of),
                misfit: options.misfit(&still),
                is_overruled: options
                    .shot_at
                    .as_ref()
                    .is_some_and(|stated| stated.overrules(&still, &options.presets).is_some()),
            }
        }
        Err(error) => Checked::of(FrameRecord::failed(path, &error)),
    }
}
