//! TIFF directories of numbers (TIFF 6.0, section 2, and its 64-bit form), read from bytes that
//! nobody vouches for: every offset is checked, every count is bounded.

use super::ReadErrorKind;
use super::numbers::Numbers;

/// Bounds on a walk over hostile data; real files stay far below.
pub(super) const MOST_DIRECTORIES: usize = 64;
const MOST_ENTRIES: u64 = 4096;

const SUB_IFDS: u16 = 330;

/// One entry of a directory: where its values are, not the values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Entry {
    pub(super) tag: u16,
    kind: u16,
    pub(super) count: u64,
    /// Offset of the field that holds the value, or the offset of the value.
    field: u64,
}

/// Reads directories in their classic (32-bit) or big (64-bit) form.
#[derive(Debug, Clone, Copy)]
pub(super) struct TiffBytes<'a> {
    numbers: Numbers<'a>,
    big: bool,
}

impl<'a> TiffBytes<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Option<Self> {
        let numbers = Numbers::of_tiff(bytes)?;
        match numbers.short(2)? {
            42 => Some(Self { numbers, big: false }),
            43 => Some(Self { numbers, big: true }),
            _ => None,
        }
    }

    pub(super) fn is_little(&self) -> bool {
        self.numbers.is_little()
    }

    /// `length` bytes at `start`; `None` where the file ends before.
    pub(super) fn slice(&self, start: u64, length: u64) -> Option<&'a [u8]> {
        self.numbers.slice(start, length)
    }

    fn uint(&self, at: u64, size: u64) -> Option<u64> {
        self.numbers.uint(at, size)
    }

    fn word(&self) -> u64 {
        if self.big { 8 } else { 4 }
    }

    /// The number of entries in the directory at `offset`, and where the first is.
    fn entry_count(&self, offset: u64) -> Option<(u64, u64)> {
        let size = if self.big { 8 } else { 2 };
        Some((self.uint(offset, size)?, offset.checked_add(size)?))
    }

    fn entry_size(&self) -> u64 {
        if self.big { 20 } else { 12 }
    }

    fn entry(&self, entries: u64, n: u64) -> Option<Entry> {
        let at = entries.checked_add(n.checked_mul(self.entry_size())?)?;
        Some(Entry {
            tag: u16::try_from(self.uint(at, 2)?).ok()?,
            kind: u16::try_from(self.uint(at.checked_add(2)?, 2)?).ok()?,
            count: self.uint(at.checked_add(4)?, self.word())?,
            field: at.checked_add(4 + self.word())?,
        })
    }

    /// Whether there are more directories than `most`. Never true of more than can be walked.
    pub(super) fn exceeds(&self, most: usize) -> bool {
        most < MOST_DIRECTORIES && self.directories().len() > most
    }

    /// Of a file in the form of a TIFF, whatever its magic number: whether an entry of any directory
    /// counts more bytes than the file has. A reader that makes room for them first would fail.
    #[cfg(feature = "raw-formats")]
    pub(super) fn overstates(bytes: &[u8]) -> bool {
        /// Exif, GPS and interoperability directories (Exif 2.32, section 4.6.3).
        const BELOW: [u16; 3] = [34_665, 34_853, 40_965];
        let Some(numbers) = Numbers::of_tiff(bytes) else { return false };
        let file = TiffBytes { numbers, big: numbers.short(2) == Some(43) };
        let mut directories = file.directories();
        let mut next = 0;
        while let Some(directory) = directories.get(next) {
            let most = bytes.len() as u64;
            let too_long = |entry: &Entry| {
                let size = entry.count.checked_mul(size_of(entry.kind).unwrap_or(1));
                size.is_none_or(|size| size > most)
            };
            if directory.entries.iter().any(too_long) {
                return true;
            }
            let below = BELOW.iter().filter_map(|tag| file.unsigned(&directory.entry(*tag)?, 0));
            let below: Vec<_> = below.filter_map(|at| file.directory(at)).collect();
            next += 1;
            if directories.len() < MOST_DIRECTORIES {
                directories.extend(below);
            }
        }
        false
    }

    /// The directory at an offset.
    fn directory(&self, offset: u64) -> Option<Directory<'a>> {
        let (count, start) = self.entry_count(offset)?;
        let entries = (0..count.min(MOST_ENTRIES)).map_while(|n| self.entry(start, n)).collect();
        Some(Directory { file: *self, entries })
    }

    /// All directories that can be reached, the first one first: each chain, and what lies below.
    pub(super) fn directories(&self) -> Vec<Directory<'a>> {
        let first = self.uint(if self.big { 8 } else { 4 }, self.word());
        let mut pending: Vec<u64> = first.into_iter().collect();
        let mut seen = Vec::new();
        let mut found = Vec::new();
        while let Some(offset) = pending.pop() {
            if offset == 0 || seen.contains(&offset) || seen.len() >= MOST_DIRECTORIES {
                continue;
            }
            seen.push(offset);
            let Some((count, start)) = self.entry_count(offset) else { continue };
            let Some(directory) = self.directory(offset) else { continue };
            if let Some(entry) = directory.entry(SUB_IFDS) {
                let most = entry.count.min(MOST_DIRECTORIES as u64);
                pending.extend((0..most).filter_map(|n| self.unsigned(&entry, n)));
            }
            let end = count.checked_mul(self.entry_size()).and_then(|size| start.checked_add(size));
            pending.extend(end.and_then(|end| self.uint(end, self.word())));
            found.push(directory);
        }
        found
    }

    /// Where an entry's values start; they may lie outside the file.
    fn place(&self, entry: &Entry) -> Option<u64> {
        let inline = entry.count.checked_mul(size_of(entry.kind)?)? <= self.word();
        if inline { Some(entry.field) } else { self.uint(entry.field, self.word()) }
    }

    /// The `n`th value of an entry of an unsigned type.
    fn unsigned(&self, entry: &Entry, n: u64) -> Option<u64> {
        let size = size_of(entry.kind).filter(|_| is_unsigned(entry.kind))?;
        if n >= entry.count {
            return None;
        }
        self.uint(self.place(entry)?.checked_add(n.checked_mul(size)?)?, size)
    }

    /// The `n`th value of an entry of any type of number.
    fn real(&self, entry: &Entry, n: u64) -> Option<f64> {
        let size = size_of(entry.kind)?;
        let at = self.place(entry)?.checked_add(n.checked_mul(size)?)?;
        let half = |offset: u64| self.uint(at.checked_add(offset)?, 4).map(|bits| bits as u32);
        Some(match entry.kind {
            RATIONAL => f64::from(half(0)?) / f64::from(half(4)?),
            SIGNED_RATIONAL => f64::from(half(0)? as i32) / f64::from(half(4)? as i32),
            FLOAT => f64::from(f32::from_bits(half(0)?)),
            DOUBLE => f64::from_bits(self.uint(at, 8)?),
            SIGNED_BYTE => f64::from(self.uint(at, 1)? as u8 as i8),
            SIGNED_SHORT => f64::from(self.uint(at, 2)? as u16 as i16),
            SIGNED_LONG => f64::from(half(0)? as i32),
            kind if is_unsigned(kind) => self.uint(at, size)? as f64,
            _ => return None,
        })
    }
}

