//! A fence round other people's code.

use std::panic::{AssertUnwindSafe, catch_unwind};

/// Runs code of a dependency on untrusted data; `None` if it panicked.
pub(super) fn guarded<T>(work: impl FnOnce() -> T) -> Option<T> {
    // Nothing the closure could leave half-changed outlives it: it borrows only bytes and options.
    catch_unwind(AssertUnwindSafe(work)).ok()
}
