//! What is said on standard error: in lines as wide as all other text, with paths in one piece.

use std::io::Write;
use std::path::Path;

use mirecast::report::{plain_path, write_wrapped};

/// Stands for a space at which no line is broken. Unicode leaves it to programs for such uses, so that it
/// is in no text from outside.
const KEPT_SPACE: char = '\u{fdd0}';

/// Says on standard error what went wrong.
pub(super) fn complain(message: &str) {
    // There is nobody left to tell when standard error is closed.
    let _ = anstream::stderr().write_all(wrapped(message).as_bytes());
}

/// A path for a message: a line is not broken within it, so that it can be copied.
pub(super) fn whole_path(path: &Path) -> String {
    whole(&plain_path(path))
}

/// A text for a message that stays in one piece.
pub(super) fn whole(text: &str) -> String {
    text.replace(' ', &KEPT_SPACE.to_string())
}

/// A message that begins with a file's name and perhaps a line's number, with these in one piece.
pub(super) fn whole_place(message: &str) -> String {
    match message.split_once(": ") {
        Some((place, rest)) => format!("{}: {rest}", whole(place)),
        None => message.to_owned(),
    }
}

fn wrapped(message: &str) -> String {
    const REST: &str = "  ";
    let mut out = Vec::new();
    for (number, line) in message.lines().enumerate() {
        let first = if number == 0 { "mirecast: " } else { REST };
        // To memory.
        let _ = write_wrapped(&mut out, first, REST, line);
    }
    String::from_utf8_lossy(&out).replace(KEPT_SPACE, " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn messages_are_as_wide_as_other_text_and_paths_stay_whole() {
        let path = "shoot of the ninth/second camera, by the window/card with a grey edge 01.jpg";
        let path = whole_path(Path::new(path));
        let text = wrapped(&format!("{path}: the file is empty. Copy it again from {path}"));
        assert_eq!(
            text,
            "mirecast: \
             shoot of the ninth/second camera, by the window/card with a grey edge 01.jpg:\n  \
             the file is empty. Copy it again from\n  \
             shoot of the ninth/second camera, by the window/card with a grey edge 01.jpg\n"
        );
        assert_eq!(wrapped("it is so\nand so"), "mirecast: it is so\n  and so\n");
        assert_eq!(wrapped("a\u{1b}[2J"), "mirecast: a\\u{1b}[2J\n");
    }

    #[test]
    fn a_place_is_what_stands_before_the_first_colon() {
        let kept = wrapped(&format!("{}x", whole_place(&format!("{}: b ", "a b.toml, line 2"))));
        assert_eq!(kept, "mirecast: a b.toml, line 2: b x\n");
        assert_eq!(whole_place("no place here"), "no place here");
    }
}
