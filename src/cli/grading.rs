//! Corrections on their way into a folder.

use std::fs;
use std::path::{Path, PathBuf};

use mirecast::frames::GroupReading;
use mirecast::grade::{
    CorrectionRecord, Decision, GradeOptions, Plan, cc_file, ccc_file, clf_file,
};
use mirecast::report::{
    CorrectionLine, CorrectionsPage, GroupRecord, plain_path, write_corrections_text,
};

use super::args::Existing;
use super::args::Format;
use super::args::GradeArguments;
use super::complain;
use super::exit::RunError;
use super::output::stdout;
use super::write_file::write_file;

const COLLECTION: &str = "corrections.ccc";

/// Where corrections go, and how they are made.
#[derive(Debug)]
pub(crate) struct Grading {
    pub(crate) options: GradeOptions,
    folder: Option<PathBuf>,
    existing: Existing,
    named: Named,
}

/// What the files are named after.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Named {
    Groups,
    Pictures,
}

/// A correction's label, what was decided and, where it is made, the names of its files.
pub(crate) struct Graded {
    pub(crate) label: String,
    pub(crate) decision: Decision,
    pub(crate) record: CorrectionRecord,
}

impl Grading {
    /// `None` where no folder was named for corrections.
    ///
    /// What is in the way already is found before anything is read, and the folder is made.
    pub(crate) fn begin(
        folder: Option<&Path>,
        arguments: &GradeArguments,
        named: Named,
    ) -> Result<Option<Self>, RunError> {
        folder.map(|folder| Self::into_folder(folder, arguments, named)).transpose()
    }

    fn into_folder(
        folder: &Path,
        arguments: &GradeArguments,
        named: Named,
    ) -> Result<Self, RunError> {
        make_folder(folder)?;
        let in_the_way = |path: &PathBuf| {
            path.file_name().is_some_and(|name| name == COLLECTION)
                || (named == Named::Groups && is_of_a_group(path))
        };
        refuse_existing(folder, in_the_way, arguments.existing)?;
        let folder = Some(folder.to_path_buf());
        Ok(Self { folder, ..Self::unwritten(arguments, named) })
    }

    /// Corrections that no file is made of.
    pub(crate) fn unwritten(arguments: &GradeArguments, named: Named) -> Self {
        let (options, existing) = (arguments.options(), arguments.existing);
        Self { options, folder: None, existing, named }
    }

    /// The names of a plan's files; none where no folder was named for them.
    fn files(&self, plan: &Plan) -> Vec<String> {
        let named = |extension| format!("{}.{extension}", plan.id());
        if self.folder.is_some() { ["cc", "clf"].map(named).to_vec() } else { Vec::new() }
    }

    /// Decides on each group, and writes it into its record.
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

    pub(crate) fn graded(&self, label: String, decision: Decision) -> Graded {
        let files = decision.plan_made().map(|plan| self.files(plan)).unwrap_or_default();
        Graded { label, record: CorrectionRecord::of(&decision, &files), decision }
    }

    /// Writes the files of all corrections that are made, or none of them where one is in the way.
    pub(crate) fn write(&self, graded: &[Graded]) -> Result<(), RunError> {
        let Some(folder) = &self.folder else { return Ok(()) };
        let plans: Vec<_> = graded.iter().filter_map(|one| one.decision.plan_made()).collect();
        if plans.is_empty() {
            return Ok(());
        }
        let mut files = Vec::new();
        for plan in &plans {
            files.push((format!("{}.cc", plan.id()), cc_file(plan)?));
            files.push((format!("{}.clf", plan.id()), clf_file(plan)?));
        }
        files.push((COLLECTION.to_owned(), ccc_file(&plans)?));
        let names: Vec<_> = files.iter().map(|(name, _)| folder.join(name)).collect();
        if !self.existing.force
            && let Some(there) = names.iter().find(|path| path.symlink_metadata().is_ok())
        {
            return Err(RunError::Exists(there.clone()));
        }
        names
            .iter()
            .zip(&files)
            .try_for_each(|(path, (_, bytes))| write_file(path, bytes, self.existing))
    }

