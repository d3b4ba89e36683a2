//! Files that the program writes: tables to edit, reports, corrections.

use std::fs::{self, File};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

use mirecast::grade::is_proof;
use mirecast::report::plain_path;
use mirecast::still::looks_like_media;
use tempfile::{Builder, NamedTempFile};

use super::args::Existing;
use super::exit::RunError;
use super::inputs::is_read;
use super::interrupt;
use super::output::stdout;

/// What a file is, and so what it may be written over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A table, a page, a correction.
    Text,
    /// A corrected copy of a frame: it may take the place of another such copy.
    Proof,
}

impl Kind {
    /// Whether what begins with `head` is a picture or a film that must stay.
    fn spares(self, head: &[u8]) -> bool {
        looks_like_media(head) && !(self == Self::Proof && is_proof(head))
    }
}

/// Says before a long run what would stop a file from being written after it: one that is there
/// already, and that may not be written over.
pub(crate) fn may_be_written(path: &Path, kind: Kind, existing: Existing) -> Result<(), RunError> {
    if path.symlink_metadata().is_err() {
        return Ok(());
    }
    if path.is_dir() {
        return Err(RunError::IsAFolder(path.to_path_buf()));
    }
    if !existing.force {
        return Err(RunError::Exists(path.to_path_buf()));
    }
    may_be_replaced(path, kind)
}

/// Writes a file: whole beside its place, then renamed, so that there is never half of it. One
/// that is there already stays as it is unless `existing` says otherwise; what is read in this run,
/// pictures and films, and what is no plain file stay in any case.
pub(crate) fn write_file(
    path: &Path,
    bytes: &[u8],
    kind: Kind,
    existing: Existing,
) -> Result<(), RunError> {
    may_be_written(path, kind, existing)?;
    interrupt::whole(|| put(path, bytes, existing))
}

/// Writes a file for the user to edit, and says what comes `next`.
pub(crate) fn write_to_edit(
    path: &Path,
    text: &str,
    next: &str,
    existing: Existing,
) -> Result<(), RunError> {
    write_file(path, text.as_bytes(), Kind::Text, existing)?;
    Ok(writeln!(stdout(), "Wrote {}. {next}", plain_path(path))?)
}

/// Says where the folder that a file is to lie in is not there.
pub(crate) fn has_folder(path: &Path) -> Result<(), RunError> {
    let folder = folder_of(path);
    if folder.is_dir() {
        return Ok(());
    }
    Err(RunError::NoFolder { path: path.to_path_buf(), folder: folder.to_path_buf() })
}

fn folder_of(path: &Path) -> &Path {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    folder.unwrap_or(Path::new("."))
}

/// Writes several files into a folder, which is made for them, or none of them where one is in the way.
pub(crate) fn write_files(
    folder: &Path,
    files: &[(PathBuf, Vec<u8>)],
    kind: Kind,
    existing: Existing,
) -> Result<(), RunError> {
    if files.is_empty() {
        return Ok(());
    }
    make_folder(folder)?;
    files.iter().try_for_each(|(path, _)| may_be_written(path, kind, existing))?;
    files.iter().try_for_each(|(path, bytes)| write_file(path, bytes, kind, existing))
}

/// Makes a folder to write into, if it is not there.
pub(crate) fn make_folder(folder: &Path) -> Result<(), RunError> {
    if folder.exists() && !folder.is_dir() {
        return Err(RunError::NotAFolder(folder.to_path_buf()));
    }
    fs::create_dir_all(folder)
        .map_err(|source| RunError::Write { path: folder.to_path_buf(), source })
}

/// Says before a long run what would keep a folder from being made after it. Nothing is left of the trial: a
/// run may be stopped, or find that it has nothing to write there.
pub(crate) fn may_be_made(folder: &Path) -> Result<(), RunError> {
    let is_new = |folder: &&Path| !folder.as_os_str().is_empty() && !folder.exists();
    let new: Vec<&Path> = folder.ancestors().take_while(is_new).collect();
    interrupt::whole(|| {
        let made = make_folder(folder);
        // From the innermost; one in which somebody has put something meanwhile stays.
        for folder in new {
            let _ = fs::remove_dir(folder);
        }
        made
    })
}

fn put(path: &Path, bytes: &[u8], existing: Existing) -> Result<(), RunError> {
    let cannot = |source| RunError::Write { path: path.to_path_buf(), source };
    has_folder(path)?;
    let mut file = beside(folder_of(path)).map_err(cannot)?;
    interrupt::left_over(Some(file.path()));
    // To the disk itself: a full one must show now, not after the old file is gone.
    let written = file.write_all(bytes).and_then(|()| file.as_file().sync_all());
    let kept = written.map_err(cannot).and_then(|()| {
        let kept = if existing.force { file.persist(path) } else { file.persist_noclobber(path) };
        kept.map_err(|error| match error.error.kind() {
            std::io::ErrorKind::AlreadyExists => RunError::Exists(path.to_path_buf()),
            _ => cannot(error.error),
        })
    });
    interrupt::left_over(None);
    kept.map(drop)
}

