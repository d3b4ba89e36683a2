//! The folder that files have in common.

use super::{FrameRecord, plain};

/// The folder that all frames are in, which need not be said on every line.
pub(super) struct Folder(pub(super) String);

impl Folder {
    pub(super) fn of(frames: &[FrameRecord]) -> Self {
        let mut folders = frames.iter().map(|record| {
            let path = &record.path.path;
            path.rfind(['/', '\\']).and_then(|end| path.get(..=end)).unwrap_or_default()
        });
        let first = folders.next().unwrap_or_default();
        let shared = folders.fold(first, |shared, folder| {
            let alike = shared
                .char_indices()
                .zip(folder.chars())
                .take_while(|((_, a), b)| a == b)
                .filter(|((_, a), _)| matches!(a, '/' | '\\'))
                .last()
                .map_or(0, |((end, separator), _)| end + separator.len_utf8());
            shared.get(..alike).unwrap_or_default()
        });
        Self(shared.to_owned())
    }

    /// A path from there, safe to show.
    pub(super) fn short(&self, path: &str) -> String {
        plain(path.strip_prefix(self.0.as_str()).unwrap_or(path)).into_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    #[test]
    fn the_folder_of_all_is_said_once() {
        let failed = |path: &str| {
            let error = crate::report::ErrorRecord::stumbled();
            FrameRecord::failure(Path::new(path), error)
        };
        let folder = |paths: &[&str]| {
            Folder::of(&paths.iter().map(|path| failed(path)).collect::<Vec<_>>()).0
        };
        assert_eq!(folder(&["a/b/c.jpg", "a/b/d.jpg"]), "a/b/");
        assert_eq!(folder(&["a/b/c.jpg", "a/bb/d.jpg"]), "a/");
        assert_eq!(folder(&["c.jpg", "a/d.jpg"]), "");
        assert_eq!(Folder("a/".to_owned()).short("a/b/c\u{7}.jpg"), "b/c\\u{7}.jpg");
    }
}
