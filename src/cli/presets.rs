//! `mirecast presets`: the table, shown or written out to edit.

use std::io::Write;

use mirecast::balance::PresetTable;
use mirecast::report::{PresetRecord, plain_path};

use super::args::PresetsArguments;
use super::exit::{Outcome, RunError};
use super::output::write_presets;
use super::reading::table;
use super::write_file::{Kind, write_file};

pub(crate) fn run(arguments: &PresetsArguments) -> Result<Outcome, RunError> {
    if let Some(path) = &arguments.write {
        write_file(path, PresetTable::built_in_text().as_bytes(), Kind::Text, arguments.existing)?;
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
