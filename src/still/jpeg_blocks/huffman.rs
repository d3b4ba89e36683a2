//! Huffman tables (ITU-T T.81, C and F.2.2.3): one for the sizes of first coefficients, one for symbols.

use super::bits::Bits;
use super::error::{Damage, Unread};
use super::markers::Contents;

/// Longest code, in bits.
const LONGEST: usize = 16;

/// A table as it is in the file.
#[derive(Debug, Clone)]
pub(super) struct Specification {
    /// How many codes there are of 1 to 16 bits.
    counts: [u8; LONGEST],
    /// What they mean, shortest code first.
    symbols: Vec<u8>,
}

impl Specification {
    /// Takes one table off a DHT segment, behind its class and number.
    pub(super) fn parse(contents: &mut Contents<'_>) -> Result<Self, Damage> {
        let counts = *contents.array::<LONGEST>()?;
        let total = counts.iter().map(|count| usize::from(*count)).sum();
        if total > 256 {
            return Err(Damage::Overfull);
        }
        Ok(Self { counts, symbols: contents.bytes(total)?.to_vec() })
    }

    /// Every code: its length, its bits at the top of 16, and its symbol.
    fn codes(&self) -> Result<Vec<(u32, u32, u8)>, Damage> {
        let mut codes = Vec::with_capacity(self.symbols.len());
        let mut symbols = self.symbols.iter();
        let mut next = 0_u32;
        for (length, count) in (1..).zip(self.counts) {
            let step = 1 << (LONGEST as u32 - length);
            for _ in 0..count {
                let symbol = symbols.next().ok_or(Damage::Segment)?;
                codes.push((length, next, *symbol));
                next += step;
                if next > 1 << LONGEST {
                    return Err(Damage::Overfull);
                }
            }
        }
        Ok(codes)
    }
}

/// The codes too long for a lookup, in ascending order.
#[derive(Debug)]
struct LongCodes(Vec<(u32, u32, u8)>);

impl LongCodes {
    /// The length and the symbol of the code that `window`, 16 bits, begins with.
    fn find(&self, window: u32) -> Option<(u32, u8)> {
        let after = self.0.partition_point(|(_, code, _)| *code <= window);
        let (length, code, symbol) = *self.0.get(after.checked_sub(1)?)?;
        ((window - code) >> (LONGEST as u32 - length) == 0).then_some((length, symbol))
    }
}

/// Fills the lookup of every window of `WIDTH` bits that begins with a code, and hands back the other codes.
fn fill<const SIZE: usize>(
    codes: Vec<(u32, u32, u8)>,
    width: u32,
    mut set: impl FnMut(usize, u32, u8),
) -> LongCodes {
    debug_assert_eq!(1 << width, SIZE);
    let mut long = Vec::new();
    for (length, code, symbol) in codes {
        if length <= width {
            let first = (code >> (LONGEST as u32 - width)) as usize;
            for window in first..first + (1 << (width - length)) {
                set(window, length, symbol);
            }
        } else {
            long.push((length, code, symbol));
        }
    }
    LongCodes(long)
}

/// Reads first coefficients.
#[derive(Debug)]
pub(super) struct DcTable {
    /// By the next bits: length of the code, and above it the size of the value. 0 where the code is longer,
    /// or none.
    lookup: [u8; 1 << Self::WIDTH],
    long: LongCodes,
    /// By more of the next bits: how many of them a difference takes with its code, in the lowest 8 bits, and above
    /// them the difference itself. 0 where it takes more than there are.
    differences: Box<[i32; 1 << Self::WIDER]>,
}

impl DcTable {
    /// Bits looked up at once. The tables in use have few codes longer than 9 bits.
    const WIDTH: u32 = 9;
    /// The same for a code with its difference.
    const WIDER: u32 = 12;
    /// Largest size of a difference in files of 8 bits (T.81, table F.1).
    const MOST_SIZE: u8 = 11;

    /// Lays the table out.
    pub(super) fn new(specification: &Specification) -> Result<Self, Damage> {
        let mut lookup = [0; 1 << Self::WIDTH];
        let long = fill::<{ 1 << Self::WIDTH }>(
            specification.codes()?,
            Self::WIDTH,
            |window, length, symbol| {
                // Tables may define sizes that 8 bits have no use for; they count once they are used.
                if let Some(entry) = lookup.get_mut(window)
                    && symbol <= Self::MOST_SIZE
                {
                    *entry = length as u8 | symbol << 4;
                }
            },
        );
        let mut table = Self { lookup, long, differences: Box::new([0; 1 << Self::WIDER]) };
        for window in 0..1 << Self::WIDER {
            let (difference, bits) =
                table.difference_by_code((window as u64) << (64 - Self::WIDER));
            if (1..=Self::WIDER).contains(&bits) {
                table.differences[window] = difference << 8 | bits as i32;
            }
        }
        Ok(table)
    }

