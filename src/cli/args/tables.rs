//! The arguments of `mirecast presets` and `mirecast gels`.

use std::path::PathBuf;

use clap::Args;

use super::values::{Existing, Format};

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

const GELS_EXAMPLES: &str = "\
Examples:
  mirecast gels
  mirecast gels --write my-gels.toml
      Then put the figures of your own gels into my-gels.toml, and:
  mirecast setups --gels my-gels.toml window.jpg lamp.jpg";

/// Show the conversion and correction gels, or write a table of them to edit
#[derive(Debug, Args)]
#[command(after_help = GELS_EXAMPLES)]
pub(crate) struct GelsArguments {
    /// Show the table in FILE instead of the built-in one
    #[arg(long, value_name = "FILE")]
    pub(crate) gels: Option<PathBuf>,

    /// Write a copy of the built-in table, with comments, to the new file FILE
    #[arg(long, value_name = "FILE", conflicts_with_all = ["gels", "format"])]
    pub(crate) write: Option<PathBuf>,

    #[command(flatten)]
    pub(crate) existing: Existing,

    /// How to print the gels
    #[arg(long, value_enum, default_value_t)]
    pub(crate) format: Format,
}
