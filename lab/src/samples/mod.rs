//! The sample pictures: one day at the studio, white cards well and badly photographed, and frames that go with them.

mod bracket;
mod cards;
mod frames;
mod readme;
mod shoot;
mod shot;
mod studio;
mod truth;

use std::fs;
use std::path::Path;

use crate::error::LabError;
use crate::scene::Quality;

pub use shoot::{Taken, taken};
pub use shot::{Balance, Flicker, Kind, Meter, Shot};
pub use truth::Truth;

/// All sample shots in the order of the day.
#[must_use]
pub fn shots() -> Vec<Shot> {
    let mut shots = cards::shots();
    shots.extend(bracket::shots());
    shots.extend(frames::shots());
    shots.sort_by(|a, b| a.time.cmp(b.time));
    shots
}

/// Width and height in pixels, and rays a pixel, of the finished samples.
pub const FINISHED: Quality = Quality { width: 1140, height: 760, samples: 10, seed: 1 };

/// Takes the shots whose file names contain `only` (all for an empty one) and writes them to a folder; with all of
/// them, `truth.json` and `README.md` too. `progress` is told each file's name when it is written.
///
/// # Errors
/// Any of [`LabError`]: a table, a colour, an encoder or the folder.
pub fn write(
    folder: &Path,
    only: &str,
    quality: Quality,
    mut progress: impl FnMut(&Truth, &str),
) -> Result<(), LabError> {
    let put = |name: &str, bytes: &[u8]| {
        let path = folder.join(name);
        fs::write(&path, bytes).map_err(|source| LabError::Write { path, source })
    };
    fs::create_dir_all(folder)
        .map_err(|source| LabError::Write { path: folder.to_owned(), source })?;
    let mut album = Vec::new();
    for shot in shots().into_iter().filter(|shot| shot.file.contains(only)) {
        let Taken { bytes, truth } = taken(&shot, quality)?;
        put(shot.file, &bytes)?;
        progress(&truth, shot.file);
        album.push((shot, truth));
    }
    if only.is_empty() {
        put("truth.json", truth::json(&album)?.as_bytes())?;
        put("README.md", readme::text(&album).as_bytes())?;
    }
    Ok(())
}
