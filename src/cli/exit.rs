//! How a run ends: what goes wrong in it, and its exit code.

use std::io;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use mirecast::balance::{AsShotError, GelError, PresetError};
use mirecast::in_system_words;
use mirecast::report::Tally;

use super::batch::Stopped;
use super::complaint::{whole, whole_path, whole_place};
use super::settings_files::SettingsError;
use super::source::SourceError;

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// Everything was read.
    AllRead,
    /// Something could not be read, or was refused.
    Incomplete,
    /// The arguments, a table that they name, or a settings file make no sense.
    WrongUsage,
}

impl Outcome {
    /// A card whose light is unknown was read: the user may well have asked for no more.
    pub(crate) fn of(tally: Tally) -> Self {
        if tally.refused == 0 && tally.failed == 0 { Self::AllRead } else { Self::Incomplete }
    }

    fn code(self) -> u8 {
        match self {
            Self::AllRead => 0,
            Self::Incomplete => 1,
            Self::WrongUsage => 2,
        }
    }
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        outcome.code().into()
    }
}

/// What ends a run early.
#[derive(Debug, thiserror::Error)]
pub(crate) enum RunError {
    #[error("{}", whole_place(&.0.to_string()))]
    Presets(#[from] PresetError),
    #[error("--shot-at: {0}")]
    ShotAt(#[from] AsShotError),
    #[error("{}", whole_place(&.0.to_string()))]
    Gels(#[from] GelError),
    #[error("{0}")]
    Settings(#[from] SettingsError),
    #[error("{0}")]
    Source(#[from] SourceError),
    #[error(
        "there is nothing to compare `{name}` with: name two set-ups or more, each a photo of a card, \
         a folder of such photos, or a light such as 5600K. A folder is one set-up",
        name = whole(.0)
    )]
    OneSetup(String),
    #[error(
        "--same-light compares cameras by their photos of a card; `{0}` is a light, not a photo"
    )]
    NotACamera(String),
    #[error("there is no command `{given}`; there are {known}")]
    NoSuchCommand { given: String, known: String },
    #[error("{path}: cannot read the list of photos: {why}", path = whole_path(.path), why = unread(.source))]
    List { path: PathBuf, source: io::Error },
    #[error("--reference: {path}: {problem}", path = whole_path(.path))]
    Reference { path: PathBuf, problem: String },
    #[error("the list names no photo; give one path a line")]
    NoPhotos,
    #[error(
        "no picture that is read in {0}; {formats} and raw files are read",
        formats = mirecast::still::FORMATS
    )]
    NoPictures(String),
    #[error(
        "no frame's record there; make records with mirecast frames --format json FOLDER > FILE"
    )]
    NoRecords,
    #[error(
        "{path} is a folder; groups reads records of its frames: make them with \
         mirecast frames --format json {path} > FILE, or let mirecast frames {path} do it all",
        path = whole_path(.0)
    )]
    FolderOfRecords(PathBuf),
    #[error("{path}: cannot read the records: {why}", path = whole_path(.path), why = unread(.source))]
    Records { path: PathBuf, source: io::Error },
    #[error(
        "{path}: there is such a file already; give another name, or \
         --force to write over it",
        path = whole_path(.0)
    )]
    Exists(PathBuf),
    #[error(
        "{path} is a file; name a folder to write into, there already or not",
        path = whole_path(.0)
    )]
    NotAFolder(PathBuf),
    #[error(
        "{path}: there is no folder `{folder}`; make it first, or name another place",
        path = whole_path(.path),
        folder = whole_path(.folder)
    )]
    NoFolder { path: PathBuf, folder: PathBuf },
    #[error("{path}: it is a folder; name a file in it", path = whole_path(.0))]
    IsAFolder(PathBuf),
    #[error(
        "{path}: the page is HTML: name it {html}{print}",
        path = whole_path(.path),
        html = whole_path(.html),
        print = if is_pdf(.path) { "; for a PDF, print the page from the browser" } else { "" }
    )]
    NotHtml { path: PathBuf, html: PathBuf },
    #[error("{path}: cannot be written: {why}", path = whole_path(.path), why = why_not(.source))]
    Write { path: PathBuf, source: io::Error },
    #[error("{path}: {why}, so it is not written over; give another name", path = whole_path(.path))]
    Kept { path: PathBuf, why: &'static str },
    #[error("{0}")]
    Stopped(#[from] Stopped),
    #[cfg(feature = "desk")]
    #[error("{0}")]
    Desk(#[from] crate::desk::DeskError),
    #[cfg(feature = "desk")]
    #[error("{0}")]
    Network(#[from] crate::desk::NetworkError),
    #[error("cannot write the results: {}", in_system_words(.0))]
    Output(#[from] io::Error),
}

impl RunError {
    /// What to say about it. Nothing where whoever read the results has seen enough of them.
    pub(crate) fn message(&self) -> Option<String> {
        match self {
            Self::Output(error) if error.kind() == io::ErrorKind::BrokenPipe => None,
            other => Some(other.to_string()),
        }
    }

    pub(crate) fn outcome(&self) -> Outcome {
        match self {
            Self::Presets(_)
            | Self::Gels(_)
            | Self::Settings(_)
            | Self::Source(_)
            | Self::ShotAt(_)
            | Self::OneSetup(_)
            | Self::NotACamera(_)
            | Self::NotAFolder(_)
            | Self::NotHtml { .. }
            | Self::NoPhotos
            | Self::NoSuchCommand { .. }
            | Self::NoPictures(_)
            | Self::FolderOfRecords(_)
            | Self::NoRecords => Outcome::WrongUsage,
            Self::Output(error) if error.kind() == io::ErrorKind::BrokenPipe => Outcome::AllRead,
            _ => Outcome::Incomplete,
        }
    }
}

fn is_pdf(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("pdf"))
}

/// Why a file cannot be read, without the system's numbers.
fn unread(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => {
            "there is no such file. Check the name and the folder".to_owned()
        }
        io::ErrorKind::PermissionDenied => "you may not read it".to_owned(),
        _ => in_system_words(error),
    }
}

/// Why a file cannot be written, and what to do. Not in the system's own words, which may name a
/// passing file that nobody asked for.
fn why_not(error: &io::Error) -> &'static str {
    use io::ErrorKind as Kind;
    match error.kind() {
        Kind::PermissionDenied | Kind::ReadOnlyFilesystem => {
            "you may not write there; name another place"
        }
        Kind::StorageFull | Kind::QuotaExceeded => {
            "the disk is full; make room, or name another place"
        }
        Kind::FileTooLarge => "it is larger than files may be there; name another place",
        Kind::InvalidFilename => "such a name is not allowed there; give another name",
        Kind::AlreadyExists | Kind::NotADirectory => {
            "a file has the name of its folder; name another place"
        }
        _ => "that place takes no new files; name another place",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_exit_code_says_whether_all_was_read() {
        let code = |read, residual_only, refused, failed| {
            Outcome::of(Tally { good: read, noted: 0, residual_only, refused, failed }).code()
        };
        assert_eq!(code(3, 0, 0, 0), 0);
        assert_eq!(code(1, 2, 0, 0), 0, "unknown light counts as read");
        assert_eq!(code(9, 0, 1, 0), 1);
        assert_eq!(code(9, 0, 0, 1), 1);
        assert_eq!(Outcome::WrongUsage.code(), 2);
    }

    #[test]
    fn a_closed_pipe_ends_quietly_and_a_full_disk_does_not() {
        let closed = RunError::Output(io::ErrorKind::BrokenPipe.into());
        assert_eq!((closed.message(), closed.outcome()), (None, Outcome::AllRead));
        let full = RunError::Output(io::ErrorKind::StorageFull.into());
        assert!(full.message().is_some_and(|message| message.contains("cannot write")));
        assert_eq!(full.outcome(), Outcome::Incomplete);
    }
}