/// A new file in the folder that others may read, as far as the user's own settings let them.
fn beside(folder: &Path) -> std::io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(".mirecast-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

/// Whether what is there may go, by what it is.
fn may_be_replaced(path: &Path, kind: Kind) -> Result<(), RunError> {
    let kept = |why| RunError::Kept { path: path.to_path_buf(), why };
    // A link that leads nowhere is only a name.
    let Ok(real) = path.canonicalize() else { return Ok(()) };
    if is_read(&real) {
        return Err(kept("it is read in this run"));
    }
    if !fs::metadata(&real).is_ok_and(|metadata| metadata.is_file()) {
        return Err(kept("it is not a plain file"));
    }
    let mut head = Vec::new();
    // What may not be read is not known to be no picture.
    File::open(&real)
        .and_then(|file| file.take(4096).read_to_end(&mut head))
        .map_err(|source| RunError::Write { path: path.to_path_buf(), source })?;
    if kind.spares(&head) { Err(kept("it is a picture or a film")) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::super::inputs::is_input;
    use super::*;

    const KEEP: Existing = Existing { force: false };
    const FORCE: Existing = Existing { force: true };

    #[test]
    fn a_file_is_written_whole_and_over_another_only_if_asked() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("mine.toml");
        let write_file =
            |path: &Path, bytes: &[u8], existing| write_file(path, bytes, Kind::Text, existing);
        write_file(&path, b"first", KEEP).unwrap();
        assert!(matches!(write_file(&path, b"second", KEEP), Err(RunError::Exists(_))));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "first");
        write_file(&path, b"third", FORCE).unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "third");
        let nowhere = folder.path().join("no/such/folder.toml");
        assert!(matches!(write_file(&nowhere, b"x", KEEP), Err(RunError::NoFolder { .. })));
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left behind");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let plain = folder.path().join("plain");
            std::fs::write(&plain, b"").unwrap();
            let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode();
            assert_eq!(mode(&path), mode(&plain), "as readable as any file");
        }
    }

    #[test]
    fn a_folder_is_tried_without_a_trace_and_made_for_what_is_written() {
        let folder = tempfile::tempdir().unwrap();
        let deep = folder.path().join("grade/day");
        may_be_made(&deep).unwrap();
        assert!(!folder.path().join("grade").exists());
        write_files(&deep, &[], Kind::Text, KEEP).unwrap();
        assert!(!folder.path().join("grade").exists(), "nothing to write, and no folder for it");
        write_files(&deep, &[(deep.join("a.cc"), b"x".to_vec())], Kind::Text, KEEP).unwrap();
        may_be_made(&deep).unwrap();
        assert!(deep.join("a.cc").exists());
        let taken = may_be_made(&deep.join("a.cc"));
        assert!(matches!(taken, Err(RunError::NotAFolder(_))), "{taken:?}");
    }

    #[test]
    fn pictures_inputs_and_special_files_are_never_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        for (name, content) in [
            ("a.html", b"\xFF\xD8\xFF\xE0 a picture under another name".as_slice()),
            ("b.toml", b"\0\0\0\x14ftypqt  \0\0\0\0qt  "),
            ("c.txt", b"a list of photos"),
        ] {
            fs::write(at(name), content).unwrap();
        }
        is_input(&at("c.txt"));
        fs::create_dir(at("folder")).unwrap();
        for kind in [Kind::Text, Kind::Proof] {
            let refused = write_file(&at("folder"), b"x", kind, FORCE);
            assert!(matches!(refused, Err(RunError::IsAFolder(_))), "{refused:?}");
            for name in ["a.html", "b.toml", "c.txt"] {
                let refused = write_file(&at(name), b"x", kind, FORCE);
                assert!(matches!(refused, Err(RunError::Kept { .. })), "{name}: {refused:?}");
            }
        }
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(at("a.html"), at("link.toml")).unwrap();
            let through = write_file(&at("link.toml"), b"x", Kind::Text, FORCE);
            assert!(matches!(through, Err(RunError::Kept { .. })), "{through:?}");
            let device = write_file(Path::new("/dev/null"), b"x", Kind::Text, FORCE);
            assert!(matches!(device, Err(RunError::Kept { .. })), "{device:?}");
        }
    }
}
