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
    /// What is found in a stretch.
    pub(super) found: Vec<Found>,
}

/// What is wanted of a block.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Found {
    /// The difference of its first coefficient from that of the block before, and then that coefficient.
    value: i32,
    energy: f32,
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
        let blocks = self.across * self.down;
        // Block by block of a unit, so that the loop within is a plain one.
        self.found.resize(count * blocks, Found::default());
        for (block, found) in (first..).zip(self.found.chunks_exact_mut(count.max(1))) {
            let units = places.chunks_exact(stride).zip(found);
            let place = |unit: &[u32]| unit.get(block).copied().unwrap_or_default();
            match &self.energy {
                None => units.for_each(|(unit, found)| {
                    found.value = difference(bytes, place(unit), self.coding.dc).0;
                }),
                Some(energy) => units.for_each(|(unit, found)| {
                    let place = place(unit);
                    let (value, bits, rest) = difference(bytes, place, self.coding.dc);
                    let first = (place + bits) as usize;
                    let more = |passed| bytes.bits_at(first + passed as usize);
                    *found = Found { value, energy: energy.of_block(rest, more) };
                }),
            }
        }
        let (mut prediction, mut wild) = (self.prediction, None);
        for unit in 0..count {
            for block in 0..blocks {
                if let Some(found) = self.found.get_mut(block * count + unit) {
                    prediction += found.value;
                    found.value = prediction;
                    if i16::try_from(prediction).is_err() {
                        wild = wild.or(Some(unit));
                    }
                }
            }
        }
        self.prediction = prediction;
        if let Some(unit) = wild {
            return Err(places.get(unit * stride).copied().unwrap_or_default() as usize);
        }
        for block in 0..blocks {
            self.put(block, start, units_across, count);
        }
        Ok(())
    }

    /// Puts the blocks at one place of each unit where they belong.
    fn put(&mut self, block: usize, start: usize, units_across: usize, count: usize) {
        let (across, down) = (block % self.across, block / self.across);
        let Coefficients { values, energies, stride, .. } = &mut *self.plane;
        let found = self.found.get(block * count..).and_then(|rest| rest.get(..count));
        let mut found = found.unwrap_or_default();
        let (mut column, mut row) = (start % units_across, start / units_across);
        while !found.is_empty() {
            let (line, rest) = found.split_at(found.len().min(units_across - column));
            let first = (row * self.down + down) * *stride + column * self.across + across;
            let values = values.get_mut(first..).unwrap_or_default();
            let places = values.iter_mut().step_by(self.across);
            places.zip(line).for_each(|(value, found)| *value = found.value as i16);
            if let Some(energies) = energies.get_mut(first..) {
                let places = energies.iter_mut().step_by(self.across);
                places.zip(line).for_each(|(energy, found)| *energy = found.energy);
            }
            found = rest;
            (column, row) = (0, row + 1);
        }
    }
}

/// The difference between first coefficients at a place, how many bits it takes, and those behind it: 30 at least.
#[inline(always)]
fn difference(bytes: &Bytes, place: u32, dc: &DcTable) -> (i32, u32, u64) {
    let bits = bytes.bits_at(place as usize);
    // Known to be sound.
    let (length, size) = dc.code((bits >> 48) as u32).unwrap_or_default();
    let value = bits << length;
    // T.81, F.2.2.1: values whose top bit is clear stand for negative ones.
    let least = (!value >> 63) as i32 * ((1 << size) - 1);
    (((value >> 1) >> (63 - size)) as i32 - least, length + size, value << size)
}
