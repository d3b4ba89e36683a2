//! `mirecast setups`: photos, folders and lights → a comparison.

use std::path::{Path, PathBuf};

use mirecast::balance::GelTable;
use mirecast::card::{CardOptions, LightReading, ModelError, read_card};
use mirecast::report::{plain_path, rounded_comparison};
use mirecast::setups::{
    Comparison, ComparisonOptions, PhotoFailure, Setup, SetupPhoto, SetupStatus, compare,
};
use mirecast::still::{self, ReadOptions};

use super::batch::Batch;
use super::complain;
use super::exit::{Outcome, RunError};
use super::output::{repeats_errors, write_comparison};
use super::reading::options;
use super::setup_args::SetupsArguments;
use super::source::{PhotoArgument, Source, distinct, photos_in, setup};

pub(crate) fn run(arguments: &SetupsArguments) -> Result<Outcome, RunError> {
    let options = options(&arguments.reading)?;
    let gels = match &arguments.gels {
        Some(path) => GelTable::from_file(path)?,
        None => GelTable::built_in()?,
    };
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
    for (index, setup) in named.into_iter().enumerate() {
        let name = setup.name;
        let mut photos = Vec::new();
        match setup.source {
            Source::Light(white) => {
                setups.push(Setup::Stated { name, white });
                continue;
            }
            Source::Photo(photo) => to_read.push((index, photo)),
            Source::Folder(folder) => match photos_in(&folder.path) {
                Ok(paths) => {
                    to_read.extend(paths.into_iter().map(|path| {
                        (index, PhotoArgument { path, shot_at: folder.shot_at.clone() })
                    }))
                }
                Err(error) => photos.push(unread(&folder.path, "unreadable", error.to_string())),
            },
        }
        setups.push(Setup::Photographed { name, photos });
    }
    read_all(to_read, &options, arguments, &mut setups)?;

    let presets = options.presets;
    let options = ComparisonOptions { presets, gels, same_light: arguments.same_light };
    let comparison = rounded_comparison(compare(&setups, &options));
    write_comparison(&comparison, arguments.format)?;
    Ok(outcome(&comparison))
}

/// Reads the photos, several at a time, into the set-ups that they belong to.
fn read_all(
    photos: Vec<(usize, PhotoArgument)>,
    options: &CardOptions,
    arguments: &SetupsArguments,
    setups: &mut [Setup],
) -> Result<(), RunError> {
    let repeats_errors = repeats_errors(arguments.format);
    Batch::new().map_err(RunError::Start)?.in_order(
        photos.into_iter().map(Ok),
        |(_, photo)| read(photo, options, arguments.same_light),
        |(index, photo), read| {
            let fault = || "a fault in this program stopped the reading".to_owned();
            let read = read.unwrap_or_else(|| unread(&photo.path, "internal", fault()));
            if let Some(failure) = read.reading.as_ref().err().filter(|_| repeats_errors) {
                complain(&format!("{}: {}", plain_path(&read.path), failure.message));
            }
            if let Some(Setup::Photographed { photos, .. }) = setups.get_mut(*index) {
                photos.push(read);
            }
            Ok(())
        },
    )
}

fn read(photo: &PhotoArgument, options: &CardOptions, same_light: bool) -> SetupPhoto {
    let still = match still::read(&photo.path, &ReadOptions::default()) {
        Ok(still) => still,
        Err(error) => return unread(&photo.path, error.code(), error.kind().to_string()),
    };
    let mut options = options.clone();
    if photo.shot_at.is_some() {
        options.shot_at.clone_from(&photo.shot_at);
    }
    let reading = read_card(&still, &options);
    let apparent = || -> Option<LightReading> {
        let options = CardOptions { model_error: ModelError::none(), ..options };
        read_card(&still, &options).light
    };
    let apparent = if same_light { apparent() } else { None };
    SetupPhoto { path: photo.path.clone(), reading: Ok(reading), apparent }
}

fn unread(path: &Path, code: &str, message: String) -> SetupPhoto {
    let failure = PhotoFailure { code: code.to_owned(), message };
    SetupPhoto { path: PathBuf::from(path), reading: Err(failure), apparent: None }
}

/// All is well if every photo counted and every light is known.
fn outcome(comparison: &Comparison) -> Outcome {
    let known = |status| matches!(status, SetupStatus::Stated | SetupStatus::Read);
    let whole =
        |setup: &mirecast::setups::SetupRecord| known(setup.status) && setup.left_out.is_empty();
    if comparison.setups.iter().all(whole) { Outcome::AllRead } else { Outcome::Incomplete }
}
