//! The arguments of `mirecast desk`.

use std::net::IpAddr;
use std::path::PathBuf;

use clap::Args;
use mirecast::colour::TransferCurve;
use mirecast::frames::Tolerance;

use super::values::{CardLab, lab};

const EXAMPLES: &str = "\
Examples:
  mirecast desk
      Then open the printed address in a browser on this machine.
  mirecast desk --listen
      So that a phone or another laptop in the room can open it too.

Ctrl-C ends it. Exit code: 0 after that, 1 if it could not be started, 2 if the
arguments, a table or a settings file make no sense.";

/// Read photos in a browser, on this machine
///
/// Serves one page, on which photos of a card, set-ups and frames can be dropped; it gives the same
/// results as the other commands. Photos are read in memory and not kept; nothing is written, and
/// nothing leaves this machine, or with --listen this network.
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
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, value_parser = own_address)]
    pub(crate) listen: Option<Option<IpAddr>>,

    /// A table of presets to use instead of the built-in one
    #[arg(long, value_name = "FILE")]
    pub(crate) presets: Option<PathBuf>,

    /// A table of gels to use instead of the built-in one
    #[arg(long, value_name = "FILE")]
    pub(crate) gels: Option<PathBuf>,

    /// What is still neutral in frames: mired, or mired and Duv [default: 20,0.006]
    #[arg(long, value_name = "MIRED[,DUV]", allow_hyphen_values = true)]
    pub(crate) tolerance: Option<Tolerance>,

    /// What the numbers in photos of a card mean, where you know it: srgb, rec709, linear, or gamma
    /// with a number
    #[arg(long, value_name = "CURVE")]
    pub(crate) encoding: Option<TransferCurve>,

    /// The card's own colour, where it is not neutral: its CIE L*a*b* values (D50)
    #[arg(long, value_name = "L,A,B", value_parser = lab, allow_hyphen_values = true)]
    pub(crate) card_lab: Option<CardLab>,
}

/// An address at which others find this machine.
fn own_address(text: &str) -> Result<IpAddr, String> {
    let address: IpAddr = text.parse().map_err(|error| format!("{error}"))?;
    if address.is_unspecified() || address.is_multicast() {
        return Err("that stands for many addresses, and the desk answers at one only; name this \
                    machine's own, as in --listen 192.168.1.20, or give --listen alone, and it is \
                    looked for"
            .to_owned());
    }
    Ok(address)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_that_stands_for_all_is_refused() {
        for all in ["0.0.0.0", "::", "224.0.0.1"] {
            assert!(own_address(all).is_err_and(|why| why.contains("192.168.1.20")), "{all}");
        }
        assert!(own_address("here").is_err());
        assert_eq!(own_address("192.168.1.20"), Ok(IpAddr::from([192, 168, 1, 20])));
        assert!(own_address("fd00::1").is_ok());
    }
}
