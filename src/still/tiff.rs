//! TIFF directories, as far as is needed to tell a finished picture from a raw file, and to find the profile.
//!
//! A raw file that is a TIFF would otherwise be read as the thumbnail in its first directory. The decoder
//! does not see a profile whose tag has the type that the ICC specification asks for (UNDEFINED).

use super::ReadErrorKind;

/// What the directories say.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Directories {
    /// It is a raw file: DNG version, or mosaic or linear raw samples in any directory.
    raw: bool,
    /// The first picture is a reduced copy of another (`NewSubfileType`, bit 0).
    thumbnail_first: bool,
    /// `PhotometricInterpretation` of the first picture.
    photometric: Option<u64>,
    /// `SampleFormat` of the first picture's first channel.
    sample_format: Option<u64>,
    /// Where the first picture's ICC profile lies in the file: start and end.
    profile: Option<(u64, u64)>,
}

const NEW_SUBFILE_TYPE: u16 = 254;
const PHOTOMETRIC: u16 = 262;
const SUB_IFDS: u16 = 330;
const SAMPLE_FORMAT: u16 = 339;
const ICC_PROFILE: u16 = 34675;
const DNG_VERSION: u16 = 50706;
/// Photometric interpretations of raw data (DNG 1.6, chapter 4).
const RAW_PHOTOMETRIC: [u64; 2] = [32803, 34892];

/// Bounds on a walk over hostile data; real files stay far below.
const MOST_DIRECTORIES: usize = 64;
const MOST_ENTRIES: u64 = 4096;

/// Refuses a TIFF whose first picture is not a finished grey or RGB picture; gives that picture's profile.
pub(super) fn check(bytes: &[u8]) -> Result<Option<&[u8]>, ReadErrorKind> {
    let found = directories(bytes);
    if found.raw {
        return Err(ReadErrorKind::UnsupportedFormat {
            found: "a camera raw file",
            advice: super::sniff::DEVELOP,
        });
    }
    if found.thumbnail_first {
        return Err(ReadErrorKind::UnsupportedFormat {
            found: "a TIFF file that starts with a thumbnail",
            advice: super::sniff::SAVE_AS,
        });
    }
    let colour = match (found.photometric, found.sample_format) {
        (_, Some(3)) => "floating-point numbers",
        (_, Some(2)) => "signed numbers",
        (Some(3), _) => "a palette",
        (Some(4), _) => "a transparency mask",
        (Some(5), _) => "CMYK",
        (Some(6), _) => "YCbCr in a TIFF file",
        (Some(8..=10), _) => "L*a*b*",
        _ => {
            let place = found.profile.and_then(|(start, end)| {
                Some((usize::try_from(start).ok()?, usize::try_from(end).ok()?))
            });
            return Ok(place.and_then(|(start, end)| bytes.get(start..end)));
        }
    };
    Err(ReadErrorKind::UnsupportedColour { found: colour.to_owned() })
}

fn directories(bytes: &[u8]) -> Directories {
    let mut found = Directories::default();
    let Some(reader) = Reader::new(bytes) else { return found };
    let mut pending: Vec<u64> = reader.first_directory().into_iter().collect();
    let mut seen = Vec::new();
    while let Some(offset) = pending.pop() {
        if offset == 0 || seen.contains(&offset) || seen.len() >= MOST_DIRECTORIES {
            continue;
        }
        let is_first = seen.is_empty();
        seen.push(offset);
        let Some((count, entries)) = reader.entry_count(offset) else { continue };
        for n in 0..count.min(MOST_ENTRIES) {
            let Some(entry) = reader.entry(entries, n) else { break };
            match entry.tag {
                DNG_VERSION => found.raw = true,
                PHOTOMETRIC => {
                    let value = reader.value(&entry, 0);
                    found.raw |= value.is_some_and(|value| RAW_PHOTOMETRIC.contains(&value));
                    if is_first {
                        found.photometric = value;
                    }
                }
                NEW_SUBFILE_TYPE if is_first => {
                    found.thumbnail_first = reader.value(&entry, 0).is_some_and(|v| v & 1 == 1);
                }
                SAMPLE_FORMAT if is_first => found.sample_format = reader.value(&entry, 0),
                ICC_PROFILE if is_first => found.profile = reader.place(&entry),
                SUB_IFDS => {
                    let most = entry.count.min(MOST_DIRECTORIES as u64);
                    pending.extend((0..most).filter_map(|n| reader.value(&entry, n)));
                }
                _ => {}
            }
        }
        pending.extend(reader.next_directory(entries, count));
    }
    found
}

struct Entry {
    tag: u16,
    kind: u16,
    count: u64,
    /// Offset of the field that holds the value, or the offset of the value.
    field: u64,
}

/// Reads numbers in the file's byte order, in its classic (32-bit) or big (64-bit) form.
struct Reader<'a> {
    bytes: &'a [u8],
    little: bool,
    big: bool,
}

