//! What a run reads beside pictures, so that it does not write over it.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

/// What this run reads beside pictures: lists, tables, records.
static INPUTS: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// Notes that a file is read in this run, so that it is not written over.
pub(crate) fn is_input(path: &Path) {
    if let Ok(path) = path.canonicalize() {
        INPUTS.lock().unwrap_or_else(PoisonError::into_inner).push(path);
    }
}

/// Whether this run reads what lies at a path without links.
pub(crate) fn is_read(real: &Path) -> bool {
    INPUTS.lock().unwrap_or_else(PoisonError::into_inner).iter().any(|input| input == real)
}
