//! The arguments of `mirecast setups` and `mirecast dial`.

use std::path::PathBuf;

use clap::Args;

use mirecast::card::Area;

use super::limits::Limits;
use super::reading::ReadingArguments;
use super::report::ReportArguments;
use super::values::{Existing, Format, area};

const SETUPS_EXAMPLES: &str = "\
Examples:
  mirecast setups window.jpg lamp.jpg
      How far apart are the two lights, and which one balance serves both?
  mirecast setups window=day1/window lamp=day1/lamp
      Each a folder with several photos of the card in one light.
  mirecast setups window.jpg tungsten 5600K
      A photo beside two lights by name and by number.
  mirecast setups a.jpg@5600K b.jpg@3200K
      The files do not say what the camera was set to.
  mirecast setups --same-light first.jpg second.jpg
      Two cameras before one card in one light: what to dial on the second.
  mirecast setups --report lights.html window.jpg lamp.jpg
      A page with both lights on one diagram, to look at, mail and print.

Exit code: 0 if every light is known, 1 if a photo was left out or a set-up has
no light, 2 if the arguments make no sense.";

/// Compare set-ups: how far apart, one balance for all, gels
///
/// Compares the lights of set-ups: how many mired and how much tint lie between each two and
/// whether that is more than the uncertainty; the one balance that makes the worst miss smallest;
/// and the gels that bring one source to another. A set-up is a photo of a white card, a folder of
/// such photos in one light, or a light that you state: a preset's name, 5600K, or 5600K,+0.003
/// with a Duv.
#[derive(Debug, Args)]
#[command(after_help = SETUPS_EXAMPLES)]
pub(crate) struct SetupsArguments {
    /// Photos of a card, folders of them, or lights; a name may stand before each, as in
    /// window=PHOTO, and the camera's balance after it, as in PHOTO@5600K
    #[arg(value_name = "SETUP", required = true)]
    pub(crate) setups: Vec<PathBuf>,

    /// The set-ups are cameras in one and the same light: what they differ by is theirs
    #[arg(long)]
    pub(crate) same_light: bool,

    /// A table of gels to use instead of the built-in one
    ///
    /// `mirecast gels --write FILE` makes one to edit.
    #[arg(long, value_name = "FILE")]
    pub(crate) gels: Option<PathBuf>,

    #[command(flatten)]
    pub(crate) together: TogetherArguments,
}

const DIAL_EXAMPLES: &str = "\
Examples:
  mirecast dial a.jpg@3000K b.jpg@3200K c.jpg@3500K
      One card in one light, photographed at three settings of the kelvin dial.
  mirecast dial daylight.jpg cloudy.jpg shade.jpg
      Photographed at three presets, which the files record.
  mirecast dial a.jpg@5600K,+0.003 b.jpg@5600K,+0.009 c.jpg@5000K,+0.006
      Settings with a tint, as a Duv.
  ls bracket/*.jpg | mirecast dial --files-from -
      Read the photos that another program lists, each with its setting if need be.
  mirecast dial --report dial.html a.jpg@3000K b.jpg@3300K
      A page with the photos and the fitted line, to look at, mail and print.

Exit code: 0 if the neutral setting was found and every photo counted, 1 if not,
2 if the arguments make no sense.";

/// Find the balance setting at which a card is neutral on this camera
///
/// Reads a bracket: photos of one white card in one light at several balance settings of one
/// camera. Finds by interpolation the setting at which the card comes out neutral. It is the most
/// accurate reading that a rendered picture can give, since where no colour is left the camera's
/// tone curve has nothing to bend.
#[derive(Debug, Args)]
#[command(after_help = DIAL_EXAMPLES)]
pub(crate) struct DialArguments {
    /// Photos of the card; the balance setting may stand after each, as in PHOTO@5600K or
    /// PHOTO@tungsten
    #[arg(value_name = "PHOTO", required_unless_present = "files_from")]
    pub(crate) photos: Vec<PathBuf>,

    /// Read the photos listed in FILE as well, one a line; - is standard input
    #[arg(long, value_name = "FILE")]
    pub(crate) files_from: Option<PathBuf>,

    /// Where the card is in all photos, in pixels from the top left of the upright picture
    #[arg(long, value_name = "X,Y,W,H", value_parser = area, allow_hyphen_values = true)]
    pub(crate) area: Option<Area>,

    #[command(flatten)]
    pub(crate) together: TogetherArguments,
}

/// The arguments of both: how photos of a card are read, and how what comes of them all is given.
#[derive(Debug, Args)]
pub(crate) struct TogetherArguments {
    #[command(flatten)]
    pub(crate) reading: ReadingArguments,

    /// How to print the results
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,

    #[command(flatten)]
    pub(crate) report: ReportArguments,

    #[command(flatten)]
    pub(crate) existing: Existing,

    #[command(flatten)]
    pub(crate) limits: Limits,
}
