//! `mirecast desk`: the page for those who would rather not type.

use std::io::{self, Write};

use mirecast::report::Emphasis;
use mirecast::still::ReadOptions;

use super::args::DeskArguments;
use super::exit::{Outcome, RunError};
use super::output::{emphasis, stdout};
use super::reading::{gels, table};
use crate::desk::{Desk, Limits, Place, Reader, network_address, qr_code};

pub(crate) fn run(arguments: &DeskArguments) -> Result<Outcome, RunError> {
    let limits = Limits::default();
    let mut read = ReadOptions::default();
    read.max_pixels = limits.pixels;
    let reader = Reader {
        presets: table(arguments.presets.as_deref())?,
        presets_file: arguments.presets.clone(),
        gels: gels(arguments.gels.as_deref())?,
        gels_file: arguments.gels.clone(),
        tolerance: arguments.tolerance.unwrap_or_default(),
        encoding: arguments.encoding,
        card_lab: arguments.card_lab,
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
