//! Edited copies beside their originals: one shot, taken once, under several names.

use std::collections::{BTreeMap, HashMap};

use super::evidence::Key;
use crate::frames::FrameReading;

/// What a frame is of its shot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Version {
    /// The shot itself, as far as is known.
    Original,
    /// The same colours again: a smaller copy, or one that was only cropped. It tells nothing twice.
    Copy,
    /// Other colours. It shows what somebody made of the light, and is no frame among those that show the light.
    Edited,
}

/// A copy whose cast is off by no more than this, in half-widths of the original's interval, was not edited in
/// its colours: half the size and other compression moved estimates by up to 0.6, balancing by 1 and more. What
/// is edited by less may well be corrected as its original is.
const SAME: f64 = 0.7;

/// What each frame is, by the key that frames share a group by, its path and its record. Two are of one shot if
/// they were taken in one second and are called alike: by one name in two folders or kinds of file, or by one
/// name and that with something added that is no mere number, as in `a.jpg` and `a-edit.jpg`.
pub(super) fn versions<'a>(frames: &[(Key<'a>, &'a str, &'a FrameReading)]) -> Vec<Version> {
    let mut seconds: BTreeMap<_, Vec<usize>> = BTreeMap::new();
    for (index, (key, _, reading)) in frames.iter().enumerate() {
        if let Some(taken) = reading.shot.taken.as_deref() {
            seconds.entry((key, taken)).or_default().push(index);
        }
    }
    let mut versions = vec![Version::Original; frames.len()];
    let path = |index: usize| frames.get(index).map_or("", |(_, path, _)| *path);
    for together in seconds.into_values().filter(|together| together.len() > 1) {
        let mut shots: HashMap<&str, usize> = HashMap::new();
        for index in &together {
            let shot = shots.entry(stem(path(*index))).or_insert(*index);
            // What lies in a folder below, or has a longer ending, was made of the other.
            if (path(*index).len(), path(*index)) < (path(*shot).len(), path(*shot)) {
                *shot = *index;
            }
        }
        for index in together {
            let original = names_of_originals(stem(path(index)))
                .find_map(|name| shots.get(name).filter(|original| **original != index));
            let pair =
                original.and_then(|original| Some((frames.get(*original)?, frames.get(index)?)));
            if let (Some(version), Some(((.., original), (.., copy)))) =
                (versions.get_mut(index), pair)
            {
                *version = if is_same(original, copy) { Version::Copy } else { Version::Edited };
            }
        }
    }
    versions
}

fn is_same(original: &FrameReading, copy: &FrameReading) -> bool {
    let is_within = |from: f64, to: f64, [low, high]: [f64; 2]| {
        (from - to).abs() <= SAME * (high - low).abs() / 2.0
    };
    let (from, to) = (&original.cast, &copy.cast);
    is_within(from.mired, to.mired, from.mired_interval)
        && is_within(from.duv, to.duv, from.duv_interval)
}

/// A file's name without its folder and its ending.
fn stem(path: &str) -> &str {
    let name = path.rsplit(['/', '\\']).next().unwrap_or(path);
    name.rsplit_once('.').map_or(name, |(stem, _)| stem).trim_end()
}

/// What the original of a file may be called: the name as far as something is added to it, and the name itself.
fn names_of_originals(stem: &str) -> impl Iterator<Item = &str> {
    let added = |(at, character): (usize, char)| {
        let (name, rest) = stem.split_at_checked(at)?;
        // Bursts are numbered.
        let is_added = !character.is_alphanumeric() && rest.chars().any(char::is_alphabetic);
        (is_added && !name.is_empty()).then_some(name)
    };
    stem.char_indices().filter_map(added).chain([stem])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_original_is_called_as_its_copy_is_but_for_what_is_added() {
        let names = |path: &'static str| names_of_originals(stem(path)).collect::<Vec<_>>();
        assert_eq!(names("day/IMG_0001-edit.jpg"), ["IMG", "IMG_0001", "IMG_0001-edit"]);
        assert_eq!(names("day\\a (2).jpg"), ["a (2)"]);
        assert_eq!(names("20240312_104501_001.jpg"), ["20240312_104501_001"]);
        assert_eq!(names("a edit final.tiff"), ["a", "a edit", "a edit final"]);
        assert_eq!(names(".hidden"), [""]);
    }
}
