//! A whole run of the frame check, timed beside other ways to read the same pictures.
//!
//! Everything is run in turn, several times over, so that a machine that is busy with something else for a while is
//! so for all; medians are compared.

mod contender;
mod picture;

use std::path::Path;
use std::time::Duration;

use contender::Contender;
pub use picture::Kind;

use crate::LabError;

/// Different pictures among the files of a run; the others are copies of them under other names.
const DIFFERENT: usize = 6;

/// Renders pictures into a folder that is removed afterwards, times everything on them, and prints the medians and
/// how many times as fast the program is on two threads.
///
/// # Errors
/// [`LabError`] where a picture cannot be written or read, or the program does not run.
pub fn table(
    program: &Path,
    kind: Kind,
    pictures: usize,
    repeats: usize,
    quality: u8,
) -> Result<String, LabError> {
    let folder = tempfile::tempdir()
        .map_err(|source| LabError::Write { path: std::env::temp_dir(), source })?;
    let mut files = Vec::with_capacity(pictures);
    let mut bytes = 0;
    let mut rendered = Vec::new();
    for index in 0..pictures {
        if index < DIFFERENT {
            rendered.push(picture::render(kind, index as u64, quality)?);
        }
        let Some(jpeg) = rendered.get(index % DIFFERENT) else { continue };
        let path = folder.path().join(format!("{index:03}.jpg"));
        std::fs::write(&path, jpeg)
            .map_err(|source| LabError::Write { path: path.clone(), source })?;
        bytes += jpeg.len();
        files.push(path);
    }

    let contenders = Contender::all(program);
    let mut times = vec![Vec::with_capacity(repeats); contenders.len()];
    for _ in 0..repeats {
        for (contender, times) in contenders.iter().zip(&mut times) {
            times.push(contender.time(folder.path(), &files)?);
        }
    }
    let medians: Vec<Duration> = times.into_iter().map(median).collect();
    let own = medians.first().copied().unwrap_or_default().as_secs_f64();
    let megabytes = bytes as f64 / 1e6 / pictures.max(1) as f64;
    let mut lines = vec![format!(
        "{pictures} {kind} JPEGs of 12 megapixels, {megabytes:.1} MB each, {repeats} runs\n\
         {:<44} {:>9} {:>9} {:>7}",
        "", "s a run", "files/s", "times"
    )];
    for (contender, median) in contenders.iter().zip(medians) {
        let seconds = median.as_secs_f64();
        let (rate, times) = (pictures as f64 / seconds, seconds / own);
        lines.push(format!("{:<44} {seconds:>9.3} {rate:>9.1} {times:>7.2}", contender.name()));
    }
    lines.push(String::new());
    Ok(lines.join("\n"))
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times.get(times.len() / 2).copied().unwrap_or_default()
}
