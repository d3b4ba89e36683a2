//! The arguments, and what each may be.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use mirecast::card::Area;
use mirecast::colour::TransferCurve;

use super::frame_args::{FramesArguments, GroupsArguments};
use super::grade_args::{GradeArguments, Targets};
use super::limits::Limits;
use super::report::ReportArguments;
use super::setup_args::{DialArguments, GelsArguments, SetupsArguments};
use super::write_file::Existing;

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
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    Card(CardArguments),
    Frames(FramesArguments),
    Groups(GroupsArguments),
    Setups(SetupsArguments),
    Dial(DialArguments),
    #[cfg(feature = "desk")]
    Desk(super::desk::DeskArguments),
    Gels(GelsArguments),
    Presets(PresetsArguments),
}

const CARD_EXAMPLES: &str = "\
Examples:
  mirecast card card.jpg
      Read one photo of a card.
  mirecast card --shot-at tungsten card.jpg
      The camera was set to its tungsten preset, but the file does not say so.
  mirecast card --shot-at 5600K window.jpg door.jpg
      Both were shot with the camera's kelvin dial at 5600.
  mirecast card --area 1200,800,900,600 wide.jpg
      The card is 900 pixels wide and 600 high; its top left corner lies 1200 from
      the left and 800 from the top.
  mirecast card --format csv *.jpg > cards.csv
      A table for a spreadsheet.
  mirecast card --report cards.html *.jpg
      A page with pictures, to look at, mail and print.
  find shoot -name 'card*.jpg' | mirecast card --files-from -
      Read the photos that another program lists.

Exit code: 0 if every photo was read, 1 if one was refused or could not be read,
2 if the arguments make no sense.";

/// Read photos of a white card
///
/// Reads photos of a white or grey card (JPEG, PNG, TIFF, WebP or DNG) and says for each whether a
/// custom balance can be set from it, what light it was taken in, and how far each preset would
/// miss that light. Misses are in mired: below 8 about right, from 20 on clearly off. A plus means
/// that the picture goes orange, a minus that it goes blue.
#[derive(Debug, Args)]
#[command(after_help = CARD_EXAMPLES)]
pub(crate) struct CardArguments {
    /// Photos of a card
    #[arg(value_name = "PHOTO", required_unless_present = "files_from")]
    pub(crate) photos: Vec<PathBuf>,

    /// Read the photos listed in FILE as well, one path a line; - is standard input
    #[arg(long, value_name = "FILE")]
    pub(crate) files_from: Option<PathBuf>,

    /// Where the card is, in pixels from the top left of the upright picture
    #[arg(long, value_name = "X,Y,W,H", value_parser = area, allow_hyphen_values = true)]
    pub(crate) area: Option<Area>,

    #[command(flatten)]
    pub(crate) reading: ReadingArguments,

    #[command(flatten)]
    pub(crate) targets: Targets,

    #[command(flatten)]
    pub(crate) grade: GradeArguments,

    /// How to print the results
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,

    #[command(flatten)]
    pub(crate) report: ReportArguments,

    #[command(flatten)]
    pub(crate) limits: Limits,
}

/// How card photos are read, whatever is made of them.
#[derive(Debug, Args)]
pub(crate) struct ReadingArguments {
    /// The balance the camera was set to: a preset's name, 5600K, or 5600K,+0.003 with a Duv
    ///
    /// It comes before what the photo's own file records. Needed where the file records nothing,
    /// as when the camera was set to a kelvin number. Raw files give their light without it.
    #[arg(long, value_name = "BALANCE")]
    pub(crate) shot_at: Option<String>,

    /// The card's own colour, where it is not neutral: its CIE L*a*b* values (D50)
    #[arg(long, value_name = "L,A,B", value_parser = lab, allow_hyphen_values = true)]
    pub(crate) card_lab: Option<CardLab>,

    /// What the lamp's spectrum is like, where you know it: it changes how wide the intervals are
    #[arg(long, value_enum, default_value_t)]
    pub(crate) lamp: LampKind,

