//! Finding markers and the segments behind them (ITU-T T.81, B.1.1).

use super::error::{Damage, Unread};

/// Start of image.
pub(super) const SOI: u8 = 0xD8;
/// End of image.
pub(super) const EOI: u8 = 0xD9;
/// The first of the eight restart markers.
pub(super) const RST0: u8 = 0xD0;

/// What ends entropy-coded data.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    /// The file ends.
    File,
    /// A marker follows.
    Marker,
}

/// Whether one of the eight bytes is 0xFF.
#[inline(always)]
pub(super) fn has_ff(word: u64) -> bool {
    // A byte of the complement that is zero is the only one to borrow without having had its top bit set.
    let zero = !word;
    zero.wrapping_sub(0x0101_0101_0101_0101) & word & 0x8080_8080_8080_8080 != 0
}

/// The offset of the first 0xFF.
pub(crate) fn find_ff(bytes: &[u8]) -> Option<usize> {
    let (words, _) = bytes.as_chunks::<8>();
    let clean = words.iter().take_while(|word| !has_ff(u64::from_be_bytes(**word))).count() * 8;
    let rest = bytes.get(clean..)?;
    rest.iter().position(|byte| *byte == 0xFF).map(|offset| clean + offset)
}

/// The next marker code at or after `at`, and the offset behind it. Skips data, stuffed bytes (FF 00) and
/// fill bytes (FF before a marker).
pub(crate) fn next_marker(bytes: &[u8], at: usize) -> Option<(u8, usize)> {
    let mut at = at;
    loop {
        at += find_ff(bytes.get(at..)?)? + 1;
        match *bytes.get(at)? {
            0x00 => at += 1,
            0xFF => {}
            code => return Some((code, at + 1)),
        }
    }
}

/// The contents of the segment whose length field is at `at`, and the offset behind it.
pub(super) fn segment(bytes: &[u8], at: usize) -> Result<(&[u8], usize), Unread> {
    let length = bytes.get(at..).and_then(<[u8]>::first_chunk).ok_or(Unread::Truncated)?;
    let length = usize::from(u16::from_be_bytes(*length));
    if length < 2 {
        return Err(Damage::Segment.into());
    }
    let end = at + length;
    Ok((bytes.get(at + 2..end).ok_or(Unread::Truncated)?, end))
}

/// The contents of a segment, taken off piece by piece.
#[derive(Debug, Clone, Copy)]
pub(super) struct Contents<'a>(pub(super) &'a [u8]);

impl<'a> Contents<'a> {
    /// Whether nothing is left.
    pub(super) fn is_empty(self) -> bool {
        self.0.is_empty()
    }

    /// The next `N` bytes.
    pub(super) fn array<const N: usize>(&mut self) -> Result<&'a [u8; N], Damage> {
        let (taken, rest) = self.0.split_first_chunk().ok_or(Damage::Segment)?;
        self.0 = rest;
        Ok(taken)
    }

    /// The next `count` bytes.
    pub(super) fn bytes(&mut self, count: usize) -> Result<&'a [u8], Damage> {
        let (taken, rest) = self.0.split_at_checked(count).ok_or(Damage::Segment)?;
        self.0 = rest;
        Ok(taken)
    }

    /// The next byte.
    pub(super) fn byte(&mut self) -> Result<u8, Damage> {
        self.array().map(|[byte]| *byte)
    }

    /// The next two bytes, the high one first.
    pub(super) fn word(&mut self) -> Result<u16, Damage> {
        self.array().map(|bytes| u16::from_be_bytes(*bytes))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_ff_at_every_place_and_nothing_else() {
        for length in 0..40 {
            assert_eq!(find_ff(&vec![0x7F; length]), None);
            for place in 0..length {
                for filler in [0x00, 0x01, 0x7F, 0x80, 0xFE] {
                    let mut bytes = vec![filler; length];
                    bytes[place] = 0xFF;
                    assert_eq!(find_ff(&bytes), Some(place), "{filler:02x} {place}/{length}");
                    bytes[place] = 0xFE;
                    assert_eq!(find_ff(&bytes), None);
                }
            }
        }
    }

    #[test]
    fn markers_behind_data_stuffing_and_fill() {
        assert_eq!(next_marker(&[1, 2, 0xFF, 0, 3, 0xFF, 0xFF, 0xFF, 0xD9, 4], 0), Some((0xD9, 9)));
        assert_eq!(next_marker(&[0xFF, 0xFF, 0x00, 0xFF, 0xDA], 0), Some((0xDA, 5)));
        assert_eq!(next_marker(&[0xFF, 0xFF], 0), None);
        assert_eq!(next_marker(&[0xFF, 0xD9], 5), None);
    }
}
