//! Corrections and proofs of frames that were checked.

use mirecast::grade::unique_names;
use mirecast::report::{CorrectionsPage, FrameRecord, GroupRecord};
use mirecast::still::ReadOptions;

use super::args::Format;
use super::batch::Batch;
use super::deciding::Picture;
use super::exit::RunError;
use super::frame_args::FramesArguments;
use super::grading::{Grading, Named, tell};
use super::proofs::{Proofs, Shown, Written};

/// What is to be made of frames once they are checked.
#[derive(Debug)]
pub(crate) struct FramesGrading {
    grading: Grading,
    proofs: Option<Proofs>,
    each_frame: bool,
    reading: ReadOptions,
}

/// What was made of them.
pub(crate) struct FramesGraded {
    page: CorrectionsPage,
    written: Written,
}

impl FramesGrading {
    /// `None` where neither corrections nor proofs were asked for. What is in the way of the files
    /// already is found before anything is read.
    pub(crate) fn begin(arguments: &FramesArguments) -> Result<Option<Self>, RunError> {
        let (targets, each_frame) = (&arguments.targets, arguments.each_frame);
        let named = if each_frame { Named::Pictures } else { Named::Groups };
        let corrections = targets.corrections.as_deref();
        let grading = Grading::begin(corrections, &arguments.grade, named)?;
        let existing = arguments.grade.existing;
        let reading = arguments.limits.reading();
        let proofs =
            targets.proofs.as_deref().map(|folder| Proofs::begin(folder, existing)).transpose()?;
        let unwritten = || proofs.is_some().then(|| Grading::unwritten(&arguments.grade, named));
        let grading = grading.or_else(unwritten);
        Ok(grading.map(|grading| Self { grading, proofs, each_frame, reading }))
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
        let (graded, graded_by) = if self.each_frame {
            let paths: Vec<_> = pictures.iter().map(|(path, _)| path.as_path()).collect();
            self.grading.deciding.by_frame(pictures, &unique_names(&paths), records)
        } else {
            self.grading.deciding.by_group(pictures, records, groups)
        };
        self.grading.write(&graded)?;
        let mut page = self.grading.page(&graded);
        let mut written = Written::default();
        if let Some(proofs) = &self.proofs {
            let plan = |index: &Option<usize>| graded.get((*index)?)?.decision.plan_made();
            let shown = pictures.iter().zip(&graded_by);
            let shown: Vec<_> = shown
                .filter_map(|((path, _), index)| Some(Shown { path, plan: plan(index)? }))
                .collect();
            written = proofs.write(batch, &self.reading, &shown)?;
            page.proofs = Some((proofs.folder(), written.frames));
        }
        Ok(FramesGraded { page, written })
    }
}

impl FramesGraded {
    /// Says what was made; returns how many proofs could not be.
    pub(crate) fn write(self, format: Format) -> Result<usize, RunError> {
        tell(&self.page, format)?;
        Ok(self.written.failed)
    }
}
