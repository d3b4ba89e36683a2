//! `mirecast presets`: the table, shown or written out to edit.

use std::io::Write;
use std::path::Path;

use mirecast::balance::{AsShot, PresetTable};
use mirecast::report::{PresetRecord, plain_path};
use tempfile::NamedTempFile;

use super::args::PresetsArguments;
use super::exit::{Outcome, RunError};
use super::output::write_presets;

pub(crate) fn run(arguments: &PresetsArguments) -> Result<Outcome, RunError> {
    if let Some(path) = &arguments.write {
        write_new(path, PresetTable::built_in_text())?;
        writeln!(
            std::io::stdout(),
            "Wrote {path}. Change its figures, then read photos with --presets {path}.",
            path = plain_path(path)
        )?;
        return Ok(Outcome::AllRead);
    }
    let table = table(arguments.presets.as_deref())?;
    let records: Vec<_> = table.presets().iter().map(PresetRecord::from).collect();
    write_presets(&records, arguments.format)?;
    Ok(Outcome::AllRead)
}

/// The table to go by, and the balance that the user states, if any.
pub(crate) fn balances(
    presets: Option<&Path>,
    shot_at: Option<&str>,
) -> Result<(PresetTable, Option<AsShot>), RunError> {
    let presets = table(presets)?;
    let shot_at = shot_at.map(|text| AsShot::stated(text, &presets)).transpose()?;
    Ok((presets, shot_at))
}

fn table(file: Option<&Path>) -> Result<PresetTable, RunError> {
    Ok(match file {
        Some(path) => PresetTable::from_file(path)?,
        None => PresetTable::built_in()?,
    })
}

/// Writes a file that must not exist yet: whole beside its place, then renamed, so that there is
/// never half of it.
fn write_new(path: &Path, text: &str) -> Result<(), RunError> {
    if path.symlink_metadata().is_ok() {
        return Err(RunError::Exists(path.to_path_buf()));
    }
    let cannot = |source| RunError::Write { path: path.to_path_buf(), source };
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    let mut file = NamedTempFile::new_in(folder.unwrap_or(Path::new("."))).map_err(cannot)?;
    file.write_all(text.as_bytes()).map_err(cannot)?;
    file.persist_noclobber(path).map_err(|error| match error.error.kind() {
        std::io::ErrorKind::AlreadyExists => RunError::Exists(path.to_path_buf()),
        _ => cannot(error.error),
    })?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_is_written_whole_and_never_over_another_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("mine.toml");
        write_new(&path, "first").unwrap();
        assert!(matches!(write_new(&path, "second"), Err(RunError::Exists(_))));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "first");
        let nowhere = folder.path().join("no/such/folder.toml");
        assert!(matches!(write_new(&nowhere, "x"), Err(RunError::Write { .. })));
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing is left behind");
    }
}
