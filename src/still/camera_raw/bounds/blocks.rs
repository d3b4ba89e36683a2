//! A file of named blocks before the samples: one with the picture's size, one with a directory.

use super::{Budget, damaged, directories, fits};
use crate::still::ReadErrorKind;
use crate::still::numbers::Numbers;

const MAGIC: &[u8] = b"\0MRM";
const SIZE: &[u8; 4] = b"\0PRD";
const DIRECTORY: &[u8; 4] = b"\0TTW";
/// Of a block's name and length.
const HEAD: u32 = 8;
/// The library looks at a block only where so much of the blocks is left.
const LEAST: u64 = 20;

pub(super) fn is_one(bytes: &[u8]) -> bool {
    bytes.starts_with(MAGIC)
}

/// Refuses blocks that lead in a circle, and what says that it is larger than may be.
pub(super) fn walk(
    bytes: &[u8],
    max_pixels: u64,
    budget: &mut Budget,
) -> Result<(), ReadErrorKind> {
    let file = Numbers::big_endian(bytes);
    let head = u64::from(HEAD);
    let end = u64::from(file.long(4).unwrap_or(0)) + head;
    let mut at = head;
    let mut directory = 0;
    while at + LEAST < end {
        budget.spend(0)?;
        let (Some(name), Some(length)) = (file.array(at), file.long(at + 4)) else { return Ok(()) };
        match &name {
            SIZE => {
                let size = file.short(at + 18).zip(file.short(at + 16));
                let Some((width, height)) = size else { return Ok(()) };
                fits([width, height].map(u32::from), max_pixels)?;
            }
            DIRECTORY => directory = at + head,
            _ => {}
        }
        // The library adds in 32 bits, and so would go back.
        let step = length.checked_add(HEAD).ok_or(damaged("its blocks lead in a circle"))?;
        at += u64::from(step);
    }
    let directory = usize::try_from(directory).ok().and_then(|at| bytes.get(at..));
    directories::walk_one(directory.unwrap_or_default(), budget)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(blocks: &[(&[u8; 4], &[u8])]) -> Vec<u8> {
        let blocks: Vec<u8> = blocks
            .iter()
            .flat_map(|(name, body)| {
                [&name[..], &(body.len() as u32).to_be_bytes(), body].concat().into_iter()
            })
            .collect();
        // Room behind the last, so that it is looked at.
        let length = blocks.len() as u32 + LEAST as u32;
        [MAGIC, &length.to_be_bytes(), &blocks, &[0; LEAST as usize]].concat()
    }

    fn size(width: u16, height: u16) -> Vec<u8> {
        let sides = [height.to_be_bytes(), width.to_be_bytes()].concat();
        [&[0; 8][..], &sides, &[0; 12]].concat()
    }

    /// The directory of one entry of ten bytes, at the place where the library looks for it.
    fn directory(count: u32) -> Vec<u8> {
        let entry = [&[1, 0, 0, 7][..], &count.to_be_bytes(), &[0, 0, 0, 0]].concat();
        [&b"MM\0\x2A\0\0\0\x08\0\x01"[..], &entry, &[0; 4]].concat()
    }

    fn refused(bytes: &[u8]) -> Option<String> {
        assert!(is_one(bytes));
        walk(bytes, 1_000_000, &mut Budget::of(bytes)).err().map(|error| error.to_string())
    }

    #[test]
    fn sound_blocks_pass_and_what_is_too_large_does_not() {
        let whole = |size: &[u8], count| file(&[(SIZE, size), (DIRECTORY, &directory(count))]);
        assert_eq!(refused(&whole(&size(1000, 1000), 10)), None);
        let large = refused(&whole(&size(1001, 1000), 10)).unwrap();
        assert!(large.contains("1001"), "{large}");
        let counts = refused(&whole(&size(1000, 1000), u32::MAX)).unwrap();
        assert!(counts.contains("counts more"), "{counts}");
    }

    #[test]
    fn blocks_in_a_circle_are_refused() {
        let mut bytes = file(&[(b"\0WBG", &[0; 24])]);
        bytes[12..16].copy_from_slice(&0xFFFF_FFF8_u32.to_be_bytes());
        assert!(refused(&bytes).is_some_and(|why| why.contains("circle")));
    }

    #[test]
    fn every_cut_is_survived() {
        let whole = file(&[(SIZE, &size(64, 64)), (DIRECTORY, &directory(10))]);
        for cut in MAGIC.len()..whole.len() {
            let _ = refused(&whole[..cut]);
        }
    }
}
