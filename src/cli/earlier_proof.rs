//! Proofs of an earlier run among the pictures of a folder: they are no frames of the shoot.

use std::fs::File;
use std::io::Read;
use std::path::Path;

use mirecast::grade::{Proof, is_proof};

/// Whether a file is called as a proof is.
pub(crate) fn is_called_as_proof(path: &Path) -> bool {
    let stem = path.file_stem().map(|stem| stem.to_string_lossy());
    stem.is_some_and(|stem| Proof::ALL.iter().any(|proof| stem.ends_with(proof.suffix())))
}

/// Whether a file is called as a proof is and holds one.
pub(crate) fn is_earlier_proof(path: &Path) -> bool {
    // A kilobyte is enough to tell.
    let head = || {
        let mut head = Vec::new();
        File::open(path)?.take(1 << 10).read_to_end(&mut head).map(|_| head)
    };
    is_called_as_proof(path) && head().is_ok_and(|head| is_proof(&head))
}
