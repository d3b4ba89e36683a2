//! The arguments, and what each may be.

mod card;
#[cfg(feature = "desk")]
mod desk;
mod frames;
mod grade;
mod limits;
mod manual;
mod reading;
mod report;
mod settings;
mod setups;
mod tables;
mod values;

use clap::{Parser, Subcommand};

pub(crate) use card::CardArguments;
#[cfg(feature = "desk")]
pub(crate) use desk::DeskArguments;
pub(crate) use frames::{FramesArguments, GroupsArguments, Listing, Only};
pub(crate) use grade::GradeArguments;
pub(crate) use limits::Limits;
pub(crate) use manual::{CompletionsArguments, ManualArguments};
pub(crate) use reading::ReadingArguments;
pub(crate) use report::ReportArguments;
pub(crate) use settings::SettingsArguments;
pub(crate) use setups::{DialArguments, SetupsArguments, TogetherArguments};
pub(crate) use tables::{GelsArguments, PresetsArguments};
pub(crate) use values::{CardLab, Existing, Format, LampKind, lab};

const EXAMPLES: &str = "\
Examples:
  mirecast card card.jpg               Is this photo good to balance from?
  mirecast frames shoot                Which stills came out orange or blue?
  mirecast setups window.jpg lamp.jpg  How far apart are two lights?
  mirecast dial a.jpg@3000K b.jpg@3300K
                                       At which setting is the card neutral?
  mirecast desk                        All of it in a browser, on this machine
  mirecast presets                     Which light is each preset meant for?

mirecast card --help has more.";

/// Reads a photo of a white card: is it good to set a custom balance from, what light was it
/// taken in, and how far would each white-balance preset miss that light?
#[derive(Debug, Parser)]
#[command(version, after_help = EXAMPLES, arg_required_else_help = true, max_term_width = 80)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,

    /// Leave settings files out: options and built-in values only
    #[arg(long, global = true)]
    pub(crate) no_settings: bool,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    Card(CardArguments),
    Frames(FramesArguments),
    Groups(GroupsArguments),
    Setups(SetupsArguments),
    Dial(DialArguments),
    #[cfg(feature = "desk")]
    Desk(DeskArguments),
    Gels(GelsArguments),
    Presets(PresetsArguments),
    Settings(SettingsArguments),
    Completions(CompletionsArguments),
    Manual(ManualArguments),
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;
    use clap::error::ErrorKind;
    use mirecast::card::Area;
    use std::path::PathBuf;

    fn parse(line: &str) -> Result<Command, clap::Error> {
        Arguments::try_parse_from(line.split(' ')).map(|arguments| arguments.command)
    }

    fn card(line: &str) -> CardArguments {
        match parse(line) {
            Ok(Command::Card(card)) => card,
            other => panic!("{line}: {other:?}"),
        }
    }

    #[test]
    fn the_arguments_are_declared_without_contradiction() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn a_card_can_be_described() {
        let plain = card("mirecast card a.jpg b.jpg");
        assert_eq!(plain.photos, ["a.jpg", "b.jpg"].map(PathBuf::from));
        assert_eq!((plain.format, plain.area, plain.reading.card_lab), (Format::Text, None, None));
        let full = card(
            "mirecast card --shot-at 5600K,-0.002 --area 10,20,300,200.5 --card-lab 92,-0.5,1.5 \
             --presets p.toml --format json --files-from - a.jpg",
        );
        assert_eq!(full.reading.shot_at.as_deref(), Some("5600K,-0.002"));
        assert_eq!(full.area, Some(Area { x: 10.0, y: 20.0, width: 300.0, height: 200.5 }));
        assert_eq!(full.reading.card_lab, Some([92.0, -0.5, 1.5]));
        assert_eq!(full.reading.presets, Some(PathBuf::from("p.toml")));
        assert_eq!((full.format, full.files_from), (Format::Json, Some(PathBuf::from("-"))));
        assert!(card("mirecast card --files-from list.txt").photos.is_empty());
    }

    #[test]
    fn wrong_arguments_say_what_to_write_instead() {
        for (line, kind, word) in [
            ("mirecast card", ErrorKind::MissingRequiredArgument, "PHOTO"),
            ("mirecast card --area 1,2,3 a.jpg", ErrorKind::ValueValidation, "1200,800,900,600"),
            ("mirecast card --area -1,2,3,4 a.jpg", ErrorKind::ValueValidation, "below 0"),
            ("mirecast card --area 1,2,0,4 a.jpg", ErrorKind::ValueValidation, "sizes 0"),
            ("mirecast card --area 1,2,nan,4 a.jpg", ErrorKind::ValueValidation, "commas"),
            ("mirecast card --card-lab 92 a.jpg", ErrorKind::ValueValidation, "95.2,-0.4,1.1"),
            ("mirecast card --card-lab 0.9,0,0 a.jpg", ErrorKind::ValueValidation, "no white"),
            ("mirecast card --encoding gamma9 a.jpg", ErrorKind::ValueValidation, "from 1 to 4"),
            ("mirecast card --encoding film a.jpg", ErrorKind::ValueValidation, "rec709"),
            ("mirecast card --format xml a.jpg", ErrorKind::InvalidValue, "text, json, csv"),
            ("mirecast card --shot-on x a.jpg", ErrorKind::UnknownArgument, "--shot-at"),
            ("mirecast presets --write a --presets b", ErrorKind::ArgumentConflict, "--presets"),
            ("mirecast frames", ErrorKind::MissingRequiredArgument, "PATH"),
            ("mirecast frames --tolerance 0 a", ErrorKind::ValueValidation, "20,0.006"),
            ("mirecast frames --only cast a", ErrorKind::InvalidValue, "casts, undecided"),
            ("mirecast frames --no-groups --sort time a", ErrorKind::ArgumentConflict, "--sort"),
            ("mirecast frames --threads 0 a", ErrorKind::ValueValidation, "above 0, as in 4"),
            ("mirecast frames --threads x a", ErrorKind::ValueValidation, "above 0, as in 4"),
            ("mirecast frames --max-directories x a", ErrorKind::ValueValidation, "as in 64"),
            ("mirecast cards a.jpg", ErrorKind::InvalidSubcommand, "card"),
        ] {
            let error = parse(line).expect_err(line);
            assert_eq!(error.kind(), kind, "{line}: {error}");
            assert_eq!(error.exit_code(), 2, "{line}");
            assert!(error.to_string().contains(word), "{line}: {error}");
        }
    }

    /// `INSTA_UPDATE=always cargo test` writes the snapshots anew. All commands are in them only where the
    /// build has all.
    #[test]
    fn help_fits_the_page_and_teaches_by_examples() {
        let mut command = Arguments::command();
        command.build();
        for command in command.get_subcommands_mut().filter(|c| c.get_name() != "help") {
            let name = command.get_name().to_owned();
            let help = command.render_long_help().to_string();
            assert!(help.contains("Examples:\n  mirecast "), "{help}");
            let wide = help.lines().find(|line| line.chars().count() > 80);
            assert_eq!(wide, None, "of {name}");
            let examples = help.split_once("Examples:").unwrap().1;
            let own = format!("mirecast {name}");
            assert!(examples.contains(&own), "no example of {name}");
            insta::assert_snapshot!(name, help);
        }
    }
}
