//! Huffman tables (ITU-T T.81, C and F.2.2.3), laid out for the two things asked of them here: the value of a
//! first coefficient, and how to get past all others.

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
}

impl DcTable {
    /// Bits looked up at once. The tables in use have few codes longer than 9 bits.
    const WIDTH: u32 = 9;
    /// Largest size of a difference in files of 8 bits (T.81, table F.1).
    const MOST_SIZE: u8 = 11;
    /// Most bits that one coefficient takes.
    pub(super) const MOST_BITS: u32 = LONGEST as u32 + Self::MOST_SIZE as u32;

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
        Ok(Self { lookup, long })
    }

    /// The next difference between first coefficients. Takes at most [`MOST_BITS`](Self::MOST_BITS) bits,
    /// which must be there.
    #[inline(always)]
    pub(super) fn difference(&self, bits: &mut Bits<'_>) -> Result<i32, Unread> {
        let entry = self.lookup[bits.peek(Self::WIDTH) as usize];
        let (length, size) = if entry == 0 {
            self.long_code(*bits)?
        } else {
            (u32::from(entry & 15), u32::from(entry >> 4))
        };
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

    #[cold]
    #[inline(never)]
    fn long_code(&self, bits: Bits<'_>) -> Result<(u32, u32), Unread> {
        match self.long.find(bits.peek(LONGEST as u32)) {
            Some((length, size)) if size <= Self::MOST_SIZE => Ok((length, u32::from(size))),
            _ => Err(bits.nonsense(Damage::Code)),
        }
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
        let entry = self.lookup[bits.peek(Self::WIDTH) as usize];
        let (length, symbol) = if entry == 0 {
            self.long_code(*bits)?
        } else {
            (u32::from(entry & 255), (entry >> 8) as u8)
        };
        bits.pass(length);
        Ok(symbol)
    }

    #[cold]
    #[inline(never)]
    fn long_code(&self, bits: Bits<'_>) -> Result<(u32, u8), Unread> {
        let found = self.long.find(bits.peek(LONGEST as u32));
        found.ok_or_else(|| bits.nonsense(Damage::Code))
    }
}

/// A step over coefficients: how many bits to pass, how many coefficients these are, and about how much energy
/// they hold, still quantised. From the lowest bit up: 6 bits, 8 bits, and an `f32` without its sign and its
/// last bits, so that one load brings all three.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Step(u32);

impl Step {
    /// Coefficients that the end-of-block code counts for: more than any block has and any runs add up to, so
    /// that a block ended by it is told from one that is full.
    const TO_END: u32 = 128;
    /// No step known.
    const NONE: Self = Self(0);
    const COEFFICIENTS_AT: u32 = 6;
    const ENERGY: u32 = 0xFFFF_C000;

    fn new(bits: u32, coefficients: u32, energy: f32) -> Self {
        Self(bits | coefficients << Self::COEFFICIENTS_AT | (energy.to_bits() << 1) & Self::ENERGY)
    }

    /// The step of a code, or none where such a code has no meaning in a sequential scan (T.81, F.1.2.2.1).
    fn of(length: u32, symbol: u8) -> Self {
        let (run, size) = (u32::from(symbol >> 4), u32::from(symbol & 15));
        match (run, size) {
            (0, 0) => Self::new(length, Self::TO_END, 0.0),
            (15, 0) => Self::new(length, 16, 0.0),
            (_, 0) => Self::NONE,
            _ => Self::new(length + size, run + 1, square_of_size(size)),
        }
    }

    #[inline(always)]
    fn bits(self) -> u32 {
        self.0 & 63
    }

    #[inline(always)]
    fn coefficients(self) -> u32 {
        self.0 >> Self::COEFFICIENTS_AT & 255
    }

    #[inline(always)]
    fn energy(self) -> f32 {
        f32::from_bits((self.0 & Self::ENERGY) >> 1)
    }
}

/// About the mean square of coefficients of a size, 2ˢ⁻¹ to 2ˢ − 1, of which the smaller ones are more frequent.
/// Which of them it is matters little to the energy of a block, and reading it would take longer than all else.
pub(super) fn square_of_size(size: u32) -> f32 {
    /// The root mean square as a multiple of the least.
    const TYPICAL: f32 = 1.35;
    let least = (1_u32 << (size - 1)) as f32;
    if size == 1 { 1.0 } else { (TYPICAL * least).powi(2) }
}

/// The weight of each coefficient's energy, in the order of the file.
pub(super) type Weights = [f32; 64];

/// Gets past all coefficients of a block but the first.
#[derive(Debug)]
pub(super) struct AcTable {
    /// By the next bits: the step over the first code.
    single: [Step; Self::SIZE],
    /// By the next bits: the step over all codes that lie in them with their values. The last one's value may
    /// lie outside, as it is not needed.
    several: [Step; Self::SIZE],
    long: LongCodes,
}

impl AcTable {
    /// Bits looked up at once.
    const WIDTH: u32 = 12;
    const SIZE: usize = 1 << Self::WIDTH;
    /// Most coefficients that a step over several codes passes before its last code.
    const MOST_BEFORE_LAST: u32 = 15;
    /// Up to here such a step cannot leave the block before its last code.
    const SEVERAL_BELOW: u32 = 64 - Self::MOST_BEFORE_LAST;
    /// Most bits in a step of one code.
    const MOST_BITS: u32 = LONGEST as u32 + 15;

