//! Bits of a JPEG scan, and the Huffman codes in them (ITU-T T.81, annexes C and F).

use crate::still::ReadErrorKind;

/// Codes up to this length are found in one step.
const QUICK_BITS: u32 = 9;

/// The longest code.
const LONGEST: usize = 16;

/// A Huffman table for lossless differences: each code is a number of bits that follow.
#[derive(Debug, Clone)]
pub(super) struct HuffmanTable {
    /// For each start of a code its length and value; length 0 for longer codes.
    quick: Vec<(u8, u8)>,
    /// For each length the first code past those of that length, in the upper bits of 16, and what
    /// to add to a code to get its value's place.
    lengths: [(u32, i32); LONGEST],
    values: Vec<u8>,
}

impl HuffmanTable {
    /// From the number of codes of each length, and their values in order. `None` where there are
    /// more codes than the lengths have room for, or a value is no number of bits.
    pub(super) fn new(counts: &[u8; LONGEST], values: &[u8]) -> Option<Self> {
        if values.iter().any(|bits| *bits > 16) {
            return None;
        }
        let mut quick = vec![(0, 0); 1 << QUICK_BITS];
        let mut lengths = [(0, 0); LONGEST];
        let (mut code, mut place) = (0_u32, 0_usize);
        for ((length, count), entry) in (1_u32..).zip(counts).zip(&mut lengths) {
            entry.1 = place as i32 - code as i32;
            for _ in 0..*count {
                let value = *values.get(place)?;
                if length <= QUICK_BITS {
                    let spare = QUICK_BITS - length;
                    let start = (code << spare) as usize;
                    quick.get_mut(start..start + (1 << spare))?.fill((length as u8, value));
                }
                code += 1;
                place += 1;
            }
            if code > 1 << length {
                return None;
            }
            entry.0 = code << (LONGEST as u32 - length);
            code <<= 1;
        }
        Some(Self { quick, lengths, values: values.to_vec() })
    }

    /// The length and value of the code at the start of 16 bits.
    #[inline]
    fn find(&self, next: u32) -> Option<(u32, u8)> {
        let (length, value) = *self.quick.get((next >> (16 - QUICK_BITS)) as usize)?;
        if length > 0 {
            return Some((u32::from(length), value));
        }
        for (length, (end, shift)) in (1..).zip(self.lengths) {
            if next < end {
                let code = (next >> (16 - length)) as i32;
                let value = *self.values.get(usize::try_from(code + shift).ok()?)?;
                return Some((length, value));
            }
        }
        None
    }
}

/// The data of a scan as bits, up to the next marker.
pub(super) struct ScanBits<'a> {
    data: &'a [u8],
    place: usize,
    /// The next bits, from the top.
    held: u64,
    count: u32,
}

impl<'a> ScanBits<'a> {
    pub(super) fn new(data: &'a [u8]) -> Self {
        Self { data, place: 0, held: 0, count: 0 }
    }

    /// The next difference to a prediction (T.81, H.1.2.2).
    #[inline]
    pub(super) fn difference(&mut self, table: &HuffmanTable) -> Result<i32, ReadErrorKind> {
        self.fill();
        let damaged = || ReadErrorKind::DamagedRaw { what: "its compressed samples make no sense" };
        let (length, bits) = table.find((self.held >> 48) as u32).ok_or_else(damaged)?;
        self.take(length)?;
        match u32::from(bits) {
            0 => Ok(0),
            // No bits follow.
            16 => Ok(32_768),
            bits => {
                let value = (self.held >> (64 - bits)) as i32;
                self.take(bits)?;
                let half = 1 << (bits - 1);
                Ok(if value < half { value - 2 * half + 1 } else { value })
            }
        }
    }

    #[inline]
    fn take(&mut self, bits: u32) -> Result<(), ReadErrorKind> {
        // Beyond the data's end there are zeros, but they may not be used.
        let left = self.count.checked_sub(bits);
        self.count = left.ok_or(ReadErrorKind::Truncated { source: None })?;
        self.held <<= bits;
        Ok(())
    }

    #[inline]
    fn fill(&mut self) {
        while self.count <= 48 {
            let Some(&byte) = self.data.get(self.place) else { return };
            if byte == 0xFF {
                // A zero after it says that it is data; anything else makes a marker.
                if self.data.get(self.place + 1) != Some(&0) {
                    return;
                }
                self.place += 1;
            }
            self.place += 1;
            self.held |= u64::from(byte) << (56 - self.count);
            self.count += 8;
        }
    }

    /// Goes on after the restart marker that must come now.
    pub(super) fn restart(&mut self) -> Result<(), ReadErrorKind> {
        (self.held, self.count) = (0, 0);
        match self.data.get(self.place..self.place + 2) {
            Some([0xFF, 0xD0..=0xD7]) => {
                self.place += 2;
                Ok(())
            }
            None => Err(ReadErrorKind::Truncated { source: None }),
            Some(_) => Err(ReadErrorKind::DamagedRaw { what: "a restart marker is missing" }),
        }
    }
}
