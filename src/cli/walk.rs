//! Folders → the pictures in them.

use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use mirecast::frames::natural_order;
use mirecast::in_system_words;
use mirecast::report::ErrorRecord;

use super::earlier_proof::is_earlier_proof;
use super::passed_over::PassedOver;
use super::picture_name::PictureName;

/// One thing to check.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Found {
    /// A file to read.
    Picture(PathBuf),
    /// A folder that cannot be looked into.
    Closed(PathBuf, ErrorRecord),
}

impl Found {
    pub(crate) fn path(&self) -> &PathBuf {
        match self {
            Self::Picture(path) | Self::Closed(path, _) => path,
        }
    }
}

/// A path without links, as far as it leads somewhere.
pub(crate) fn real_path(path: &Path) -> PathBuf {
    path.canonicalize().unwrap_or_else(|_| path.to_path_buf())
}

/// Tells what has come already, by another name too: a photo that counts twice would bear witness to
/// its own cast.
#[derive(Debug, Default)]
pub(crate) struct Once {
    /// Whether it came again.
    seen: HashMap<PathBuf, bool>,
}

impl Once {
    /// Whether a path leads to what has not come yet; counts what comes again.
    pub(crate) fn is_new(&mut self, path: &Path, passed: &PassedOver) -> bool {
        // What is not there is told once, too.
        match self.seen.entry(real_path(path)) {
            Entry::Vacant(new) => {
                new.insert(false);
                true
            }
            Entry::Occupied(mut old) => {
                if !old.insert(true) {
                    passed.count_again();
                }
                false
            }
        }
    }
}

/// A path itself if it is no folder, else the pictures in it and in the folders in it, by name as
/// people count, files before folders. What is hidden is passed over, and so are links to folders:
/// they may lead in a circle. A raw file is passed over where the finished picture of the same shot
/// lies beside it.
pub(crate) fn walk(path: PathBuf, passed: PassedOver) -> impl Iterator<Item = Found> + Send {
    // The last is taken next.
    let mut waiting = vec![Step::Given(path)];
    std::iter::from_fn(move || {
        loop {
            let folder = match waiting.pop()? {
                Step::Given(path) if path.is_dir() => path,
                Step::Given(path) | Step::Picture(path) => return Some(Found::Picture(path)),
                Step::Folder(path) => path,
            };
            let (steps, error) = inside(&folder, &passed);
            waiting.extend(steps.into_iter().rev());
            if let Some(error) = error {
                let error = ErrorRecord { code: "io".to_owned(), message: closed(&error) };
                return Some(Found::Closed(folder, error));
            }
        }
    })
}

/// What is said of a folder that cannot be looked into.
pub(crate) fn closed(error: &io::Error) -> String {
    format!(
        "the folder cannot be looked into ({}). Check that it may be opened and that its drive is \
         connected.",
        in_system_words(error)
    )
}

enum Step {
    /// As the user gave it.
    Given(PathBuf),
    Picture(PathBuf),
    Folder(PathBuf),
}

/// What is in a folder, and what kept it from being looked through to its end, as when its drive is
/// pulled out.
fn inside(folder: &Path, passed: &PassedOver) -> (Vec<Step>, Option<io::Error>) {
    let mut files = Vec::new();
    let mut folders = Vec::new();
    let mut look = || -> io::Result<()> {
        for entry in fs::read_dir(folder)? {
            let entry = entry?;
            let name = entry.file_name().to_string_lossy().into_owned();
            if name.starts_with('.') {
                continue;
            }
            let kind = entry.file_type()?;
            let path = entry.path();
            if kind.is_dir() {
                folders.push((name, path));
            } else if let Some(picture) = PictureName::of(&path)
                && (kind.is_file() || kind.is_symlink() && meant(&path))
            {
                // What a correction made of a frame is no frame of the shoot.
                if is_earlier_proof(&path) {
                    passed.count_proof();
                } else {
                    files.push((picture, path));
                }
            } else {
                passed.count(&path);
            }
        }
        Ok(())
    };
    let error = look().err();
    // The finished picture is what the camera made of the shot, and so what may have a cast.
    PictureName::one_of_each_shot(PictureName::Finished, &mut files);
    let name = |path: &Path| path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    files.sort_by(|(_, a), (_, b)| natural_order(&name(a), &name(b)));
    folders.sort_by(|a, b| natural_order(&a.0, &b.0));
    let files = files.into_iter().map(|(_, path)| Step::Picture(path));
    (files.chain(folders.into_iter().map(|(_, path)| Step::Folder(path))).collect(), error)
}

/// Of a link to a file the file is meant, and one that leads nowhere is told when it is read; a link
/// to a folder is not followed, and one to a pipe or a device is none to a picture.
fn meant(link: &Path) -> bool {
    link.metadata().map_or(true, |metadata| metadata.is_file())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(root: &Path) -> Vec<String> {
        walk(root.to_path_buf(), PassedOver::default())
            .map(|found| match found {
                Found::Picture(path) | Found::Closed(path, _) => {
                    path.strip_prefix(root).unwrap().to_string_lossy().replace('\\', "/")
                }
            })
            .collect()
    }

    #[test]
    fn pictures_come_by_name_and_nothing_else_comes() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path();
        fs::create_dir_all(root.join("b/deep")).unwrap();
        fs::create_dir(root.join(".hidden")).unwrap();
        fs::create_dir(root.join("album.jpg")).unwrap();
        for name in [
            "b/deep/9.tiff",
            "b/1.png",
            "z10.JPG",
            "z2.jpg",
            "notes.txt",
            ".z3.jpg",
            "raw.DNG",
            "z2.dng",
            ".hidden/4.jpg",
            "album.jpg/5.webp",
        ] {
            fs::write(root.join(name), "x").unwrap();
        }
        let wanted =
            ["raw.DNG", "z2.jpg", "z10.JPG", "album.jpg/5.webp", "b/1.png", "b/deep/9.tiff"];
        assert_eq!(names(root), wanted);
    }

    #[test]
    fn a_file_that_is_named_comes_whatever_it_is_called() {
        for name in ["no/such/file.jpg", "notes.txt"] {
            let found: Vec<_> = walk(PathBuf::from(name), PassedOver::default()).collect();
            assert_eq!(found, [Found::Picture(PathBuf::from(name))]);
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_circle_of_links_has_an_end() {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path();
        fs::write(root.join("a.jpg"), "x").unwrap();
        std::os::unix::fs::symlink(root, root.join("again")).unwrap();
        std::os::unix::fs::symlink(root.join("a.jpg"), root.join("b.jpg")).unwrap();
        std::os::unix::fs::symlink(root.join("gone.jpg"), root.join("c.jpg")).unwrap();
        std::os::unix::fs::symlink("/dev/null", root.join("d.jpg")).unwrap();
        let _socket = std::os::unix::net::UnixListener::bind(root.join("e.jpg")).unwrap();
        // What leads nowhere is told when it is read.
        assert_eq!(names(root), ["a.jpg", "b.jpg", "c.jpg"]);
    }
}
