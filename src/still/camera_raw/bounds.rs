//! What the decoder library would walk through without end, or make room for without end: a program
//! cannot go on after either, so such files are refused before it sees them.
//!
//! Each walk follows the library's own (`rawler` 0.8), not the format's specification: where the
//! library reads on at another place than it should, so does this. Where it gives up by itself, the
//! walk ends and the file is left to it.

mod boxes;
mod directories;
mod heap;

use super::damaged;
use crate::still::ReadErrorKind;

/// Refuses a file that would keep the library busy for ever.
pub(super) fn check(bytes: &[u8]) -> Result<(), ReadErrorKind> {
    if heap::is_one(bytes) {
        return heap::walk(bytes);
    }
    // The library tries boxes first, whatever the file begins with.
    boxes::walk(bytes)?;
    directories::walk(bytes, &mut Budget::of(bytes))
}

/// What a walk may cost. Sound files stay far below: their values are met once each.
#[derive(Debug)]
struct Budget {
    items: u32,
    bytes: u64,
}

impl Budget {
    /// Entries, boxes and directories.
    const ITEMS: u32 = 100_000;
    /// How many times the whole file.
    const TIMES: u64 = 8;
    /// What very small files may cost all the same.
    const LEAST_BYTES: u64 = 1 << 20;

    fn of(bytes: &[u8]) -> Self {
        let bytes = (bytes.len() as u64).saturating_mul(Self::TIMES).max(Self::LEAST_BYTES);
        Self { items: Self::ITEMS, bytes }
    }

    /// Pays for an item of which so many bytes are copied.
    fn spend(&mut self, bytes: u64) -> Result<(), ReadErrorKind> {
        let left = self.items.checked_sub(1).zip(self.bytes.checked_sub(bytes));
        let (items, bytes) =
            left.ok_or(damaged("its directories name the same parts over and over"))?;
        *self = Self { items, bytes };
        Ok(())
    }
}
