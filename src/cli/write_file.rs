//! Files that the program writes: tables to edit, reports, corrections.

use std::io::{self, Write};
use std::path::Path;

use clap::Args;
use tempfile::NamedTempFile;

use super::exit::RunError;

/// What may happen to a file that is there already.
#[derive(Debug, Clone, Copy, Default, Args)]
pub(crate) struct Existing {
    /// Write over files that are there already
    #[arg(long)]
    pub(crate) force: bool,
}

/// Writes a file: whole beside its place, then renamed, so that there is never half of it. One
/// that is there already stays as it is unless `existing` says otherwise.
pub(crate) fn write_file(path: &Path, bytes: &[u8], existing: Existing) -> Result<(), RunError> {
    if !existing.force && path.symlink_metadata().is_ok() {
        return Err(RunError::Exists(path.to_path_buf()));
    }
    let cannot = |source| RunError::Write { path: path.to_path_buf(), source };
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut file = beside(folder.unwrap_or(Path::new("."))).map_err(cannot)?;
    file.write_all(bytes).map_err(cannot)?;
    let kept = if existing.force { file.persist(path) } else { file.persist_noclobber(path) };
    kept.map_err(|error| match error.error.kind() {
        io::ErrorKind::AlreadyExists => RunError::Exists(path.to_path_buf()),
        _ => cannot(error.error),
    })?;
    Ok(())
}

/// A new file that others may read as they may read any other: the pages are there to be shared.
fn beside(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // Less what the user's mask takes away.
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

#[cfg(test)]
mod tests {
    use super::*;

    const KEEP: Existing = Existing { force: false };

    #[test]
    fn a_file_is_written_whole_and_over_another_only_if_asked() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("mine.toml");
        write_file(&path, b"first", KEEP).unwrap();
        assert!(matches!(write_file(&path, b"second", KEEP), Err(RunError::Exists(_))));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "first");
        write_file(&path, b"third", Existing { force: true }).unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "third");
        let nowhere = folder.path().join("no/such/folder.toml");
        assert!(matches!(write_file(&nowhere, b"x", KEEP), Err(RunError::Write { .. })));
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
}
