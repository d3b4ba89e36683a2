//! One photo of a set-up or a bracket, read at its own balance.

use std::path::Path;

use mirecast::card::{CardOptions, LightReading, ModelError, read_card};
use mirecast::report::{ErrorRecord, plain_path};
use mirecast::setups::{PhotoFailure, SetupPhoto};
use mirecast::still::{self, ReadOptions};

use super::args::Format;
use super::complain;
use super::output::repeats_errors;
use super::patience::Lost;
use super::source::PhotoArgument;

/// Reads a photo; with `apparent`, also the light as the camera takes it.
pub(crate) fn read(
    photo: &PhotoArgument,
    options: &CardOptions,
    reading: &ReadOptions,
    apparent: bool,
) -> SetupPhoto {
    let still = match still::read(&photo.path, reading) {
        Ok(still) => still,
        Err(error) => return unread(&photo.path, error.code(), error.kind().to_string()),
    };
    let mut options = options.clone();
    if photo.shot_at.is_some() {
        options.shot_at.clone_from(&photo.shot_at);
    }
    let reading = read_card(&still, &options);
    let as_taken = || -> Option<LightReading> {
        let options = CardOptions { model_error: ModelError::none(), ..options };
        read_card(&still, &options).light
    };
    let apparent = if apparent { as_taken() } else { None };
    SetupPhoto { path: photo.path.clone(), reading: Ok(reading), apparent }
}

/// A photo that could not be read.
pub(crate) fn unread(path: &Path, code: &str, message: String) -> SetupPhoto {
    let failure = PhotoFailure { code: code.to_owned(), message };
    SetupPhoto { path: path.to_path_buf(), reading: Err(failure), apparent: None }
}

/// What came of a photo; a failure is said on standard error.
pub(crate) fn told(
    read: Result<SetupPhoto, Lost>,
    photo: &PhotoArgument,
    format: Format,
) -> SetupPhoto {
    let read = read.unwrap_or_else(|lost| {
        let ErrorRecord { code, message } = lost.into();
        unread(&photo.path, &code, message)
    });
    if let Some(failure) = read.reading.as_ref().err().filter(|_| repeats_errors(format)) {
        complain(&format!("{}: {}", plain_path(&read.path), failure.message));
    }
    read
}
