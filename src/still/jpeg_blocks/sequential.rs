//! Decoding of sequential scans (ITU-T T.81, F.2): first where each block of a stretch of data begins, then what
//! is wanted of each. The second has nothing to wait for, as its places are known.

use super::energy::EnergyTable;
use super::error::{Damage, Unread};
use super::huffman::DcTable;
use super::passing::{Ahead, pass, pass_two};
use super::planes::Coefficients;
use super::steps::{Coding, Places, Steps, Stop};
use super::stretch::{Bytes, Stretch};

/// One component's part in a scan.
#[derive(Debug)]
pub(super) struct Lane<'p, 't> {
    pub(super) coding: Coding<'t>,
    /// What the energies are weighed with, where they are wanted.
    pub(super) energy: Option<EnergyTable<'t>>,
    pub(super) plane: &'p mut Coefficients,
    /// Its blocks across and down in a coding unit.
    pub(super) across: usize,
    pub(super) down: usize,
    pub(super) prediction: i32,
}

/// Decodes a scan of so many coding units across and down whose data begins at `start`; returns where it ends.
pub(super) fn decode(
    (data, start): (&[u8], usize),
    units: (usize, usize),
    restart_interval: u16,
    lanes: &mut [Lane<'_, '_>],
) -> Result<usize, Unread> {
    let unit: Vec<Coding<'_>> = lanes
        .iter()
        .flat_map(|lane| std::iter::repeat_n(lane.coding, lane.across * lane.down))
        .collect();
    let all = units.0 * units.1;
    let steps = Steps::new(&unit, all * unit.len());
    let interval = if restart_interval == 0 { all } else { usize::from(restart_interval) };
    let most = Places::MOST / unit.len().max(1);
    let mut ahead = Ahead::default();
    let mut now = Interval { stretch: Stretch::new(data, start), ..Interval::empty(data) };
    let mut next = Interval::empty(data);
    let mut scan = Scan { lanes, unit: unit.len(), units_across: units.0, done: 0 };
    let mut restart = 0;
    loop {
        let left = all - scan.done;
        let end = scan.done + interval.min(left);
        // Between restarts data stands by itself, so that two pieces can be passed at the same time.
        if now.passed.is_none()
            && interval < left
            && interval <= most
            && now.stretch.look_ahead(&mut next.stretch)
        {
            let [blocks, next_blocks] =
                [interval, interval.min(left - interval)].map(|units| units * unit.len());
            let [one, two] = pass_two(
                &steps,
                (now.stretch.passable(), blocks, &mut now.places),
                (next.stretch.passable(), next_blocks, &mut next.places),
            );
            (now.passed, next.passed) = (Some(one), Some(two));
        }
        let mut place = 0;
        while scan.done < end {
            let units = most.min(end - scan.done);
            let passed = now.passed.take().unwrap_or_else(|| {
                let (data, blocks) = (now.stretch.passable(), units * unit.len());
                pass(&steps, (data, place), blocks, &mut now.places, &mut ahead)
            });
            place = scan.take(&mut now.stretch, &now.places, passed, units)?;
        }
        if scan.done == all {
            return now.stretch.finish(place);
        }
        now.stretch.restart(place, restart)?;
        restart = (restart + 1) & 7;
        scan.lanes.iter_mut().for_each(|lane| lane.prediction = 0);
        if next.passed.is_none() {
            now.stretch.look_ahead(&mut next.stretch);
        }
        std::mem::swap(&mut now, &mut next);
    }
}

/// The data between two restarts.
#[derive(Debug)]
struct Interval<'a> {
    stretch: Stretch<'a>,
    places: Places,
    /// How many blocks of the stretch have been passed already, and why no more.
    passed: Option<(usize, Stop)>,
}

impl<'a> Interval<'a> {
    fn empty(data: &'a [u8]) -> Self {
        Self { stretch: Stretch::empty(data), places: Places::default(), passed: None }
    }
}

/// A scan and how far it has come.
#[derive(Debug)]
struct Scan<'l, 'p, 't> {
    lanes: &'l mut [Lane<'p, 't>],
    /// Blocks in a coding unit.
    unit: usize,
    units_across: usize,
    /// Units that are done with.
    done: usize,
}

impl Scan<'_, '_, '_> {
    /// Takes what is wanted of the units that have been passed, out of so many as there should be, and goes on to the
    /// next stretch if that is why there are less. Returns where the next unit begins.
    fn take(
        &mut self,
        stretch: &mut Stretch<'_>,
        places: &Places,
        (blocks, stop): (usize, Stop),
        units: usize,
    ) -> Result<usize, Unread> {
        let passed = blocks / self.unit.max(1);
        let places = places.of(passed * self.unit);
        let last = places.last().copied().unwrap_or_default() as usize;
        if !stretch.holds(last) {
            return Err(stretch.too_short());
        }
        match stop {
            Stop::Nonsense(at, damage) => return Err(stretch.nonsense(at, damage)),
            Stop::End if passed < units && stretch.is_last() => return Err(stretch.too_short()),
            // A stretch holds more than a unit can take.
            Stop::End if passed == 0 => return Err(Damage::Block.into()),
            Stop::End => {}
        }
        let mut first = 0;
        for lane in &mut *self.lanes {
            lane.take(
                (self.done, passed),
                self.units_across,
                stretch.bytes(),
                (places, self.unit, first),
            )
            .map_err(|at| stretch.nonsense(at, Damage::Block))?;
            first += lane.across * lane.down;
        }
        self.done += passed;
        Ok(if passed < units { stretch.advance(last) } else { last })
    }
}

