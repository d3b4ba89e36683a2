//! `mirecast presets`: the table, shown or written out to edit.

use mirecast::balance::PresetTable;
use mirecast::report::{PresetRecord, plain_path};

use super::args::PresetsArguments;
use super::exit::{Outcome, RunError};
use super::output::write_presets;
use super::reading::table;
use super::write_file::write_to_edit;

pub(crate) fn run(arguments: &PresetsArguments) -> Result<Outcome, RunError> {
    if let Some(path) = &arguments.write {
        let next =
            format!("Change its figures, then read photos with --presets {}.", plain_path(path));
        write_to_edit(path, PresetTable::built_in_text(), &next, arguments.existing)?;
        return Ok(Outcome::AllRead);
    }
    let table = table(arguments.presets.as_deref())?;
    let records: Vec<_> = table.presets().iter().map(PresetRecord::from).collect();
    write_presets(&records, arguments.format)?;
    Ok(Outcome::AllRead)
}