    /// The difference that some bits begin with, and how many of them it takes, where they are known to be sound.
    #[inline(always)]
    pub(super) fn sound_difference(&self, bits: u64) -> (i32, u32) {
        let found = self.differences[(bits >> (64 - Self::WIDER)) as usize];
        if found == 0 {
            return self.difference_by_code(bits);
        }
        (found >> 8, found as u32 & 255)
    }

    /// The same, code by code. No bits at all where there is no such code.
    #[inline(never)]
    fn difference_by_code(&self, bits: u64) -> (i32, u32) {
        let (length, size) = self.code((bits >> 48) as u32).unwrap_or_default();
        let value = bits << length;
        // T.81, F.2.2.1: values whose top bit is clear stand for negative ones.
        let least = (!value >> 63) as i32 * ((1 << size) - 1);
        (((value >> 1) >> (63 - size)) as i32 - least, length + size)
    }

    /// The next difference between first coefficients. Takes at most 27 bits, which
    /// must be there.
    #[inline(always)]
    pub(super) fn difference(&self, bits: &mut Bits<'_>) -> Result<i32, Unread> {
        let found = self.code(bits.peek(LONGEST as u32));
        let (length, size) = found.ok_or_else(|| bits.nonsense(Damage::Code))?;
        bits.pass(length);
        if size == 0 {
            return Ok(0);
        }
        let value = bits.peek(size) as i32;
        bits.pass(size);
        // T.81, F.2.2.1: values whose top bit is clear stand for negative ones.
        let is_negative = value >> (size - 1) == 0;
        Ok(if is_negative { value + 1 - (1 << size) } else { value })
    }

    /// The length of the code that `window`, 16 bits, begins with, and the size of the value behind it.
    #[inline(always)]
    pub(super) fn code(&self, window: u32) -> Option<(u32, u32)> {
        let entry = self.lookup[(window >> (LONGEST as u32 - Self::WIDTH)) as usize];
        if entry == 0 {
            return self.find_long(window);
        }
        Some((u32::from(entry & 15), u32::from(entry >> 4)))
    }

    #[cold]
    #[inline(never)]
    fn find_long(&self, window: u32) -> Option<(u32, u32)> {
        let found = self.long.find(window).filter(|(_, size)| *size <= Self::MOST_SIZE);
        found.map(|(length, size)| (length, u32::from(size)))
    }
}

/// Reads symbols one by one.
#[derive(Debug)]
pub(super) struct SymbolTable {
    /// By the next bits: length of the code, 0 where it is longer or none, and above it the symbol.
    lookup: [u16; 1 << Self::WIDTH],
    long: LongCodes,
}

impl SymbolTable {
    const WIDTH: u32 = 9;

    /// Lays the table out.
    pub(super) fn new(specification: &Specification) -> Result<Self, Damage> {
        let mut lookup = [0; 1 << Self::WIDTH];
        let codes = specification.codes()?;
        let long = fill::<{ 1 << Self::WIDTH }>(codes, Self::WIDTH, |window, length, symbol| {
            if let Some(entry) = lookup.get_mut(window) {
                *entry = length as u16 | u16::from(symbol) << 8;
            }
        });
        Ok(Self { lookup, long })
    }

    /// The next symbol. Takes at most 16 bits, which must be there.
    #[inline(always)]
    pub(super) fn symbol(&self, bits: &mut Bits<'_>) -> Result<u8, Unread> {
        let found = self.code(bits.peek(LONGEST as u32));
        let (length, symbol) = found.ok_or_else(|| bits.nonsense(Damage::Code))?;
        bits.pass(length);
        Ok(symbol)
    }

    /// The length of the code that `window`, 16 bits, begins with, and its symbol.
    #[inline(always)]
    pub(super) fn code(&self, window: u32) -> Option<(u32, u8)> {
        let entry = self.lookup[(window >> (LONGEST as u32 - Self::WIDTH)) as usize];
        if entry == 0 {
            return self.find_long(window);
        }
        Some((u32::from(entry & 255), (entry >> 8) as u8))
    }

    #[cold]
    #[inline(never)]
    fn find_long(&self, window: u32) -> Option<(u32, u8)> {
        self.long.find(window)
    }
}
