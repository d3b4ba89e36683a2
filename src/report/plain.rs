//! Text from outside, made safe to show.

use std::borrow::Cow;
use std::path::Path;

/// Text with control characters written as escapes, so that it cannot steer a terminal. So are
/// the marks that change the direction of writing, which can make one name look like another.
#[must_use]
pub fn plain(text: &str) -> Cow<'_, str> {
    if !text.contains(steers) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 8);
    for character in text.chars() {
        if steers(character) {
            shown.extend(character.escape_default());
        } else {
            shown.push(character);
        }
    }
    Cow::Owned(shown)
}

/// A path as [`plain`] text; what is not Unicode shows as U+FFFD.
#[must_use]
pub fn plain_path(path: &Path) -> String {
    plain(&path.to_string_lossy()).into_owned()
}

/// Control characters, line and paragraph separators, and bidirectional controls (Unicode
/// Standard Annex 9).
pub(super) fn steers(character: char) -> bool {
    character.is_control()
        || matches!(
            character,
            '\u{061c}'
                | '\u{200e}'
                | '\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2066}'..='\u{2069}'
        )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_steers_a_terminal_is_left() {
        assert_eq!(plain("a\u{1b}[31m\nb\u{202e}.jpg"), "a\\u{1b}[31m\\nb\\u{202e}.jpg");
        assert_eq!(plain("\u{9b}2J"), "\\u{9b}2J");
        assert_eq!(plain_path(Path::new("été 01.jpg")), "été 01.jpg");
        assert!(matches!(plain("card 01.jpg"), Cow::Borrowed(_)));
    }
}
