//! By lines and words: tables, records, lists, XMP.

use lab::Rng;

use super::{bend_bytes, shuffle};
use crate::dice::Dice;

/// What a text is written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Grammar {
    Toml,
    Json,
    Xml,
    List,
}

const NUMBERS: [&str; 16] = [
    "0",
    "-0",
    "-1",
    "1e999",
    "-1e999",
    "1e-999",
    "nan",
    "inf",
    "0.0000001",
    "99999999999999999999",
    "18446744073709551616",
    "1.7976931348623157e308",
    "5500",
    "\"5500\"",
    "null",
    "true",
];
const ODDITIES: [&str; 12] = [
    "\u{1b}[2J",
    "\u{202e}",
    "\u{7}",
    "\u{0}",
    "\u{feff}",
    "\\u0000",
    "\\uD800",
    "🎞",
    "\r",
    "\t",
    "\"",
    "=",
];

/// Changes add up: a line that has grown is put in again, a long word is repeated. What is longer than
/// anything that is read says nothing new, and takes time and memory.
const MOST: usize = 2 << 20;

/// Changes a few lines or words; now and then bytes, so that it need not be UTF-8 any more.
pub(crate) fn bend(rng: &mut Rng, bytes: &mut Vec<u8>, grammar: Grammar) {
    for _ in 0..1 + rng.below(4) {
        match std::str::from_utf8(bytes) {
            Ok(text) if !rng.once_in(6) => *bytes = once(rng, text, grammar).into_bytes(),
            _ => bend_bytes(rng, bytes),
        }
        bytes.truncate(MOST);
    }
}

fn once(rng: &mut Rng, text: &str, grammar: Grammar) -> String {
    match rng.below(7) {
        0 | 1 => {
            let mut lines: Vec<&str> = text.split_inclusive('\n').collect();
            shuffle(rng, &mut lines);
            let mut length = 0;
            lines.retain(|line| {
                length += line.len();
                length <= MOST
            });
            lines.concat()
        }
        2 | 3 => with_word(rng, text, |rng, _| NUMBERS[rng.below(NUMBERS.len())].to_owned()),
        4 => with_word(rng, text, |rng, word| format!("{word}{}", ODDITIES[rng.below(12)])),
        5 => with_word(rng, text, |rng, word| {
            let deep = [3, 200, 20_000][rng.below(3)];
            match grammar {
                Grammar::Toml | Grammar::Json => {
                    let (open, close) = if rng.once_in(2) { ("[", "]") } else { ("{\"a\":", "}") };
                    let close = if rng.once_in(2) { close.repeat(deep) } else { String::new() };
                    format!("{}{word}{close}", open.repeat(deep))
                }
                Grammar::Xml => format!("{}{word}", "<a>".repeat(deep)),
                Grammar::List => word.repeat(deep.min(300).min(MOST / word.len().max(1))),
            }
        }),
        _ => with_word(rng, text, |rng, _| {
            let letters = [1, 60, 5_000, 200_000][rng.below(4)];
            "x".repeat(letters)
        }),
    }
}

/// Replaces one word, a run of letters, digits, points and signs.
fn with_word(rng: &mut Rng, text: &str, new: impl Fn(&mut Rng, &str) -> String) -> String {
    let in_word = |c: char| c.is_alphanumeric() || matches!(c, '.' | '-' | '+' | '_');
    let starts: Vec<usize> = text
        .char_indices()
        .scan(false, |before, (at, c)| {
            let starts = in_word(c) && !*before;
            *before = in_word(c);
            Some((starts, at))
        })
        .filter_map(|(starts, at)| starts.then_some(at))
        .collect();
    let Some(&start) = rng.pick(&starts) else { return text.to_owned() };
    let (before, rest) = text.split_at(start);
    let end = rest.find(|c| !in_word(c)).unwrap_or(rest.len());
    let (word, after) = rest.split_at(end);
    format!("{before}{}{after}", new(rng, word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn changes_add_up_to_bounded_lengths() {
        let long = "x".repeat(MOST / 2);
        for number in 0..200 {
            let mut bytes = long.clone().into_bytes();
            bend(&mut Rng::stream(9, number), &mut bytes, Grammar::List);
            assert!(bytes.len() <= MOST, "{number}: {} bytes", bytes.len());
        }
    }
}
