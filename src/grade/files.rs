//! The files that corrections are written into, whoever writes them.

use std::io;

use super::{Plan, cc_file, ccc_file, clf_file};

/// What all corrections together are in.
pub const COLLECTION: &str = "corrections.ccc";

/// A file's name and what is in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CorrectionFile {
    /// Its name, legal everywhere.
    pub name: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// The names of the files of the correction that is called `id`.
#[must_use]
pub fn file_names(id: &str) -> [String; 2] {
    ["cc", "clf"].map(|extension| format!("{id}.{extension}"))
}

/// A `.cc` and a `.clf` for each correction, and the [`COLLECTION`] of all; nothing for none.
///
/// # Errors
/// None that writing to memory could give.
pub fn correction_files(plans: &[&Plan]) -> io::Result<Vec<CorrectionFile>> {
    let mut files = Vec::new();
    for plan in plans {
        let [cc, clf] = file_names(plan.id());
        files.push(CorrectionFile { name: cc, bytes: cc_file(plan)? });
        files.push(CorrectionFile { name: clf, bytes: clf_file(plan)? });
    }
    if !plans.is_empty() {
        files.push(CorrectionFile { name: COLLECTION.to_owned(), bytes: ccc_file(plans)? });
    }
    Ok(files)
}
