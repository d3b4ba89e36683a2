//! Small corrected copies of frames.

use std::path::{Path, PathBuf};

use mirecast::colour::Xy;
use mirecast::grade::{Plan, Proof, proof};
use mirecast::report::{ErrorRecord, plain_path};
use mirecast::still::{ReadOptions, read_reduced};

use super::args::Existing;
use super::batch::Batch;
use super::complaint::{complain, whole_path};
use super::exit::RunError;
use super::write_file::{Kind, make_folder, may_be_made, may_be_written, write_file};

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
    /// What its proofs are named after.
    pub(crate) name: &'a str,
    pub(crate) plan: &'a Plan,
}

/// What came of it.
#[derive(Debug, Default)]
pub(crate) struct Written {
    pub(crate) frames: usize,
    pub(crate) failed: usize,
}

impl Proofs {
    /// Where the proofs of pictures of these names are to go, once nothing is in the way there.
    pub(crate) fn begin(
        folder: &Path,
        names: &[String],
        existing: Existing,
    ) -> Result<Self, RunError> {
        may_be_made(folder)?;
        let mut files = names.iter().flat_map(|name| Proof::ALL.map(|which| file(name, which)));
        files.try_for_each(|file| may_be_written(&folder.join(file), Kind::Proof, existing))?;
        Ok(Self { folder: folder.to_path_buf(), existing })
    }

    pub(crate) fn folder(&self) -> String {
        plain_path(&self.folder)
    }

    /// Writes the proofs of frames, several at a time. A frame that cannot be read any more costs
    /// itself only. Raw ones are shown in `balance`, where one was stated.
    pub(crate) fn write(
        &self,
        batch: &Batch,
        reading: &ReadOptions,
        balance: Option<Xy>,
        shown: &[Shown<'_>],
    ) -> Result<Written, RunError> {
        let mut written = Written::default();
        let jobs: Vec<_> = shown
            .iter()
            .map(|frame| (frame.path.to_path_buf(), frame.name.to_owned(), frame.plan.clone()))
            .collect();
        let (folder, reading) = (self.folder.clone(), reading.clone());
        let work = move |(path, name, plan): &(PathBuf, String, Plan)| -> Made {
            let picture = read_reduced(path, LONG_SIDE, balance, &reading)
                .map_err(|error| error.kind().to_string())?;
            let made = Proof::ALL.map(|which| {
                let file = folder.join(file(name, which));
                Ok((file, proof(&picture, plan, which).map_err(|error| error.to_string())?))
            });
            made.into_iter().collect()
        };
        let jobs = jobs.into_iter().map(Ok::<_, RunError>);
        batch.in_order(jobs, work, |(path, ..), made| {
            match made.unwrap_or_else(|lost| Err(ErrorRecord::from(lost).message)) {
                Ok(files) => {
                    make_folder(&self.folder)?;
                    files.iter().try_for_each(|(file, bytes)| {
                        write_file(file, bytes, Kind::Proof, self.existing)
                    })?;
                    written.frames += 1;
                }
                Err(message) => {
                    complain(&format!("no proof of {}: {message}", whole_path(path)));
                    written.failed += 1;
                }
            }
            Ok(())
        })?;
        Ok(written)
    }
}

/// The name of a proof's file.
fn file(name: &str, which: Proof) -> String {
    format!("{name}{}.png", which.suffix())
}
