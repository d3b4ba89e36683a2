//! What is said of a file that cannot be read to somebody who can type an option.

use std::path::Path;

use mirecast::balance::PresetTable;
use mirecast::report::ErrorRecord;
use mirecast::still::{ReadError, ReadErrorKind};

use super::source::balance_after_name;

/// Why a photo that a command was given cannot be read, and which option may help. `command` takes no balance
/// after a photo's name.
pub(crate) fn unreadable(
    command: &str,
    path: &Path,
    error: &ReadError,
    presets: &PresetTable,
) -> ErrorRecord {
    let balance = match error.kind() {
        ReadErrorKind::Missing => balance_after_name(command, path, presets),
        _ => None,
    };
    let message = balance.unwrap_or_else(|| in_words(error.kind()));
    ErrorRecord { message, ..error.into() }
}

/// Why a picture cannot be read; where a limit keeps it out, with the option that raises it.
pub(crate) fn in_words(kind: &ReadErrorKind) -> String {
    let option = match kind {
        ReadErrorKind::TooManyPixels { .. } => "--max-pixels",
        ReadErrorKind::TooManyBytes { .. } => "--max-file-size",
        ReadErrorKind::TooManyDirectories { .. } => "--max-directories",
        ReadErrorKind::TooMuchMemory { .. } => "--max-memory",
        _ => return kind.to_string(),
    };
    format!("{}, or allow more with {option}.", kind.to_string().trim_end_matches('.'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_names_the_option_that_raises_it_and_nothing_else_names_one() {
        let pixels = ReadErrorKind::TooManyPixels { width: 3, height: 2, limit: 5 };
        let said = in_words(&pixels);
        assert!(said.ends_with("Save a smaller copy, or allow more with --max-pixels."), "{said}");
        let bytes = in_words(&ReadErrorKind::TooManyBytes { bytes: 2, limit: 1 });
        assert!(bytes.ends_with(", or allow more with --max-file-size."), "{bytes}");
        let empty = ReadErrorKind::Empty;
        assert_eq!(in_words(&empty), empty.to_string());
        assert!(!pixels.to_string().contains("--"), "as a page says it");
    }
}
