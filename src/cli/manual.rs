//! Manual pages and shell completions, both made from the arguments as they are declared.

use std::io::{self, Write};

use clap::{Command, CommandFactory};
use clap_complete::generate;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};
use mirecast::report::plain_path;

use super::args::{Arguments, CompletionsArguments, ManualArguments};
use super::exit::{Outcome, RunError};
use super::output::stdout;
use super::write_file::{Kind, write_files};

/// Prints completions for a shell.
pub(crate) fn complete(arguments: &CompletionsArguments) -> Result<Outcome, RunError> {
    let mut script = Vec::new();
    generate(arguments.shell, &mut declared(), "mirecast", &mut script);
    io::stdout().write_all(&script)?;
    Ok(Outcome::AllRead)
}

/// Prints a page, or writes all of them.
pub(crate) fn run(arguments: &ManualArguments) -> Result<Outcome, RunError> {
    let program = declared();
    if let Some(folder) = &arguments.write {
        let all = std::iter::once(&program).chain(program.get_subcommands());
        let pages = all.map(|one| Ok((folder.join(format!("{}.1", title(one))), page(one)?)));
        let pages = pages.collect::<io::Result<Vec<_>>>()?;
        write_files(folder, &pages, Kind::Text, arguments.existing)?;
        writeln!(stdout(), "Wrote {} pages into {}.", pages.len(), plain_path(folder))?;
        return Ok(Outcome::AllRead);
    }
    let wanted = match &arguments.command {
        None => Some(&program),
        Some(name) => program.find_subcommand(name),
    };
    let Some(wanted) = wanted else {
        let known: Vec<_> = program.get_subcommands().map(Command::get_name).collect();
        let given = arguments.command.clone().unwrap_or_default();
        return Err(RunError::NoSuchCommand { given, known: known.join(", ") });
    };
    io::stdout().write_all(&page(wanted)?)?;
    Ok(Outcome::AllRead)
}

/// The arguments as declared, ready to be described.
fn declared() -> Command {
    let mut command = Arguments::command().disable_help_subcommand(true);
    command.build();
    command
}

fn title(command: &Command) -> &str {
    command.get_display_name().unwrap_or_else(|| command.get_name())
}

/// A command's page, as the program man takes it.
fn page(command: &Command) -> io::Result<Vec<u8>> {
    let manual = Man::new(command.clone())
        .title(title(command))
        .source(concat!("mirecast ", env!("CARGO_PKG_VERSION")));
    let mut page = Vec::new();
    manual.render_title(&mut page)?;
    manual.render_name_section(&mut page)?;
    manual.render_synopsis_section(&mut page)?;
    manual.render_description_section(&mut page)?;
    manual.render_options_section(&mut page)?;
    if command.has_subcommands() {
        manual.render_subcommands_section(&mut page)?;
    }
    if let Some(text) = command.get_after_help() {
        examples(&text.to_string()).to_writer(&mut page)?;
    }
    Ok(page)
}

/// What stands at the end of a help: a command is indented by two, with its explanation behind it or,
/// further in, below it; paragraphs are not indented.
fn examples(text: &str) -> Roff {
    let mut page = Roff::new();
    for line in text.lines() {
        let bare = line.trim_start();
        match line.len() - bare.len() {
            _ if bare.is_empty() => {}
            0 if bare == "Examples:" => {
                page.control("SH", ["EXAMPLES"]);
            }
            0 => {
                if let Some(rest) = bare.strip_prefix("Exit code: ") {
                    page.control("SH", ["EXIT STATUS"]).text([roman(rest)]);
                } else {
                    page.text([roman(bare)]);
                }
            }
            1..=3 => {
                let (command, told) = bare.split_once("  ").unwrap_or((bare, ""));
                page.control("TP", []).text([bold(command)]);
                if !told.is_empty() {
                    page.text([roman(told.trim_start())]);
                }
            }
            _ => {
                page.text([roman(bare)]);
            }
        }
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_command_has_a_page_with_its_options_and_examples() {
        let program = declared();
        let mut pages = 0;
        for command in program.get_subcommands() {
            let name = command.get_name();
            let page = String::from_utf8(page(command).unwrap()).unwrap();
            assert!(page.contains(&format!(".TH mirecast-{name} 1")), "{page}");
            assert!(page.contains(&format!("mirecast\\-{name} \\- ")), "{page}");
            for option in command.get_opts().filter_map(|option| option.get_long()) {
                let written = format!("\\-\\-{}", option.replace('-', "\\-"));
                assert!(page.contains(&written), "{name}: --{option}");
            }
            assert!(page.contains(".SH EXAMPLES"), "{name}");
            pages += 1;
        }
        assert!(pages >= 10, "{pages}");
    }

    #[test]
    fn examples_become_entries() {
        let page = examples(
            "Examples:\n  mirecast card a.jpg\n      Read one.\n  mirecast desk    A page\n\n\
             Exit code: 0.\n",
        );
        insta::assert_snapshot!(page.to_roff(), @r#"
        .SH EXAMPLES
        .TP
        \fBmirecast card a.jpg\fR
        Read one.
        .TP
        \fBmirecast desk\fR
        A page
        .SH "EXIT STATUS"
        0.
        "#);
    }
}
