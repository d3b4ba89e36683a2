//! Steps over the coefficients of sequential scans: from table to table, several codes at once, without asking what
//! they are.

use std::hint::select_unpredictable;

use super::error::Damage;
use super::huffman::{DcTable, SymbolTable};
use super::stretch::Bytes;

/// Bits looked up at once.
const WIDTH: u32 = 12;
const SIZE: usize = 1 << WIDTH;
/// Most bits in a step: more are a code's longest values, which are rare.
const MOST_BITS: u32 = 19;
/// Coefficients of a block.
const BLOCK: u32 = 64;
/// Most components in a scan.
const MOST_KINDS: usize = 3;
/// Blocks passed at a time, and one more.
const AT_ONCE: usize = 1 << 14;

/// What a component's blocks are coded by.
#[derive(Debug, Clone, Copy)]
pub(super) struct Coding<'t> {
    pub(super) dc: &'t DcTable,
    pub(super) ac: &'t SymbolTable,
}

impl PartialEq for Coding<'_> {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.dc, other.dc) && std::ptr::eq(self.ac, other.ac)
    }
}

/// A step over the codes, with their values, that lie in the next bits. From the lowest bit up: 6 bits of how many bits
/// to pass, 7 of how many coefficients these are, and in the highest whether the block ends. So steps can be added up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Step(u16);

impl Step {
    const BITS: u32 = 63;
    const COEFFICIENTS_AT: u32 = 6;
    /// Set where there are as many coefficients as no block has.
    const TOO_MANY: u32 = BLOCK << Self::COEFFICIENTS_AT;
    const ENDS_AT: u32 = 15;
    const ENDS: u32 = 1 << Self::ENDS_AT;
    /// No step known.
    const NONE: Self = Self(Self::TOO_MANY as u16);

    /// The last code's value may lie outside, as it is not needed.
    fn new(bits: u32, coefficients: u32, ends: bool) -> Self {
        Self(
            (bits | coefficients << Self::COEFFICIENTS_AT | u32::from(ends) << Self::ENDS_AT)
                as u16,
        )
    }
}

/// The tables of a scan, and the order in which they come.
#[derive(Debug)]
pub(super) struct Steps<'t> {
    tables: Box<Tables>,
    codings: Vec<Coding<'t>>,
    /// The kind of each block of a coding unit.
    kinds: Vec<u8>,
}

/// In one piece, so that one register points to all of it.
#[derive(Debug)]
struct Tables {
    /// For each kind of block two tables, one from its beginning and one from within. There is room for all that 16
    /// bits can point to, so that no step need ask whether they do.
    by_window: [Step; 1 << 16],
    /// For each block where the tables begin to go on with: within the block, and in the upper half behind it. Both
    /// are fetched before it is known which, since waiting for the right one would take longer.
    next: [u32; AT_ONCE],
}

/// How far passing has come.
#[derive(Debug, Clone, Copy)]
pub(super) struct Progress {
    /// The next bit.
    pub(super) place: usize,
    /// The block that is being passed.
    pub(super) block: usize,
    /// How many of its coefficients have been passed, where a [`Step`] has that.
    coefficients: u32,
    /// Where the table in use begins.
    table: u32,
}

impl Progress {
    /// The same, where the block is counted as number `block`.
    pub(super) fn at_block(self, block: usize) -> Self {
        Self { block, ..self }
    }
}

/// Where blocks begin: as many as are looked for at a time.
#[derive(Debug)]
pub(super) struct Places(Box<Ends>);

/// Where the first block begins, and where each one ends.
pub(super) type Ends = [u32; AT_ONCE + 1];

impl Default for Places {
    fn default() -> Self {
        Self(Box::new([0; AT_ONCE + 1]))
    }
}

impl Places {
    /// Most blocks that are passed at a time. The last few steps may go beyond.
    pub(super) const MOST: usize = AT_ONCE - 4;

    /// Notes where the first begins.
    pub(super) fn begin(&mut self, place: usize) {
        self.0[0] = place as u32;
    }

    /// To note where more of them end.
    pub(super) fn ends(&mut self) -> &mut Ends {
        &mut self.0
    }

    /// Takes over where blocks begin, from block `first` on; returns how many there was room for.
    pub(super) fn take_over(&mut self, first: usize, places: &[u32]) -> usize {
        let room = self.0.get_mut(first..=Self::MOST).unwrap_or_default();
        room.iter_mut().zip(places).map(|(place, known)| *place = *known).count()
    }

