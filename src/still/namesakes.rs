//! The files beside a picture that are called like it but for their ending.
//!
//! There are some sixty endings to ask for. Asked one by one that takes longer than all else about a small picture,
//! and on a drive in the network far longer; so the folder is listed, once for all the pictures in it.

use std::collections::HashMap;
use std::ffi::{OsStr, OsString};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant, SystemTime};

/// For so long a listing is good at most, where a drive does not say when a folder changes.
const GOOD_FOR: Duration = Duration::from_secs(2);
/// The clocks of drives go by steps of up to this: what was put there meanwhile would not show.
const STEP: Duration = Duration::from_secs(2);

/// The folder that was asked about last.
static LAST: Mutex<Option<Arc<Folder>>> = Mutex::new(None);

/// The files beside a picture that share its name.
pub(super) struct Namesakes {
    folder: Arc<Folder>,
    name: OsString,
}

impl Namesakes {
    /// Those of a picture. None where its folder cannot be listed.
    pub(super) fn of(picture: &Path) -> Self {
        let path = match picture.parent() {
            Some(parent) if parent != Path::new("") => parent,
            _ => Path::new("."),
        };
        let mut last = LAST.lock().unwrap_or_else(PoisonError::into_inner);
        let folder = match last.as_ref().filter(|folder| folder.is_good_for(path)) {
            Some(folder) => folder.clone(),
            None => last.insert(Arc::new(Folder::list(path))).clone(),
        };
        Self { folder, name: picture.file_name().unwrap_or_default().to_owned() }
    }

    /// Those that end so instead of as the picture does, whatever the case of the letters, in the order of their
    /// names: `a.dng` and `a.DNG` beside `a.jpg`.
    pub(super) fn ending_in(&self, ending: &str) -> Vec<PathBuf> {
        let stem = Path::new(&self.name).file_stem().unwrap_or_default();
        self.folder.files(stem, ending)
    }

    /// Those that end so besides as the picture does: `a.jpg.xmp` beside `a.jpg`.
    pub(super) fn with_appended(&self, ending: &str) -> Vec<PathBuf> {
        self.folder.files(&self.name, ending)
    }
}

/// The names in a folder.
struct Folder {
    path: PathBuf,
    listed: Instant,
    /// When the folder had last changed by then; `None` where that was too short a time before, or is not known.
    changed: Option<SystemTime>,
    /// By what comes before the last ending.
    names: HashMap<OsString, Vec<OsString>>,
}

impl Folder {
    fn list(path: &Path) -> Self {
        let listed = Instant::now();
        // A camera's clock may be ahead of this machine's.
        let settled = |changed: &SystemTime| {
            changed.elapsed().unwrap_or_else(|ahead| ahead.duration()) > STEP
        };
        let changed = changed(path).filter(settled);
        let mut names: HashMap<OsString, Vec<OsString>> = HashMap::new();
        for entry in fs::read_dir(path).into_iter().flatten().flatten() {
            let name = entry.file_name();
            if let Some(stem) = Path::new(&name).file_stem() {
                names.entry(stem.to_owned()).or_default().push(name);
            }
        }
        names.values_mut().for_each(|names| names.sort());
        Self { path: path.to_owned(), listed, changed, names }
    }

    fn is_good_for(&self, path: &Path) -> bool {
        self.path == path
            && self.listed.elapsed() < GOOD_FOR
            && self.changed.is_some_and(|known| changed(path) == Some(known))
    }

    fn files(&self, stem: &OsStr, ending: &str) -> Vec<PathBuf> {
        let ends_so = |name: &&OsString| {
            Path::new(name).extension().is_some_and(|own| own.eq_ignore_ascii_case(ending))
        };
        let names = self.names.get(stem).into_iter().flatten();
        names.filter(ends_so).map(|name| self.path.join(name)).collect()
    }
}

fn changed(folder: &Path) -> Option<SystemTime> {
    folder.metadata().and_then(|metadata| metadata.modified()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn those_of_the_same_name_are_found_whatever_their_case() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["a.jpg", "a.dng", "a.DNG", "a.xmp", "a.jpg.XMP", "b.dng", "a.b.dng", "dng"] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        let beside = Namesakes::of(&folder.path().join("a.jpg"));
        let names = |paths: Vec<PathBuf>| -> Vec<String> {
            let name = |path: &PathBuf| path.file_name().unwrap().to_string_lossy().into_owned();
            paths.iter().map(name).collect()
        };
        assert_eq!(names(beside.ending_in("dng")), ["a.DNG", "a.dng"]);
        assert_eq!(names(beside.ending_in("xmp")), ["a.xmp"]);
        assert_eq!(names(beside.with_appended("xmp")), ["a.jpg.XMP"]);
        assert!(beside.ending_in("tif").is_empty());
    }

    #[test]
    fn what_comes_later_is_found() {
        let folder = tempfile::tempdir().unwrap();
        let picture = folder.path().join("a.jpg");
        assert!(Namesakes::of(&picture).ending_in("dng").is_empty());
        fs::write(folder.path().join("a.dng"), "x").unwrap();
        assert_eq!(Namesakes::of(&picture).ending_in("dng").len(), 1);
    }

    #[test]
    fn a_folder_that_is_not_there_has_none() {
        assert!(Namesakes::of(Path::new("no/such/folder/a.jpg")).ending_in("dng").is_empty());
    }
}
