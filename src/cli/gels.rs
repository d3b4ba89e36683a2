//! `mirecast gels`: the table, shown or written out to edit.

use std::io::Write;

use mirecast::balance::GelTable;
use mirecast::report::{GelRecord, plain_path};

use super::args::GelsArguments;
use super::exit::{Outcome, RunError};
use super::output::write_gels;
use super::reading::gels;
use super::write_file::{Kind, write_file};

pub(crate) fn run(arguments: &GelsArguments) -> Result<Outcome, RunError> {
    if let Some(path) = &arguments.write {
        write_file(path, GelTable::built_in_text().as_bytes(), Kind::Text, arguments.existing)?;
        writeln!(
            std::io::stdout(),
            "Wrote {path}. Change its figures, then compare set-ups with --gels {path}.",
            path = plain_path(path)
        )?;
        return Ok(Outcome::AllRead);
    }
    let table = gels(arguments.gels.as_deref())?;
    let records: Vec<_> = table.gels().iter().map(GelRecord::from).collect();
    write_gels(&records, arguments.format)?;
    Ok(Outcome::AllRead)
}
