//! Small corrected copies of frames.

use std::path::{Path, PathBuf};

use mirecast::grade::{Plan, Proof, proof, unique_names};
use mirecast::report::plain_path;
use mirecast::still::{ReadOptions, read_reduced};

use super::batch::Batch;
use super::complain;
use super::exit::RunError;
use super::grading::{make_folder, refuse_existing};
use super::write_file::{Existing, write_file};

/// Long side of a copy, in pixels.
const LONG_SIDE: u32 = 1024;

/// Where proofs go.
#[derive(Debug)]
pub(crate) struct Proofs {
    folder: PathBuf,
    existing: Existing,
}

/// A frame and the correction that it is to be shown with.
pub(crate) struct Shown<'a> {
    pub(crate) path: &'a Path,
    pub(crate) plan: &'a Plan,
}

/// What came of it.
#[derive(Debug, Default)]
pub(crate) struct Written {
    pub(crate) frames: usize,
    pub(crate) failed: usize,
}

impl Proofs {
    /// Where they are to go, once nothing is in the way there.
    pub(crate) fn begin(folder: &Path, existing: Existing) -> Result<Self, RunError> {
        make_folder(folder)?;
        let is_proof = |path: &PathBuf| {
            let stem = path.file_stem().map(|stem| stem.to_string_lossy());
            stem.is_some_and(|stem| Proof::ALL.iter().any(|proof| stem.ends_with(proof.suffix())))
        };
        refuse_existing(folder, is_proof, existing)?;
        Ok(Self { folder: folder.to_path_buf(), existing })
    }

    pub(crate) fn folder(&self) -> String {
        plain_path(&self.folder)
    }

    /// Writes the proofs of frames, several at a time. A frame that cannot be read any more costs
    /// itself only.
    pub(crate) fn write(&self, batch: &Batch, shown: &[Shown<'_>]) -> Result<Written, RunError> {
        let paths: Vec<_> = shown.iter().map(|frame| frame.path).collect();
        let names = unique_names(&paths);
        let mut written = Written::default();
        let work = |index: &usize| -> Result<Vec<(PathBuf, Vec<u8>)>, String> {
            let (Some(frame), Some(name)) = (shown.get(*index), names.get(*index)) else {
                return Ok(Vec::new());
            };
            let picture = read_reduced(frame.path, LONG_SIDE, &ReadOptions::default())
                .map_err(|error| error.kind().to_string())?;
            let made = Proof::ALL.map(|which| {
                let file = self.folder.join(format!("{name}{}.png", which.suffix()));
                Ok((file, proof(&picture, frame.plan, which).map_err(|error| error.to_string())?))
            });
            made.into_iter().collect()
        };
        batch.in_order((0..shown.len()).map(Ok::<_, RunError>), work, |index, made| {
            match made.unwrap_or_else(|| Err("a fault in this program stopped it".to_owned())) {
                Ok(files) => {
                    files
                        .iter()
                        .try_for_each(|(path, bytes)| write_file(path, bytes, self.existing))?;
                    written.frames += 1;
                }
                Err(message) => {
                    let path = shown.get(*index).map(|frame| plain_path(frame.path));
                    complain(&format!("no proof of {}: {message}", path.unwrap_or_default()));
                    written.failed += 1;
                }
            }
            Ok(())
        })?;
        Ok(written)
    }
}
