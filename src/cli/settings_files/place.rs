//! Where settings files are looked for.

use std::fs;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;

use super::{FILE_NAME, SettingsError, from_here};
use crate::cli::passed_over::PassedOver;
use crate::cli::walk::{Found, walk};

/// Where the user's own settings are, there already or not; `None` without a home.
pub(crate) fn user_path() -> Option<PathBuf> {
    let places = etcetera::choose_base_strategy().ok()?;
    Some(places.config_dir().join("mirecast").join(FILE_NAME))
}

/// The user's own settings, where there are any.
pub(super) fn of_the_user() -> Result<Option<PathBuf>, SettingsError> {
    match user_path() {
        Some(path) => Ok(is_there(&path)?.then_some(path)),
        None => Ok(None),
    }
}

/// The settings of the shoot that photos are of: in their folder or the nearest one above it that has
/// any. Where nothing is named that exists, as with a list of files, the current folder is meant.
///
/// # Errors
/// Where photos are of shoots with settings of their own, or some of a shoot with and others of none: one
/// run has one set of settings.
pub(super) fn of_the_shoot(given: &[PathBuf]) -> Result<Option<PathBuf>, SettingsError> {
    // Thousands of photos are mostly of one folder: each is resolved once.
    let mut named: Vec<PathBuf> = given.iter().filter_map(|path| folder_of(path)).collect();
    named.dedup();
    let mut folders: Vec<PathBuf> =
        named.iter().filter_map(|folder| folder.canonicalize().ok()).collect();
    folders.dedup();
    if folders.is_empty() {
        folders.extend(Path::new(".").canonicalize());
    }
    let (mut found, mut without): (Option<PathBuf>, Option<PathBuf>) = (None, None);
    for folder in folders {
        match (nearest(&folder)?, &found) {
            (Some(second), Some(first)) if second != *first => {
                return Err(SettingsError::TwoShoots { first: first.clone(), second });
            }
            (Some(path), _) => found = Some(path),
            (None, _) => without = Some(folder),
        }
    }
    match (found, without) {
        (Some(settings), Some(folder)) => {
            let shown = from_here(&folder);
            let folder = if shown.as_os_str().is_empty() { ".".into() } else { shown };
            Err(SettingsError::OfSomeOnly { settings, folder })
        }
        (found, _) => Ok(found),
    }
}

/// Paths with folders that are walked taken for what they hold: each folder in them that pictures lie in is of
/// a shoot, and may have settings of its own.
pub(super) fn walked(given: &[PathBuf]) -> Vec<PathBuf> {
    let folders = |path: &PathBuf| {
        let found = path.is_dir().then(|| walk(path.clone(), PassedOver::default()));
        let pictures = found.into_iter().flatten().filter_map(|found| match found {
            Found::Picture(path) => path.parent().map(Path::to_path_buf),
            Found::Closed(..) => None,
        });
        let mut folders: Vec<PathBuf> = pictures.collect();
        folders.dedup();
        if folders.is_empty() { vec![path.clone()] } else { folders }
    };
    given.iter().flat_map(folders).collect()
}

fn nearest(folder: &Path) -> Result<Option<PathBuf>, SettingsError> {
    for folder in folder.ancestors() {
        let path = folder.join(FILE_NAME);
        if is_there(&path)? {
            return Ok(Some(from_here(&path)));
        }
    }
    Ok(None)
}

/// The folder that an argument is in, or is: a photo, a folder, either with a set-up's name before it
/// and a balance after it.
fn folder_of(given: &Path) -> Option<PathBuf> {
    let text = given.to_str();
    let unnamed = text.and_then(|text| Some(text.split_once('=')?.1));
    let bare = |text: &str| text.rsplit_once('@').map(|(path, _)| path.to_owned());
    let ways = [
        Some(given.to_path_buf()),
        text.and_then(bare).map(PathBuf::from),
        unnamed.map(PathBuf::from),
        unnamed.and_then(bare).map(PathBuf::from),
    ];
    let path = ways.into_iter().flatten().find(|path| path.exists())?;
    if path.is_dir() {
        return Some(path);
    }
    let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty());
    Some(parent.unwrap_or(Path::new(".")).to_path_buf())
}

