//! By what an ICC profile is made of (ICC.1:2022, chapters 7 to 10), in place.

use lab::Rng;

use super::{bend_bytes, get, put};
use crate::dice::Dice;

const HEADER: usize = 128;

const TAGS: [&[u8; 4]; 16] = [
    b"rTRC", b"gTRC", b"bTRC", b"kTRC", b"rXYZ", b"gXYZ", b"bXYZ", b"wtpt", b"chad", b"desc",
    b"A2B0", b"A2B1", b"B2A0", b"cicp", b"lumi", b"cprt",
];
const TYPES: [&[u8; 4]; 12] = [
    b"curv", b"para", b"XYZ ", b"sf32", b"desc", b"mluc", b"text", b"mft1", b"mft2", b"mAB ",
    b"mBA ", b"cicp",
];
const SPACES: [&[u8; 4]; 8] =
    [b"RGB ", b"GRAY", b"CMYK", b"Lab ", b"XYZ ", b"YCbr", b"HSV ", b"6CLR"];
const CLASSES: [&[u8; 4]; 7] = [b"mntr", b"scnr", b"prtr", b"link", b"spac", b"abst", b"nmcl"];

/// Changes header, table of tags, or what tags hold.
pub(crate) fn bend(rng: &mut Rng, bytes: &mut Vec<u8>) {
    for _ in 0..1 + rng.below(4) {
        once(rng, bytes);
    }
    // The size in the header is checked by readers; mostly it should be right.
    if !rng.once_in(6) {
        let size = bytes.len() as u64;
        put(bytes, 0, 4, size, false);
    }
}

fn name(bytes: &mut [u8], at: usize, name: &[u8; 4]) {
    put(bytes, at, 4, u64::from(u32::from_be_bytes(*name)), false);
}

fn once(rng: &mut Rng, bytes: &mut Vec<u8>) {
    let count = get(bytes, HEADER, 4, false).unwrap_or(0).min(60) as usize;
    let entry = HEADER + 4 + 12 * rng.below(count);
    let data = get(bytes, entry + 4, 4, false).unwrap_or(0) as usize;
    match rng.below(13) {
        0 => put(bytes, 4 * rng.below(32), 4, rng.odd_number(), false),
        1 => {
            let at = [16, 20][rng.below(2)];
            name(bytes, at, SPACES[rng.below(SPACES.len())]);
        }
        2 => name(bytes, 12, CLASSES[rng.below(CLASSES.len())]),
        3 => put(bytes, 8, 4, [0x0210_0000, 0x0400_0000, 0x0440_0000, 0][rng.below(4)], false),
        4 => put(bytes, HEADER, 4, rng.odd_number(), false),
        5 => name(bytes, entry, TAGS[rng.below(TAGS.len())]),
        6 => put(bytes, entry + 4, 4, rng.odd_number(), false),
        7 => put(bytes, entry + 8, 4, rng.odd_number(), false),
        8 => {
            // Shares another tag's data.
            let other = HEADER + 4 + 12 * rng.below(count);
            let place = get(bytes, other + 4, 8, false).unwrap_or(0);
            put(bytes, entry + 4, 8, place, false);
        }
        9 => name(bytes, data, TYPES[rng.below(TYPES.len())]),
        // The count of a curve, the kind of a formula, the grid of a table.
        10 => put(bytes, data + 8, [1, 2, 4][rng.below(3)], rng.odd_number(), false),
        11 => {
            let at = data + 8 + 2 * rng.below(24);
            put(bytes, at, [1, 2, 4][rng.below(3)], rng.odd_number(), false);
        }
        _ => bend_bytes(rng, bytes),
    }
}
