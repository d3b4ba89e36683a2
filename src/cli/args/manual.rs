//! The arguments of `mirecast completions` and `mirecast manual`.

use std::path::PathBuf;

use clap::Args;
use clap_complete::Shell;

use super::values::Existing;

const COMPLETIONS_EXAMPLES: &str = "\
Examples:
  mirecast completions bash > mirecast
      Then move that file into ~/.local/share/bash-completion/completions; make
      the folder first if there is none.
  mirecast completions zsh > ~/.zfunc/_mirecast
      For a folder that is in zsh's fpath.
  mirecast completions fish > ~/.config/fish/completions/mirecast.fish";

/// Print what lets a shell complete commands and options
///
/// The shell then knows commands, options and their values when you press Tab. Write it where your
/// shell looks for completions, and open a new one.
#[derive(Debug, Args)]
#[command(after_help = COMPLETIONS_EXAMPLES)]
pub(crate) struct CompletionsArguments {
    /// The shell
    #[arg(value_enum)]
    pub(crate) shell: Shell,
}

const MANUAL_EXAMPLES: &str = "\
Examples:
  mirecast manual frames | man -l -
      Read the page of mirecast frames.
  mirecast manual --write man1
      Write all pages into the new folder man1, as mirecast.1, mirecast-card.1 …";

/// Print a manual page, or write all of them
///
/// The pages hold what --help says, in the form that the program man shows.
#[derive(Debug, Args)]
#[command(after_help = MANUAL_EXAMPLES)]
pub(crate) struct ManualArguments {
    /// The command; without it, the page of mirecast itself
    #[arg(value_name = "COMMAND", conflicts_with = "write")]
    pub(crate) command: Option<String>,

    /// Write all pages into FOLDER, there already or not
    #[arg(long, value_name = "FOLDER")]
    pub(crate) write: Option<PathBuf>,

    #[command(flatten)]
    pub(crate) existing: Existing,
}