/// Whether there is such a file. What is no file, as a pipe that nobody writes into, is an error and
/// not waited for.
fn is_there(path: &Path) -> Result<bool, SettingsError> {
    let unreadable = |source| SettingsError::Unreadable { path: from_here(path), source };
    match fs::metadata(path) {
        Ok(metadata) if metadata.is_file() => Ok(true),
        Ok(_) => Err(unreadable(io::Error::other("it is not a plain file"))),
        Err(error) => match error.kind() {
            // What may not be looked for is as good as not there: nor could photos be read there.
            ErrorKind::NotFound | ErrorKind::NotADirectory | ErrorKind::PermissionDenied => {
                Ok(false)
            }
            _ => Err(unreadable(error)),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_is_walked_is_of_the_shoots_in_it() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().canonicalize().unwrap().join(name);
        for name in ["shoot/one/deep", "shoot/two", "shoot/empty"] {
            fs::create_dir_all(at(name)).unwrap();
        }
        for name in ["shoot/one/a.jpg", "shoot/one/deep/b.jpg", "shoot/one/mirecast.toml"] {
            fs::write(at(name), "").unwrap();
        }
        let shoot = || of_the_shoot(&walked(&[at("shoot")]));
        assert_eq!(shoot().unwrap(), Some(at("shoot/one/mirecast.toml")), "all pictures are there");
        fs::write(at("shoot/two/c.jpg"), "").unwrap();
        let some = shoot().unwrap_err().to_string();
        assert!(some.contains("shoot/one/mirecast.toml") && some.contains("shoot/two"), "{some}");
        fs::write(at("shoot/two/mirecast.toml"), "").unwrap();
        assert!(matches!(shoot(), Err(SettingsError::TwoShoots { .. })));
        fs::remove_file(at("shoot/one/mirecast.toml")).unwrap();
        fs::rename(at("shoot/two/mirecast.toml"), at("shoot/mirecast.toml")).unwrap();
        assert_eq!(shoot().unwrap(), Some(at("shoot/mirecast.toml")), "one for all");
        assert_eq!(walked(&[at("shoot/empty"), at("gone")]), [at("shoot/empty"), at("gone")]);
    }

    #[test]
    fn the_nearest_file_above_the_photos_counts_and_two_are_an_error() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().canonicalize().unwrap().join(name);
        for name in ["shoot/day/cards", "other"] {
            fs::create_dir_all(at(name)).unwrap();
        }
        for name in ["shoot/day/cards/a.jpg", "shoot/mirecast.toml", "other/b.jpg"] {
            fs::write(at(name), "").unwrap();
        }
        let found = |given: &[PathBuf]| of_the_shoot(given).unwrap();
        let own = Some(at("shoot/mirecast.toml"));
        let card = at("shoot/day/cards/a.jpg");
        assert_eq!(found(std::slice::from_ref(&card)), own);
        assert_eq!(found(&[at("shoot/day")]), own);
        let (named, shot_at) = (format!("a={}", card.display()), format!("{}@3K", card.display()));
        assert_eq!(found(&[named.into(), shot_at.into()]), own);
        let both = format!("a={}@3000K", card.display());
        assert_eq!(found(&[both.into(), "5600K".into()]), own, "a light is nowhere");
        // Nobody wrote these settings for photos that lie elsewhere.
        for given in [[at("other/b.jpg"), card.clone()], [card.clone(), at("other/b.jpg")]] {
            let some = of_the_shoot(&given).unwrap_err().to_string();
            let wanted = ["shoot/mirecast.toml", "photos in", "other; read", "--no-settings"];
            assert!(wanted.iter().all(|part| some.contains(part)), "{some}");
        }
        fs::write(at("other/mirecast.toml"), "").unwrap();
        let two = of_the_shoot(&[card, at("other/b.jpg")]).unwrap_err().to_string();
        assert!(two.contains("shoot/mirecast.toml and") && two.contains("--no-settings"), "{two}");
        fs::create_dir(at("shoot/day/mirecast.toml")).unwrap();
        let folder = of_the_shoot(&[at("shoot/day")]).unwrap_err().to_string();
        assert!(folder.contains("not a plain file"), "{folder}");
    }
}
