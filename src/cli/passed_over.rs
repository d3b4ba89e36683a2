//! What is passed over in folders although somebody might look for it: films, and pictures in formats
//! that are not read.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Counts of files that were passed over, by their endings.
#[derive(Debug, Clone, Default)]
pub(crate) struct PassedOver(Arc<[AtomicU64; 2]>);

const FILMS: [&str; 14] = [
    "mov", "mp4", "m4v", "avi", "mkv", "webm", "mxf", "mts", "m2ts", "mpg", "mpeg", "3gp", "wmv",
    "ogv",
];
const PICTURES: [&str; 14] = [
    "heic", "heif", "hif", "avif", "jxl", "jp2", "gif", "bmp", "exr", "hdr", "dpx", "psd", "jxr",
    "tga",
];

impl PassedOver {
    /// Counts a file, if it is of these kinds.
    pub(crate) fn count(&self, path: &Path) {
        let Some(ending) = path.extension().and_then(|ending| ending.to_str()) else { return };
        let kinds = [&FILMS[..], &PICTURES];
        for (kind, count) in kinds.iter().zip(self.0.iter()) {
            if kind.iter().any(|known| ending.eq_ignore_ascii_case(known)) {
                count.fetch_add(1, Ordering::Relaxed);
            }
        }
    }

    /// One line about them; `None` where there were none.
    pub(crate) fn line(&self) -> Option<String> {
        let words = [
            ("film", "films"),
            ("picture of a kind that is not read", "pictures of kinds that are not read"),
        ];
        let counts = self.0.iter().map(|count| count.load(Ordering::Relaxed));
        let parts: Vec<String> = counts
            .zip(words)
            .filter(|(count, _)| *count > 0)
            .map(|(count, (one, many))| format!("{count} {}", if count == 1 { one } else { many }))
            .collect();
        (!parts.is_empty()).then(|| format!("passed over in folders: {}", parts.join(", ")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn films_and_their_kin_are_counted_and_other_files_are_not() {
        let passed = PassedOver::default();
        assert_eq!(passed.line(), None);
        for name in ["a.MOV", "b.mp4", "d.HEIC", "notes.txt", "e.xmp", "f"] {
            passed.count(Path::new(name));
        }
        let line = passed.line().unwrap();
        assert!(line.contains("2 films, 1 picture of a kind"), "{line}");
    }
}
