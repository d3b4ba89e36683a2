//! Numbers at places in a file, read from bytes that nobody vouches for.

/// Bytes, and the order in which numbers are stored in them. Whatever lies outside is `None`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Numbers<'a> {
    bytes: &'a [u8],
    little: bool,
}

impl<'a> Numbers<'a> {
    /// The low byte of each number first.
    #[cfg(feature = "raw-formats")]
    pub(super) fn little_endian(bytes: &'a [u8]) -> Self {
        Self { bytes, little: true }
    }

    /// The high byte of each number first.
    #[cfg(feature = "raw-formats")]
    pub(super) fn big_endian(bytes: &'a [u8]) -> Self {
        Self { bytes, little: false }
    }

    /// By the two letters that a TIFF file begins with (TIFF 6.0, section 2).
    pub(super) fn of_tiff(bytes: &'a [u8]) -> Option<Self> {
        match bytes.get(..2)? {
            b"II" => Some(Self { bytes, little: true }),
            b"MM" => Some(Self { bytes, little: false }),
            _ => None,
        }
    }

    pub(super) fn is_little(&self) -> bool {
        self.little
    }

    /// How many bytes there are.
    #[cfg(feature = "raw-formats")]
    pub(super) fn len(&self) -> u64 {
        self.bytes.len() as u64
    }

    /// `length` bytes at `start`.
    pub(super) fn slice(&self, start: u64, length: u64) -> Option<&'a [u8]> {
        let end = usize::try_from(start.checked_add(length)?).ok()?;
        self.bytes.get(usize::try_from(start).ok()?..end)
    }

    /// `N` bytes at `at`.
    pub(super) fn array<const N: usize>(&self, at: u64) -> Option<[u8; N]> {
        self.bytes.get(usize::try_from(at).ok()?..)?.first_chunk().copied()
    }

    /// The unsigned number of two bytes at `at`.
    pub(super) fn short(&self, at: u64) -> Option<u16> {
        let read = if self.little { u16::from_le_bytes } else { u16::from_be_bytes };
        self.array(at).map(read)
    }

    /// The unsigned number of four bytes at `at`.
    pub(super) fn long(&self, at: u64) -> Option<u32> {
        let read = if self.little { u32::from_le_bytes } else { u32::from_be_bytes };
        self.array(at).map(read)
    }

    /// The unsigned number of eight bytes at `at`.
    pub(super) fn long_long(&self, at: u64) -> Option<u64> {
        let read = if self.little { u64::from_le_bytes } else { u64::from_be_bytes };
        self.array(at).map(read)
    }

    /// The unsigned number of `size` (1, 2, 4 or 8) bytes at `at`.
    pub(super) fn uint(&self, at: u64, size: u64) -> Option<u64> {
        match size {
            1 => self.array(at).map(|[byte]| byte.into()),
            2 => self.short(at).map(u64::from),
            4 => self.long(at).map(u64::from),
            8 => self.long_long(at),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BYTES: &[u8] = b"II\x01\x02\x03\x04\x05\x06\x07\x08";

    #[test]
    fn numbers_are_read_in_either_order() {
        let little = Numbers::of_tiff(BYTES).expect("a byte order");
        assert!(little.is_little() && Numbers::of_tiff(b"IM").is_none());
        assert_eq!(
            [1, 2, 4, 8].map(|size| little.uint(2, size)),
            [Some(1), Some(0x0201), Some(0x0403_0201), Some(0x0807_0605_0403_0201),]
        );
        let big = [b"MM", &BYTES[2..]].concat();
        let big = Numbers::of_tiff(&big).expect("a byte order");
        assert!(!big.is_little());
        assert_eq!(
            [1, 2, 4, 8].map(|size| big.uint(2, size)),
            [Some(1), Some(0x0102), Some(0x0102_0304), Some(0x0102_0304_0506_0708),]
        );
    }

    #[test]
    fn what_lies_outside_is_none() {
        let file = Numbers::of_tiff(BYTES).expect("a byte order");
        assert_eq!(file.slice(6, 4), Some(&BYTES[6..]));
        for (at, length) in [(6, 5), (11, 0), (u64::MAX, 1), (1, u64::MAX)] {
            assert_eq!(file.slice(at, length), None, "{length} at {at}");
        }
        for (at, size) in [(3, 8), (7, 4), (9, 2), (10, 1), (u64::MAX, 4), (2, 3)] {
            assert_eq!(file.uint(at, size), None, "{size} at {at}");
        }
    }
}
