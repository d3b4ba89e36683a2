//! Corrections and proofs of frames that were checked.

use std::path::PathBuf;

use mirecast::grade::{ColourSample, Decision, unique_names};
use mirecast::report::{CorrectionsPage, FrameRecord, GroupRecord, plain_path};
use mirecast::still::ReadOptions;

use super::args::Format;
use super::args::FramesArguments;
use super::batch::Batch;
use super::exit::RunError;
use super::grading::{Graded, Grading, Named, tell};
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

/// A frame's path, and the sample of its colours where it was read.
type Picture = (PathBuf, Option<ColourSample>);

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
            self.by_frame(pictures, records)
        } else {
            self.by_group(pictures, records, groups)
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

    /// The decisions, and for each frame which of them is its own.
    fn by_frame(
        &self,
        pictures: &[Picture],
        records: &mut [FrameRecord],
    ) -> (Vec<Graded>, Vec<Option<usize>>) {
        let paths: Vec<_> = pictures.iter().map(|(path, _)| path.as_path()).collect();
        let names = unique_names(&paths);
        let mut graded = Vec::new();
        let mut graded_by = Vec::new();
        for (((path, sample), record), name) in pictures.iter().zip(records).zip(names) {
            let Some(reading) = record.reading() else {
                graded_by.push(None);
                continue;
            };
            let options = &self.grading.options;
            let decision = Decision::of_frame(path, &name, reading, options, sample.as_ref());
            let one = self.grading.graded(plain_path(path), decision);
            record.correction = Some(one.record.clone());
            graded_by.push(Some(graded.len()));
            graded.push(one);
        }
        (graded, graded_by)
    }

    /// The decisions, and for each frame which of them is its group's.
    fn by_group(
        &self,
        pictures: &[Picture],
        records: &[FrameRecord],
        groups: &mut [GroupRecord],
    ) -> (Vec<Graded>, Vec<Option<usize>>) {
        let numbers: Vec<_> = groups.iter().map(|group| group.reading().group).collect();
        let group_of = |record: &FrameRecord| record.reading().and_then(|reading| reading.group);
        let graded = self.grading.groups(groups, |reading, options| {
            let inside = pictures
                .iter()
                .zip(records)
                .filter(|(_, record)| group_of(record) == Some(reading.group));
            let samples: Vec<_> = inside.filter_map(|((_, sample), _)| sample.as_ref()).collect();
            Decision::of_group(reading, options, &samples)
        });
        let place = |record: &FrameRecord| {
            let group = group_of(record)?;
            numbers.iter().position(|number| *number == group)
        };
        (graded, records.iter().map(place).collect())
    }
}

impl FramesGraded {
    /// Says what was made; returns how many proofs could not be.
    pub(crate) fn write(self, format: Format) -> Result<usize, RunError> {
        tell(&self.page, format)?;
        Ok(self.written.failed)
    }
}