    /// Where each of so many blocks begins, and where the last ends.
    pub(super) fn of(&self, blocks: usize) -> &[u32] {
        self.0.get(..=blocks).unwrap_or_default()
    }
}

/// Why passing stopped.
#[derive(Debug, Clone, Copy)]
pub(super) enum Stop {
    /// All blocks have been passed, or there are no more bytes.
    End,
    /// What is at this place makes no sense.
    Nonsense(usize, Damage),
}

impl<'t> Steps<'t> {
    /// With fewer blocks than this, filling the tables takes longer than going by one code at a time.
    const FEWEST_BLOCKS: usize = 1000;
    /// Steps that are taken at once, and the most bits that they pass.
    pub(super) const AT_ONCE: usize = 3;
    pub(super) const MOST_BITS: usize = Self::AT_ONCE * MOST_BITS as usize;

    /// The tables for coding units of blocks that are coded so, each one's coding in turn, in a scan of so many
    /// blocks.
    pub(super) fn new(unit: &[Coding<'t>], blocks: usize) -> Self {
        let mut codings: Vec<Coding<'t>> = Vec::with_capacity(MOST_KINDS);
        let mut kinds = Vec::with_capacity(unit.len());
        for coding in unit {
            let known = codings.iter().position(|other| other == coding);
            kinds.push(known.unwrap_or(codings.len()) as u8);
            if known.is_none() {
                codings.push(*coding);
            }
        }
        if codings.len() == 1 {
            // All alike: each block is as good as a unit.
            kinds.truncate(1);
        }
        let filled = if blocks < Self::FEWEST_BLOCKS { &[] } else { codings.as_slice() };
        let mut tables = Box::new(Tables { by_window: [Step::NONE; 1 << 16], next: [0; AT_ONCE] });
        for (tables, coding) in tables.by_window.chunks_exact_mut(2 * SIZE).zip(filled) {
            let (first, within) = tables.split_at_mut(SIZE);
            lay_out(within, (0, 0), coding.ac);
            by_code(
                first,
                |window| coding.dc.code(window),
                |windows, (length, size)| {
                    if length + size <= MOST_BITS {
                        lay_out_behind(windows, (length + size, 1), coding.ac);
                    }
                },
            );
        }
        let table = |kind: u8, within: usize| ((2 * usize::from(kind) + within) * SIZE) as u16;
        let unit = kinds.iter().cycle().zip(kinds.iter().cycle().skip(1));
        for (next, (kind, following)) in tables.next.iter_mut().zip(unit) {
            *next = u32::from(table(*kind, 1)) | u32::from(table(*following, 0)) << 16;
        }
        Self { tables, codings, kinds }
    }

    /// Blocks in a coding unit; 1 where all blocks are coded alike.
    pub(super) fn unit(&self) -> usize {
        self.kinds.len().max(1)
    }

    /// At the beginning of block `block`, counted from the beginning of a coding unit, at a bit of the data.
    pub(super) fn begin(&self, place: usize, block: usize) -> Progress {
        let kind = self.kinds.get(block % self.unit()).copied().unwrap_or(0);
        Progress { place, block, coefficients: 0, table: 2 * u32::from(kind) * SIZE as u32 }
    }

    /// Takes [`Self::AT_ONCE`] steps by the tables, as far as they know them; false where one does not. `bits` are the
    /// next, [`Self::MOST_BITS`] at least.
    #[inline(always)]
    pub(super) fn some_steps(&self, now: &mut Progress, bits: u64, places: &mut Ends) -> bool {
        const { assert!(Self::MOST_BITS <= Bytes::LEAST_BITS as usize) };
        let mut sum = now.coefficients;
        let mut window = bits >> (64 - WIDTH);
        for _ in 0..Self::AT_ONCE {
            let index = usize::from(now.table as u16) | window as usize;
            let step = u32::from(self.tables.by_window[index].0);
            let next = sum + step;
            if next & Step::TOO_MANY != 0 {
                now.place += (sum & Step::BITS) as usize;
                now.coefficients = sum & !Step::BITS;
                return false;
            }
            // The sum's lowest bits are how many have been passed.
            window = (bits << (next & Step::BITS)) >> (64 - WIDTH);
            let block = now.block & (AT_ONCE - 1);
            places[block + 1] = now.place as u32 + (next & Step::BITS);
            let ends = step & Step::ENDS != 0;
            let following = self.tables.next[block];
            now.table = select_unpredictable(ends, following >> 16, following & 0xFFFF);
            sum = select_unpredictable(ends, next & Step::BITS, next);
            now.block += usize::from(ends);
        }
        now.place += (sum & Step::BITS) as usize;
        now.coefficients = sum & !Step::BITS;
        true
    }

    /// Notes where the next block begins if this one ends or goes on with it.
    fn settle(&self, now: &mut Progress, coefficients: u32, ends: bool, places: &mut Ends) {
        let block = now.block & (AT_ONCE - 1);
        places[block + 1] = now.place as u32;
        now.table = self.tables.next[block] >> (16 * u32::from(ends)) & 0xFFFF;
        now.coefficients = if ends { 0 } else { coefficients << Step::COEFFICIENTS_AT };
        now.block += usize::from(ends);
    }

    /// Takes a step over one code.
    #[cold]
    #[inline(never)]
    pub(super) fn step_by_code(
        &self,
        mut now: Progress,
        bits: u64,
        places: &mut Ends,
    ) -> Result<Progress, Stop> {
        let nonsense = |damage| Err(Stop::Nonsense(now.place, damage));
        let kind = self.kinds.get(now.block % self.unit()).copied();
        let Some(coding) = self.codings.get(usize::from(kind.unwrap_or(0))) else {
            return nonsense(Damage::Scan);
        };
        let window = (bits >> 48) as u32;
        let before = now.coefficients >> Step::COEFFICIENTS_AT;
        let (width, coefficients) = if before == 0 {
            let Some((length, size)) = coding.dc.code(window) else {
                return nonsense(Damage::Code);
            };
            (length + size, Some(1))
        } else {
            let Some(found) = coding.ac.code(window).and_then(meaning) else {
                return nonsense(Damage::Code);
            };
            found
        };
        let next = before + coefficients.unwrap_or(0);
        if next > BLOCK {
            return nonsense(Damage::Block);
        }
        now.place += width as usize;
        let ends = coefficients.is_none() || next == BLOCK;
        self.settle(&mut now, next, ends, places);
        Ok(now)
    }
}

/// How many bits a code of a coefficient takes with its value, and how many coefficients that are; `None` for the
/// end of the block. None at all where it has no meaning in a sequential scan (T.81, F.1.2.2.1).
pub(super) fn meaning((length, symbol): (u32, u8)) -> Option<(u32, Option<u32>)> {
    let (run, size) = (u32::from(symbol >> 4), u32::from(symbol & 15));
    match (run, size) {
        (0, 0) => Some((length, None)),
        (15, 0) => Some((length, Some(16))),
        (_, 0) => None,
        _ => Some((length + size, Some(run + 1))),
    }
}

/// Lays out the steps over as many codes as lie in a window, of all windows behind so many bits and coefficients.
fn lay_out(steps: &mut [Step], (bits, coefficients): (u32, u32), ac: &SymbolTable) {
    let known = if bits == 0 { Step::NONE } else { Step::new(bits, coefficients, false) };
    steps.fill(known);
    by_code(
        steps,
        |window| ac.code(window),
        |windows, code| {
            let Some((more, passed)) = meaning(code) else { return };
            let (bits, coefficients) = (bits + more, coefficients + passed.unwrap_or(0));
            if bits > MOST_BITS || coefficients >= BLOCK {
                return;
            }
            match passed {
                None => windows.fill(Step::new(bits, coefficients, true)),
                Some(_) => lay_out_behind(windows, (bits, coefficients), ac),
            }
        },
    );
}

/// The same where all windows begin with one code and go on with its value, whichever that is.
fn lay_out_behind(windows: &mut [Step], (bits, coefficients): (u32, u32), ac: &SymbolTable) {
    let behind = WIDTH.saturating_sub(bits);
    let Some((first, others)) = windows.split_at_mut_checked(1 << behind) else { return };
    lay_out(first, (bits, coefficients), ac);
    others.chunks_exact_mut(first.len()).for_each(|other| other.copy_from_slice(first));
}

/// Visits all windows that begin with a code, of those that all windows so long make up: those of each code at once.
fn by_code<C: Copy>(
    steps: &mut [Step],
    code: impl Fn(u32) -> Option<(u32, C)>,
    mut visit: impl FnMut(&mut [Step], (u32, C)),
) {
    let width = steps.len().trailing_zeros();
    let mut at = 0;
    while at < steps.len() {
        let found = code((at as u32) << (16 - width)).filter(|(length, _)| *length <= width);
        let count = found.map_or(1, |(length, _)| 1 << (width - length));
        if let (Some(found), Some(windows)) = (found, steps.get_mut(at..at + count)) {
            visit(windows, found);
        }
        at += count;
    }
}