    /// What the numbers in the picture mean, where you know it: srgb, rec709, linear, or gamma
    /// with a number, as in gamma2.2
    ///
    /// Without it the file's encoding is taken to lie under a contrast curve that is not known, as
    /// cameras' pictures do, and the intervals allow for it.
    #[arg(long, value_name = "CURVE")]
    pub(crate) encoding: Option<TransferCurve>,

    /// A table of presets to use instead of the built-in one
    ///
    /// `mirecast presets --write FILE` makes one to edit.
    #[arg(long, value_name = "FILE")]
    pub(crate) presets: Option<PathBuf>,
}

const PRESETS_EXAMPLES: &str = "\
Examples:
  mirecast presets
  mirecast presets --write my-presets.toml
      Then put your camera's own figures into my-presets.toml, and:
  mirecast card --presets my-presets.toml card.jpg";

/// Show the white-balance presets, or write a table of them to edit
#[derive(Debug, Args)]
#[command(after_help = PRESETS_EXAMPLES)]
pub(crate) struct PresetsArguments {
    /// Show the table in FILE instead of the built-in one
    #[arg(long, value_name = "FILE")]
    pub(crate) presets: Option<PathBuf>,

    /// Write a copy of the built-in table, with comments, to the new file FILE
    #[arg(long, value_name = "FILE", conflicts_with_all = ["presets", "format"])]
    pub(crate) write: Option<PathBuf>,

    #[command(flatten)]
    pub(crate) existing: Existing,

    /// How to print the presets
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// Text to read
    #[default]
    Text,
    /// One JSON object a line
    Json,
    /// A table for a spreadsheet
    Csv,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum LampKind {
    /// Any lamp or daylight
    #[default]
    Any,
    /// Smooth: tungsten, daylight, flash
    Continuous,
    /// With spikes: most fluorescent tubes, many LEDs
    Spiky,
}

/// A card's CIE L*a*b*.
pub(crate) type CardLab = [f64; 3];

pub(crate) fn area(text: &str) -> Result<Area, String> {
    let usage = "write the left edge, the top edge, the width and the height in pixels, with \
                 commas between, as in 1200,800,900,600";
    let [x, y, width, height] = numbers(text).ok_or(usage)?;
    if x < 0.0 || y < 0.0 || width <= 0.0 || height <= 0.0 {
        return Err(format!("the edges cannot be below 0, nor the sizes 0; {usage}"));
    }
    Ok(Area { x, y, width, height })
}

fn lab(text: &str) -> Result<CardLab, String> {
    let usage = "write the card's L*, a* and b* with commas between, as in 95.2,-0.4,1.1";
    let [l, a, b] = numbers(text).ok_or(usage)?;
    // A card of less than a tenth of white's luminance or of a strong colour is no such card; most
    // likely the figures are something else.
    if !(38.0..=100.0).contains(&l) || a.abs() > 30.0 || b.abs() > 30.0 {
        return Err(format!("no white or grey card has such a colour; {usage}"));
    }
    Ok([l, a, b])
}

/// Exactly `N` finite numbers with commas between.
fn numbers<const N: usize>(text: &str) -> Option<[f64; N]> {
    let numbers: Option<Vec<f64>> = text
        .split(',')
        .map(|part| part.trim().parse().ok().filter(|number: &f64| number.is_finite()))
        .collect();
    numbers?.try_into().ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;
    use clap::error::ErrorKind;

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
            ("mirecast frames --threads 0 a", ErrorKind::ValueValidation, "zero"),
            ("mirecast cards a.jpg", ErrorKind::InvalidSubcommand, "card"),
        ] {
            let error = parse(line).expect_err(line);
            assert_eq!(error.kind(), kind, "{line}: {error}");
            assert_eq!(error.exit_code(), 2, "{line}");
            assert!(error.to_string().contains(word), "{line}: {error}");
        }
    }

    #[test]
    fn help_fits_the_page_and_shows_examples() {
        let mut command = Arguments::command();
        command.build();
        for name in ["card", "frames", "groups", "setups", "dial", "gels", "presets"] {
            let help = command.find_subcommand_mut(name).unwrap().render_long_help().to_string();
            assert!(help.contains("Examples:"), "{help}");
            let wide = help.lines().find(|line| line.chars().count() > 80);
            assert_eq!(wide, None, "of {name}");
        }
    }
}
