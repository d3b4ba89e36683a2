//! Heaps of values with their directory at the end, nested in one another (the form of files with
//! `HEAPCCDR` at byte 6).

use super::{Budget, damaged};
use crate::still::ReadErrorKind;
use crate::still::numbers::Numbers;

/// The library goes no deeper.
const DEEPEST: u32 = 10;

pub(super) fn is_one(bytes: &[u8]) -> bool {
    bytes.get(6..14) == Some(b"HEAPCCDR")
}

/// Refuses heaps that lie in themselves: through ten levels a few entries become thousands of
/// millions.
pub(super) fn walk(bytes: &[u8]) -> Result<(), ReadErrorKind> {
    let mut budget = Budget::of(bytes);
    let file = Numbers::little_endian(bytes);
    let Some(start) = file.long(2) else { return Ok(()) };
    match heap(file, start.into(), file.len(), 1, &mut budget) {
        Err(Stopped::Endless) => Err(damaged("parts of it lie in one another over and over")),
        // The library gives up there by itself.
        Ok(()) | Err(Stopped::Broken | Stopped::GivesUp) => Ok(()),
    }
}

enum Stopped {
    /// It would cost too much.
    Endless,
    /// This heap is broken; the library passes over it.
    Broken,
    /// The library gives the whole file up.
    GivesUp,
}

fn heap(
    file: Numbers,
    start: u64,
    end: u64,
    depth: u32,
    budget: &mut Budget,
) -> Result<(), Stopped> {
    let values = end.checked_sub(4).and_then(|at| file.long(at)).ok_or(Stopped::GivesUp)?;
    let directory = start.checked_add(values.into()).ok_or(Stopped::GivesUp)?;
    let count = file.short(directory).ok_or(Stopped::GivesUp)?;
    for n in 0..u64::from(count) {
        let at = directory + 2 + n * 10;
        let word = file.short(at).ok_or(Stopped::GivesUp)?;
        let (length, place) = match word & 0xC000 {
            0 => {
                let found = file.long(at + 2).zip(file.long(at + 6));
                let (length, offset) = found.ok_or(Stopped::GivesUp)?;
                (u64::from(length), start.checked_add(offset.into()).ok_or(Stopped::GivesUp)?)
            }
            0x4000 => (8, at + 2),
            _ => return Err(Stopped::Broken),
        };
        let after = place.checked_add(length).filter(|after| *after <= file.len());
        let after = after.ok_or(Stopped::GivesUp)?;
        budget.spend(length).map_err(|_| Stopped::Endless)?;
        if matches!(word & 0x3800, 0x2800 | 0x3000) && depth < DEEPEST {
            match heap(file, place, after, depth + 1, budget) {
                Ok(()) | Err(Stopped::Broken) => {}
                stopped => return stopped,
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A heap of so many entries, each of which is a heap that lies where the whole one does.
    fn nested(entries: u16, kind: u16) -> Vec<u8> {
        let mut bytes = b"II\x0e\0\0\0HEAPCCDR".to_vec();
        let length = 2 + u32::from(entries) * 10 + 4;
        bytes.extend(entries.to_le_bytes());
        for _ in 0..entries {
            bytes.extend(kind.to_le_bytes());
            bytes.extend([length.to_le_bytes(), 0_u32.to_le_bytes()].concat());
        }
        bytes.extend(0_u32.to_le_bytes());
        bytes
    }

    #[test]
    fn heaps_in_themselves_are_refused_and_others_pass() {
        assert!(walk(&nested(20, 0x2801)).is_err());
        assert!(walk(&nested(20, 0x1801)).is_ok(), "values only");
        let whole = nested(2, 0x3001);
        assert!(is_one(&whole) && walk(&whole).is_ok());
        for cut in 0..whole.len() {
            let _ = walk(&whole[..cut]);
        }
    }
}
