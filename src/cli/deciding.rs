//! What was read → corrections, decided on; shared by the commands and the desk.

use std::path::{Path, PathBuf};

use mirecast::frames::GroupReading;
use mirecast::grade::{ColourSample, CorrectionRecord, Decision, GradeOptions, Plan, file_names};
use mirecast::report::{CorrectionLine, FrameRecord, GroupRecord, PhotoRecord, plain_path};

/// How corrections are decided on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Deciding {
    pub(crate) options: GradeOptions,
    /// Whether files are made of them, which the records then name.
    pub(crate) with_files: bool,
}

/// A correction's label, what was decided and, where it is made, the names of its files.
pub(crate) struct Graded {
    pub(crate) label: String,
    pub(crate) decision: Decision,
    pub(crate) record: CorrectionRecord,
}

/// A frame's path, and the sample of its colours where it was read.
pub(crate) type Picture = (PathBuf, Option<ColourSample>);

impl Deciding {
    fn graded(&self, label: String, decision: Decision) -> Graded {
        let made = decision.plan_made().filter(|_| self.with_files);
        let files = made.map(|plan| file_names(plan.id()).to_vec()).unwrap_or_default();
        Graded { label, record: CorrectionRecord::of(&decision, &files), decision }
    }

    /// On a card, of which files are to be called `name`; writes it into its record. `None` where
    /// the photo could not be read.
    pub(crate) fn card(&self, path: &Path, name: &str, record: &mut PhotoRecord) -> Option<Graded> {
        let decision = Decision::of_card(path, name, record.reading()?, &self.options);
        let one = self.graded(plain_path(path), decision);
        record.correction = Some(one.record.clone());
        Some(one)
    }

    /// On each group, and writes it into its record.
    pub(crate) fn groups(
        &self,
        groups: &mut [GroupRecord],
        decide: impl Fn(&GroupReading, &GradeOptions) -> Decision,
    ) -> Vec<Graded> {
        let decided = groups.iter_mut().map(|group| {
            let reading = group.reading();
            let label = format!("Group {}", reading.group);
            let graded = self.graded(label, decide(reading, &self.options));
            group.correction = Some(graded.record.clone());
            graded
        });
        decided.collect()
    }

    /// On each frame by itself, and for each frame which of the decisions is its own; `pictures` are
    /// those of the records, and `names` what their files are called, one each.
    pub(crate) fn by_frame(
        &self,
        pictures: &[Picture],
        names: &[String],
        records: &mut [FrameRecord],
    ) -> (Vec<Graded>, Vec<Option<usize>>) {
        let mut graded = Vec::new();
        let mut graded_by = Vec::new();
        for (((path, sample), record), name) in pictures.iter().zip(records).zip(names) {
            let Some(reading) = record.reading() else {
                graded_by.push(None);
                continue;
            };
            let decision = Decision::of_frame(path, name, reading, &self.options, sample.as_ref());
            let one = self.graded(plain_path(path), decision);
            record.correction = Some(one.record.clone());
            graded_by.push(Some(graded.len()));
            graded.push(one);
        }
        (graded, graded_by)
    }

    /// On each group with what its pictures bear, and for each frame which of the decisions is its
    /// group's.
    pub(crate) fn by_group(
        &self,
        pictures: &[Picture],
        records: &[FrameRecord],
        groups: &mut [GroupRecord],
    ) -> (Vec<Graded>, Vec<Option<usize>>) {
        let numbers: Vec<_> = groups.iter().map(|group| group.reading().group).collect();
        let group_of = |record: &FrameRecord| record.reading().and_then(|reading| reading.group);
        let graded = self.groups(groups, |reading, options| {
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

/// Those that are made.
pub(crate) fn plans(graded: &[Graded]) -> Vec<&Plan> {
    graded.iter().filter_map(|one| one.decision.plan_made()).collect()
}

/// What is said of them.
pub(crate) fn lines(graded: &[Graded]) -> Vec<CorrectionLine> {
    let line =
        |one: &Graded| CorrectionLine { label: one.label.clone(), correction: one.record.clone() };
    graded.iter().map(line).collect()
}
