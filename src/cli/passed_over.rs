//! What is passed over although somebody might look for it: in folders films, pictures in formats
//! that are not read and proofs of earlier runs; and files that were read already.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use mirecast::still::advice;

/// Counts of files that were passed over.
#[derive(Debug, Clone, Default)]
pub(crate) struct PassedOver(Arc<Counts>);

#[derive(Debug, Default)]
struct Counts {
    /// By their endings.
    kinds: [AtomicU64; KINDS.len()],
    /// Small corrected copies of an earlier run.
    proofs: AtomicU64,
    /// Files that came again.
    again: AtomicU64,
}

/// The name of a kind of file, and its endings.
type Kind = (&'static str, &'static [&'static str]);

const FILM: Kind = (
    "film",
    &[
        "mov", "mp4", "m4v", "avi", "mkv", "webm", "mxf", "mts", "m2ts", "mpg", "mpeg", "3gp",
        "wmv", "ogv",
    ],
);
const HEIC: Kind = ("HEIC picture", &["heic"]);
const HEIF: Kind = ("HEIF picture", &["heif", "hif"]);
const AVIF: Kind = ("AVIF picture", &["avif"]);
const KINDS: [Kind; 13] = [
    FILM,
    HEIC,
    HEIF,
    AVIF,
    ("JPEG XL picture", &["jxl"]),
    ("JPEG 2000 picture", &["jp2"]),
    ("GIF picture", &["gif"]),
    ("BMP picture", &["bmp"]),
    ("floating-point picture", &["exr", "hdr"]),
    ("DPX frame", &["dpx"]),
    ("layered picture", &["psd"]),
    ("JPEG XR picture", &["jxr"]),
    ("TGA picture", &["tga"]),
];

impl PassedOver {
    /// Counts a file, if it is of these kinds.
    pub(crate) fn count(&self, path: &Path) {
        let Some(ending) = path.extension().and_then(|ending| ending.to_str()) else { return };
        for ((_, endings), count) in KINDS.iter().zip(&self.0.kinds) {
            if endings.iter().any(|known| ending.eq_ignore_ascii_case(known)) {
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

    /// What to say about them; nothing where there were none. Films lie in many a folder of stills,
    /// so what to do with them is said only where nothing else was found there.
    pub(crate) fn lines(&self, nothing_found: bool) -> Vec<String> {
        let phone = self.holds(&[HEIC, HEIF, AVIF]);
        let phone =
            phone.then(|| format!("HEIC and AVIF pictures are not read. {}", advice::PHONE));
        let film = nothing_found && self.holds(&[FILM]);
        let film = film.then(|| format!("films are not read. {}", advice::STILL_FRAME));
        [self.folders(), phone, film, self.again()].into_iter().flatten().collect()
    }

    fn holds(&self, kinds: &[Kind]) -> bool {
        self.counts().any(|(kind, count)| count > 0 && kinds.contains(&kind))
    }

    fn counts(&self) -> impl Iterator<Item = (Kind, u64)> {
        KINDS.into_iter().zip(self.0.kinds.iter().map(|count| count.load(Ordering::Relaxed)))
    }

    fn folders(&self) -> Option<String> {
        let of_kinds = self.counts().map(|((name, _), count)| match count {
            1 => (count, name.to_owned()),
            _ => (count, format!("{name}s")),
        });
        let proofs = self.0.proofs.load(Ordering::Relaxed);
        let proof = if proofs == 1 { "proof" } else { "proofs" };
        let parts: Vec<String> = of_kinds
            .chain([(proofs, format!("{proof} of an earlier run"))])
            .filter(|(count, _)| *count > 0)
            .map(|(count, name)| format!("{count} {name}"))
            .collect();
        (!parts.is_empty()).then(|| format!("passed over in folders: {}", parts.join(", ")))
    }

    fn again(&self) -> Option<String> {
        match self.0.again.load(Ordering::Relaxed) {
            0 => None,
            1 => Some("1 file was named more than once, and counts once.".to_owned()),
            many => Some(format!("{many} files were named more than once, and count once.")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn films_and_their_kin_are_counted_and_other_files_are_not() {
        let passed = PassedOver::default();
        assert!(passed.lines(true).is_empty());
        for name in ["a.MOV", "b.mp4", "c.gif", "d.GIF", "notes.txt", "e.xmp", "f"] {
            passed.count(Path::new(name));
        }
        let among_others = passed.lines(false);
        assert_eq!(among_others, ["passed over in folders: 2 films, 2 GIF pictures"]);
        assert!(passed.lines(true)[1].starts_with("films are not read. "));
    }

    #[test]
    fn what_phones_save_comes_with_a_way_to_a_picture_once() {
        let passed = PassedOver::default();
        for name in ["a.HEIC", "b.heic", "c.avif"] {
            passed.count(Path::new(name));
        }
        let lines = passed.lines(false);
        assert_eq!(lines[0], "passed over in folders: 2 HEIC pictures, 1 AVIF picture");
        assert!(lines[1].contains("save photos as JPEG"), "{lines:?}");
        assert_eq!(lines.len(), 2);
    }
}
