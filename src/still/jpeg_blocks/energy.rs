//! About how much energy the coefficients of a block hold, from the codes that come first in it.

use super::huffman::SymbolTable;
use super::steps::meaning;
use super::stretch::Bytes;

/// The weight of each coefficient's energy, in the order of the file: the square of its step.
pub(super) type Weights = [f32; 64];

/// By the size of coefficients about their mean square. They are 2ˢ⁻¹ to 2ˢ − 1, of which the smaller ones are more
/// frequent. Which of them it is matters little to the energy of a block, and reading it would take longer than all
/// else.
pub(super) const SQUARES: [f32; 16] = {
    /// The root mean square as a multiple of the least.
    const TYPICAL: f32 = 1.35;
    let mut squares = [0.0; 16];
    squares[1] = 1.0;
    let mut size = 2;
    while size < squares.len() {
        let typical = TYPICAL * (1_u32 << (size - 1)) as f32;
        squares[size] = typical * typical;
        size += 1;
    }
    squares
};

/// A step over coefficients: how many bits they take, how many they are, and about how much energy they hold,
/// still quantised. From the lowest bit up: 6 bits, 8 bits, and an `f32` without its sign and its last bits, so
/// that one load brings all three.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Step(u32);

impl Step {
    /// Coefficients that the end-of-block code counts for: more than any block has.
    const TO_END: u32 = 128;
    const NONE: Self = Self(0);
    const COEFFICIENTS_AT: u32 = 6;
    const ENERGY: u32 = 0xFFFF_C000;

    fn new(bits: u32, coefficients: u32, energy: f32) -> Self {
        Self(bits | coefficients << Self::COEFFICIENTS_AT | (energy.to_bits() << 1) & Self::ENERGY)
    }

    /// The step of a code, or none where such a code has no meaning.
    fn of(code: (u32, u8)) -> Self {
        let energy = SQUARES[usize::from(code.1 & 15)];
        meaning(code).map_or(Self::NONE, |(bits, coefficients)| {
            Self::new(bits, coefficients.unwrap_or(Self::TO_END), energy)
        })
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

/// Bits looked up at once.
const WIDTH: u32 = 12;
const SIZE: usize = 1 << WIDTH;

/// Weighs the energy of blocks that are known to be sound.
#[derive(Debug)]
pub(super) struct EnergyTable<'t> {
    ac: &'t SymbolTable,
    /// By the next bits: the step over all codes that lie in them with their values. The last one's value may
    /// lie outside, as it is not needed.
    steps: Box<[Step; SIZE]>,
    /// By the number of the next coefficient; 0 where a step no longer counts.
    weights: [f32; 256],
}

impl<'t> EnergyTable<'t> {
    /// Most coefficients that a step over several codes passes before its last code.
    const MOST_BEFORE_LAST: u32 = 15;
    /// A second step that begins here or later may reach beyond the block.
    const COUNTED_BELOW: usize = 64 - Self::MOST_BEFORE_LAST as usize;

    /// Lays the table out.
    pub(super) fn new(ac: &'t SymbolTable, by_coefficient: &Weights) -> Self {
        let mut steps = Box::new([Step::NONE; SIZE]);
        for (window, step) in steps.iter_mut().enumerate() {
            *step = Self::combine(window, ac);
        }
        let mut weights = [0.0; 256];
        for (weight, given) in weights.iter_mut().zip(by_coefficient).take(Self::COUNTED_BELOW) {
            *weight = *given;
        }
        Self { ac, steps, weights }
    }

    fn combine(window: usize, ac: &SymbolTable) -> Step {
        let (mut bits, mut coefficients, mut energy) = (0, 0, 0.0);
        while bits < WIDTH && coefficients <= Self::MOST_BEFORE_LAST {
            let rest = ((window << bits) & (SIZE - 1)) as u32;
            // The code must lie within the bits that are known.
            let found = ac.code(rest << (16 - WIDTH));
            let step = found.filter(|code| code.0 <= WIDTH - bits).map_or(Step::NONE, Step::of);
            if step == Step::NONE {
                break;
            }
            bits += step.bits();
            coefficients += step.coefficients();
            energy += step.energy();
        }
        Step::new(bits, coefficients, energy)
    }

    /// About the energy of the lowest coefficients, which come first and hold most of it: the sum of squares times
    /// weights over two steps, each over codes that share a weight. Weighing the others too took longer and told
    /// no more about photographs.
    ///
    /// `first` are the bits behind the first coefficient, which took so many from `place` on.
    #[inline(always)]
    pub(super) fn of_block(&self, first: u64, taken: u32, bytes: &Bytes, place: u32) -> f32 {
        /// No step over several codes has more bits: one code less than a lookup, and a value of 15.
        const MOST: u32 = 31;
        let one = self.step(first);
        let next = 1 + one.coefficients();
        let weight = self.weights[(next & 255) as usize];
        // Mostly there are enough bits left.
        let more = if taken <= Bytes::LEAST_BITS - MOST - WIDTH {
            first << one.bits()
        } else {
            bytes.bits_at((place + taken + one.bits()) as usize)
        };
        let mut two = self.steps[Self::index(more)];
        if two == Step::NONE && weight > 0.0 {
            two = self.long_step(more);
        }
        self.weights[1] * one.energy() + weight * two.energy()
    }

    #[inline(always)]
    fn step(&self, bits: u64) -> Step {
        let step = self.steps[Self::index(bits)];
        if step == Step::NONE { self.long_step(bits) } else { step }
    }

    #[inline(always)]
    fn index(bits: u64) -> usize {
        (bits >> (64 - WIDTH)) as usize
    }

    /// The step over a code that is longer than the lookup.
    #[cold]
    #[inline(never)]
    fn long_step(&self, bits: u64) -> Step {
        self.ac.code((bits >> 48) as u32).map_or(Step::NONE, Step::of)
    }
}
