//! Records as JSON lines.

use std::io::{self, Write};

use serde::Serialize;

use super::plain::steers;

/// Writes a record as one JSON object on one line.
///
/// # Errors
/// What the writer says.
pub fn write_json_line(out: &mut impl Write, record: &impl Serialize) -> io::Result<()> {
    // Made whole before it is written: a reader must never see half a line.
    let mut line = serde_json::to_string(record)?;
    if line.contains(steers) {
        line = escaped(&line);
    }
    line.push('\n');
    out.write_all(line.as_bytes())
}

/// JSON with what could steer a terminal written as `\uXXXX`, which means the same. Such characters
/// stand in strings only, and those that strings must not hold are escaped already.
fn escaped(json: &str) -> String {
    let mut safe = String::with_capacity(json.len() + 16);
    for character in json.chars() {
        if steers(character) {
            for unit in character.encode_utf16(&mut [0; 2]) {
                safe.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            safe.push(character);
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn json_loses_nothing_and_steers_no_terminal() {
        let text = "a\u{1b}[2J\u{9b}2J\u{202e}\u{7f}\u{2028}été.jpg";
        let mut line = Vec::new();
        write_json_line(&mut line, &text).unwrap();
        let line = String::from_utf8(line).unwrap();
        assert_eq!(line.trim_end().find(steers), None, "{line}");
        assert_eq!(serde_json::from_str::<String>(&line).unwrap(), text);
    }
}
