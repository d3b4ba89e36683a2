//! The entropy-coded data between two markers without its stuffed bytes (ITU-T T.81, B.1.1.5), a stretch at a time.

use super::error::{Damage, Unread};
use super::markers::{End, RST0, find_ff};

/// Bytes that a place can point to, a power of two: few enough to stay in a processor's cache.
const ROOM: usize = 1 << 16;
/// Zeros behind the last stretch, so that whoever reads ahead need not ask at every step where it ends.
const PADDING: usize = 16;
/// Bytes in a stretch.
const LENGTH: usize = ROOM - 2 * PADDING;
/// Bits within which a code that makes no sense may only be one that is cut off: no code and its value are longer.
const LONGEST: usize = 32;

/// The bytes of a stretch. There is always room for all of it and more, so that reading at a place has nothing to
/// ask: from beyond the stretch come bits of no meaning.
#[derive(Debug)]
pub(super) struct Bytes(Box<[u8; ROOM + 8]>);

impl Bytes {
    /// So many bits there are at least at a place.
    pub(super) const LEAST_BITS: u32 = 57;

    fn empty() -> Self {
        Self(Box::new([0; ROOM + 8]))
    }

    /// The bits from a place on, from the top down: [`Self::LEAST_BITS`] and more.
    #[inline(always)]
    pub(super) fn bits_at(&self, place: usize) -> u64 {
        let first = place / 8 % ROOM;
        let mut word = [0; 8];
        word.copy_from_slice(&self.0[first..first + 8]);
        u64::from_be_bytes(word) << (place % 8)
    }
}

/// What of a stretch may be passed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Passable<'s> {
    pub(super) bytes: &'s Bytes,
    /// So many of them.
    pub(super) length: usize,
}

/// A stretch of data. Places in it are counted in bits from its beginning.
#[derive(Debug)]
pub(super) struct Stretch<'a> {
    data: &'a [u8],
    /// The next byte of `data` to be taken; at the end, where the marker begins.
    at: usize,
    /// The bytes taken, and behind the last of all [`PADDING`].
    bytes: Bytes,
    /// How many have been taken.
    length: usize,
    end: Option<End>,
}

impl<'a> Stretch<'a> {
    /// The first stretch of the data from byte `at` on.
    pub(super) fn new(data: &'a [u8], at: usize) -> Self {
        let mut first = Self { at, ..Self::empty(data) };
        first.fill();
        first
    }

    /// Nothing yet.
    pub(super) fn empty(data: &'a [u8]) -> Self {
        Self { data, at: 0, bytes: Bytes::empty(), length: 0, end: None }
    }

    /// The bytes, with zeros behind the last of all.
    pub(super) fn bytes(&self) -> &Bytes {
        &self.bytes
    }

    /// The bytes but for those that must be left to whoever looks ahead from the last place.
    pub(super) fn passable(&self) -> Passable<'_> {
        let length = match self.is_last() {
            true => self.length + PADDING,
            false => self.length.saturating_sub(PADDING),
        };
        Passable { bytes: &self.bytes, length }
    }

    /// Whether a marker or the end of the file follows.
    pub(super) fn is_last(&self) -> bool {
        self.end.is_some()
    }

    /// Whether what reaches up to a place is in the data.
    pub(super) fn holds(&self, place: usize) -> bool {
        place <= 8 * self.length
    }

    /// Goes on to the next stretch, which begins with what lies behind `place`; returns where that is now.
    pub(super) fn advance(&mut self, place: usize) -> usize {
        let passed = (place / 8).min(self.length);
        if self.end.is_none() {
            self.bytes.0.copy_within(passed..self.length, 0);
            self.length -= passed;
            self.fill();
            return place - 8 * passed;
        }
        place
    }

    fn fill(&mut self) {
        while self.end.is_none() && self.length < LENGTH {
            let rest = self.data.get(self.at..).unwrap_or_default();
            let rest = rest.get(..LENGTH - self.length).unwrap_or(rest);
            let clean = find_ff(rest).unwrap_or(rest.len());
            self.take(rest.get(..clean).unwrap_or_default());
            self.at += clean;
            match self.data.get(self.at..).unwrap_or_default() {
                [0xFF, 0x00, ..] => {
                    self.take(&[0xFF]);
                    self.at += 2;
                }
                // A fill byte.
                [0xFF, 0xFF, ..] => self.at += 1,
                [0xFF, _, ..] => self.end = Some(End::Marker),
                [] | [0xFF] => self.end = Some(End::File),
                _ => {}
            }
        }
        if self.end.is_some() {
            self.bytes.0.iter_mut().skip(self.length).take(PADDING).for_each(|byte| *byte = 0);
        }
    }

    fn take(&mut self, bytes: &[u8]) {
        if let Some(room) = self.bytes.0.get_mut(self.length..self.length + bytes.len()) {
            room.copy_from_slice(bytes);
            self.length += bytes.len();
        }
    }

    /// The error to give where the data ends too early.
    pub(super) fn too_short(&self) -> Unread {
        match self.end {
            Some(End::File) => Unread::Truncated,
            _ => Damage::ScanShort.into(),
        }
    }

    /// The error to give where the bits at a place make no sense: the damage named, unless that comes from
    /// reading past the end.
    pub(super) fn nonsense(&self, place: usize, damage: Damage) -> Unread {
        match self.end {
            Some(End::File) if place + LONGEST > 8 * self.length => Unread::Truncated,
            _ => damage.into(),
        }
    }

    /// Makes `next` the first stretch behind the restart marker that follows, if one does and this stretch is the last
    /// before it.
    pub(super) fn look_ahead(&self, next: &mut Self) -> bool {
        let is_restart = |code: &u8| (RST0..RST0 + 8).contains(code);
        let follows =
            self.end == Some(End::Marker) && self.data.get(self.at + 1).is_some_and(is_restart);
        if follows {
            next.at = self.at + 2;
            next.end = None;
            next.length = 0;
            next.fill();
        }
        follows
    }

    /// Makes sure that the restart marker number `number` (0 to 7) is next after `place` but for padding bits.
    pub(super) fn restart(&mut self, place: usize, number: u8) -> Result<(), Unread> {
        let place = self.advance(place);
        if place + 8 <= 8 * self.length {
            return Err(self.nonsense(place, Damage::ScanLong));
        }
        match self.data.get(self.at..) {
            Some([0xFF, code, ..]) if *code == RST0 + number => Ok(()),
            Some([0xFF, _, ..]) => Err(Damage::Restart.into()),
            _ => Err(Unread::Truncated),
        }
    }

    /// Ends reading after `place`: where to look for the next marker.
    ///
    /// What is left before it may be padding, as some encoders put whole bytes of it there, but it must not be
    /// varied: then the blocks have not used up their data and cannot have been those encoded.
    pub(super) fn finish(mut self, place: usize) -> Result<usize, Unread> {
        let mut padding = None;
        let mut place = 8 * place.div_ceil(8);
        loop {
            let left = self.bytes.0.get(place / 8..self.length).unwrap_or_default();
            for byte in left {
                if padding.get_or_insert(*byte) != byte {
                    return Err(Damage::ScanLong.into());
                }
            }
            if self.end.is_some() {
                return Ok(self.at);
            }
            place = self.advance(8 * self.length);
        }
    }
}
