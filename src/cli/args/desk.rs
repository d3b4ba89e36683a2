//! The arguments of `mirecast desk`.

use std::net::IpAddr;
use std::path::PathBuf;

use clap::Args;

const EXAMPLES: &str = "\
Examples:
  mirecast desk
      Then open the printed address in a browser on this machine.
  mirecast desk --listen
      So that a phone or another laptop in the room can open it too.

Ctrl-C ends it. Exit code: 0 after that, 1 if it could not be started.";

/// Read photos in a browser, on this machine
///
/// Serves one page, on which photos of a card, set-ups and frames can be dropped; it gives the same
/// results as the other commands. Photos are read in memory and not kept; nothing is written and
/// nothing leaves this machine.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(crate) struct DeskArguments {
    /// The port to listen at; any that is free if none is named
    #[arg(long, value_name = "PORT", default_value_t = 0, hide_default_value = true)]
    pub(crate) port: u16,

    /// Let other devices in this network open the page too, by an address with a code in it
    ///
    /// ADDRESS is this machine's own in that network, where it does not find that by itself. What
    /// is sent is not encrypted: use it only in a network that you trust.
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1)]
    pub(crate) listen: Option<Option<IpAddr>>,

    /// A table of presets to use instead of the built-in one
    #[arg(long, value_name = "FILE")]
    pub(crate) presets: Option<PathBuf>,

    /// A table of gels to use instead of the built-in one
    #[arg(long, value_name = "FILE")]
    pub(crate) gels: Option<PathBuf>,
}