impl Lane<'_, '_> {
    /// Takes what is wanted of coding units from the bytes that hold them. Where a block makes no sense, its place.
    fn take(
        &mut self,
        (start, count): (usize, usize),
        units_across: usize,
        bytes: &Bytes,
        (places, stride, first): (&[u32], usize, usize),
    ) -> Result<(), usize> {
        let (mut unit, mut places) = (start, places);
        let end = start + count;
        while unit < end {
            let (row, column) = (unit / units_across, unit % units_across);
            let count = (units_across - column).min(end - unit);
            let (line, rest) = places.split_at_checked(count * stride).unwrap_or_default();
            self.take_line((row, column), bytes, (line, stride, first))?;
            (unit, places) = (unit + count, rest);
        }
        Ok(())
    }

    /// The same for units beside one another, from this row and column of units on.
    fn take_line(
        &mut self,
        at: (usize, usize),
        bytes: &Bytes,
        (places, stride, first): (&[u32], usize, usize),
    ) -> Result<(), usize> {
        let blocks = self.across * self.down;
        // Block by block of a unit, so that the loop within is a plain one.
        for block in 0..blocks {
            self.take_differences(at, block, bytes, (places, stride, first + block));
        }
        let mut now = self.prediction;
        if self.add_up(at, places.len() / stride.max(1)) {
            return Ok(());
        }
        let wild = places.chunks_exact(stride).find(|unit| {
            unit.iter().skip(first).take(blocks).any(|place| {
                now += difference(bytes, *place, self.coding.dc).0;
                i16::try_from(now).is_err()
            })
        });
        Err(wild.and_then(|unit| unit.first()).copied().unwrap_or_default() as usize)
    }

    /// Takes of one block of each unit the difference between its first coefficient and that of the block before, and
    /// the energy if that is wanted.
    fn take_differences(
        &mut self,
        at: (usize, usize),
        block: usize,
        bytes: &Bytes,
        (places, stride, number): (&[u32], usize, usize),
    ) {
        let (column, row) = (block % self.across, block / self.across);
        let (first, across, dc) = (self.first(at, row), self.across, self.coding.dc);
        let values = self.plane.values.get_mut(first + column..).unwrap_or_default();
        let place = |unit: &[u32]| unit.get(number).copied().unwrap_or_default();
        let units = places.chunks_exact(stride).map(place).zip(values.iter_mut().step_by(across));
        let energies = self.plane.energies.get_mut(first..).unwrap_or_default();
        match &self.energy {
            Some(energy) => {
                let energies = energies.iter_mut().skip(column).step_by(across);
                units.zip(energies).for_each(|((place, value), found)| {
                    let (difference, passed, bits) = difference(bytes, place, dc);
                    *value = difference as i16;
                    *found = energy.of_block(bits, passed, bytes, place);
                });
            }
            None => units.for_each(|(place, value)| *value = difference(bytes, place, dc).0 as i16),
        }
    }

    /// Adds up the differences of so many units, in the order in which they are coded; false if a coefficient comes to
    /// more than any file can hold.
    fn add_up(&mut self, at: (usize, usize), count: usize) -> bool {
        let (first, across, stride) = (self.first(at, 0), self.across, self.plane.stride);
        let values = self.plane.values.get_mut(first..).unwrap_or_default();
        let now = &mut self.prediction;
        // Whether any is beyond 16 bits shows in those above.
        let mut any = 0;
        let mut add = |value: &mut i16| {
            *now += i32::from(*value);
            *value = *now as i16;
            any |= now.wrapping_add(1 << 15);
        };
        match (across, self.down) {
            (_, 1) => values.iter_mut().take(count * across).for_each(add),
            (2, 2) => {
                let (upper, lower) = values.split_at_mut_checked(stride).unwrap_or_default();
                let [upper, lower] = [upper, lower].map(|line| line.as_chunks_mut::<2>().0);
                for (upper, lower) in upper.iter_mut().zip(lower).take(count) {
                    upper.iter_mut().chain(lower).for_each(&mut add);
                }
            }
            (_, down) => {
                for block in (0..count).flat_map(|unit| (0..down).map(move |row| (unit, row))) {
                    let first = block.1 * stride + block.0 * across;
                    values.iter_mut().skip(first).take(across).for_each(&mut add);
                }
            }
        }
        any >> 16 == 0
    }

    /// Where in the plane a row of blocks begins, in the unit at this row and column of units.
    fn first(&self, (row, column): (usize, usize), down: usize) -> usize {
        (row * self.down + down) * self.plane.stride + column * self.across
    }
}

/// The difference between first coefficients at a place, how many bits it takes, and those behind it: 30 at least.
#[inline(always)]
fn difference(bytes: &Bytes, place: u32, dc: &DcTable) -> (i32, u32, u64) {
    let bits = bytes.bits_at(place as usize);
    let (difference, passed) = dc.sound_difference(bits);
    (difference, passed, bits << passed)
}
