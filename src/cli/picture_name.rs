//! Pictures by their names, as folders are searched by them. A file that is given by its own name
//! is read whatever it is called.

use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use mirecast::still;

/// What a file holds by its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PictureName {
    /// A finished picture.
    Finished,
    /// A raw file.
    Raw,
}

const FINISHED: [&str; 8] = ["jpg", "jpeg", "jpe", "jfif", "png", "tif", "tiff", "webp"];
/// Where the decoder is part of the build.
const JPEG_XL: &str = "jxl";

/// The endings of all pictures that are read, in small letters and without the dot.
#[cfg(feature = "desk")]
pub(crate) fn endings() -> impl Iterator<Item = String> {
    let jpeg_xl = cfg!(feature = "jpeg-xl").then_some(JPEG_XL);
    let finished = FINISHED.into_iter().chain(jpeg_xl).map(str::to_owned);
    finished.chain(still::raw_endings())
}

impl PictureName {
    /// `None` for what is no picture that is read.
    pub(crate) fn of(path: &Path) -> Option<Self> {
        static RAW: LazyLock<Vec<String>> = LazyLock::new(|| still::raw_endings().collect());
        let ending = path.extension()?.to_str()?.to_ascii_lowercase();
        let jpeg_xl = cfg!(feature = "jpeg-xl") && ending == JPEG_XL;
        if jpeg_xl || FINISHED.contains(&ending.as_str()) {
            return Some(Self::Finished);
        }
        RAW.contains(&ending).then_some(Self::Raw)
    }

    /// Of a raw file and a finished picture of one name, which are one shot, leaves only the kind
    /// `kept`.
    pub(crate) fn one_of_each_shot(kept: Self, pictures: &mut Vec<(Self, PathBuf)>) {
        let shot = |path: &Path| path.with_extension("");
        let of_kept = pictures.iter().filter(|(kind, _)| *kind == kept);
        let there: HashSet<PathBuf> = of_kept.map(|(_, path)| shot(path)).collect();
        pictures.retain(|(kind, path)| *kind == kept || !there.contains(&shot(path)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_tell_pictures_from_other_files() {
        let of = |name: &str| PictureName::of(Path::new(name));
        assert_eq!(of("a.JPG"), Some(PictureName::Finished));
        assert_eq!(of("a.b.Dng"), Some(PictureName::Raw));
        for other in ["a", "jpg", ".jpg", "a.txt", "a.xmp", "a.mp4"] {
            assert_eq!(of(other), None, "{other}");
        }
    }

    #[test]
    fn a_shot_in_two_files_counts_once() {
        let left = |kept| {
            let names = ["a.jpg", "a.dng", "b.dng", "c.png", "x/c.dng"];
            let mut pictures: Vec<_> = names
                .into_iter()
                .filter_map(|name| Some((PictureName::of(Path::new(name))?, name.into())))
                .collect();
            PictureName::one_of_each_shot(kept, &mut pictures);
            pictures
                .into_iter()
                .map(|(_, path)| path.to_str().unwrap().to_owned())
                .collect::<Vec<_>>()
        };
        assert_eq!(left(PictureName::Finished), ["a.jpg", "b.dng", "c.png", "x/c.dng"]);
        assert_eq!(left(PictureName::Raw), ["a.dng", "b.dng", "c.png", "x/c.dng"]);
    }
}
