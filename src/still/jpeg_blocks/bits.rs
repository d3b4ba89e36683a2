//! Bits out of entropy-coded data (ITU-T T.81, F.2.2.5).

use super::error::{Damage, Unread};
use super::markers::{End, RST0, has_ff};

/// Reads bits, the highest of each byte first, up to the next marker. Past that it gives zeros: whoever reads
/// asks [`check`](Bits::check) now and then, rather than at every bit, whether it has come so far.
///
/// What is not inlined takes it by value: were its address handed out, the buffer could not stay in a register,
/// and every code would wait for memory.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bits<'a> {
    data: &'a [u8],
    /// The next byte to be taken into the buffer; at the end, where the marker begins.
    at: usize,
    /// The next bits, from the top down.
    buffer: u64,
    /// How many of the buffer's bits count, at most 63.
    count: u32,
    /// How many of those at the buffer's end are made up. Grows past `count` once they have been read.
    made_up: u32,
    end: Option<End>,
}

impl<'a> Bits<'a> {
    /// Fewest bits there are after [`refill`](Self::refill).
    pub(super) const REFILLED: u32 = 56;

    /// Begins at byte `at` of `data`.
    pub(super) fn new(data: &'a [u8], at: usize) -> Self {
        Self { data, at, buffer: 0, count: 0, made_up: 0, end: None }
    }

    /// Makes sure that at least [`REFILLED`](Self::REFILLED) bits can be read.
    #[inline(always)]
    pub(super) fn refill(&mut self) {
        if let Some(bytes) = self.data.get(self.at..).and_then(<[u8]>::first_chunk::<8>) {
            let word = u64::from_be_bytes(*bytes);
            if !has_ff(word) {
                // The bits past the last whole byte go in as well but do not count. They are those of the
                // next byte, which is no 0xFF, and will be put there again as they are.
                self.buffer |= word >> self.count;
                let taken = (63 - self.count) >> 3;
                self.at += taken as usize;
                self.count += taken << 3;
                return;
            }
        }
        *self = self.refilled_bytewise();
    }

    /// The same where a byte may be stuffed, or the data may end.
    #[cold]
    #[inline(never)]
    fn refilled_bytewise(mut self) -> Self {
        while self.count < Self::REFILLED {
            let byte = match self.data.get(self.at..).unwrap_or_default() {
                [0xFF, 0x00, ..] => {
                    self.at += 2;
                    0xFF
                }
                // A fill byte.
                [0xFF, 0xFF, ..] => {
                    self.at += 1;
                    continue;
                }
                [0xFF, _, ..] => return self.made_up(End::Marker),
                [] | [0xFF] => return self.made_up(End::File),
                [byte, ..] => {
                    self.at += 1;
                    *byte
                }
            };
            self.buffer |= u64::from(byte) << (56 - self.count);
            self.count += 8;
        }
        self
    }

    fn made_up(mut self, end: End) -> Self {
        self.end = Some(end);
        self.made_up = self.made_up.saturating_add(63 - self.count);
        self.count = 63;
        self
    }

    /// The next `width` bits, 1 to 32, lowest last, without passing them.
    #[inline(always)]
    pub(super) fn peek(self, width: u32) -> u32 {
        (self.buffer >> (64 - width)) as u32
    }

    /// Passes `width` bits. There must be as many.
    #[inline(always)]
    pub(super) fn pass(&mut self, width: u32) {
        debug_assert!(width <= self.count, "{width} of {} bits", self.count);
        self.buffer <<= width;
        self.count = self.count.wrapping_sub(width);
    }

    /// Whether only bits that are in the file have been read.
    #[inline(always)]
    pub(super) fn check(self) -> Result<(), Unread> {
        if self.made_up > self.count { Err(self.too_short()) } else { Ok(()) }
    }

    #[cold]
    fn too_short(self) -> Unread {
        match self.end {
            Some(End::File) => Unread::Truncated,
            _ => Damage::ScanShort.into(),
        }
    }

    /// The error to give where the next bits make no sense: the damage named, unless that comes from reading
    /// past the end.
    #[cold]
    #[inline(never)]
    pub(super) fn nonsense(self, damage: Damage) -> Unread {
        // No code and its value are longer than that.
        const LONGEST: u32 = 32;
        match self.end {
            Some(End::File) if self.count < self.made_up + LONGEST => Unread::Truncated,
            _ => damage.into(),
        }
    }

    /// Behind the restart marker number `number` (0 to 7), which must be next but for padding bits.
    #[inline(never)]
    pub(super) fn restarted(mut self, number: u8) -> Result<Self, Unread> {
        self.refill();
        self.check()?;
        // Padding makes up less than a byte.
        if self.count - self.made_up >= 8 {
            return Err(self.nonsense(Damage::ScanLong));
        }
        match self.data.get(self.at..) {
            Some([0xFF, code, ..]) if *code == RST0 + number => {
                Ok(Self::new(self.data, self.at + 2))
            }
            Some([0xFF, _, ..]) => Err(Damage::Restart.into()),
            _ => Err(Unread::Truncated),
        }
    }

    /// Ends reading: where to look for the next marker.
    ///
    /// What is left before it may be padding, as some encoders put whole bytes of it there, but it must not
    /// be varied: then the blocks have not used up their data and cannot have been those encoded.
    pub(super) fn finish(mut self) -> Result<usize, Unread> {
        self.refill();
        self.check()?;
        self.pass((self.count - self.made_up) & 7);
        let mut padding = None;
        loop {
            self.refill();
            if self.count < self.made_up + 8 {
                return Ok(self.at);
            }
            let byte = self.peek(8);
            self.pass(8);
            if *padding.get_or_insert(byte) != byte {
                return Err(Damage::ScanLong.into());
            }
        }
    }
}
