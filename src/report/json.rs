//! Records as JSON lines.

use std::io::{self, Write};

use serde::Serialize;

/// Writes a record as one JSON object on one line.
///
/// # Errors
/// What the writer says.
pub fn write_json_line(out: &mut impl Write, record: &impl Serialize) -> io::Result<()> {
    // Made whole before it is written: a reader must never see half a line.
    let mut line = serde_json::to_vec(record)?;
    line.push(b'\n');
    out.write_all(&line)
}
