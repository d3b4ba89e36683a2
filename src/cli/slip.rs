//! What is wrong with the arguments, or the help that was asked for, on its way out.

use std::ffi::OsString;
use std::io::Write;

use clap::error::{ContextKind, ContextValue, ErrorKind};
use mirecast::report::plain;

use super::exit::Outcome;

/// The width that every terminal has.
const WIDTH: usize = 80;
/// What stands before the lines that a message goes on in.
const REST: &str = "  ";

/// Prints the help that was asked for, or what is wrong with the arguments.
pub(super) fn answer(mut error: clap::Error) -> Outcome {
    tell_file_from_options(&mut error, std::env::args_os());
    if !error.use_stderr() {
        let _ = error.print();
        return Outcome::AllRead;
    }
    let mut text = error.render().ansi().to_string();
    if error.kind() == ErrorKind::MissingRequiredArgument {
        text = without_nested_brackets(&text);
    }
    // There is nobody left to tell when standard error is closed.
    let _ = anstream::stderr().write_all(wrapped(&text).as_bytes());
    if error.kind() == ErrorKind::InvalidSubcommand
        && let Some(given) = error.get(ContextKind::InvalidSubcommand)
        && given.to_string().contains('.')
    {
        // The slip that everybody makes once.
        let given = given.to_string();
        let given = plain(&given);
        let _ = writeln!(
            anstream::stderr(),
            "\nTo read a photo of a card, write: mirecast card {given}"
        );
    }
    Outcome::WrongUsage
}

/// A file whose name begins with a hyphen is taken for options in a row, and the first of them is what the
/// parser complains about.
fn tell_file_from_options(error: &mut clap::Error, given: impl Iterator<Item = OsString>) {
    let Some(ContextValue::String(option)) = error.get(ContextKind::InvalidArg) else { return };
    if error.kind() != ErrorKind::UnknownArgument || option.starts_with("--") {
        return;
    }
    let is_file = |given: &str| given.starts_with(option.as_str()) && given.contains('.');
    let file = given.filter_map(|given| given.into_string().ok()).find(|given| is_file(given));
    if let Some(file) = file {
        let tip = format!("to name the file '{}', write ./{0}", plain(&file));
        error.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![tip.into()]));
    }
}

/// Options of which one is required stand in brackets round those of their values, `<--this <A>|--that <B>>`.
/// Several are left in brackets of another kind, and a single one in none.
fn without_nested_brackets(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, from)) = rest.split_once("<--")
        && let Some((options, after)) = closed(from)
    {
        out.push_str(before);
        out.push_str(&match options.contains('|') {
            true => format!("(--{})", options.replace('|', " | ")),
            false => format!("--{options}"),
        });
        rest = after;
    }
    out + rest
}

/// A text that begins within a bracket, parted where that is closed.
fn closed(text: &str) -> Option<(&str, &str)> {
    let mut open = 1;
    let end = text.find(|character| {
        open += match character {
            '<' => 1,
            '>' => -1,
            _ => 0,
        };
        open == 0
    })?;
    Some((text.get(..end)?, text.get(end + 1..)?))
}

/// A text whose lines are broken at spaces where they are too wide; how they are coloured takes no room.
fn wrapped(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    for line in text.split_inclusive('\n') {
        if width(line) <= WIDTH {
            out.push_str(line);
            continue;
        }
        let indent: String = line.chars().take_while(|character| *character == ' ').collect();
        let mut columns = 0;
        for word in line.split_inclusive(' ') {
            if columns > 0 && columns + width(word.trim_end()) > WIDTH {
                out.truncate(out.trim_end_matches(' ').len());
                out.push('\n');
                out.push_str(&indent);
                out.push_str(REST);
                columns = indent.len() + REST.len();
            }
            out.push_str(word);
            columns += width(word.trim_end_matches('\n'));
        }
    }
    out
}

