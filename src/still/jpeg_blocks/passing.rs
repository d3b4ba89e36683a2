//! Where each block of a sequential scan begins.
//!
//! This is where reading takes its time, as each code shows only where the next begins, and no processor can foresee
//! where a block ends. So that is no branch: the same few instructions pass whatever comes and choose the next table
//! by arithmetic. And two pieces of data are passed at the same time, since there is room for a step in one while a
//! step in the other waits.

use super::steps::{Places, Progress, Steps, Stop};
use super::stretch::{Bytes, Passable};

/// Data to be passed, and how far that has come.
struct Run<'r> {
    bytes: &'r Bytes,
    /// The first bit that has less than eight bytes from its own on.
    end: usize,
    now: Progress,
    /// How many blocks to pass.
    blocks: usize,
    places: &'r mut Places,
}

/// What is passed ahead of its turn.
#[derive(Debug, Default)]
pub(super) struct Ahead {
    places: Places,
    /// How often in a row it was of no use.
    failures: u32,
}

impl Ahead {
    /// Where less than so many bytes are left it is not worth the while.
    const LEAST_BYTES: usize = 1 << 13;
    /// After so many failures it is given up.
    const MOST_FAILURES: u32 = 3;
}

/// Passes `blocks` blocks, [`Places::MOST`] at most, from the bit `from` of `bytes` on, which begins a coding unit.
/// Notes where each begins, and behind the last where that ends. Returns how many blocks were passed, and why no
/// more.
///
/// Half of the bytes are passed ahead of their turn, from some bit in the middle, at the same time as those before
/// them. Where a code begins is not known there, but codes soon fall into step, whatever bit they are read from.
/// Once the first half has come to where a unit begins by both, what was passed ahead is right. If that never
/// happens it is not used.
pub(super) fn pass(
    steps: &Steps<'_>,
    (data, from): (Passable<'_>, usize),
    blocks: usize,
    places: &mut Places,
    ahead: &mut Ahead,
) -> (usize, Stop) {
    let mut run = Run::new(steps, (data, from), blocks, places);
    let left = data.length.saturating_sub(from / 8);
    if left > Ahead::LEAST_BYTES && ahead.failures < Ahead::MOST_FAILURES {
        let middle = 8 * (data.length - left / 2);
        let mut other = Run::new(steps, (data, middle), Places::MOST, &mut ahead.places);
        pass_both::<true>(steps, &mut run, &mut other, middle);
        ahead.failures = if run.join(steps, &other) { 0 } else { ahead.failures + 1 };
    }
    run.finish(steps)
}

/// Passes the blocks of two pieces of data at the same time, as [`pass`] does those of one; each begins a coding
/// unit.
pub(super) fn pass_two(
    steps: &Steps<'_>,
    (data, blocks, places): (Passable<'_>, usize, &mut Places),
    (other_data, other_blocks, other_places): (Passable<'_>, usize, &mut Places),
) -> [(usize, Stop); 2] {
    let mut one = Run::new(steps, (data, 0), blocks, places);
    let mut two = Run::new(steps, (other_data, 0), other_blocks, other_places);
    pass_both::<false>(steps, &mut one, &mut two, usize::MAX);
    [one.finish(steps), two.finish(steps)]
}

/// Passes the blocks of one up to the bit `until`, and at the same time those of two, which need not be in step if
/// `SEEKS`. Ends when either cannot go on.
#[inline(never)]
fn pass_both<const SEEKS: bool>(
    steps: &Steps<'_>,
    one: &mut Run<'_>,
    two: &mut Run<'_>,
    until: usize,
) {
    // Copies, which can stay in registers.
    let (mut now, mut other) = (one.now, two.now);
    let (ends, other_ends) = (one.places.ends(), two.places.ends());
    let until = until.min(one.end);
    while now.block < one.blocks
        && other.block < two.blocks
        && now.place < until
        && other.place < two.end
    {
        // So often neither can come to its end.
        let bits = (until - now.place).min(two.end - other.place) / Steps::MOST_BITS;
        let blocks = (one.blocks - now.block).min(two.blocks - other.block) / Steps::AT_ONCE;
        let (mut well, mut other_well) = (true, true);
        for _ in 0..bits.min(blocks).max(1) {
            let (bits, other_bits) = (one.bytes.bits_at(now.place), two.bytes.bits_at(other.place));
            well = steps.some_steps(&mut now, bits, ends);
            other_well = steps.some_steps(&mut other, other_bits, other_ends);
            if !(well & other_well) {
                break;
            }
        }
        if !well && now.block < one.blocks && now.place < one.end {
            match steps.step_by_code(now, one.bytes.bits_at(now.place), ends) {
                Ok(after) => now = after,
                // To be met with again when it is passed alone.
                Err(_) => break,
            }
        }
        if !other_well && other.block < two.blocks && other.place < two.end {
            match steps.step_by_code(other, two.bytes.bits_at(other.place), other_ends) {
                Ok(after) => other = after,
                // Not in step yet: begin again a little further on.
                Err(Stop::Nonsense(place, _)) if SEEKS => {
                    other = steps.begin(8 * (place / 8 + 1), 0);
                    other_ends[0] = other.place as u32;
                }
                Err(_) => break,
            }
        }
    }
    (one.now, two.now) = (now, other);
}

impl<'r> Run<'r> {
    fn new(
        steps: &Steps<'_>,
        (data, from): (Passable<'r>, usize),
        blocks: usize,
        places: &'r mut Places,
    ) -> Self {
        places.begin(from);
        let end = (8 * data.length).saturating_sub(56);
        Self { bytes: data.bytes, end, now: steps.begin(from, 0), blocks, places }
    }

    /// Passes the blocks that are left.
    fn finish(mut self, steps: &Steps<'_>) -> (usize, Stop) {
        let stop = self.pass_up_to(steps, self.blocks);
        (self.now.block.min(self.blocks), stop)
    }

    /// Passes blocks up to a number.
    #[inline(never)]
    fn pass_up_to(&mut self, steps: &Steps<'_>, blocks: usize) -> Stop {
        let mut now = self.now;
        let mut stop = Stop::End;
        let ends = self.places.ends();
        while now.block < blocks && now.place < self.end {
            let bits = self.bytes.bits_at(now.place);
            let well = steps.some_steps(&mut now, bits, ends);
            if !well && now.block < blocks && now.place < self.end {
                match steps.step_by_code(now, self.bytes.bits_at(now.place), ends) {
                    Ok(after) => now = after,
                    Err(found) => {
                        stop = found;
                        break;
                    }
                }
            }
        }
        self.now = now;
        stop
    }

    /// Passes on to where a unit begins by both, and takes over what the other has passed from there on.
    fn join(&mut self, steps: &Steps<'_>, other: &Run<'_>) -> bool {
        /// Units between looking.
        const UNITS: usize = 8;
        let step = steps.unit();
        let others = other.places.of(other.now.block);
        let mut theirs = others.iter().enumerate().step_by(step).peekable();
        let mut unit = self.now.block / step * step;
        while self.now.block < self.blocks {
            let own = self.places.of(self.now.block).iter().enumerate().skip(unit).step_by(step);
            for (block, place) in own {
                while theirs.next_if(|their| their.1 < place).is_some() {}
                match theirs.peek() {
                    None => return false,
                    Some((index, their)) if *their == place => {
                        self.take_over(
                            steps,
                            block,
                            others.get(*index..).unwrap_or_default(),
                            &other.now,
                        );
                        return true;
                    }
                    Some(_) => {}
                }
            }
            unit = (self.now.block / step + 1) * step;
            let before = self.now.block;
            let stop = self.pass_up_to(steps, (before + UNITS * step).min(self.blocks));
            if matches!(stop, Stop::Nonsense(..)) || self.now.block == before {
                return false;
            }
        }
        false
    }

    /// Goes on from block `block` as the other has, which passed blocks at these places from there on.
    fn take_over(&mut self, steps: &Steps<'_>, block: usize, places: &[u32], other: &Progress) {
        let taken = self.places.take_over(block, places);
        let last = block + taken - 1;
        self.now = match places.get(taken - 1) {
            // No room for all.
            Some(place) if taken < places.len() => steps.begin(*place as usize, last),
            _ => other.at_block(last),
        };
    }
}