const BYTE: u16 = 1;
const ASCII: u16 = 2;
const RATIONAL: u16 = 5;
const SIGNED_BYTE: u16 = 6;
const UNDEFINED: u16 = 7;
const SIGNED_SHORT: u16 = 8;
const SIGNED_LONG: u16 = 9;
const SIGNED_RATIONAL: u16 = 10;
const FLOAT: u16 = 11;
const DOUBLE: u16 = 12;

/// Bytes a value takes, by its type.
fn size_of(kind: u16) -> Option<u64> {
    Some(match kind {
        BYTE | ASCII | SIGNED_BYTE | UNDEFINED => 1,
        3 | SIGNED_SHORT => 2,
        4 | 13 | SIGNED_LONG | FLOAT => 4,
        RATIONAL | SIGNED_RATIONAL | DOUBLE | 16..=18 => 8,
        _ => return None,
    })
}

fn is_unsigned(kind: u16) -> bool {
    matches!(kind, BYTE | 3 | 4 | 13 | 16 | 18)
}

/// One directory. Its getters give `Ok(None)` for what is not there and an error for what is there
/// but cannot be read, so that a damaged value is never taken for a missing one.
#[derive(Debug, Clone)]
pub(super) struct Directory<'a> {
    file: TiffBytes<'a>,
    entries: Vec<Entry>,
}

impl<'a> Directory<'a> {
    pub(super) fn entry(&self, tag: u16) -> Option<Entry> {
        self.entries.iter().find(|entry| entry.tag == tag).copied()
    }

    pub(super) fn has(&self, tag: u16) -> bool {
        self.entry(tag).is_some()
    }

    /// The `n`th value of a tag of an unsigned type; `None` where there is none for whatever reason.
    pub(super) fn peek(&self, tag: u16, n: u64) -> Option<u64> {
        self.file.unsigned(&self.entry(tag)?, n)
    }

    /// Whole numbers, at most `most` of them.
    pub(super) fn uints(&self, tag: u16, most: usize) -> Result<Option<Vec<u64>>, ReadErrorKind> {
        self.list(tag, most, is_unsigned, |entry, n| self.file.unsigned(entry, n))
    }

