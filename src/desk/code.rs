//! The code in the desk's address.

use std::fmt;

/// Without it nothing is served. Made anew for each run and worthless after it; within a run it
/// opens the page as often as it is asked for, since there is no cookie to remember who has been
/// in, a page may be loaded again, and a phone and a laptop may both look.
#[derive(Clone, PartialEq, Eq)]
pub(crate) struct Code(String);

/// Neither o nor 1, i and l: the code may have to be typed on a phone.
const LETTERS: &[u8; 32] = b"023456789abcdefghjkmnpqrstuvwxyz";
/// 60 bits: at a thousand guesses a second half a chance in eighteen million years.
const LENGTH: usize = 12;

impl Code {
    /// A new one, from the operating system's randomness.
    pub(crate) fn new() -> Result<Self, getrandom::Error> {
        let mut bytes = [0; LENGTH];
        getrandom::fill(&mut bytes)?;
        let letters = bytes.iter().filter_map(|byte| LETTERS.get(usize::from(byte % 32)));
        Ok(Self(letters.copied().map(char::from).collect()))
    }

    /// Whether this is it. Takes as long wherever the first difference is.
    pub(crate) fn is(&self, given: &str) -> bool {
        let (own, given) = (self.0.as_bytes(), given.as_bytes());
        let differences = own.iter().zip(given).fold(0, |all, (a, b)| all | (a ^ b));
        own.len() == given.len() && differences == 0
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Kept out of logs.
impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Code(…)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_differ_and_are_easily_typed() {
        let codes: Vec<_> = (0..200).map(|_| Code::new().unwrap().to_string()).collect();
        assert!(codes.iter().all(|code| code.len() == LENGTH));
        assert!(!codes.concat().contains(['o', '1', 'i', 'l']));
        let distinct: std::collections::BTreeSet<_> = codes.iter().collect();
        assert_eq!(distinct.len(), codes.len());
    }

    #[test]
    fn only_the_whole_code_is_the_code() {
        let code = Code::new().unwrap();
        let text = code.to_string();
        assert!(code.is(&text));
        for wrong in ["", &text[1..], &format!("{text}a"), &text.to_uppercase(), &"2".repeat(12)] {
            assert!(!code.is(wrong) || wrong == text, "{wrong}");
        }
        assert!(!format!("{code:?}").contains(&text));
    }
}