/// Columns that a text takes: its characters, without what sets their colour (ECMA-48 select graphic rendition).
fn width(text: &str) -> usize {
    let mut parts = text.trim_end_matches('\n').split('\u{1b}');
    let first = parts.next().map_or(0, |part| part.chars().count());
    let after = |part: &str| part.split_once('m').map_or(0, |(_, shown)| shown.chars().count());
    first + parts.map(after).sum::<usize>()
}

#[cfg(test)]
mod tests {
    use clap::Parser;

    use super::*;
    use crate::cli::args::Arguments;

    #[test]
    fn what_is_wrong_with_the_arguments_fits_the_terminal() {
        let slips: [&[&str]; 5] = [
            &["frames", "--footage", "mylog", "shoot"],
            &["frames", "--tolerance", "0", "shoot"],
            &["card", "--area", "1,2", "a.jpg"],
            &["frames", "--format", "jsonn", "shoot"],
            &["frames", "--no-groups", "--corrections", "grade", "shoot"],
        ];
        for slip in slips {
            let words = ["mirecast"].iter().chain(slip);
            let error = Arguments::try_parse_from(words).unwrap_err();
            let said = wrapped(&error.render().ansi().to_string());
            assert!(said.lines().all(|line| width(line) <= WIDTH), "{said}");
            let bare = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
            assert_eq!(bare(&said), bare(&error.render().ansi().to_string()), "nothing is lost");
        }
    }

    #[test]
    fn options_that_are_required_are_in_no_nested_brackets() {
        let said = |words: &[&str]| {
            let error = Arguments::try_parse_from(words).unwrap_err();
            assert_eq!(error.kind(), ErrorKind::MissingRequiredArgument);
            without_nested_brackets(&error.render().to_string())
        };
        let card = said(&["mirecast", "card", "--strength", "50", "a.jpg"]);
        assert!(card.contains("\n  --corrections <FOLDER>\n"), "{card}");
        assert!(card.contains("--strength <PERCENT> --corrections <FOLDER> <PHOTO>..."), "{card}");
        let frames = said(&["mirecast", "frames", "--strength", "50", "shoot"]);
        let either = "(--corrections <FOLDER> | --proofs <FOLDER>)";
        assert_eq!(frames.matches(either).count(), 2, "{frames}");
        assert_eq!(without_nested_brackets("<--a|--b> <C> <--d <E"), "(--a | --b) <C> <--d <E");
    }

    #[test]
    fn a_file_that_begins_with_a_hyphen_is_told_from_options() {
        let said = |words: &[&str]| {
            let mut error = Arguments::try_parse_from(words).unwrap_err();
            tell_file_from_options(&mut error, words.iter().map(OsString::from));
            error.render().to_string()
        };
        let file = said(&["mirecast", "frames", "-dash.jpg"]);
        assert!(file.contains("write ./-dash.jpg") && !file.contains("-- -d"), "{file}");
        assert!(said(&["mirecast", "frames", "-d"]).contains("-d"));
        let tolerance = said(&["mirecast", "frames", "--tolerance", "-3", "a.jpg"]);
        assert!(!tolerance.contains("-- -3"), "{tolerance}");
    }

    #[test]
    fn what_other_words_mean_is_understood() {
        for words in [
            ["mirecast", "card", "--as-shot", "tungsten", "a.jpg"],
            ["mirecast", "frames", "--as-shot", "tungsten", "a.jpg"],
            ["mirecast", "card", "--lamp", "tungsten", "a.jpg"],
        ] {
            assert!(Arguments::try_parse_from(words).is_ok(), "{words:?}");
        }
    }

    #[test]
    fn colours_take_no_room_and_what_cannot_be_broken_stays_whole() {
        assert_eq!(width("\u{1b}[1m\u{1b}[31merror:\u{1b}[0m no\n"), 9);
        let path = "x".repeat(100);
        assert_eq!(wrapped(&format!("  a {path} b\n")), format!("  a\n    {path}\n    b\n"));
        assert_eq!(wrapped("short\n\n  Usage: x\n"), "short\n\n  Usage: x\n");
    }
}
