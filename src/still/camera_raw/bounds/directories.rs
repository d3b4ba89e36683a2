//! Directories in the form of a TIFF (TIFF 6.0, section 2), in a chain and one level below it.

use super::{Budget, damaged};
use crate::still::ReadErrorKind;
use crate::still::numbers::Numbers;

/// TIFF, and the numbers in its place that some cameras write.
const MAGICS: [u16; 4] = [42, 85, 21_330, 20_306];
/// The tags by which the library goes below: SubIFDs, Exif, GPS, the ICC profile that it takes for a
/// directory, and one of a maker's.
const BELOW: [u16; 5] = [330, 34_665, 34_853, 34_675, 33_424];
/// Width and height of a picture, of a tile, and as one maker writes them.
const SIDES: [u16; 6] = [256, 257, 322, 323, 2, 3];
/// Entries that the library takes of a directory.
const MOST_ENTRIES: u16 = 4096;
/// It leaves a directory after so many entries in a row that cannot be read.
const MOST_FAILURES: u32 = 5;
/// Directories of a chain; those of cameras have fewer than ten.
const LONGEST_CHAIN: usize = 64;

const LONG: u16 = 4;
const UNDEFINED: u16 = 7;

/// What the directories say of the file.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Told {
    /// Widths and heights, each pair from one directory.
    pub(super) sizes: Vec<[u32; 2]>,
    /// The maker and the model in the first directory; of several the last, as the library has it.
    pub(super) maker: Option<Vec<u8>>,
    pub(super) model: Option<Vec<u8>>,
}

/// Refuses a chain that leads in a circle, and entries that count more than there is.
pub(super) fn walk(bytes: &[u8], budget: &mut Budget) -> Result<Told, ReadErrorKind> {
    let mut told = Told::default();
    let Some(file) = Numbers::of_tiff(bytes).map(File) else { return Ok(told) };
    if !file.0.short(2).is_some_and(|magic| MAGICS.contains(&magic)) {
        return Ok(told);
    }
    let mut seen = Vec::new();
    let mut next = file.0.long(4).unwrap_or(0);
    while next != 0 {
        if seen.contains(&next) {
            return Err(damaged("its directories lead in a circle"));
        }
        seen.push(next);
        if seen.len() > LONGEST_CHAIN {
            return Err(damaged("it has more directories than any camera writes"));
        }
        let mut told_here = Told::default();
        next = file.directory(next, true, &mut told_here, budget)?;
        told.sizes.append(&mut told_here.sizes);
        if seen.len() == 1 {
            told = Told { sizes: told.sizes, ..told_here };
        }
    }
    Ok(told)
}

/// The same of one directory alone, big-endian, straight after the header, with nothing below it.
pub(super) fn walk_one(bytes: &[u8], budget: &mut Budget) -> Result<(), ReadErrorKind> {
    const AFTER_HEADER: u32 = 8;
    let file = File(Numbers::big_endian(bytes));
    file.directory(AFTER_HEADER, false, &mut Told::default(), budget).map(drop)
}

struct File<'a>(Numbers<'a>);

/// An entry as the library comes out of it.
enum Entry {
    /// Read; where the value is.
    Read { kind: u16, count: u64, at: u32 },
    /// Not read, and the library stands behind it.
    Passed,
    /// Not read, since the file ends before its value does; the library stands at that end.
    Cut,
}

