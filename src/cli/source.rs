//! What an argument names: a photo, a folder of photos, or a light; with a set-up's name before it
//! and a camera's balance after it.

use std::collections::{BTreeMap, HashMap};
use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use mirecast::balance::{AsShot, AsShotError, PresetTable, White};
use mirecast::report::{plain, plain_path};

use super::complaint::whole;
use super::earlier_proof::is_earlier_proof;
use super::passed_over::PassedOver;
use super::picture_name::PictureName;
use super::walk::{Once, real_path};

/// A photo, and the balance that stands after its name.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PhotoArgument {
    pub(crate) path: PathBuf,
    pub(crate) shot_at: Option<AsShot>,
}

/// A set-up as named.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SetupArgument {
    pub(crate) name: String,
    pub(crate) source: Source,
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Source {
    Light(White),
    Photo(PhotoArgument),
    Folder(PhotoArgument),
}

/// Why an argument makes no sense.
#[derive(Debug, thiserror::Error)]
pub(crate) enum SourceError {
    #[error("`{}`: {source}", whole(.given))]
    Balance { given: String, source: AsShotError },
    #[error("there is no file, folder or preset named `{given}`, nor is it a temperature such as 5600K{}", hint(.nearest.as_deref()), given = whole(.given))]
    Unknown { given: String, nearest: Option<String> },
    #[error("`{}`: {source}", whole(.given))]
    Light { given: String, source: AsShotError },
}

fn hint(nearest: Option<&str>) -> String {
    nearest.map_or_else(
        || "; `mirecast presets` lists the presets".to_owned(),
        |name| format!("; did you mean `{name}`?"),
    )
}

/// `PHOTO` or `PHOTO@BALANCE`. A file whose own name holds an `@` is taken as it is; where there
/// is no such file, what follows the last `@` is the balance.
pub(crate) fn photo(given: &Path, presets: &PresetTable) -> Result<PhotoArgument, SourceError> {
    let whole = || PhotoArgument { path: given.to_path_buf(), shot_at: None };
    let split = given.to_str().and_then(|text| text.rsplit_once('@'));
    let Some((path, balance)) = split.filter(|(path, _)| !path.is_empty() && !given.exists())
    else {
        return Ok(whole());
    };
    match AsShot::stated(balance, presets) {
        Ok(shot_at) => Ok(PhotoArgument { path: path.into(), shot_at: Some(shot_at) }),
        Err(source) if Path::new(path).exists() => {
            Err(SourceError::Balance { given: given.to_string_lossy().into_owned(), source })
        }
        Err(_) => Ok(whole()),
    }
}

/// `[NAME=]PHOTO[@BALANCE]`, a folder alike, or a light. What exists under the name given comes
/// before what the text might mean otherwise.
pub(crate) fn setup(given: &Path, presets: &PresetTable) -> Result<SetupArgument, SourceError> {
    let named = given.to_str().filter(|_| !given.exists()).and_then(|text| text.split_once('='));
    match named.filter(|(name, _)| !name.trim().is_empty()) {
        Some((name, rest)) => Ok(SetupArgument {
            name: name.trim().to_owned(),
            source: source(Path::new(rest), presets)?,
        }),
        None => {
            let source = source(given, presets)?;
            let name = match &source {
                Source::Light(_) => given.to_string_lossy().into_owned(),
                Source::Photo(PhotoArgument { path, .. })
                | Source::Folder(PhotoArgument { path, .. }) => {
                    path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
                }
            };
            Ok(SetupArgument { name, source })
        }
    }
}

fn source(given: &Path, presets: &PresetTable) -> Result<Source, SourceError> {
    let photo = photo(given, presets)?;
    if photo.path.is_dir() {
        return Ok(Source::Folder(photo));
    }
    if photo.path.exists() || photo.shot_at.is_some() {
        return Ok(Source::Photo(photo));
    }
    let text = given.to_string_lossy().into_owned();
    match AsShot::stated(&text, presets) {
        Ok(AsShot { white: Some(white), .. }) => Ok(Source::Light(white)),
        // Its absence is told where it is to be read.
        _ if looks_like_a_file(given) => Ok(Source::Photo(photo)),
        Err(source @ AsShotError::OutOfRange { .. }) => {
            Err(SourceError::Light { given: text, source })
        }
        _ => {
            let nearest = presets.nearest_name(&text).map(str::to_owned);
            Err(SourceError::Unknown { given: text, nearest })
        }
    }
}

/// Whether a name that stands for nothing was meant for a file: it has a folder or an ending.
fn looks_like_a_file(given: &Path) -> bool {
    let lettered = |ending: &OsStr| {
        ending.to_str().is_none_or(|ending| ending.chars().any(char::is_alphabetic))
    };
    given.components().count() > 1 || given.extension().is_some_and(lettered)
}

