//! One photo of a set-up or a bracket, read at its own balance.

use std::path::Path;

use mirecast::card::{CardOptions, LightReading, ModelError, read_card};
use mirecast::report::ErrorRecord;
use mirecast::report::html::FramePicture;
use mirecast::setups::{PhotoFailure, SetupPhoto};
use mirecast::still::{self, ReadError, ReadOptions, Still};

use super::args::Format;
use super::complaint::{complain, whole_path};
use super::output::repeats_errors;
use super::patience::Lost;
use super::source::PhotoArgument;
use super::unreadable::in_words;

/// A photo that was read, and its picture where one is wanted.
pub(crate) type Taken = (SetupPhoto, Option<FramePicture>);

/// What is wanted of a photo beside its reading.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct PhotoExtras {
    /// The light as the camera takes it.
    pub(crate) apparent: bool,
    /// A small picture for a page.
    pub(crate) picture: bool,
}

/// Reads a photo.
pub(crate) fn read(
    photo: &PhotoArgument,
    options: &CardOptions,
    reading: &ReadOptions,
    wanted: PhotoExtras,
) -> Taken {
    let mut options = options.clone();
    if photo.shot_at.is_some() {
        options.shot_at.clone_from(&photo.shot_at);
    }
    match still::read(&photo.path, reading) {
        Err(error) => (unread(&photo.path, error.code(), in_words(error.kind())), None),
        still => of_still(&photo.path, still, options, wanted),
    }
}

/// The same of a photo whose file has been read, or could not be.
pub(crate) fn of_still(
    path: &Path,
    still: Result<Still, ReadError>,
    options: CardOptions,
    wanted: PhotoExtras,
) -> Taken {
    let still = match still {
        Ok(still) => still,
        Err(error) => return (unread(path, error.code(), error.kind().to_string()), None),
    };
    let reading = read_card(&still, &options);
    let stated = options.stated();
    let as_taken = || -> Option<LightReading> {
        let options = CardOptions { model_error: ModelError::none(), ..options };
        read_card(&still, &options).light
    };
    let apparent = if wanted.apparent { as_taken() } else { None };
    let picture = if wanted.picture { FramePicture::of(&still.frame_in(stated)) } else { None };
    let (path, is_raw) = (path.to_path_buf(), still.raw.is_some());
    (SetupPhoto { path, reading: Ok(reading), apparent, is_raw }, picture)
}

/// A photo that could not be read.
pub(crate) fn unread(path: &Path, code: &str, message: String) -> SetupPhoto {
    let failure = PhotoFailure { code: code.to_owned(), message };
    SetupPhoto { path: path.to_path_buf(), reading: Err(failure), apparent: None, is_raw: false }
}

/// What came of a photo; a failure is said on standard error.
pub(crate) fn told(read: Result<Taken, Lost>, photo: &PhotoArgument, format: Format) -> Taken {
    let (read, picture) = read.unwrap_or_else(|lost| {
        let ErrorRecord { code, message } = lost.into();
        (unread(&photo.path, &code, message), None)
    });
    if let Some(failure) = read.reading.as_ref().err().filter(|_| repeats_errors(format)) {
        complain(&format!("{}: {}", whole_path(&read.path), failure.message));
    }
    (read, picture)
}
