//! `mirecast gels`: the table, shown or written out to edit.

use mirecast::balance::GelTable;
use mirecast::report::{GelRecord, plain_path};

use super::args::GelsArguments;
use super::exit::{Outcome, RunError};
use super::output::write_gels;
use super::reading::gels;
use super::write_file::write_to_edit;

pub(crate) fn run(arguments: &GelsArguments) -> Result<Outcome, RunError> {
    if let Some(path) = &arguments.write {
        let next =
            format!("Change its figures, then compare set-ups with --gels {}.", plain_path(path));
        write_to_edit(path, GelTable::built_in_text(), &next, arguments.existing)?;
        return Ok(Outcome::AllRead);
    }
    let table = gels(arguments.gels.as_deref())?;
    let records: Vec<_> = table.gels().iter().map(GelRecord::from).collect();
    write_gels(&records, arguments.format)?;
    Ok(Outcome::AllRead)
}
