//! What a decoder library's error means.

use std::io::ErrorKind;

use image::ImageError;
use image::error::{LimitError, LimitErrorKind, UnsupportedErrorKind};

use super::ReadErrorKind;

/// What a decoder's error means; `complete` says whether the file is all there.
pub(super) fn sort(error: ImageError, complete: bool) -> ReadErrorKind {
    match error {
        ImageError::Limits(_) => ReadErrorKind::TooMuchMemory { source: Box::new(error) },
        ImageError::Unsupported(ref unsupported) => match unsupported.kind() {
            UnsupportedErrorKind::Color(_) => ReadErrorKind::UnsupportedColour {
                found: "a layout that cameras do not use".to_owned(),
            },
            _ => ReadErrorKind::UnsupportedFormat {
                found: "a rare variant of its format",
                advice: "Save it again as a plain JPEG, PNG or TIFF.",
            },
        },
        ImageError::IoError(ref io) if io.kind() == ErrorKind::UnexpectedEof => {
            ReadErrorKind::Truncated { source: Some(Box::new(error)) }
        }
        _ if !complete => ReadErrorKind::Truncated { source: Some(Box::new(error)) },
        _ => ReadErrorKind::Damaged { source: Some(Box::new(error)) },
    }
}

/// That more memory would be taken than may be.
pub(super) fn too_much_memory() -> ImageError {
    ImageError::Limits(LimitError::from_kind(LimitErrorKind::InsufficientMemory))
}