impl File<'_> {
    /// Walks a directory and, where `goes_below`, those below it; gives where the library takes the
    /// next one to be, 0 for none.
    fn directory(
        &self,
        offset: u32,
        goes_below: bool,
        told: &mut Told,
        budget: &mut Budget,
    ) -> Result<u32, ReadErrorKind> {
        budget.spend(0)?;
        let offset = u64::from(offset);
        let Some(count) = self.0.short(offset) else { return Ok(0) };
        let mut behind = Some(offset + 2);
        let mut failures = 0;
        let mut below = Vec::new();
        let mut sides = [None; SIDES.len()];
        for n in 0..count.min(MOST_ENTRIES) {
            let at = offset + 2 + 12 * u64::from(n);
            let entry = self.entry(at, budget)?;
            failures = if let Entry::Read { kind, count, at: value } = entry {
                let tag = self.0.short(at).unwrap_or(0);
                if let Some(side) = SIDES.iter().position(|side| *side == tag) {
                    sides[side] = self.number(kind, count, value);
                }
                let text = || self.0.slice(value.into(), count).map(<[u8]>::to_vec);
                match tag {
                    271 if goes_below => told.maker = text(),
                    272 if goes_below => told.model = text(),
                    _ => {}
                }
                let tag = Some(tag).filter(|tag| goes_below && BELOW.contains(tag));
                match kind {
                    _ if tag.is_none() => {}
                    LONG => {
                        for n in 0..count {
                            budget.spend(0)?;
                            below.extend(self.0.long(u64::from(value) + 4 * n));
                        }
                    }
                    UNDEFINED => below.push(value),
                    // Of a type that it does not know it takes the first byte.
                    0 | 13.. => {
                        below.extend(self.0.array(value.into()).map(|[byte]| u32::from(byte)))
                    }
                    _ => {}
                }
                0
            } else {
                failures + 1
            };
            behind = if matches!(entry, Entry::Cut) { None } else { Some(at + 12) };
            if failures >= MOST_FAILURES {
                break;
            }
        }
        let pairs = sides.as_chunks::<2>().0.iter();
        told.sizes.extend(pairs.filter_map(|&[width, height]| Some([width?, height?])));
        for offset in below {
            self.directory(offset, false, told, budget)?;
        }
        Ok(behind.and_then(|behind| self.0.long(behind)).unwrap_or(0))
    }

    /// The first of some whole numbers.
    fn number(&self, kind: u16, count: u64, at: u32) -> Option<u32> {
        match kind {
            _ if count == 0 => None,
            1 => self.0.array(at.into()).map(|[byte]| u32::from(byte)),
            3 => self.0.short(at.into()).map(u32::from),
            LONG => self.0.long(at.into()),
            _ => None,
        }
    }

    fn entry(&self, at: u64, budget: &mut Budget) -> Result<Entry, ReadErrorKind> {
        let head = self.0.short(at + 2).zip(self.0.long(at + 4)).zip(self.0.long(at + 8));
        let Some(((kind, count), value)) = head else { return Ok(Entry::Cut) };
        let size = match kind {
            3 | 8 => 2,
            4 | 9 | 11 => 4,
            5 | 10 | 12 => 8,
            _ => 1,
        };
        let (count, length) = (u64::from(count), u64::from(count) * size);
        // Room is made for the value before it is read.
        if length > self.0.len() {
            return Err(damaged("an entry counts more bytes than the file has"));
        }
        budget.spend(length)?;
        let inside = u32::try_from(at + 8).unwrap_or(u32::MAX);
        let value = if length <= 4 { inside } else { value };
        Ok(if value == u32::MAX {
            Entry::Passed
        } else if u64::from(value) + length > self.0.len() {
            Entry::Cut
        } else {
            Entry::Read { kind, count, at: value }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A little-endian file of directories, each of entries (tag, type, count, value) and the next.
    fn file(directories: &[(&[[u32; 4]], u32)]) -> Vec<u8> {
        let mut bytes = b"II\x2A\0\x08\0\0\0".to_vec();
        for (entries, next) in directories {
            bytes.extend((entries.len() as u16).to_le_bytes());
            for [tag, kind, count, value] in *entries {
                bytes.extend((*tag as u16).to_le_bytes());
                bytes.extend((*kind as u16).to_le_bytes());
                bytes.extend([count.to_le_bytes(), value.to_le_bytes()].concat());
            }
            bytes.extend(next.to_le_bytes());
        }
        bytes
    }

    fn refused(bytes: &[u8]) -> Option<String> {
        walk(bytes, &mut Budget::of(bytes)).err().map(|error| error.to_string())
    }

    const WIDTH: [u32; 4] = [256, 4, 1, 640];

    #[test]
    fn sound_chains_pass_and_circles_do_not() {
        assert_eq!(refused(&file(&[(&[WIDTH], 26), (&[WIDTH], 0)])), None);
        for next in [8, 26] {
            let circle = file(&[(&[WIDTH], 26), (&[WIDTH], next)]);
            assert!(refused(&circle).is_some_and(|why| why.contains("circle")), "{next}");
        }
        let told = walk(&file(&[(&[WIDTH, [257, 3, 1, 480]], 0)]), &mut Budget::of(&[])).unwrap();
        assert_eq!(told.sizes, [[640, 480]]);
        let name = |text: &[u8; 4]| [271, 2, 4, u32::from_le_bytes(*text)];
        let twice = file(&[(&[name(b"one\0"), name(b"two\0")], 38), (&[name(b"six\0")], 0)]);
        let told = walk(&twice, &mut Budget::of(&[])).unwrap();
        assert_eq!(told.maker.as_deref(), Some(&b"two\0"[..]));
        let other_order = b"MM\0\x2A\0\0\0\x08\0\x01\x01\0\0\x04\0\0\0\x01\0\0\0\x09\0\0\0\x08";
        assert!(refused(other_order).is_some_and(|why| why.contains("circle")));
    }

    /// The library reads the next offset where it stands after the entry that it gave up at.
    #[test]
    fn a_circle_behind_entries_that_fail_is_found_too() {
        let bad = [1000, 4, 2, u32::MAX];
        let mut bytes = file(&[(&[bad; 8], 0)]);
        // Behind the fifth.
        let behind = 8 + 2 + 5 * 12;
        bytes[behind..behind + 4].copy_from_slice(&8_u32.to_le_bytes());
        assert!(refused(&bytes).is_some_and(|why| why.contains("circle")));
    }

    #[test]
    fn parts_that_are_named_over_and_over_are_refused() {
        // A hundred thousand directories below, all of them one and the same.
        let mut many = file(&[(&[[330, 4, 120_000, 26]], 0)]);
        many.extend(8_u32.to_le_bytes().repeat(120_000));
        assert!(refused(&many).is_some_and(|why| why.contains("over and over")));
        let mut same = file(&[(&[[50_000, 7, 100_000, 0]; 200], 0)]);
        same.resize(100_000, 0);
        assert!(refused(&same).is_some_and(|why| why.contains("over and over")));
        let more = file(&[(&[[50_000, 12, 1 << 29, 0]], 0)]);
        assert!(refused(&more).is_some_and(|why| why.contains("counts more")));
    }

    #[test]
    fn every_cut_is_survived() {
        let whole = file(&[(&[WIDTH, [34_665, 4, 1, 38]], 38), (&[WIDTH], 0)]);
        for cut in 0..whole.len() {
            let _ = refused(&whole[..cut]);
        }
    }
}
