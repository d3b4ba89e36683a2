//! The child: runs inputs one after the other and says of each when it begins and how it ended.

use std::io::{self, Write};
use std::panic::{self, AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;
use std::time::Instant;

use lab::Rng;

use crate::processor;
use crate::targets::Target;

/// The stream that an input is made from.
pub(crate) fn stream(name: &str, seed: u64, index: u64) -> Rng {
    let add = |mark: u64, byte: u8| mark.wrapping_mul(31).wrapping_add(byte.into());
    let mark = name.bytes().fold(seed, add);
    Rng::stream(mark, index)
}

/// The panics of the input in hand, those that somebody catches among them.
static PANICS: Mutex<Vec<String>> = Mutex::new(Vec::new());

fn note_panics() {
    panic::set_hook(Box::new(|info| {
        let place = info.location().map_or_else(String::new, |at| format!("{at}"));
        let payload = info.payload();
        let text = payload.downcast_ref::<&str>().copied();
        let said = text.or_else(|| payload.downcast_ref::<String>().map(String::as_str));
        let said = said.unwrap_or("no message");
        if let Ok(mut panics) = PANICS.lock() {
            panics.push(format!("{place}: {}", said.lines().next().unwrap_or_default()));
        }
    }));
}

/// Runs the inputs of a target from a number on, until nobody listens any more.
///
/// # Errors
/// What standard output says, when the parent has gone.
pub fn work(name: &str, target: &dyn Target, seed: u64, from: u64) -> io::Result<()> {
    note_panics();
    let mut out = io::stdout().lock();
    let most = target.memory_kib();
    let mut told = false;
    for index in from.. {
        // Before the input is made, so that what ends the child in that is told of the right one.
        let worked = processor::time_of("self").unwrap_or_default().as_millis();
        writeln!(out, "begin {index} {worked}")?;
        out.flush()?;
        let input = target.input(&mut stream(name, seed, index));
        let start = Instant::now();
        let end = catch_unwind(AssertUnwindSafe(|| target.run(&input)));
        let micros = start.elapsed().as_micros();
        let panics = PANICS.lock().map(|mut panics| std::mem::take(&mut *panics));
        let ours = |panic: &String| !target.forgives(panic);
        for panic in panics.unwrap_or_default().into_iter().filter(ours) {
            writeln!(out, "panic {index} {panic}")?;
        }
        let end = match end {
            Ok(Ok(end)) => end,
            Ok(Err(what)) => {
                writeln!(out, "wrong {index} {}", what.escape_debug())?;
                "wrong".to_owned()
            }
            Err(_) => "panic".to_owned(),
        };
        let held = peak_kib();
        if held > most && !told {
            // Once a child: its peak does not go down again.
            told = true;
            writeln!(out, "memory {index} {} MiB held, {} wanted", held >> 10, most >> 10)?;
        }
        writeln!(out, "end {index} {micros} {held} {end}")?;
    }
    Ok(())
}

/// The most memory that this process ever held; 0 where the system does not say.
fn peak_kib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.split_whitespace().next()?.parse().ok()).unwrap_or(0)
}

/// The input of a number, as a child makes it.
#[must_use]
pub fn input(name: &str, target: &dyn Target, seed: u64, index: u64) -> Vec<u8> {
    target.input(&mut stream(name, seed, index))
}
