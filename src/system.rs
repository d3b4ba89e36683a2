//! What the operating system says of an error, for people.

use std::io;

/// An error in the system's words, without its number: that is in the error itself for programs, and tells
/// people nothing.
#[must_use]
pub fn in_system_words(error: &io::Error) -> String {
    let text = error.to_string();
    let number = error.raw_os_error().map(|number| format!(" (os error {number})"));
    match number.and_then(|number| text.strip_suffix(&number)) {
        Some(words) => words.to_owned(),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_the_systems_own() {
        // ENOENT, which is 2 on every system.
        let words = in_system_words(&io::Error::from_raw_os_error(2));
        assert!(!words.is_empty() && !words.contains("os error"), "{words}");
        let own = "no list (os error 2)";
        assert_eq!(in_system_words(&io::Error::other(own)), own);
    }
}