/// What is said of a file that is not there, where it is a photo with a balance after its name, as other
/// commands take it.
pub(crate) fn balance_after_name(
    command: &str,
    given: &Path,
    presets: &PresetTable,
) -> Option<String> {
    let (photo, balance) = given.to_str()?.rsplit_once('@')?;
    let photo = Path::new(photo);
    let is_meant = photo.is_file() && AsShot::stated(balance, presets).is_ok();
    is_meant.then(|| {
        format!(
            "there is no such file, but there is {}: for {command} say it with --shot-at {}.",
            plain_path(photo),
            plain(balance)
        )
    })
}

/// The photos without those that come again, by another name too, at the same balance; at another one the
/// two contradict each other, which is told of the photos.
pub(crate) fn each_once(named: Vec<PhotoArgument>, passed: &PassedOver) -> Vec<PhotoArgument> {
    let mut by_balance: Vec<(Option<AsShot>, Once)> = Vec::new();
    let is_new = |photo: &PhotoArgument| match by_balance
        .iter_mut()
        .find(|(balance, _)| *balance == photo.shot_at)
    {
        Some((_, once)) => once.is_new(&photo.path, passed),
        None => {
            let mut once = Once::default();
            let is_new = once.is_new(&photo.path, passed);
            by_balance.push((photo.shot_at.clone(), once));
            is_new
        }
    };
    named.into_iter().filter(is_new).collect()
}

/// What is said of set-ups that have photos in common; `photos` are those of all set-ups, each with the place
/// of its set-up's name.
pub(crate) fn in_common(photos: &[(usize, PhotoArgument)], names: &[String]) -> Vec<String> {
    let mut seen: HashMap<PathBuf, Vec<(usize, &Option<AsShot>)>> = HashMap::new();
    let mut shared: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for (setup, photo) in photos {
        let earlier = seen.entry(real_path(&photo.path)).or_default();
        for (other, balance) in earlier.iter() {
            if *balance == &photo.shot_at && other != setup {
                *shared.entry((*other, *setup)).or_default() += 1;
            }
        }
        earlier.push((*setup, &photo.shot_at));
    }
    let name = |setup: usize| names.get(setup).map_or_else(String::new, |name| whole(name));
    let said = |((one, other), count): ((usize, usize), usize)| {
        let photos = if count == 1 { "1 photo".to_owned() } else { format!("{count} photos") };
        format!(
            "{} and {} have {photos} in common, which cannot tell them apart.",
            name(one),
            name(other)
        )
    };
    shared.into_iter().map(said).collect()
}

/// Makes names differ: those given twice by their paths, then by number.
pub(crate) fn distinct(setups: &mut [SetupArgument]) {
    let twice = |setups: &[SetupArgument], name: &str| {
        setups.iter().filter(|setup| setup.name == name).count() > 1
    };
    let doubled: Vec<bool> = setups.iter().map(|setup| twice(setups, &setup.name)).collect();
    for (setup, doubled) in setups.iter_mut().zip(doubled) {
        if let (true, Source::Photo(photo) | Source::Folder(photo)) = (doubled, &setup.source) {
            let own = photo.path.file_name().is_some_and(|own| own.to_string_lossy() == setup.name);
            if own {
                setup.name = photo.path.to_string_lossy().into_owned();
            }
        }
    }
    let mut taken: Vec<String> = Vec::new();
    for setup in setups {
        let base = setup.name.clone();
        let mut number = 2;
        while taken.contains(&setup.name) {
            setup.name = format!("{base} ({number})");
            number += 1;
        }
        taken.push(setup.name.clone());
    }
}

