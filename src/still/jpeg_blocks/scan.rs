//! Scans and their parts (ITU-T T.81, B.2.3), and the decoding of those of progressive files (G.2).

use super::bits::Bits;
use super::error::{Damage, Unread};
use super::frame::{Component, Frame};
use super::huffman::DcTable;
use super::markers::Contents;
use super::planes::Coefficients;

/// Most blocks in an interleaved coding unit (T.81, B.2.3).
const MOST_BLOCKS: usize = 10;

/// A scan header.
#[derive(Debug, Clone)]
pub(super) struct Header {
    pub(super) components: Vec<ScanComponent>,
    /// The first and the last coefficient in the scan.
    pub(super) band: (u8, u8),
    /// The lowest bit known before the scan, 0 if none is; and the lowest bit known after it.
    pub(super) bits: (u8, u8),
}

/// One component of a scan.
#[derive(Debug, Clone, Copy)]
pub(super) struct ScanComponent {
    /// Its place in the frame.
    pub(super) place: usize,
    /// The numbers of its Huffman tables.
    pub(super) dc: usize,
    pub(super) ac: usize,
}

impl Header {
    /// Reads the contents of a scan header.
    pub(super) fn parse(frame: &Frame, contents: &[u8]) -> Result<Self, Damage> {
        let mut contents = Contents(contents);
        let count = usize::from(contents.byte()?);
        if count == 0 || count > frame.components.len() {
            return Err(Damage::Scan);
        }
        let mut components: Vec<ScanComponent> = Vec::with_capacity(count);
        for _ in 0..count {
            let &[identifier, tables] = contents.array()?;
            let place = frame
                .components
                .iter()
                .position(|component| component.identifier == identifier)
                .filter(|place| components.iter().all(|other| other.place != *place))
                .ok_or(Damage::Scan)?;
            let (dc, ac) = (usize::from(tables >> 4), usize::from(tables & 15));
            components.push(ScanComponent { place, dc, ac });
        }
        let &[first, last, bits] = contents.array()?;
        if !contents.is_empty() {
            return Err(Damage::Segment);
        }
        Ok(Self { components, band: (first, last), bits: (bits >> 4, bits & 15) })
    }
}

/// What is known of one block.
#[derive(Debug)]
pub(super) struct Block<'p> {
    /// Its first coefficient, quantised.
    pub(super) value: &'p mut i16,
    /// The energy of the others, where it is wanted.
    pub(super) energy: Option<&'p mut f32>,
    /// Which others are not zero, in progressive files that are read whole; the lowest bit is the first one's.
    pub(super) nonzero: Option<&'p mut u64>,
}

/// What a scan holds of each block.
pub(super) trait BlockCoding {
    /// Reads one block. `before` is what the component's block before leaves: its first coefficient in units of
    /// the lowest bit known, or in a scan without these how many more blocks hold nothing. 0 after a restart.
    fn read(&self, bits: &mut Bits<'_>, before: &mut i32, block: Block<'_>) -> Result<(), Unread>;
}

/// The upper bits of the first coefficient.
#[derive(Debug)]
pub(super) struct UpperBits<'t> {
    pub(super) dc: &'t DcTable,
    /// The lowest of them.
    pub(super) lowest: u8,
}

impl BlockCoding for UpperBits<'_> {
    #[inline(always)]
    fn read(
        &self,
        bits: &mut Bits<'_>,
        prediction: &mut i32,
        block: Block<'_>,
    ) -> Result<(), Unread> {
        bits.refill();
        *prediction += self.dc.difference(bits)?;
        // At most 2¹⁵ so far, and 2¹¹ more, and 13 bits to the left: that stays below 2³¹.
        *block.value =
            i16::try_from(*prediction << self.lowest).map_err(|_| bits.nonsense(Damage::Block))?;
        Ok(())
    }
}

/// The next lower bit of the first coefficient.
#[derive(Debug)]
pub(super) struct NextBit {
    pub(super) lowest: u8,
}

impl BlockCoding for NextBit {
    #[inline(always)]
    fn read(&self, bits: &mut Bits<'_>, _: &mut i32, block: Block<'_>) -> Result<(), Unread> {
        bits.refill();
        *block.value |= (bits.peek(1) as i16) << self.lowest;
        bits.pass(1);
        Ok(())
    }
}