impl<'a> Reader<'a> {
    fn new(bytes: &'a [u8]) -> Option<Self> {
        let little = match bytes.get(..2)? {
            b"II" => true,
            b"MM" => false,
            _ => return None,
        };
        let reader = Self { bytes, little, big: false };
        match reader.uint(2, 2)? {
            42 => Some(reader),
            43 => Some(Self { big: true, ..reader }),
            _ => None,
        }
    }

    /// The unsigned number of `size` (1, 2, 4 or 8) bytes at `at`.
    fn uint(&self, at: u64, size: u64) -> Option<u64> {
        let start = usize::try_from(at).ok()?;
        let end = usize::try_from(at.checked_add(size)?).ok()?;
        let slice = self.bytes.get(start..end)?;
        let shift = |value: u64, byte: &u8| value << 8 | u64::from(*byte);
        Some(if self.little {
            slice.iter().rev().fold(0, shift)
        } else {
            slice.iter().fold(0, shift)
        })
    }

    fn word(&self) -> u64 {
        if self.big { 8 } else { 4 }
    }

    fn first_directory(&self) -> Option<u64> {
        self.uint(if self.big { 8 } else { 4 }, self.word())
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

    fn next_directory(&self, entries: u64, count: u64) -> Option<u64> {
        self.uint(entries.checked_add(count.checked_mul(self.entry_size())?)?, self.word())
    }

    /// Where the bytes of an entry of type BYTE or UNDEFINED lie.
    fn place(&self, entry: &Entry) -> Option<(u64, u64)> {
        let is_bytes = matches!(entry.kind, 1 | 7) && entry.count > self.word();
        let start = self.uint(entry.field, self.word()).filter(|_| is_bytes)?;
        Some((start, start.checked_add(entry.count)?))
    }

    /// The `n`th value of an entry of an unsigned type.
    fn value(&self, entry: &Entry, n: u64) -> Option<u64> {
        let size = match entry.kind {
            1 => 1,
            3 => 2,
            4 | 13 => 4,
            16 | 18 => 8,
            _ => return None,
        };
        if n >= entry.count {
            return None;
        }
        let inline = entry.count.checked_mul(size)? <= self.word();
        let start = if inline { entry.field } else { self.uint(entry.field, self.word())? };
        self.uint(start.checked_add(n.checked_mul(size)?)?, size)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A little-endian TIFF of directories with LONG values only.
    fn tiff(directories: &[&[(u16, u32)]]) -> Vec<u8> {
        let mut bytes = b"II*\0\x08\0\0\0".to_vec();
        for (n, directory) in directories.iter().enumerate() {
            bytes.extend((directory.len() as u16).to_le_bytes());
            for (tag, value) in *directory {
                bytes.extend(tag.to_le_bytes());
                bytes.extend(4u16.to_le_bytes());
                bytes.extend(1u32.to_le_bytes());
                bytes.extend(value.to_le_bytes());
            }
            let next = if n + 1 < directories.len() { bytes.len() as u32 + 4 } else { 0 };
            bytes.extend(next.to_le_bytes());
        }
        bytes
    }

    fn code(bytes: &[u8]) -> Option<&'static str> {
        check(bytes).err().map(|error| error.code())
    }

    #[test]
    fn finished_pictures_pass() {
        assert_eq!(code(&tiff(&[&[(PHOTOMETRIC, 2)]])), None);
        assert_eq!(code(&tiff(&[&[(PHOTOMETRIC, 1)], &[(NEW_SUBFILE_TYPE, 1)]])), None);
    }

    #[test]
    fn raw_files_are_told_apart() {
        assert_eq!(code(&tiff(&[&[(DNG_VERSION, 1)]])), Some("unsupported-format"));
        let later = tiff(&[&[(PHOTOMETRIC, 2)], &[(PHOTOMETRIC, 32803)]]);
        assert_eq!(code(&later), Some("unsupported-format"));
        // The same, with the second directory reachable only as a sub-directory.
        let second = 8 + 2 + 2 * 12 + 4;
        let mut below = tiff(&[&[(PHOTOMETRIC, 2), (SUB_IFDS, second)], &[(PHOTOMETRIC, 34892)]]);
        below[second as usize - 4..second as usize].fill(0);
        assert_eq!(code(&below), Some("unsupported-format"));
    }

    #[test]
    fn colours_that_are_not_read_are_named() {
        for (photometric, name) in [(3, "a palette"), (5, "CMYK"), (8, "L*a*b*")] {
            let error = check(&tiff(&[&[(PHOTOMETRIC, photometric)]])).expect_err("not read");
            assert!(error.to_string().contains(name), "{error}");
        }
        assert_eq!(code(&tiff(&[&[(SAMPLE_FORMAT, 3)]])), Some("unsupported-colour"));
    }

    #[test]
    fn loops_and_nonsense_end() {
        let mut bytes = tiff(&[&[(PHOTOMETRIC, 2), (SUB_IFDS, 8)]]);
        let end = bytes.len();
        bytes[end - 4] = 8; // the next directory is this one
        assert_eq!(code(&bytes), None);
        for cut in 0..bytes.len() {
            let _ = directories(&bytes[..cut]);
        }
        bytes[8..10].fill(0xFF);
        assert_eq!(code(&bytes), None);
    }
}
