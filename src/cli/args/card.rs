//! The arguments of `mirecast card`.

use std::path::PathBuf;

use clap::Args;
use mirecast::card::Area;

use super::grade::{GradeArguments, Targets};
use super::limits::Limits;
use super::reading::ReadingArguments;
use super::report::ReportArguments;
use super::values::{Format, area};

const CARD_EXAMPLES: &str = "\
Examples:
  mirecast card card.jpg
      Read one photo of a card.
  mirecast card --shot-at tungsten card.jpg
      The camera was set to its tungsten preset, but the file does not say so.
  mirecast card --shot-at 5600K window.jpg door.jpg
      Both were shot with the camera's kelvin dial at 5600.
  mirecast card --area 1200,800,900,600 wide.jpg
      The card is 900 pixels wide and 600 high; its top left corner lies
      1200 from the left and 800 from the top.
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
/// Reads photos of a white or grey card (JPEG, PNG, TIFF, WebP, JPEG XL or raw) and says for each
/// whether a custom balance can be set from it, what light it was taken in, and how far each preset
/// would miss that light. Misses are in mired: below 8 about right, from 20 on clearly off. A plus means
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
