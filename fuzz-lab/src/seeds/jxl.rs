//! JPEG XL: there is no encoder in Rust, so the tests' own pictures.

use std::path::Path;

use super::files;

pub(super) fn all() -> Vec<Vec<u8>> {
    let folder = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/data/still/jxl"));
    let is_one = |path: &std::path::PathBuf| path.extension().is_some_and(|e| e == "jxl");
    files(folder).into_iter().filter(is_one).filter_map(|path| std::fs::read(path).ok()).collect()
}