    /// What there is to say about them.
    pub(crate) fn page(&self, graded: &[Graded]) -> CorrectionsPage {
        CorrectionsPage {
            folder: self.folder.as_deref().map(plain_path),
            footage: self.options.footage.to_string(),
            strength: self.options.strength.to_string(),
            lines: graded
                .iter()
                .map(|one| CorrectionLine {
                    label: one.label.clone(),
                    correction: one.record.clone(),
                })
                .collect(),
            left_over: self.left_over(graded),
            proofs: None,
        }
    }

    /// Groups' files of an earlier run, which belong to other groups now.
    fn left_over(&self, graded: &[Graded]) -> Vec<String> {
        let Some(folder) = self.folder.as_deref().filter(|_| self.named == Named::Groups) else {
            return Vec::new();
        };
        let ours = |name: &str| {
            graded
                .iter()
                .filter_map(|one| one.record.made.as_ref())
                .any(|made| made.files.iter().any(|file| file == name))
        };
        let mut names: Vec<_> = entries(folder)
            .filter(|path| is_of_a_group(path))
            .filter_map(|path| Some(path.file_name()?.to_str()?.to_owned()))
            .filter(|name| !ours(name))
            .collect();
        names.sort();
        names
    }
}

/// Says what became of corrections: in text after the results, else, what there is to mind, on
/// standard error; the records hold the rest.
pub(crate) fn tell(page: &CorrectionsPage, format: Format) -> Result<(), RunError> {
    if format == Format::Text {
        return Ok(write_corrections_text(&mut stdout(), page)?);
    }
    for line in &page.lines {
        let correction = &line.correction;
        let warnings = correction.made.iter().flat_map(|made| &made.warnings);
        for said in correction.reason.iter().chain(warnings) {
            complain(&format!("{}: {said}", line.label));
        }
    }
    if !page.left_over.is_empty() {
        complain(&format!("still there from an earlier run: {}", page.left_over.join(", ")));
    }
    Ok(())
}

/// Makes a folder to write into, if it is not there.
pub(crate) fn make_folder(folder: &Path) -> Result<(), RunError> {
    if folder.exists() && !folder.is_dir() {
        return Err(RunError::NotAFolder(folder.to_path_buf()));
    }
    fs::create_dir_all(folder)
        .map_err(|source| RunError::Write { path: folder.to_path_buf(), source })
}

/// Refuses a folder in which one of the files is that would be written.
pub(crate) fn refuse_existing(
    folder: &Path,
    in_the_way: impl Fn(&PathBuf) -> bool,
    existing: Existing,
) -> Result<(), RunError> {
    let found = if existing.force { None } else { entries(folder).find(in_the_way) };
    found.map_or(Ok(()), |path| Err(RunError::Exists(path)))
}

fn entries(folder: &Path) -> impl Iterator<Item = PathBuf> {
    fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path())
}

/// Whether a file is called as a group's are.
fn is_of_a_group(path: &Path) -> bool {
    let Some(name) = path.file_name().and_then(|name| name.to_str()) else { return false };
    let number = name
        .strip_prefix("group-")
        .and_then(|rest| rest.strip_suffix(".cc").or_else(|| rest.strip_suffix(".clf")));
    number.is_some_and(|number| !number.is_empty() && number.bytes().all(|b| b.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_called_as_a_groups_file_is_one() {
        for (name, is) in [
            ("group-1.cc", true),
            ("group-12.clf", true),
            ("group-.cc", false),
            ("group-1.ccc", false),
            ("group-a.cc", false),
            ("my-group-1.cc", false),
        ] {
            assert_eq!(is_of_a_group(&Path::new("grade").join(name)), is, "{name}");
        }
    }
}
