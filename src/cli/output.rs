//! Where results go, and in which format.

use std::io::{self, IsTerminal, StdoutLock, Write};

use anstream::{AutoStream, ColorChoice};
use mirecast::report::{
    CardSheet, CardTable, Emphasis, GelRecord, PhotoRecord, PresetRecord, PresetsTable,
    write_bracket_csv, write_bracket_text, write_comparison_csv, write_comparison_text,
    write_gels_csv, write_gels_text, write_json_line, write_presets_text,
};
use mirecast::setups::{BracketReading, Comparison};

use super::args::Format;

/// Photo records on their way out.
pub(crate) enum CardOutput {
    Text(CardSheet<AutoStream<StdoutLock<'static>>>),
    Json(StdoutLock<'static>),
    Csv(Box<CardTable<StdoutLock<'static>>>),
}

impl CardOutput {
    /// On standard output.
    pub(crate) fn new(format: Format) -> io::Result<Self> {
        Ok(match format {
            Format::Text => Self::Text(CardSheet::new(stdout(), emphasis())),
            Format::Json => Self::Json(io::stdout().lock()),
            Format::Csv => Self::Csv(Box::new(CardTable::new(io::stdout().lock())?)),
        })
    }

    pub(crate) fn write(&mut self, record: &PhotoRecord) -> io::Result<()> {
        match self {
            Self::Text(sheet) => sheet.write(record),
            Self::Json(out) => write_json_line(out, record),
            Self::Csv(table) => table.write(record),
        }
    }

    pub(crate) fn finish(self) -> io::Result<()> {
        match self {
            Self::Text(sheet) => sheet.finish().map(drop),
            Self::Json(mut out) => out.flush(),
            // Each row was flushed.
            Self::Csv(_) => Ok(()),
        }
    }
}

/// Whether errors must be said on standard error too: not where the reader of the text sees them
/// there anyway.
pub(crate) fn repeats_errors(format: Format) -> bool {
    repeats(format, io::stdout().is_terminal())
}

fn repeats(format: Format, to_terminal: bool) -> bool {
    !(format == Format::Text && to_terminal)
}

pub(crate) fn write_presets(presets: &[PresetRecord], format: Format) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match format {
        Format::Text => write_presets_text(&mut out, presets)?,
        Format::Json => {
            presets.iter().try_for_each(|preset| write_json_line(&mut out, preset))?;
        }
        Format::Csv => {
            let mut table = PresetsTable::new(&mut out)?;
            presets.iter().try_for_each(|preset| table.write(preset))?;
        }
    }
    out.flush()
}

pub(crate) fn write_gels(gels: &[GelRecord], format: Format) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match format {
        Format::Text => write_gels_text(&mut out, gels)?,
        Format::Json => gels.iter().try_for_each(|gel| write_json_line(&mut out, gel))?,
        Format::Csv => write_gels_csv(&mut out, gels)?,
    }
    out.flush()
}

pub(crate) fn write_comparison(comparison: &Comparison, format: Format) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match format {
        Format::Text => write_comparison_text(&mut out, comparison)?,
        Format::Json => write_json_line(&mut out, comparison)?,
        Format::Csv => write_comparison_csv(&mut out, comparison)?,
    }
    out.flush()
}

pub(crate) fn write_bracket(bracket: &BracketReading, format: Format) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match format {
        Format::Text => write_bracket_text(&mut out, bracket)?,
        Format::Json => write_json_line(&mut out, bracket)?,
        Format::Csv => write_bracket_csv(&mut out, bracket)?,
    }
    out.flush()
}

pub(crate) fn stdout() -> AutoStream<StdoutLock<'static>> {
    AutoStream::auto(io::stdout().lock())
}

/// As the terminal and the environment (NO_COLOR and its kin) want it.
pub(crate) fn emphasis() -> Emphasis {
    match AutoStream::choice(&io::stdout()) {
        ColorChoice::Never => Emphasis::None,
        _ => Emphasis::Colour,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_is_said_once_on_a_terminal_and_is_never_lost_in_a_pipe() {
        assert!(!repeats(Format::Text, true));
        assert!(repeats(Format::Text, false));
        assert!(repeats(Format::Json, true) && repeats(Format::Csv, false));
    }
}
