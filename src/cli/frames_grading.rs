//! Corrections and proofs of frames that were checked.

use std::io;
use std::path::PathBuf;

use mirecast::colour::Xy;
use mirecast::frames::FrameOptions;
use mirecast::grade::unique_names;
use mirecast::report::{CorrectionsPage, FrameRecord, GroupRecord};
use mirecast::still::ReadOptions;

use super::args::Format;
use super::args::FramesArguments;
use super::batch::Batch;
use super::deciding::Picture;
use super::earlier_proof::is_called_as_proof;
use super::exit::RunError;
use super::grading::{Grading, Named, tell};
use super::inputs::is_input;
use super::proofs::{Proofs, Shown, Written};

/// What is to be made of frames once they are checked.
#[derive(Debug)]
pub(crate) struct FramesGrading {
    grading: Grading,
    proofs: Option<Proofs>,
    /// What the files of each picture are named after.
    names: Vec<String>,
    reading: ReadOptions,
    /// The balance that was stated for the frames.
    stated: Option<Xy>,
}

/// What was made of them.
pub(crate) struct FramesGraded {
    page: CorrectionsPage,
    written: Written,
}

impl FramesGrading {
    /// `None` where neither corrections nor proofs were asked for. What is in the way of the files of
    /// these pictures already is found before anything is read.
    pub(crate) fn begin(
        arguments: &FramesArguments,
        options: &FrameOptions,
        pictures: &[PathBuf],
    ) -> Result<Option<Self>, RunError> {
        let targets = &arguments.targets;
        let names = unique_names(pictures);
        // Proofs of an earlier run that are checked as frames now are not written over.
        pictures.iter().filter(|path| is_called_as_proof(path)).for_each(|path| is_input(path));
        let named = if arguments.each_frame { Named::Pictures(&names) } else { Named::Groups };
        let corrections = targets.corrections.as_deref();
        let grading = Grading::begin(corrections, &arguments.grade, named)?;
        let existing = arguments.grade.existing;
        let (reading, stated) = (arguments.limits.reading(), options.stated());
        let proofs = targets.proofs.as_deref();
        let proofs = proofs.map(|folder| Proofs::begin(folder, &names, existing)).transpose()?;
        let unwritten = || proofs.is_some().then(|| Grading::unwritten(&arguments.grade, named));
        let grading = grading.or_else(unwritten);
        Ok(grading.map(|grading| Self { grading, proofs, names, reading, stated }))
    }

    /// Decides on corrections, puts them into the records, and writes all files; `pictures` are
    /// those of the records, one each.
    pub(crate) fn finish(
        self,
        batch: &Batch,
        pictures: &[Picture],
        records: &mut [FrameRecord],
        groups: &mut [GroupRecord],
    ) -> Result<FramesGraded, RunError> {
        let deciding = &self.grading.deciding;
        let (graded, graded_by) = if self.grading.is_by_group() {
            deciding.by_group(pictures, records, groups)
        } else {
            deciding.by_frame(pictures, &self.names, records)
        };
        self.grading.write(&graded)?;
        let mut page = self.grading.page(&graded);
        let mut written = Written::default();
        if let Some(proofs) = &self.proofs {
            let plan = |index: &Option<usize>| graded.get((*index)?)?.decision.plan_made();
            let shown = pictures.iter().zip(&self.names).zip(&graded_by);
            let shown: Vec<_> = shown
                .filter_map(|(((path, _), name), index)| {
                    Some(Shown { path, name, plan: plan(index)? })
                })
                .collect();
            written = proofs.write(batch, &self.reading, self.stated, &shown)?;
            page.proofs = Some((proofs.folder(), written.frames));
        }
        Ok(FramesGraded { page, written })
    }
}

impl FramesGraded {
    /// Says what was made.
    pub(crate) fn tell(&self, format: Format) -> io::Result<()> {
        tell(&self.page, format)
    }

    /// What there is to say about it.
    pub(crate) fn page(&self) -> &CorrectionsPage {
        &self.page
    }

    /// How many proofs could not be made.
    pub(crate) fn failed(&self) -> usize {
        self.written.failed
    }
}
