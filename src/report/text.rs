//! Lines of text of a bounded width.

use std::io::{self, Write};

use super::plain::plain;

/// The width that every terminal has.
pub(super) const WIDTH: usize = 80;

/// Writes text broken at spaces to 80 columns, the width that every terminal has: the first line after
/// `first`, the others after `rest`. A word longer than a line stays whole, so that a path can be copied;
/// a figure keeps its unit, an option its value. Control characters are written as
/// [`plain`](super::plain) does.
///
/// # Errors
/// What `out` says.
pub fn write_wrapped(out: &mut impl Write, first: &str, rest: &str, text: &str) -> io::Result<()> {
    let mut line = first.to_owned();
    let mut is_empty = true;
    for word in words(&plain(text)) {
        if !is_empty && width(&line) + 1 + width(&word) > WIDTH {
            writeln!(out, "{}", line.trim_end())?;
            line = rest.to_owned();
            is_empty = true;
        }
        if !is_empty {
            line.push(' ');
        }
        line.push_str(&word);
        is_empty = false;
    }
    writeln!(out, "{}", line.trim_end())
}

/// A line of figures, which take so many columns, that ends with a file's name; where that does not fit, the
/// whole name stands on a line of its own above them.
pub(super) fn write_named(
    out: &mut impl Write,
    (figures, columns): (&str, usize),
    name: &str,
) -> io::Result<()> {
    if columns + 2 + width(name) <= WIDTH {
        return writeln!(out, "{figures}  {name}");
    }
    writeln!(out, "  {name}")?;
    writeln!(out, "{}", figures.trim_end())
}

/// Columns that a text takes, counting a character as one.
pub(super) fn width(text: &str) -> usize {
    text.chars().count()
}

/// A text in exactly so many columns, to the left; one that is too long is cut with `...`.
pub(super) fn in_columns(text: &str, columns: usize) -> String {
    let shown = plain(text);
    if width(&shown) <= columns {
        return format!("{shown:<columns$}");
    }
    let kept: String = shown.chars().take(columns.saturating_sub(3)).collect();
    format!("{kept}...")
}

/// Names in exactly so many columns, as by [`in_columns`]; those that would be cut to the same text
/// are cut in the middle instead, or numbered where that does not tell them apart either.
pub(super) fn apart_in_columns(names: &[&str], columns: usize) -> Vec<String> {
    let shown: Vec<_> = names.iter().map(|name| plain(name)).collect();
    let alike = |cut: &[String], at: usize| {
        let same =
            |other: usize| cut.get(other) == cut.get(at) && shown.get(other) != shown.get(at);
        (0..cut.len()).any(same)
    };
    let mut cut: Vec<String> = names.iter().map(|name| in_columns(name, columns)).collect();
    let ends: Vec<bool> = (0..cut.len()).map(|at| alike(&cut, at)).collect();
    let middle = |name: &str| {
        let kept = columns.saturating_sub(3);
        let length = width(name);
        let (head, tail) = (kept / 2, kept - kept / 2);
        let letters = |from: usize, count: usize| name.chars().skip(from).take(count);
        letters(0, head).chain("...".chars()).chain(letters(length - tail, tail)).collect()
    };
    for ((cut, name), _) in cut.iter_mut().zip(&shown).zip(ends).filter(|(_, alike)| *alike) {
        // One that is short enough stays as it is.
        if width(name) > columns {
            *cut = middle(name);
        }
    }
    let still: Vec<usize> = (0..cut.len()).filter(|at| alike(&cut, *at)).collect();
    for (number, at) in (1..).zip(still) {
        let end = format!("...#{number}");
        if let Some((cut, name)) = cut.get_mut(at).zip(shown.get(at)) {
            let kept = name.chars().take(columns.saturating_sub(width(&end)));
            *cut = kept.chain(end.chars()).collect();
        }
    }
    cut
}

/// The words of a text; a figure keeps its unit and an option its value.
fn words(text: &str) -> Vec<String> {
    const UNITS: [&str; 5] = ["%", "K", "mired", "s", "stops"];
    let mut words: Vec<String> = Vec::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let bare = word.trim_end_matches(['.', ',', ';', ':', ')']);
        match words.last_mut() {
            Some(last)
                if (UNITS.contains(&bare) && last.ends_with(|c: char| c.is_ascii_digit()))
                    || (last.starts_with("--") && !last.contains(' ')) =>
            {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wrapped(first: &str, rest: &str, text: &str) -> String {
        let mut out = Vec::new();
        write_wrapped(&mut out, first, rest, text).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn lines_break_at_spaces_but_not_within_figures_or_options() {
        let text = "Fill the frame with the card, which now covers hardly more than the mere \
                    12 % of it; or say where the card is, as in the words --area 10,20,300,200.";
        assert_eq!(
            wrapped("  - ", "    ", text),
            "  - Fill the frame with the card, which now covers hardly more than the mere\n    \
             12 % of it; or say where the card is, as in the words --area 10,20,300,200.\n"
        );
        assert_eq!(words("at --shot-at 5600K or 50 s."), ["at", "--shot-at 5600K", "or", "50 s."]);
    }

    #[test]
    fn long_words_stay_whole_and_controls_do_not_get_through() {
        let path = "x".repeat(100);
        assert_eq!(wrapped("", "  ", &format!("a {path} b")), format!("a\n  {path}\n  b\n"));
        assert_eq!(wrapped("", "", "a\u{1b}[2J"), "a\\u{1b}[2J\n");
        assert_eq!(wrapped("> ", "", ""), ">\n");
    }

    #[test]
    fn columns_are_filled_exactly() {
        assert_eq!(in_columns("shade", 7), "shade  ");
        assert_eq!(in_columns("cool-white-fluorescent", 8), "cool-...");
        assert_eq!(in_columns("\u{7}", 8), "\\u{7}   ");
    }

    #[test]
    fn names_that_are_cut_stay_apart() {
        let cut = |names: &[&str]| apart_in_columns(names, 12);
        assert_eq!(
            cut(&["card-first-light-a", "card-first-light-b", "card-other-light", "lamp"]),
            ["card...ght-a", "card...ght-b", "card-othe...", "lamp        "]
        );
        assert_eq!(
            cut(&["card-first-light-1", "card-other-light-1", "card...ght-1"]),
            ["card-firs...", "card-othe...", "card...ght-1"]
        );
        let alike = ["the first of two cards in here", "the first of ten cards in here"];
        assert_eq!(cut(&alike), ["the fir...#1", "the fir...#2"]);
        assert_eq!(cut(&["the same name twice", "the same name twice"])[0], "the same ...");
    }
}
