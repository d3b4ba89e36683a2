//! `mirecast desk`: the page for those who would rather not type.

use std::io::{self, Write};
use std::net::IpAddr;
use std::path::PathBuf;

use clap::Args;
use mirecast::balance::GelTable;
use mirecast::report::Emphasis;
use mirecast::still::ReadOptions;

use super::exit::{Outcome, RunError};
use super::output::{emphasis, stdout};
use super::reading::table;
use crate::desk::{Desk, Limits, Place, Reader, network_address, qr_code};

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
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, value_parser = own_address)]
    pub(crate) listen: Option<Option<IpAddr>>,

    /// A table of presets to use instead of the built-in one
    #[arg(long, value_name = "FILE")]
    pub(crate) presets: Option<PathBuf>,
}

pub(crate) fn run(arguments: &DeskArguments) -> Result<Outcome, RunError> {
    let limits = Limits::default();
    let mut read = ReadOptions::default();
    read.max_pixels = limits.pixels;
    let reader = Reader {
        presets: table(arguments.presets.as_deref())?,
        presets_file: arguments.presets.clone(),
        gels: GelTable::built_in()?,
        read,
    };
    let network = match arguments.listen {
        None => None,
        Some(Some(address)) => Some(address),
        Some(None) => Some(network_address()?),
    };
    let desk = Desk::open(Place { port: arguments.port, network }, limits, reader)?;
    let urls = desk.urls();
    desk.answer_until(stopped, || tell(&urls, emphasis()).map_err(RunError::from))?;
    writeln!(stdout(), "The desk is closed. Nothing was kept.")?;
    Ok(Outcome::AllRead)
}

/// Says where it is, how it ends, and what is kept.
fn tell(urls: &[String], emphasis: Emphasis) -> io::Result<()> {
    let mut out = stdout();
    if let Some(own) = urls.first() {
        writeln!(out, "The desk is open. On this machine, open in a browser:\n\n  {own}\n")?;
    }
    for url in urls.iter().skip(1) {
        writeln!(out, "On a phone or laptop in the same network, open or scan:\n\n  {url}\n")?;
        let coloured = !matches!(emphasis, Emphasis::None);
        for line in qr_code(url, coloured).unwrap_or_default().lines() {
            match coloured {
                // Black on white whatever the terminal's own colours are.
                true => writeln!(out, "  \x1b[30;107m{line}\x1b[0m")?,
                false => writeln!(out, "  {line}")?,
            }
        }
        writeln!(
            out,
            "\nWhoever has that address can use the desk, and what is sent is not encrypted:\n\
             use it only in a network that you trust.\n"
        )?;
    }
    writeln!(
        out,
        "The code in the address is for this run only. Photos are read in memory and\n\
         not kept; nothing is written to disk unless you save it from the browser.\n\n\
         Press Ctrl-C to end it."
    )?;
    out.flush()
}

/// Ctrl-C, or whatever else politely ends a program. From the call on it no longer ends this one by
/// itself.
#[cfg(unix)]
fn stopped() -> impl Future<Output = ()> {
    use tokio::signal::unix::{SignalKind, signal};
    let signals = [SignalKind::interrupt(), SignalKind::terminate()].map(|kind| signal(kind).ok());
    async move {
        let [interrupted, terminated] = signals.map(|signal| async {
            match signal {
                Some(mut signal) => drop(signal.recv().await),
                // Where it cannot be waited for, the system's own end of the program has to do.
                None => std::future::pending().await,
            }
        });
        tokio::select! {
            () = interrupted => {}
            () = terminated => {}
        }
    }
}

#[cfg(not(unix))]
async fn stopped() {
    // Where it cannot be waited for, the system's own end of the program has to do.
    if tokio::signal::ctrl_c().await.is_err() {
        std::future::pending::<()>().await;
    }
}

/// An address at which others find this machine.
fn own_address(text: &str) -> Result<IpAddr, String> {
    let address: IpAddr = text.parse().map_err(|error| format!("{error}"))?;
    if address.is_unspecified() || address.is_multicast() {
        return Err("that stands for many addresses, and the desk answers at one only; name this \
                    machine's own, as in --listen 192.168.1.20, or leave it away, and it is looked \
                    for"
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
