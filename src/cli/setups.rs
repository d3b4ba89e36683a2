//! `mirecast setups`: photos, folders and lights → a comparison.

use mirecast::Told;
use mirecast::card::CardOptions;
use mirecast::report::html::{About, SetupPicture, setups_page};
use mirecast::report::rounded_comparison;
use mirecast::setups::{Comparison, ComparisonOptions, Setup, SetupRecord, SetupStatus, compare};

use super::args::{Format, SetupsArguments};
use super::audience::give;
use super::complaint::{complain, whole_path};
use super::exit::{Outcome, RunError};
use super::output::write_comparison;
use super::passed_over::PassedOver;
use super::photo::{PhotoExtras, read, told, unread};
use super::reading::{gels, options};
use super::report::{about_reading, table};
use super::source::{PhotoArgument, Source, distinct, in_common, photos_in, setup};
use super::walk::closed;

pub(crate) fn run(arguments: &SetupsArguments) -> Result<Outcome, RunError> {
    let options = CardOptions { told: Told::AmongSetups, ..options(&arguments.together.reading)? };
    let gels = gels(arguments.gels.as_deref())?;
    arguments.together.report.check(arguments.together.existing)?;
    let named = arguments.setups.iter().map(|given| setup(given, &options.presets));
    let mut named: Vec<_> = named.collect::<Result<_, _>>()?;
    distinct(&mut named);
    if let [only] = &named[..] {
        return Err(RunError::OneSetup(only.name.clone()));
    }
    let stated = named.iter().find(|setup| matches!(setup.source, Source::Light(_)));
    if let Some(stated) = stated.filter(|_| arguments.same_light) {
        return Err(RunError::NotACamera(stated.name.clone()));
    }

    let mut setups = Vec::new();
    let mut to_read = Vec::new();
    let passed = PassedOver::default();
    for (index, setup) in named.into_iter().enumerate() {
        let name = setup.name;
        let mut photos = Vec::new();
        match setup.source {
            Source::Light(white) => {
                setups.push(Setup::Stated { name, white });
                continue;
            }
            Source::Photo(photo) => to_read.push((index, photo)),
            Source::Folder(folder) => {
                match photos_in(&folder.path, &passed) {
                    Ok(paths) => to_read.extend(paths.into_iter().map(|path| {
                        (index, PhotoArgument { path, shot_at: folder.shot_at.clone() })
                    })),
                    Err(error) => photos.push(unread(&folder.path, "unreadable", closed(&error))),
                }
            }
        }
        setups.push(Setup::Photographed { name, photos });
    }
    passed.lines(false).iter().for_each(|line| complain(line));
    let names: Vec<String> = setups.iter().map(|setup| setup.name().to_owned()).collect();
    in_common(&to_read, &names).iter().for_each(|line| complain(line));
    let balanced: Vec<bool> = to_read.iter().map(|(_, photo)| photo.shot_at.is_some()).collect();
    let pictures = read_all(to_read, &options, arguments, &mut setups)?;

    let presets = options.presets;
    let options = ComparisonOptions { presets, gels, same_light: arguments.same_light };
    let comparison = rounded_comparison(compare(&setups, &options));
    if arguments.together.format == Format::Csv {
        say_left_out(&setups);
    }
    let page = || setups_page(&comparison, &pictures, &about(arguments, &balanced));
    give(&arguments.together, |format| write_comparison(&comparison, format), page)?;
    Ok(outcome(&comparison))
}

/// A table has differences alone: why a photo has no part in them is said beside it. What could not be read
/// was said as it was found.
fn say_left_out(setups: &[Setup]) {
    for photo in setups.iter().flat_map(Setup::photos).filter(|photo| photo.reading.is_ok()) {
        if let Some(left_out) = photo.left_out() {
            complain(&format!("{}: {}", whole_path(&photo.path), left_out.message));
        }
    }
}

fn about(arguments: &SetupsArguments, balanced: &[bool]) -> About {
    let same = "cameras in one and the same light";
    about_reading("mirecast setups", &arguments.together.reading, balanced)
        .with("Gels", table(arguments.gels.as_deref()))
        .with("Set-ups are", if arguments.same_light { same } else { "lights to be compared" })
}

/// Reads the photos, several at a time, into the set-ups that they belong to; returns their
/// pictures where a page is wanted.
fn read_all(
    photos: Vec<(usize, PhotoArgument)>,
    options: &CardOptions,
    arguments: &SetupsArguments,
    setups: &mut [Setup],
) -> Result<Vec<SetupPicture>, RunError> {
    let wanted = PhotoExtras {
        apparent: arguments.same_light,
        picture: arguments.together.report.is_wanted(),
    };
    let mut pictures = Vec::new();
    let (options, reading) = (options.clone(), arguments.together.limits.reading());
    arguments.together.limits.batch().in_order(
        photos.into_iter().map(Ok),
        move |(_, photo)| read(photo, &options, &reading, wanted),
        |(index, photo), read| {
            let (read, picture) = told(read, photo, arguments.together.format);
            if let Some(Setup::Photographed { name, photos }) = setups.get_mut(*index) {
                pictures.extend(picture.map(|picture| SetupPicture {
                    setup: name.clone(),
                    path: read.path.to_string_lossy().into_owned(),
                    picture,
                }));
                photos.push(read);
            }
            Ok::<(), RunError>(())
        },
    )?;
    Ok(pictures)
}

/// All is well if every photo counted and every light is known.
fn outcome(comparison: &Comparison) -> Outcome {
    let known = |status| matches!(status, SetupStatus::Stated | SetupStatus::Read);
    let whole = |setup: &SetupRecord| known(setup.status) && setup.left_out.is_empty();
    if comparison.setups.iter().all(whole) { Outcome::AllRead } else { Outcome::Incomplete }
}