    /// One whole number, or the first of several.
    pub(super) fn uint(&self, tag: u16) -> Result<Option<u64>, ReadErrorKind> {
        let Some(entry) = self.entry(tag) else { return Ok(None) };
        if !is_unsigned(entry.kind) || entry.count == 0 {
            return Err(ReadErrorKind::DamagedRaw { what: "a value is of the wrong type" });
        }
        let value = self.file.unsigned(&entry, 0);
        value.map(Some).ok_or(ReadErrorKind::Truncated { source: None })
    }

    /// Numbers of any type, at most `most` of them, all finite.
    pub(super) fn reals(&self, tag: u16, most: usize) -> Result<Option<Vec<f64>>, ReadErrorKind> {
        let is_number = |kind| kind != ASCII && kind != UNDEFINED && size_of(kind).is_some();
        let values = self.list(tag, most, is_number, |entry, n| self.file.real(entry, n))?;
        match values {
            Some(values) if values.iter().any(|value| !value.is_finite()) => {
                Err(ReadErrorKind::DamagedRaw { what: "one of its numbers is not finite" })
            }
            values => Ok(values),
        }
    }

    /// Text or bytes as stored.
    pub(super) fn bytes(&self, tag: u16) -> Result<Option<&'a [u8]>, ReadErrorKind> {
        let Some(entry) = self.entry(tag) else { return Ok(None) };
        let start = size_of(entry.kind).filter(|size| *size == 1);
        let start = start.and_then(|_| self.file.place(&entry));
        match start.and_then(|start| self.file.slice(start, entry.count)) {
            Some(bytes) => Ok(Some(bytes)),
            None => Err(ReadErrorKind::Truncated { source: None }),
        }
    }

    fn list<T>(
        &self,
        tag: u16,
        most: usize,
        suits: impl Fn(u16) -> bool,
        value: impl Fn(&Entry, u64) -> Option<T>,
    ) -> Result<Option<Vec<T>>, ReadErrorKind> {
        let Some(entry) = self.entry(tag) else { return Ok(None) };
        if !suits(entry.kind) {
            return Err(ReadErrorKind::DamagedRaw { what: "a value is of the wrong type" });
        }
        if entry.count == 0 || entry.count > most as u64 {
            return Err(ReadErrorKind::DamagedRaw { what: "a list is too long or empty" });
        }
        // The last first: a list that leaves the file is noticed before anything is allocated.
        let cut = || ReadErrorKind::Truncated { source: None };
        value(&entry, entry.count - 1).ok_or_else(cut)?;
        let values: Option<Vec<T>> = (0..entry.count).map(|n| value(&entry, n)).collect();
        values.map(Some).ok_or_else(cut)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One directory with one entry whose value is `value`, too long to be inline.
    fn file(kind: u16, count: u32, value: &[u8]) -> Vec<u8> {
        let mut bytes = b"MM\0\x2A\0\0\0\x08\0\x01\x12\x34".to_vec();
        bytes.extend(kind.to_be_bytes());
        bytes.extend(count.to_be_bytes());
        bytes.extend(26u32.to_be_bytes());
        bytes.extend([0; 4]);
        bytes.extend(value);
        bytes
    }

    fn reals(bytes: &[u8]) -> Result<Option<Vec<f64>>, ReadErrorKind> {
        let directories = TiffBytes::new(bytes).expect("a TIFF").directories();
        directories.first().expect("a directory").reals(0x1234, 100)
    }

    #[test]
    fn numbers_of_every_type_are_read() {
        let fraction = [[0xFF, 0xFF, 0xFF, 0xFD], [0, 0, 0, 2]].concat();
        assert_eq!(reals(&file(10, 1, &fraction)).expect("reads"), Some(vec![-1.5]));
        assert_eq!(reals(&file(12, 1, &2.5f64.to_be_bytes())).expect("reads"), Some(vec![2.5]));
        let shorts = [1u16, 2, 65_535].map(u16::to_be_bytes).concat();
        assert_eq!(reals(&file(3, 3, &shorts)).expect("reads"), Some(vec![1.0, 2.0, 65_535.0]));
        assert_eq!(reals(&file(8, 3, &shorts)).expect("reads"), Some(vec![1.0, 2.0, -1.0]));
        assert_eq!(reals(b"II\x2A\0\x08\0\0\0\0\0\0\0\0\0").expect("reads"), None);
    }

    #[test]
    fn what_is_damaged_is_not_taken_for_missing() {
        let code = |bytes: &[u8]| reals(bytes).expect_err("is refused").code();
        assert_eq!(code(&file(10, 1, &[0; 8])), "damaged", "a fraction over zero");
        assert_eq!(code(&file(10, 2, &[1; 8])), "truncated");
        assert_eq!(code(&file(10, u32::MAX, &[1; 8])), "damaged");
        assert_eq!(code(&file(2, 8, &[1; 8])), "damaged", "text is no number");
        assert_eq!(code(&file(99, 1, &[1; 8])), "damaged");
    }
}
