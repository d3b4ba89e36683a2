//! The arguments of `mirecast settings`.

use std::path::PathBuf;

use clap::Args;

use super::values::Existing;

const EXAMPLES: &str = "\
Examples:
  mirecast settings
      What holds in this folder.
  mirecast settings shoot/card.jpg
      What holds for that photo.
  mirecast settings --write shoot/mirecast.toml
      Then open that file and take the # away before what you want to set.
  mirecast frames --no-settings shoot
      Leave all settings out, for once.

Exit code: 0, or 2 if there is a slip in a settings file.";

/// Show the settings that hold, and where they are from
///
/// Settings stand in for options that you do not give. They are read from mirecast.toml: in the
/// folder of the photos or the nearest one above it, for a shoot; and in your own place, for all
/// that you read. An option on the command line comes before the shoot's file, and that before your
/// own. Every run says which settings it took.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct SettingsArguments {
    /// The photo or folder that is to be read; without it, the folder you are in
    #[arg(value_name = "PATH", conflicts_with = "write")]
    pub(crate) path: Option<PathBuf>,

    /// Write a settings file to edit, with comments and nothing set, to the new file FILE
    #[arg(long, value_name = "FILE")]
    pub(crate) write: Option<PathBuf>,

    #[command(flatten)]
    pub(crate) existing: Existing,
}
