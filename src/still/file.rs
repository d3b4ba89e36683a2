//! A path → the bytes of a plain file of bounded size.

use std::cell::RefCell;
use std::fs::{self, File, FileType};
use std::io::{self, Read};
use std::path::Path;

use super::{ReadErrorKind, ReadOptions};

thread_local! {
    /// Where files are read into, one after the other: fresh memory of that size costs as much as reading it.
    static BUFFER: RefCell<Vec<u8>> = const { RefCell::new(Vec::new()) };
}

/// A larger buffer is not kept.
const MOST_KEPT: usize = 16 << 20;

/// Reads the whole file and hands its bytes to `make`.
pub(super) fn with_bytes<T>(
    path: &Path,
    options: &ReadOptions,
    make: impl FnOnce(&[u8]) -> Result<T, ReadErrorKind>,
) -> Result<T, ReadErrorKind> {
    let mut bytes = BUFFER.take();
    bytes.clear();
    let made = fill(&mut bytes, path, options).and_then(|()| make(&bytes));
    if bytes.capacity() <= MOST_KEPT {
        BUFFER.set(bytes);
    }
    made
}

/// Reads the whole file; anything but a plain file is refused before it is opened, since opening a pipe
/// waits for a writer that may never come.
pub(super) fn load(path: &Path, options: &ReadOptions) -> Result<Vec<u8>, ReadErrorKind> {
    let mut bytes = Vec::new();
    fill(&mut bytes, path, options)?;
    Ok(bytes)
}

fn fill(bytes: &mut Vec<u8>, path: &Path, options: &ReadOptions) -> Result<(), ReadErrorKind> {
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
    bytes
        .try_reserve_exact(usize::try_from(metadata.len()).unwrap_or(usize::MAX))
        .map_err(|error| ReadErrorKind::TooMuchMemory { source: Box::new(error) })?;
    // One byte past the limit, to notice a file that grows while it is read.
    file.take(limit.saturating_add(1)).read_to_end(bytes).map_err(ReadErrorKind::Io)?;
    Ok(())
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
