//! The frame header: the picture's size, its components and how they are sampled (ITU-T T.81, A.1 and B.2.2).

use super::error::{Damage, Unread, Unsupported};
use super::markers::Contents;

/// Most pixels a picture may have: 500 million.
pub(super) const MOST_PIXELS: u64 = 500_000_000;

/// How a frame is coded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Process {
    /// Every block once, all its coefficients together (SOF0, SOF1).
    Sequential,
    /// Coefficients by bands and bits, in many scans (SOF2).
    Progressive,
}

impl Process {
    /// The process that a marker begins a frame of; `None` if it is not a frame's.
    pub(super) fn from_marker(marker: u8) -> Result<Option<Self>, Unsupported> {
        match marker {
            0xC0 | 0xC1 => Ok(Some(Self::Sequential)),
            0xC2 => Ok(Some(Self::Progressive)),
            0xC3 | 0xF7 => Err(Unsupported::Lossless),
            0xC5..=0xC7 | 0xDE | 0xDF => Err(Unsupported::Hierarchical),
            0xC8..=0xCF if marker != 0xC8 => Err(Unsupported::Arithmetic),
            _ => Ok(None),
        }
    }
}

/// A frame header.
#[derive(Debug, Clone)]
pub(super) struct Frame {
    pub(super) process: Process,
    /// Pixels across and down.
    pub(super) width: u16,
    pub(super) height: u16,
    /// The largest sampling factors of any component.
    pub(super) most_across: u8,
    pub(super) most_down: u8,
    pub(super) components: Vec<Component>,
}

/// One component of a frame.
#[derive(Debug, Clone, Copy)]
pub(super) struct Component {
    pub(super) identifier: u8,
    /// Sampling factors, which are also its blocks across and down in an interleaved coding unit; 1 to 4.
    pub(super) across: u8,
    pub(super) down: u8,
    /// The number of its quantisation table, 0 to 3.
    pub(super) quantisation: u8,
    /// Blocks across and down that hold picture.
    pub(super) columns: usize,
    pub(super) rows: usize,
}

impl Frame {
    /// Reads the contents of a frame header.
    pub(super) fn parse(process: Process, contents: &[u8]) -> Result<Self, Unread> {
        let mut contents = Contents(contents);
        let depth = contents.byte()?;
        let height = contents.word()?;
        let width = contents.word()?;
        let count = contents.byte()?;
        if depth != 8 {
            return Err(Unsupported::Depth(depth).into());
        }
        if height == 0 {
            return Err(Unsupported::LateHeight.into());
        }
        if width == 0 {
            return Err(Damage::Segment.into());
        }
        if u64::from(width) * u64::from(height) > MOST_PIXELS {
            return Err(Unsupported::TooLarge { width, height }.into());
        }
        if !matches!(count, 1 | 3) {
            return Err(Unsupported::Components(count).into());
        }
        let mut components = Vec::with_capacity(usize::from(count));
        for _ in 0..count {
            let component = Component::parse(&mut contents)?;
            if components.iter().any(|other: &Component| other.identifier == component.identifier) {
                return Err(Damage::Segment.into());
            }
            components.push(component);
        }
        if !contents.is_empty() {
            return Err(Damage::Segment.into());
        }
        let most = |factor: fn(&Component) -> u8| components.iter().map(factor).max().unwrap_or(1);
        let (most_across, most_down) = (most(|c| c.across), most(|c| c.down));
        for component in &mut components {
            component.columns = blocks(width, component.across, most_across);
            component.rows = blocks(height, component.down, most_down);
        }
        Ok(Self { process, width, height, most_across, most_down, components })
    }

    /// Interleaved coding units across and down the picture.
    pub(super) fn units(&self) -> (usize, usize) {
        (blocks(self.width, 1, self.most_across), blocks(self.height, 1, self.most_down))
    }
}

impl Component {
    fn parse(contents: &mut Contents<'_>) -> Result<Self, Damage> {
        let &[identifier, factors, quantisation] = contents.array()?;
        let (across, down) = (factors >> 4, factors & 15);
        if !matches!((across, down, quantisation), (1..=4, 1..=4, 0..=3)) {
            return Err(Damage::Segment);
        }
        Ok(Self { identifier, across, down, quantisation, columns: 0, rows: 0 })
    }
}

/// Blocks that `pixels` pixels take where a component has `factor` samples for every `most` pixels.
fn blocks(pixels: u16, factor: u8, most: u8) -> usize {
    let samples = (usize::from(pixels) * usize::from(factor)).div_ceil(usize::from(most).max(1));
    samples.div_ceil(8)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn header(width: u16, height: u16, factors: &[u8]) -> Vec<u8> {
        let mut bytes = vec![8];
        bytes.extend(height.to_be_bytes());
        bytes.extend(width.to_be_bytes());
        bytes.push(factors.len() as u8);
        for (identifier, factors) in (1..).zip(factors) {
            bytes.extend([identifier, *factors, 0]);
        }
        bytes
    }

    fn grid(width: u16, height: u16, factors: &[u8]) -> Vec<(usize, usize)> {
        let frame = Frame::parse(Process::Sequential, &header(width, height, factors)).unwrap();
        frame.components.iter().map(|c| (c.columns, c.rows)).collect()
    }

    #[test]
    fn blocks_that_hold_picture() {
        assert_eq!(grid(1, 1, &[0x22, 0x11, 0x11]), [(1, 1); 3]);
        assert_eq!(grid(17, 33, &[0x22, 0x11, 0x11]), [(3, 5), (2, 3), (2, 3)]);
        assert_eq!(grid(17, 33, &[0x41, 0x11, 0x21]), [(3, 5), (1, 5), (2, 5)]);
        assert_eq!(grid(24, 24, &[0x33, 0x22, 0x11]), [(3, 3), (2, 2), (1, 1)]);
        // A lone component is not subsampled, whatever its factors.
        assert_eq!(grid(17, 33, &[0x22]), [(3, 5)]);
    }

    #[test]
    fn refuses_what_it_cannot_read() {
        let parse = |bytes: &[u8]| Frame::parse(Process::Sequential, bytes).unwrap_err();
        let good = header(16, 16, &[0x11, 0x11, 0x11]);
        let with = |place: usize, value: u8| {
            let mut bytes = good.clone();
            bytes[place] = value;
            bytes
        };
        assert_eq!(parse(&with(0, 12)), Unsupported::Depth(12).into());
        assert_eq!(parse(&header(16, 0, &[0x11])), Unsupported::LateHeight.into());
        assert_eq!(parse(&header(0, 16, &[0x11])), Damage::Segment.into());
        assert_eq!(parse(&header(9, 9, &[0x11; 4])), Unsupported::Components(4).into());
        assert_eq!(parse(&header(9, 9, &[0x11; 2])), Unsupported::Components(2).into());
        assert_eq!(
            parse(&header(65_535, 7_630, &[0x11])),
            Unsupported::TooLarge { width: 65_535, height: 7_630 }.into()
        );
        for factors in [0x01, 0x10, 0x51, 0x15] {
            assert_eq!(parse(&with(7, factors)), Damage::Segment.into());
        }
        assert_eq!(parse(&with(8, 4)), Damage::Segment.into());
        // The second component under the first one's identifier.
        assert_eq!(parse(&with(9, 1)), Damage::Segment.into());
        for length in 0..good.len() {
            assert_eq!(parse(&good[..length]), Damage::Segment.into());
        }
        assert_eq!(parse(&[&good[..], &[0]].concat()), Damage::Segment.into());
    }
}
