//! What is passed over although somebody might look for it: in folders films, pictures in formats
//! that are not read and proofs of earlier runs; and files that were read already.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Counts of files that were passed over.
#[derive(Debug, Clone, Default)]
pub(crate) struct PassedOver(Arc<Counts>);

#[derive(Debug, Default)]
struct Counts {
    /// By their endings.
    kinds: [AtomicU64; 2],
    /// Small corrected copies of an earlier run.
    proofs: AtomicU64,
    /// Files that came again.
    again: AtomicU64,
}

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
        for (kind, count) in kinds.iter().zip(self.0.kinds.iter()) {
            if kind.iter().any(|known| ending.eq_ignore_ascii_case(known)) {
                count.fetch_add(1, Ordering::Relaxed);
            }
        }
    }

    /// Counts a proof of an earlier run.
    pub(crate) fn count_proof(&self) {
        self.0.proofs.fetch_add(1, Ordering::Relaxed);
    }

    /// Counts a file that was named before; once, however often it is named.
    pub(crate) fn count_again(&self) {
        self.0.again.fetch_add(1, Ordering::Relaxed);
    }

    /// A line about each kind of passing over; none where there was none.
    pub(crate) fn lines(&self) -> Vec<String> {
        self.folders().into_iter().chain(self.again()).collect()
    }

    fn again(&self) -> Option<String> {
        match self.0.again.load(Ordering::Relaxed) {
            0 => None,
            1 => Some("1 file was named more than once, and counts once.".to_owned()),
            many => Some(format!("{many} files were named more than once, and count once.")),
        }
    }

    fn folders(&self) -> Option<String> {
        let words = [
            ("film", "films"),
            ("picture of a kind that is not read", "pictures of kinds that are not read"),
            ("proof of an earlier run", "proofs of an earlier run"),
        ];
        let counts =
            self.0.kinds.iter().chain([&self.0.proofs]).map(|count| count.load(Ordering::Relaxed));
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
        assert!(passed.lines().is_empty());
        for name in ["a.MOV", "b.mp4", "d.HEIC", "notes.txt", "e.xmp", "f"] {
            passed.count(Path::new(name));
        }
        let line = passed.lines().remove(0);
        assert!(line.contains("2 films, 1 picture of a kind"), "{line}");
    }
}