/// The photos in a folder, by name; neither hidden files nor folders within it, nor proofs of an earlier
/// run, which show no light as it was. Of a shot that is there raw and finished the raw file, which says
/// more of the light.
pub(crate) fn photos_in(folder: &Path, passed: &PassedOver) -> std::io::Result<Vec<PathBuf>> {
    let mut photos = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        let hidden = path.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
        if let Some(picture) = PictureName::of(&path)
            && !hidden
            && path.is_file()
        {
            if is_earlier_proof(&path) {
                passed.count_proof();
            } else {
                photos.push((picture, path));
            }
        }
    }
    PictureName::one_of_each_shot(PictureName::Raw, &mut photos);
    let mut photos: Vec<_> = photos.into_iter().map(|(_, path)| path).collect();
    photos.sort();
    Ok(photos)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn presets() -> PresetTable {
        PresetTable::built_in().unwrap()
    }

    fn folder(names: &[&str]) -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        for name in names {
            std::fs::write(folder.path().join(name), "").unwrap();
        }
        folder
    }

    fn kelvin(photo: &PhotoArgument) -> Option<f64> {
        photo.shot_at.as_ref().and_then(|balance| balance.white).map(|white| white.cct.get())
    }

    #[test]
    fn a_balance_may_stand_after_a_photo() {
        let folder = folder(&["a.jpg", "b@2x.jpg", "c@5600K", "d@5600K.jpg"]);
        let read = |name: &str| photo(&folder.path().join(name), &presets()).unwrap();
        let ends = |photo: &PhotoArgument, name: &str| photo.path == folder.path().join(name);
        let plain = read("a.jpg");
        assert!(ends(&plain, "a.jpg") && plain.shot_at.is_none());
        let set = read("a.jpg@tungsten");
        assert!(ends(&set, "a.jpg") && kelvin(&set) == Some(3200.0));
        assert_eq!(kelvin(&read("a.jpg@5600K,+0.003")), Some(5600.0));
        for own in ["b@2x.jpg", "c@5600K", "d@5600K.jpg"] {
            let photo = read(own);
            assert!(ends(&photo, own) && photo.shot_at.is_none(), "{photo:?}");
        }
        let both = read("b@2x.jpg@4300K");
        assert!(ends(&both, "b@2x.jpg") && kelvin(&both) == Some(4300.0));
        let missing = read("none.jpg@5600K");
        assert!(ends(&missing, "none.jpg") && kelvin(&missing) == Some(5600.0));
        assert!(ends(&read("none@2x.jpg"), "none@2x.jpg"));
        let wrong = photo(&folder.path().join("a.jpg@tungstem"), &presets()).unwrap_err();
        assert!(wrong.to_string().contains("did you mean `tungsten`?"), "{wrong}");
    }

    #[test]
    fn a_setup_is_a_photo_a_folder_or_a_light() {
        let folder = folder(&["lamp.jpg", "a=b.jpg"]);
        let at = |name: &str| folder.path().join(name);
        let read = |given: &Path| setup(given, &presets()).unwrap();
        let lamp = read(&at("lamp.jpg"));
        assert!(lamp.name == "lamp.jpg" && matches!(lamp.source, Source::Photo(_)));
        assert_eq!(read(&at("a=b.jpg")).name, "a=b.jpg");
        let whole = read(folder.path());
        assert!(matches!(whole.source, Source::Folder(_)));
        let named = format!("key={}", at("lamp.jpg").display());
        assert_eq!(read(Path::new(&named)).name, "key");
        let light = read(Path::new("sun=5600K,+0.003"));
        assert!(light.name == "sun" && matches!(light.source, Source::Light(_)));
        assert_eq!(read(Path::new("tungsten")).name, "tungsten");
        assert!(matches!(read(Path::new("gone.jpg")).source, Source::Photo(_)));
    }

    #[test]
    fn what_means_nothing_says_what_might_have_been_meant() {
        let wrong = |given: &str| setup(Path::new(given), &presets()).unwrap_err().to_string();
        assert!(wrong("tungstem").contains("did you mean `tungsten`?"), "{}", wrong("tungstem"));
        assert!(wrong("window").contains("no file, folder or preset"), "{}", wrong("window"));
        assert!(wrong("90K").contains("1000 K"), "{}", wrong("90K"));
    }

    #[test]
    fn names_are_made_to_differ() {
        let mut setups: Vec<_> = ["x/card.jpg", "y/card.jpg", "a=x/1.jpg", "a=x/2.jpg", "5600K"]
            .map(|given| setup(Path::new(given), &presets()).unwrap())
            .to_vec();
        distinct(&mut setups);
        let names: Vec<_> = setups.iter().map(|setup| setup.name.as_str()).collect();
        assert_eq!(names, ["x/card.jpg", "y/card.jpg", "a", "a (2)", "5600K"]);
    }

    #[test]
    fn what_is_named_twice_is_found_by_any_name() {
        let folder = folder(&["a.jpg", "b.jpg"]);
        let at = |name: &str| photo(&folder.path().join(name), &presets()).unwrap();
        let passed = PassedOver::default();
        let named = ["a.jpg", "./a.jpg", "b.jpg", "a.jpg@5600K", "a.jpg"].map(at).to_vec();
        let left: Vec<_> = each_once(named, &passed).iter().map(kelvin).collect();
        assert_eq!(left, [None, None, Some(5600.0)], "at another balance it contradicts itself");
        assert!(passed.lines(false)[0].starts_with("1 file was named more than once"));

        let names = ["day", "again", "lamp"].map(str::to_owned);
        let photos = [(0, at("a.jpg")), (0, at("b.jpg")), (1, at("./a.jpg")), (1, at("b.jpg"))];
        let said = in_common(&photos, &names);
        assert_eq!(said, ["day and again have 2 photos in common, which cannot tell them apart."]);
        assert!(in_common(&[(0, at("a.jpg")), (2, at("a.jpg@5600K"))], &names).is_empty());
    }

    #[test]
    fn a_folders_photos_are_found_by_their_endings() {
        let folder = folder(&["b.JPG", "a.tiff", ".c.jpg", "notes.txt"]);
        std::fs::create_dir(folder.path().join("d.jpg")).unwrap();
        let found = photos_in(folder.path(), &PassedOver::default()).unwrap();
        let names: Vec<_> = found.iter().map(|path| path.file_name().unwrap()).collect();
        assert_eq!(names, ["a.tiff", "b.JPG"]);
    }
}
