//! Small corrected copies of frames.

use std::path::{Path, PathBuf};

use mirecast::grade::{Plan, Proof, proof, unique_names};
use mirecast::report::{ErrorRecord, plain_path};
use mirecast::still::{ReadOptions, read_reduced};

use super::args::Existing;
use super::batch::Batch;
use super::complain;
use super::exit::RunError;
use super::grading::{make_folder, refuse_existing};
use super::write_file::write_file;

/// Long side of a copy, in pixels.
const LONG_SIDE: u32 = 1024;

/// Where proofs go.
#[derive(Debug)]
pub(crate) struct Proofs {
    folder: PathBuf,
    existing: Existing,
}

/// The files of one frame's proofs, or why there are none.
type Made = Result<Vec<(PathBuf, Vec<u8>)>, String>;

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
    pub(crate) fn write(
        &self,
        batch: &Batch,
        reading: &ReadOptions,
        shown: &[Shown<'_>],
    ) -> Result<Written, RunError> {
        let paths: Vec<_> = shown.iter().map(|frame| frame.path).collect();
        let names = unique_names(&paths);
        let mut written = Written::default();
        let jobs: Vec<_> = shown
            .iter()
            .zip(names)
            .map(|(frame, name)| (frame.path.to_path_buf(), name, frame.plan.clone()))
            .collect();
        let (folder, reading) = (self.folder.clone(), reading.clone());
        let work = move |(path, name, plan): &(PathBuf, String, Plan)| -> Made {
            let picture = read_reduced(path, LONG_SIDE, &reading)
                .map_err(|error| error.kind().to_string())?;
            let made = Proof::ALL.map(|which| {
                let file = folder.join(format!("{name}{}.png", which.suffix()));
                Ok((file, proof(&picture, plan, which).map_err(|error| error.to_string())?))
            });
            made.into_iter().collect()
        };
        let jobs = jobs.into_iter().map(Ok::<_, RunError>);
        batch.in_order(jobs, work, |(path, ..), made| {
            match made.unwrap_or_else(|lost| Err(ErrorRecord::from(lost).message)) {
                Ok(files) => {
                    files
                        .iter()
                        .try_for_each(|(file, bytes)| write_file(file, bytes, self.existing))?;
                    written.frames += 1;
                }
                Err(message) => {
                    complain(&format!("no proof of {}: {message}", plain_path(path)));
                    written.failed += 1;
                }
            }
            Ok(())
        })?;
        Ok(written)
    }
}
