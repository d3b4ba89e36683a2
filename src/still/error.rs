//! Why a picture could not be read.

use std::error::Error;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

use crate::system::in_system_words;

/// A picture that could not be read: which, and why.
///
/// Its text is one line of plain sentences: what is wrong, and what to do next.
#[derive(Debug)]
pub struct ReadError {
    path: Option<PathBuf>,
    kind: ReadErrorKind,
}

impl ReadError {
    pub(super) fn at(path: &Path, kind: ReadErrorKind) -> Self {
        Self { path: Some(path.to_owned()), kind }
    }

    pub(super) fn nowhere(kind: ReadErrorKind) -> Self {
        Self { path: None, kind }
    }

    /// The file, or `None` where the picture was given as bytes.
    #[must_use]
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// What went wrong.
    #[must_use]
    pub fn kind(&self) -> &ReadErrorKind {
        &self.kind
    }

    /// The stable short name of what went wrong: see [`ReadErrorKind::code`].
    #[must_use]
    pub fn code(&self) -> &'static str {
        self.kind.code()
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(path) = &self.path {
            // A file name may hold anything, line ends and terminal controls included.
            for character in path.to_string_lossy().chars() {
                if character.is_control() {
                    write!(f, "{}", character.escape_default())?;
                } else {
                    write!(f, "{character}")?;
                }
            }
            f.write_str(": ")?;
        }
        write!(f, "{}", self.kind)
    }
}

impl Error for ReadError {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        self.kind.source()
    }
}

/// The reasons a picture cannot be read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReadErrorKind {
    /// There is nothing at that path.
    #[error("there is no such file. Check the name and the folder.")]
    Missing,
    /// The path is a folder, a pipe, a device or a socket.
    #[error("this is {what}, not a file. Give the name of a photograph.")]
    NotAFile {
        /// What it is, with its article.
        what: &'static str,
    },
    /// The file holds no bytes.
    #[error("the file is empty. Copy it again from the camera's card.")]
    Empty,
    /// The content is not a picture of any kind that is recognised.
    #[error(
        "this is {found}, not a photograph. Give a {formats} or raw file.",
        formats = super::FORMATS
    )]
    NotAPicture {
        /// What the content looks like, with its article.
        found: &'static str,
    },
    /// The content is a picture, or a film, in a format that is not read.
    #[error("this is {found}, which is not read. {advice}")]
    UnsupportedFormat {
        /// What the file really is, with its article.
        found: &'static str,
        /// What to do instead.
        advice: &'static str,
    },
    /// The picture's colours are stored in a way that is not read, such as CMYK.
    #[error(
        "its colours are stored as {found}, which is not read. Save it as 8-bit or 16-bit RGB."
    )]
    UnsupportedColour {
        /// How the colours are stored.
        found: String,
    },
    /// A considerable part of the file is missing.
    #[error(
        "the file is cut short: part of the picture is missing. Copy it again from the camera's card."
    )]
    Truncated {
        /// What the decoder said, if it noticed.
        #[source]
        source: Option<Box<dyn Error + Send + Sync>>,
    },
    /// The file is all there, but its content cannot be decoded.
    #[error("the file is damaged and cannot be decoded. Copy it again from the camera's card.")]
    Damaged {
        /// What the decoder said, if anything.
        #[source]
        source: Option<Box<dyn Error + Send + Sync>>,
    },
    /// A raw file's description of itself does not add up.
    #[error("the raw file contradicts itself: {what}. Copy it again from the camera's card.")]
    DamagedRaw {
        /// What does not add up.
        what: &'static str,
    },
    /// A raw file stores its samples in a way that is not read.
    #[error(
        "the raw file holds {found}, which is not read. Develop it to JPEG or TIFF without changing \
         its white balance."
    )]
    UnsupportedRaw {
        /// What it holds.
        found: &'static str,
    },
    /// The picture has more pixels than [`ReadOptions::max_pixels`](super::ReadOptions::max_pixels).
    #[error(
        "the picture is {width} × {height} pixels, more than the {limit} pixels that are read. Save a \
         smaller copy."
    )]
    TooManyPixels {
        /// Width in pixels, as stored.
        width: u32,
        /// Height in pixels, as stored.
        height: u32,
        /// The limit, in pixels.
        limit: u64,
    },
    /// The file is larger than [`ReadOptions::max_file_bytes`](super::ReadOptions::max_file_bytes).
    #[error(
        "the file has {bytes} bytes, more than the {limit} that are read. Save a smaller copy."
    )]
    TooManyBytes {
        /// The file's size in bytes.
        bytes: u64,
        /// The limit, in bytes.
        limit: u64,
    },
    /// The file has more directories than [`ReadOptions::max_directories`](super::ReadOptions::max_directories).
    #[error(
        "the file has more than {limit} directories. Save it again as a plain JPEG, PNG or TIFF."
    )]
    TooManyDirectories {
        /// The limit.
        limit: usize,
    },
    /// Decoding would take more memory than the limits allow.
    #[error("decoding the picture would take too much memory. Save a smaller copy.")]
    TooMuchMemory {
        /// What the decoder said.
        #[source]
        source: Box<dyn Error + Send + Sync>,
    },
    /// The system could not read the file.
    #[error(
        "the file could not be read ({}). Check that it may be opened and that its drive is connected.",
        in_system_words(.0)
    )]
    Io(#[source] io::Error),
    /// A decoder failed in a way it should not.
    #[error(
        "the picture could not be decoded because of a fault in the decoder. Save it again in another format."
    )]
    Internal,
}

impl ReadErrorKind {
    /// A short name for scripts, which stays the same from one version to the next.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Self::Missing => "missing",
            Self::NotAFile { .. } => "not-a-file",
            Self::Empty => "empty",
            Self::NotAPicture { .. } => "not-a-picture",
            Self::UnsupportedFormat { .. } | Self::UnsupportedRaw { .. } => "unsupported-format",
            Self::UnsupportedColour { .. } => "unsupported-colour",
            Self::Truncated { .. } => "truncated",
            Self::Damaged { .. } | Self::DamagedRaw { .. } => "damaged",
            Self::TooManyDirectories { .. }
            | Self::TooManyPixels { .. }
            | Self::TooManyBytes { .. }
            | Self::TooMuchMemory { .. } => "too-large",
            Self::Io(_) => "io",
            Self::Internal => "internal",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_cross_threads() {
        fn check<T: Send + Sync + 'static>() {}
        check::<ReadError>();
        check::<ReadErrorKind>();
    }

    #[test]
    fn path_is_named_and_cannot_control_a_terminal() {
        let error = ReadError::at(Path::new("a\n\u{1b}[31m.jpg"), ReadErrorKind::Empty);
        let text = error.to_string();
        assert!(text.starts_with("a\\n\\u{1b}[31m.jpg: the file is empty."), "{text}");
        assert!(!text.chars().any(char::is_control));
    }

    #[test]
    fn source_is_kept() {
        let error = ReadError::nowhere(ReadErrorKind::Io(io::Error::other("no drive")));
        assert_eq!(error.source().map(ToString::to_string), Some("no drive".to_owned()));
        assert_eq!(error.code(), "io");
        assert_eq!(error.path(), None);
    }
}
