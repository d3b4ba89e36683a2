//! What the decoder library would walk through without end, or make room for without end: a program
//! cannot go on after either, so such files are refused before it sees them.
//!
//! Each walk follows the library's own (`rawler` 0.8), not the format's specification: where the
//! library reads on at another place than it should, so does this. Where it gives up by itself, the
//! walk ends and the file is left to it.

mod blocks;
mod boxes;
mod directories;
mod heap;
mod note;

use super::damaged;
use crate::still::ReadErrorKind;
use crate::still::jpeg_blocks::find_ff;
use crate::still::options::fits;

/// Refuses a file that would keep the library busy for ever, and one of more than `max_pixels`, for
/// which room is made even where only its description is asked for.
pub(super) fn check(bytes: &[u8], max_pixels: u64) -> Result<(), ReadErrorKind> {
    compressed(bytes, max_pixels)?;
    if heap::is_one(bytes) {
        return heap::walk(bytes);
    }
    // The library tries boxes first, whatever the file begins with.
    boxes::walk(bytes)?;
    let mut budget = Budget::of(bytes);
    if blocks::is_one(bytes) {
        return blocks::walk(bytes, max_pixels, &mut budget);
    }
    let told = directories::walk(bytes, &mut budget)?;
    told.sizes.iter().try_for_each(|size| fits(*size, max_pixels))?;
    if note::is_one(&told) { note::walk(bytes, max_pixels, &mut budget) } else { Ok(()) }
}

/// Lossless JPEG (ISO/IEC 10918-1, annex H) says its size by itself, wherever in the file it lies.
fn compressed(bytes: &[u8], max_pixels: u64) -> Result<(), ReadErrorKind> {
    /// Cells of one pixel may be stored as several columns.
    const MOST_COLUMNS: u64 = 4;
    let mut rest = bytes;
    while let Some(at) = find_ff(rest) {
        rest = rest.get(at + 1..).unwrap_or_default();
        let Some(&[0xC3, 0, length, precision, h0, h1, w0, w1, count]) = rest.first_chunk() else {
            continue;
        };
        let is_frame = matches!(count, 1..=4) && length == 8 + 3 * count;
        if is_frame && (2..=16).contains(&precision) {
            let [width, height] = [[w0, w1], [h0, h1]].map(u16::from_be_bytes).map(u32::from);
            fits([width * u32::from(count), height], max_pixels.saturating_mul(MOST_COLUMNS))?;
        }
    }
    Ok(())
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