    /// Lays the table out.
    pub(super) fn new(specification: &Specification) -> Result<Box<Self>, Damage> {
        let mut table = Box::new(Self {
            single: [Step::NONE; Self::SIZE],
            several: [Step::NONE; Self::SIZE],
            long: LongCodes(Vec::new()),
        });
        let mut lengths = [0; Self::SIZE];
        let single = &mut table.single;
        let long = fill::<{ Self::SIZE }>(
            specification.codes()?,
            Self::WIDTH,
            |window, length, symbol| {
                if let (Some(step), Some(known)) = (single.get_mut(window), lengths.get_mut(window))
                {
                    *step = Step::of(length, symbol);
                    *known = length;
                }
            },
        );
        for (window, step) in table.several.iter_mut().enumerate() {
            *step = Self::combine(window, &table.single, &lengths);
        }
        table.long = long;
        Ok(table)
    }

    fn combine(window: usize, single: &[Step; Self::SIZE], lengths: &[u32; Self::SIZE]) -> Step {
        let (mut bits, mut coefficients, mut energy) = (0, 0, 0.0);
        while bits < Self::WIDTH && coefficients <= Self::MOST_BEFORE_LAST {
            let rest = (window << bits) & (Self::SIZE - 1);
            let step = single[rest];
            // The code must lie within the bits that are known.
            if step == Step::NONE || lengths[rest] > Self::WIDTH - bits {
                break;
            }
            bits += step.bits();
            coefficients += step.coefficients();
            energy += step.energy();
        }
        Step::new(bits, coefficients, energy)
    }

    /// Passes coefficients 1 to 63. Nothing but one first coefficient may have been read since a refill.
    ///
    /// Returns about the energy of the lowest of them if `WEIGHED`: the sum of squares times `weights` over the
    /// first two steps. Of each only the size is looked at, and codes passed in one step share a weight.
    #[inline(always)]
    pub(super) fn pass_block<const WEIGHED: bool>(
        &self,
        bits: &mut Bits<'_>,
        weights: &Weights,
    ) -> Result<f32, Unread> {
        // What a step over several codes takes at most: all but the last one's value lie in the window.
        const { assert!(DcTable::MOST_BITS + Self::WIDTH + 15 <= Bits::REFILLED) };
        const { assert!(2 * (Self::WIDTH + 15) <= Bits::REFILLED) };
        // The lowest coefficients come first and hold most of the energy. Weighing the others too took longer
        // and told no more about photographs.
        let mut step = self.several[bits.peek(Self::WIDTH) as usize];
        if step == Step::NONE {
            step = self.long_step_refilled(bits)?;
        }
        bits.pass(step.bits());
        let mut next = 1 + step.coefficients();
        let mut energy = if WEIGHED { weights[1] * step.energy() } else { 0.0 };
        if next < Self::SEVERAL_BELOW {
            bits.refill();
            let mut step = self.several[bits.peek(Self::WIDTH) as usize];
            if step == Step::NONE {
                step = self.long_step_refilled(bits)?;
            }
            bits.pass(step.bits());
            if WEIGHED {
                energy += weights[(next & 63) as usize] * step.energy();
            }
            next += step.coefficients();
        }
        while next < Self::SEVERAL_BELOW {
            let step = self.several[bits.peek(Self::WIDTH) as usize];
            if step == Step::NONE {
                next += self.pass_long(bits)?;
            } else {
                bits.pass(step.bits());
                next += step.coefficients();
            }
            if next >= Self::SEVERAL_BELOW {
                break;
            }
            bits.refill();
            let step = self.several[bits.peek(Self::WIDTH) as usize];
            if step == Step::NONE {
                next += self.pass_long(bits)?;
            } else {
                bits.pass(step.bits());
                next += step.coefficients();
            }
        }
        while next < 64 {
            bits.refill();
            let step = self.single[bits.peek(Self::WIDTH) as usize];
            if step == Step::NONE {
                next += self.pass_long(bits)?;
            } else {
                bits.pass(step.bits());
                next += step.coefficients();
            }
        }
        if next == 64 || next >= Step::TO_END {
            Ok(energy)
        } else {
            Err(bits.nonsense(Damage::Block))
        }
    }

    /// Passes a code that is longer than the lookup; returns how many coefficients that are.
    #[inline(always)]
    fn pass_long(&self, bits: &mut Bits<'_>) -> Result<u32, Unread> {
        let step = self.long_step_refilled(bits)?;
        bits.pass(step.bits());
        Ok(step.coefficients())
    }

    /// The step over a code that is longer than the lookup.
    #[inline(always)]
    fn long_step_refilled(&self, bits: &mut Bits<'_>) -> Result<Step, Unread> {
        const { assert!(Self::MOST_BITS <= Bits::REFILLED) };
        bits.refill();
        self.long_step(*bits)
    }

    #[cold]
    #[inline(never)]
    fn long_step(&self, bits: Bits<'_>) -> Result<Step, Unread> {
        let found = self.long.find(bits.peek(LONGEST as u32));
        match found.map_or(Step::NONE, |(length, symbol)| Step::of(length, symbol)) {
            Step::NONE => Err(bits.nonsense(Damage::Code)),
            step => Ok(step),
        }
    }
}
