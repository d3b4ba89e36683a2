//! Choices from a seeded stream.

use lab::Rng;

/// What mutators ask of chance.
pub(crate) trait Dice {
    /// A number below `bound`; 0 where that is 0.
    fn below(&mut self, bound: usize) -> usize;
    /// True once in `n`.
    fn once_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }
    /// One of several; `None` of none.
    fn pick<'a, T>(&mut self, from: &'a [T]) -> Option<&'a T> {
        from.get(self.below(from.len()))
    }
    /// A number that is often on the edge of something.
    fn odd_number(&mut self) -> u64;
}

const EDGES: [u64; 36] = [
    0,
    1,
    2,
    3,
    4,
    7,
    8,
    9,
    12,
    13,
    15,
    16,
    17,
    31,
    32,
    63,
    64,
    100,
    127,
    128,
    255,
    256,
    257,
    1000,
    4095,
    4096,
    0x7FFF,
    0x8000,
    0xFFFE,
    0xFFFF,
    0x1_0000,
    0x7FFF_FFFF,
    0x8000_0000,
    0xFFFF_FFFE,
    0xFFFF_FFFF,
    u64::MAX,
];

impl Dice for Rng {
    fn below(&mut self, bound: usize) -> usize {
        if bound == 0 { 0 } else { (self.next_u64() % bound as u64) as usize }
    }

    fn odd_number(&mut self) -> u64 {
        match self.below(3) {
            0 => self.next_u64(),
            1 => self.next_u64() & 0xFFFF,
            _ => EDGES.get(self.below(EDGES.len())).copied().unwrap_or(0),
        }
    }
}
