//! Scans of progressive files that hold a band of the other coefficients (ITU-T T.81, G.1.2.2, G.1.2.3 and
//! figures G.3 to G.9). Nothing but their energy is kept; they are read to the end since only that shows damage.

use super::bits::Bits;
use super::energy::{SQUARES, Weights};
use super::error::{Damage, Unread};
use super::huffman::SymbolTable;
use super::scan::{Block, BlockCoding};

/// The first bits of a band.
#[derive(Debug)]
pub(super) struct BandUpper<'t> {
    pub(super) table: &'t SymbolTable,
    pub(super) weights: &'t Weights,
    /// The first and the last coefficient.
    pub(super) band: (u8, u8),
    /// The lowest bit in the scan.
    pub(super) lowest: u8,
}

/// One more bit of a band.
#[derive(Debug)]
pub(super) struct BandNext<'t> {
    pub(super) table: &'t SymbolTable,
    pub(super) band: (u8, u8),
}

/// Run and size of a symbol.
fn parts(symbol: u8) -> (u32, u32) {
    (u32::from(symbol >> 4), u32::from(symbol & 15))
}

/// How many blocks an end-of-band code counts for, this one included: 2ʳ and as much more as the next r bits say.
#[inline(always)]
fn blocks_ended(bits: &mut Bits<'_>, run: u32) -> i32 {
    if run == 0 {
        return 1;
    }
    let more = bits.peek(run);
    bits.pass(run);
    ((1 << run) + more) as i32
}

impl BlockCoding for BandUpper<'_> {
    #[inline(always)]
    fn read(&self, bits: &mut Bits<'_>, ended: &mut i32, block: Block<'_>) -> Result<(), Unread> {
        if *ended > 0 {
            *ended -= 1;
            return Ok(());
        }
        let (mut next, last) = (u32::from(self.band.0), u32::from(self.band.1));
        let (mut nonzero, mut energy) = (0_u64, 0.0);
        let scale = (1_u64 << (2 * self.lowest)) as f32;
        while next <= last {
            bits.refill();
            let (run, size) = parts(self.table.symbol(bits)?);
            match (run, size) {
                (15, 0) => next += 16,
                (_, 0) => {
                    *ended = blocks_ended(bits, run) - 1;
                    break;
                }
                _ => {
                    next += run;
                    if next > last {
                        return Err(bits.nonsense(Damage::Block));
                    }
                    bits.pass(size);
                    nonzero |= 1 << next;
                    energy +=
                        scale * self.weights[(next & 63) as usize] * SQUARES[(size & 15) as usize];
                    next += 1;
                }
            }
        }
        if let Some(known) = block.nonzero {
            *known |= nonzero;
        }
        if let Some(known) = block.energy {
            *known += energy;
        }
        Ok(())
    }
}

impl BlockCoding for BandNext<'_> {
    #[inline(always)]
    fn read(&self, bits: &mut Bits<'_>, ended: &mut i32, block: Block<'_>) -> Result<(), Unread> {
        let Some(nonzero) = block.nonzero else { return Err(Damage::Scan.into()) };
        let (mut next, last) = (u32::from(self.band.0), u32::from(self.band.1));
        let mut found = 0_u64;
        if *ended == 0 {
            while next <= last {
                bits.refill();
                let (run, size) = parts(self.table.symbol(bits)?);
                match size {
                    0 if run < 15 => {
                        *ended = blocks_ended(bits, run);
                        break;
                    }
                    0 => {}
                    // The sign of a coefficient that becomes 1 or −1.
                    1 => bits.pass(1),
                    _ => return Err(bits.nonsense(Damage::Code)),
                }
                // Past so many that are still zero, with a bit for each that is not.
                let mut zeros = !*nonzero & within(next, last);
                for _ in 0..run {
                    zeros &= zeros.wrapping_sub(1);
                }
                let stop = if zeros == 0 { last + 1 } else { zeros.trailing_zeros() };
                if stop > next {
                    pass_many(bits, (*nonzero & within(next, stop - 1)).count_ones());
                }
                next = stop;
                if size == 1 {
                    if next > last {
                        return Err(bits.nonsense(Damage::Block));
                    }
                    found |= 1 << next;
                }
                next += 1;
            }
        }
        if *ended > 0 {
            *ended -= 1;
            if next <= last {
                bits.refill();
                pass_many(bits, (*nonzero & within(next, last)).count_ones());
            }
        }
        *nonzero |= found;
        Ok(())
    }
}

/// The bits from one to another, both included; at most 63, and the second not below the first.
#[inline(always)]
fn within(first: u32, last: u32) -> u64 {
    (u64::MAX << first) & (u64::MAX >> (63 - last))
}

/// Passes up to 64 bits. Of those there after a refill, at most a symbol's and a sign's may have been read.
#[inline(always)]
fn pass_many(bits: &mut Bits<'_>, count: u32) {
    const LEFT: u32 = 32;
    if count <= LEFT {
        bits.pass(count);
    } else {
        bits.pass(LEFT);
        bits.refill();
        bits.pass(count - LEFT);
    }
}
