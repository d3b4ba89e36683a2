//! A path → the bytes of a plain file of bounded size.

use std::fs::{self, File, FileType};
use std::io::{self, Read};
use std::path::Path;

use super::{ReadErrorKind, ReadOptions};

/// Reads the whole file; anything but a plain file is refused before it is opened, since opening a pipe
/// waits for a writer that may never come.
pub(super) fn load(path: &Path, options: &ReadOptions) -> Result<Vec<u8>, ReadErrorKind> {
    let before = fs::metadata(path).map_err(missing_or_io)?;
    check_kind(before.file_type())?;
    let file = File::open(path).map_err(missing_or_io)?;
    // Asked again of the open file: the path may have been exchanged in between.
    let metadata = file.metadata().map_err(ReadErrorKind::Io)?;
    check_kind(metadata.file_type())?;

    let limit = options.max_file_bytes;
    if metadata.len() > limit {
        return Err(ReadErrorKind::TooManyBytes { bytes: metadata.len(), limit });
    }
    let mut bytes = Vec::new();
    bytes
        .try_reserve_exact(usize::try_from(metadata.len()).unwrap_or(usize::MAX))
        .map_err(|error| ReadErrorKind::TooMuchMemory { source: Box::new(error) })?;
    // One byte past the limit, to notice a file that grows while it is read.
    file.take(limit.saturating_add(1)).read_to_end(&mut bytes).map_err(ReadErrorKind::Io)?;
    Ok(bytes)
}

fn missing_or_io(error: io::Error) -> ReadErrorKind {
    match error.kind() {
        io::ErrorKind::NotFound => ReadErrorKind::Missing,
        _ => ReadErrorKind::Io(error),
    }
}

fn check_kind(kind: FileType) -> Result<(), ReadErrorKind> {
    if kind.is_file() {
        return Ok(());
    }
    let what = if kind.is_dir() { "a folder" } else { special_file(kind) };
    Err(ReadErrorKind::NotAFile { what })
}

#[cfg(unix)]
fn special_file(kind: FileType) -> &'static str {
    use std::os::unix::fs::FileTypeExt;
    if kind.is_fifo() {
        "a pipe"
    } else if kind.is_socket() {
        "a socket"
    } else {
        "a device"
    }
}

#[cfg(not(unix))]
fn special_file(_kind: FileType) -> &'static str {
    "a special file"
}