/// One component's part in a scan.
#[derive(Debug)]
pub(super) struct Part<'p> {
    pub(super) scanned: ScanComponent,
    pub(super) component: &'p Component,
    pub(super) plane: &'p mut Coefficients,
    /// Its blocks across and down in a coding unit.
    pub(super) across: usize,
    pub(super) down: usize,
}

/// The parts of a scan, in its order, which need not be that of the frame; and its coding units across and down.
/// `planes` are the frame's.
pub(super) fn parts<'p>(
    frame: &'p Frame,
    header: &Header,
    planes: &'p mut [Coefficients],
) -> Result<((usize, usize), Vec<Part<'p>>), Damage> {
    let is_alone = header.components.len() == 1;
    let mut parts = Vec::with_capacity(header.components.len());
    let mut planes: Vec<_> = planes.iter_mut().map(Some).collect();
    let mut units = frame.units();
    for scanned in &header.components {
        let component = frame.components.get(scanned.place).ok_or(Damage::Scan)?;
        let plane = planes.get_mut(scanned.place).and_then(Option::take).ok_or(Damage::Scan)?;
        let (across, down) = if is_alone {
            // T.81, A.2.2: block by block, and only those that hold picture.
            units = (component.columns, component.rows);
            (1, 1)
        } else {
            (usize::from(component.across), usize::from(component.down))
        };
        parts.push(Part { scanned: *scanned, component, plane, across, down });
    }
    if parts.iter().map(|part| part.across * part.down).sum::<usize>() > MOST_BLOCKS {
        return Err(Damage::Scan);
    }
    Ok((units, parts))
}

/// A part and how far its decoding has come.
#[derive(Debug)]
struct Lane<'p, C> {
    coding: C,
    part: Part<'p>,
    before: i32,
}

/// Decodes a scan of a progressive file whose data begins at `start`; returns where it ends.
///
/// `planes` are the frame's, and `coding` makes what each component of the scan is read with.
pub(super) fn decode<C: BlockCoding>(
    (data, start): (&[u8], usize),
    frame: &Frame,
    header: &Header,
    restart_interval: u16,
    planes: &mut [Coefficients],
    coding: impl Fn(&ScanComponent) -> Result<C, Damage>,
) -> Result<usize, Unread> {
    let (units, parts) = parts(frame, header, planes)?;
    let lanes =
        parts.into_iter().map(|part| Ok(Lane { coding: coding(&part.scanned)?, part, before: 0 }));
    let mut lanes = lanes.collect::<Result<Vec<_>, Damage>>()?;
    let mut bits = Bits::new(data, start);
    let mut restarts = Restarts::new(restart_interval);
    for row in 0..units.1 {
        for column in 0..units.0 {
            if let Some(number) = restarts.due() {
                bits = bits.restarted(number)?;
                for lane in &mut lanes {
                    lane.before = 0;
                }
            }
            for lane in &mut lanes {
                lane.read_unit(&mut bits, column, row)?;
            }
            bits.check()?;
        }
    }
    bits.finish()
}

impl<C: BlockCoding> Lane<'_, C> {
    #[inline(always)]
    fn read_unit(&mut self, bits: &mut Bits<'_>, column: usize, row: usize) -> Result<(), Unread> {
        let Part { plane, across, down, .. } = &mut self.part;
        for line in 0..*down {
            let first = (row * *down + line) * plane.stride + column * *across;
            let last = first + *across;
            let values = plane.values.get_mut(first..last).unwrap_or_default();
            let mut energies = plane.energies.get_mut(first..last).unwrap_or_default().iter_mut();
            let mut nonzero = plane.nonzero.get_mut(first..last).unwrap_or_default().iter_mut();
            for value in values {
                let block = Block { value, energy: energies.next(), nonzero: nonzero.next() };
                self.coding.read(bits, &mut self.before, block)?;
            }
        }
        Ok(())
    }
}

/// Counts the coding units between restarts.
#[derive(Debug)]
struct Restarts {
    /// Units between two restarts; 0 for none.
    interval: u16,
    left: u16,
    next: u8,
}

impl Restarts {
    fn new(interval: u16) -> Self {
        Self { interval, left: interval, next: 0 }
    }

    /// The number of the restart marker that must come before the next unit, if one must.
    #[inline(always)]
    fn due(&mut self) -> Option<u8> {
        if self.interval == 0 {
            return None;
        }
        if self.left > 0 {
            self.left -= 1;
            return None;
        }
        self.left = self.interval - 1;
        let number = self.next;
        self.next = (number + 1) & 7;
        Some(number)
    }
}
