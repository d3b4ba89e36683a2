//! Corrections on their way into a folder.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use mirecast::frames::natural_order;
use mirecast::grade::{COLLECTION, correction_files, file_names};
use mirecast::report::{CorrectionsPage, plain_path, write_corrections_text};

use super::args::Existing;
use super::args::Format;
use super::args::GradeArguments;
use super::complaint::{complain, whole};
use super::deciding::{Deciding, Graded, lines, plans};
use super::exit::RunError;
use super::output::stdout;
use super::write_file::{Kind, may_be_made, may_be_written, write_files};

/// Where corrections go, and how they are made.
#[derive(Debug)]
pub(crate) struct Grading {
    pub(crate) deciding: Deciding,
    folder: Option<PathBuf>,
    existing: Existing,
    by_group: bool,
}

/// What the files are named after.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Named<'a> {
    Groups,
    /// By these names, one a picture.
    Pictures(&'a [String]),
}

impl Grading {
    /// `None` where no folder was named for corrections.
    ///
    /// What is in the way already is found before anything is read; the folder is made once there is something to
    /// write into it.
    pub(crate) fn begin(
        folder: Option<&Path>,
        arguments: &GradeArguments,
        named: Named<'_>,
    ) -> Result<Option<Self>, RunError> {
        let Some(folder) = folder else { return Ok(None) };
        may_be_made(folder)?;
        let files: Vec<PathBuf> = match named {
            // How many there will be is not known yet.
            Named::Groups => entries(folder).filter(|path| is_of_a_group(path)).collect(),
            Named::Pictures(names) => {
                names.iter().flat_map(|name| file_names(name)).map(|f| folder.join(f)).collect()
            }
        };
        files
            .iter()
            .chain([&folder.join(COLLECTION)])
            .try_for_each(|path| may_be_written(path, Kind::Text, arguments.existing))?;
        Ok(Some(Self::new(Some(folder), arguments, named)))
    }

    /// Corrections that no file is made of.
    pub(crate) fn unwritten(arguments: &GradeArguments, named: Named<'_>) -> Self {
        Self::new(None, arguments, named)
    }

    fn new(folder: Option<&Path>, arguments: &GradeArguments, named: Named<'_>) -> Self {
        Self {
            deciding: Deciding { options: arguments.options(), with_files: folder.is_some() },
            folder: folder.map(Path::to_path_buf),
            existing: arguments.existing,
            by_group: named == Named::Groups,
        }
    }

    /// Whether each group has its correction, and not each picture.
    pub(crate) fn is_by_group(&self) -> bool {
        self.by_group
    }

    /// Writes the files of all corrections that are made, or none of them where one is in the way.
    pub(crate) fn write(&self, graded: &[Graded]) -> Result<(), RunError> {
        let Some(folder) = &self.folder else { return Ok(()) };
        let files = correction_files(&plans(graded))?.into_iter();
        let files: Vec<_> = files.map(|file| (folder.join(file.name), file.bytes)).collect();
        write_files(folder, &files, Kind::Text, self.existing)
    }

    /// What there is to say about them.
    pub(crate) fn page(&self, graded: &[Graded]) -> CorrectionsPage {
        CorrectionsPage {
            folder: self.folder.as_deref().map(plain_path),
            footage: self.deciding.options.footage.to_string(),
            strength: self.deciding.options.strength,
            lines: lines(graded),
            left_over: self.left_over(graded),
            proofs: None,
        }
    }

    /// Corrections in the folder that this run did not write: they are of other groups or pictures, and
    /// who loads the whole folder loads them too.
    fn left_over(&self, graded: &[Graded]) -> Vec<String> {
        let Some(folder) = &self.folder else { return Vec::new() };
        let made: Vec<_> = graded
            .iter()
            .filter_map(|one| one.record.made.as_ref())
            .flat_map(|m| &m.files)
            .collect();
        let is_ours = |name: &str| {
            made.iter().any(|file| *file == name) || name == COLLECTION && !made.is_empty()
        };
        let mut names: Vec<_> = entries(folder)
            .filter(|path| is_correction(path))
            .filter_map(|path| Some(path.file_name()?.to_string_lossy().into_owned()))
            .filter(|name| !is_ours(name))
            .collect();
        names.sort_by(|a, b| natural_order(a, b));
        names
    }
}

/// Says what became of corrections: in text after the results, else, what there is to mind, on
/// standard error; the records hold the rest.
pub(crate) fn tell(page: &CorrectionsPage, format: Format) -> io::Result<()> {
    if format == Format::Text {
        return write_corrections_text(&mut stdout(), page);
    }
    for line in &page.lines {
        let correction = &line.correction;
        let warnings = correction.made.iter().flat_map(|made| &made.warnings);
        for said in correction.reason.iter().chain(warnings) {
            complain(&format!("{}: {said}", whole(&line.label)));
        }
    }
    if let Some(left_over) = page.left_over_in_words(whole) {
        complain(&left_over);
    }
    Ok(())
}

fn entries(folder: &Path) -> impl Iterator<Item = PathBuf> {
    fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path())
}

/// Whether a file is called as one of corrections is.
fn is_correction(path: &Path) -> bool {
    let ending = path.extension().and_then(|ending| ending.to_str());
    ending.is_some_and(|ending| matches!(ending, "cc" | "ccc" | "clf"))
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
