//! By TIFF directories, in place: types, counts, offsets, circles (TIFF 6.0, section 2). Serves TIFF,
//! its 64-bit form, raw files and Exif blocks.

use lab::Rng;

use super::{bend_bytes, get, put};
use crate::dice::Dice;

struct Shape {
    little: bool,
    big: bool,
    /// Where directories start, and how many entries they have.
    directories: Vec<(usize, usize)>,
}

impl Shape {
    fn entry_size(&self) -> usize {
        if self.big { 20 } else { 12 }
    }

    fn word(&self) -> usize {
        if self.big { 8 } else { 4 }
    }

    fn count_size(&self) -> usize {
        if self.big { 8 } else { 2 }
    }

    fn entry(&self, directory: (usize, usize), n: usize) -> usize {
        directory.0 + self.count_size() + n * self.entry_size()
    }

    fn of(bytes: &[u8]) -> Option<Self> {
        let little = bytes.starts_with(b"II");
        if !little && !bytes.starts_with(b"MM") {
            return None;
        }
        let big = get(bytes, 2, 2, little) == Some(43);
        let mut shape = Self { little, big, directories: Vec::new() };
        let mut waiting = vec![get(bytes, if big { 8 } else { 4 }, shape.word(), little)?];
        while let Some(at) = waiting.pop() {
            let Ok(at) = usize::try_from(at) else { continue };
            let known = shape.directories.iter().any(|(start, _)| *start == at);
            if at == 0 || known || shape.directories.len() > 16 {
                continue;
            }
            let Some(count) = get(bytes, at, shape.count_size(), little) else { continue };
            let directory = (at, count.min(400) as usize);
            shape.directories.push(directory);
            for n in 0..directory.1 {
                let entry = shape.entry(directory, n);
                // Directories below: sub-directories, Exif, positions, interoperability.
                if matches!(get(bytes, entry, 2, little), Some(330 | 0x8769 | 0x8825 | 0xA005)) {
                    let value = entry + 4 + shape.word();
                    waiting.extend(get(bytes, value, shape.word(), little));
                }
            }
            let next = shape.entry(directory, directory.1);
            waiting.extend(get(bytes, next, shape.word(), little));
        }
        Some(shape)
    }
}

/// Tags that something is done with.
const TAGS: [u64; 64] = [
    254, 256, 257, 258, 259, 262, 266, 273, 274, 277, 278, 279, 282, 284, 317, 320, 322, 323, 324,
    325, 330, 338, 339, 347, 513, 514, 530, 700, 0x010F, 0x0110, 0x829A, 0x829D, 0x8769, 0x8773,
    0x8825, 0x8827, 0x9003, 0x9204, 0x9208, 0x9209, 0xA001, 0xA005, 0xA403, 33_421, 33_422, 50_706,
    50_707, 50_710, 50_711, 50_712, 50_713, 50_714, 50_717, 50_719, 50_720, 50_721, 50_722, 50_727,
    50_728, 50_778, 50_829, 51_009, 51_022, 52_525,
];

/// Changes a few entries.
pub(crate) fn bend(rng: &mut Rng, bytes: &mut Vec<u8>) {
    for _ in 0..1 + rng.below(4) {
        match Shape::of(bytes) {
            Some(shape) if !shape.directories.is_empty() && !rng.once_in(10) => {
                once(rng, bytes, &shape);
            }
            _ => bend_bytes(rng, bytes),
        }
    }
}

fn once(rng: &mut Rng, bytes: &mut Vec<u8>, shape: &Shape) {
    let directory = shape.directories.get(rng.below(shape.directories.len()));
    let Some(&directory) = directory else { return };
    let (little, word) = (shape.little, shape.word());
    let number = rng.below(directory.1);
    let entry = shape.entry(directory, number);
    let (kind, count, value) = (entry + 2, entry + 4, entry + 4 + word);
    // A place in the file, or the start of a directory.
    let place = match rng.below(4) {
        0 => rng.pick(&shape.directories).map_or(8, |(at, _)| *at as u64),
        1 => rng.odd_number(),
        2 => bytes.len() as u64 - rng.below(40).min(bytes.len()) as u64,
        _ => rng.below(bytes.len()) as u64,
    };
    match rng.below(14) {
        0 => put(bytes, kind, 2, rng.below(20) as u64, little),
        1 => put(bytes, count, word, rng.odd_number(), little),
        2 => put(bytes, count, word, rng.below(9) as u64, little),
        3 => put(bytes, value, word, place, little),
        4 | 5 => put(bytes, value, word, rng.odd_number(), little),
        6 => put(bytes, value, 2, rng.below(40) as u64, little),
        7 => {
            let tag = rng.pick(&TAGS).copied().unwrap_or(0);
            put(bytes, entry, 2, tag, little);
        }
        8 => put(bytes, shape.entry(directory, directory.1), word, place, little),
        9 => put(bytes, directory.0, shape.count_size(), rng.odd_number(), little),
        10 => {
            // Two entries change places, or one covers another.
            let other = shape.entry(directory, rng.below(directory.1));
            let size = shape.entry_size();
            if let Some(copy) = bytes.get(other..other + size).map(<[u8]>::to_vec)
                && let Some(to) = bytes.get_mut(entry..entry + size)
            {
                to.copy_from_slice(&copy);
            }
        }
        11 => {
            // The values of a longer list.
            let at = get(bytes, value, word, little).unwrap_or(0) as usize;
            let item = [1, 2, 4, 8][rng.below(4)];
            put(bytes, at.saturating_add(item * rng.below(9)), item, rng.odd_number(), little);
        }
        12 => {
            let at = [0, 2, 4, 8][rng.below(4)];
            put(bytes, at, 2, [42, 43, 0x4949, 0x4D4D, 0, 85][rng.below(6)], little);
        }
        _ => {
            // Whatever is not directories: samples, strips.
            let at = rng.below(bytes.len());
            let mut tail = bytes.split_off(at);
            bend_bytes(rng, &mut tail);
            bytes.extend(tail);
        }
    }
}
