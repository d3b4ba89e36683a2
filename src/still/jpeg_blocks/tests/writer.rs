//! Writes JPEGs with first coefficients that are known, in layouts that no encoder at hand produces.

use super::Numbers;

/// A code of each length from 2 bits up, so that codes longer than any lookup occur. The sizes that occur most
/// get the longest.
const DC_SYMBOLS: [u8; 12] = [11, 10, 9, 8, 0, 1, 2, 7, 3, 6, 4, 5];
/// The same for the other coefficients: end of block, sixteen zeros, and some runs and sizes.
const AC_SYMBOLS: [u8; 15] =
    [0x01, 0x00, 0x11, 0x02, 0x31, 0xF0, 0x53, 0x12, 0x05, 0x2A, 0xE1, 0x21, 0x04, 0x71, 0xF1];
const SHORTEST: usize = 2;

/// How the other coefficients are chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Detail {
    /// None: flat blocks.
    Flat,
    /// Any of the codes, in every block, the values at random.
    Busy,
}

/// What to write.
#[derive(Debug, Clone)]
pub(super) struct Sketch {
    /// The marker of the frame, 0xC0 to 0xC2.
    pub(super) frame: u8,
    pub(super) width: u16,
    pub(super) height: u16,
    /// Sampling factors across and down of each component.
    pub(super) factors: Vec<(usize, usize)>,
    pub(super) identifiers: [u8; 3],
    pub(super) interleaved: bool,
    /// Units between restarts, or 0.
    pub(super) restart: u16,
    /// Quantisation step of the first coefficients.
    pub(super) step: u16,
    /// In how many scans after the first the lowest bits come, if progressive.
    pub(super) refinements: u8,
    pub(super) detail: Detail,
    /// Largest magnitude of a first coefficient.
    pub(super) most: usize,
    pub(super) seed: u64,
}

impl Default for Sketch {
    fn default() -> Self {
        Self {
            frame: 0xC0,
            width: 61,
            height: 47,
            factors: vec![(2, 2), (1, 1), (1, 1)],
            identifiers: [1, 2, 3],
            interleaved: true,
            restart: 0,
            step: 3,
            refinements: 0,
            detail: Detail::Busy,
            most: 340,
            seed: 1,
        }
    }
}

/// First coefficients of one component, with those that fill up the units.
pub(super) struct Grid {
    stride: usize,
    pub(super) columns: usize,
    pub(super) rows: usize,
    values: Vec<i32>,
}

impl Grid {
    pub(super) fn at(&self, column: usize, row: usize) -> i32 {
        self.values[row * self.stride + column]
    }
}

impl Sketch {
    pub(super) fn most_factors(&self) -> (usize, usize) {
        let most = |factor: fn(&(usize, usize)) -> usize| self.factors.iter().map(factor).max();
        (most(|f| f.0).unwrap(), most(|f| f.1).unwrap())
    }

    fn units(&self) -> (usize, usize) {
        let most = self.most_factors();
        (
            usize::from(self.width).div_ceil(8 * most.0),
            usize::from(self.height).div_ceil(8 * most.1),
        )
    }

    /// The file, and the coefficients in it.
    pub(super) fn write(&self) -> (Vec<u8>, Vec<Grid>) {
        let mut numbers = Numbers(self.seed);
        let grids: Vec<Grid> = self.factors.iter().map(|f| self.grid(*f, &mut numbers)).collect();
        let mut file = vec![0xFF, 0xD8];
        // One table with 16-bit steps, so that both widths occur among the sketches.
        if self.step > 255 {
            segment(&mut file, 0xDB, &[&[0x10][..], &self.step.to_be_bytes().repeat(64)].concat());
        } else {
            segment(&mut file, 0xDB, &[&[0x00][..], &[self.step as u8; 64]].concat());
        }
        let mut frame = vec![8];
        frame.extend(self.height.to_be_bytes());
        frame.extend(self.width.to_be_bytes());
        frame.push(self.factors.len() as u8);
        for (identifier, (across, down)) in self.identifiers.iter().zip(&self.factors) {
            frame.extend([*identifier, (across << 4 | down) as u8, 0]);
        }
        segment(&mut file, self.frame, &frame);
        segment(&mut file, 0xC4, &tables());
        if self.restart > 0 {
            segment(&mut file, 0xDD, &self.restart.to_be_bytes());
        }
        let all: Vec<usize> = (0..self.factors.len()).collect();
        let groups: Vec<&[usize]> =
            if self.interleaved { vec![&all] } else { all.chunks(1).collect() };
        if self.frame == 0xC2 {
            let mut lowest = self.refinements;
            for group in &groups {
                self.scan(&mut file, group, &grids, Part::Upper(lowest), &mut numbers);
            }
            for component in all.chunks(1) {
                self.scan(&mut file, component, &grids, Part::Others, &mut numbers);
            }
            while lowest > 0 {
                lowest -= 1;
                for group in &groups {
                    self.scan(&mut file, group, &grids, Part::Next(lowest), &mut numbers);
                }
            }
        } else {
            for group in &groups {
                self.scan(&mut file, group, &grids, Part::Whole, &mut numbers);
            }
        }
        file.extend([0xFF, 0xD9]);
        (file, grids)
    }

    fn grid(&self, (across, down): (usize, usize), numbers: &mut Numbers) -> Grid {
        let most = self.most_factors();
        let units = self.units();
        let stride = units.0 * across;
        let signed = |number: usize| number as i32 - self.most as i32;
        Grid {
            stride,
            columns: (usize::from(self.width) * across).div_ceil(most.0).div_ceil(8),
            rows: (usize::from(self.height) * down).div_ceil(most.1).div_ceil(8),
            values: (0..stride * units.1 * down)
                .map(|_| signed(numbers.below(2 * self.most + 1)))
                .collect(),
        }
    }

    fn scan(
        &self,
        file: &mut Vec<u8>,
        group: &[usize],
        grids: &[Grid],
        part: Part,
        numbers: &mut Numbers,
    ) {
        let mut header = vec![group.len() as u8];
        for component in group {
            header.extend([self.identifiers[*component], 0x00]);
        }
        header.extend(match part {
            Part::Whole => [0, 63, 0],
            Part::Upper(lowest) => [0, 0, lowest],
            Part::Next(lowest) => [0, 0, (lowest + 1) << 4 | lowest],
            Part::Others => [1, 63, 0],
        });
        // A fill byte before the marker.
        file.push(0xFF);
        segment(file, 0xDA, &header);

        let is_alone = group.len() == 1;
        let units = match group {
            [component] => (grids[*component].columns, grids[*component].rows),
            _ => self.units(),
        };
        let mut bits = BitWriter::default();
        let mut predictions = [0; 3];
        for unit in 0..units.0 * units.1 {
            if self.restart > 0 && unit > 0 && unit % usize::from(self.restart) == 0 {
                bits.flush();
                bits.bytes.extend([0xFF, 0xD0 + (unit / usize::from(self.restart) - 1) as u8 % 8]);
                predictions = [0; 3];
            }
            for component in group {
                let (across, down) = if is_alone { (1, 1) } else { self.factors[*component] };
                for block in 0..across * down {
                    let column = unit % units.0 * across + block % across;
                    let row = unit / units.0 * down + block / across;
                    let value = grids[*component].at(column, row);
                    part.block(&mut bits, value, &mut predictions[*component], || {
                        (self.detail == Detail::Busy).then(|| numbers.next())
                    });
                }
            }
        }
        bits.flush();
        file.extend(bits.bytes);
    }
}

/// What a scan holds of each block.
#[derive(Clone, Copy)]
enum Part {
    Whole,
    Upper(u8),
    Next(u8),
    Others,
}

impl Part {
    fn block(
        self,
        bits: &mut BitWriter,
        value: i32,
        prediction: &mut i32,
        number: impl FnMut() -> Option<u32>,
    ) {
        match self {
            Self::Whole => {
                first_coefficient(bits, value, prediction);
                other_coefficients(bits, number);
            }
            Self::Upper(lowest) => first_coefficient(bits, value >> lowest, prediction),
            Self::Next(lowest) => bits.put((value >> lowest & 1) as u32, 1),
            Self::Others => other_coefficients(bits, number),
        }
    }
}

fn first_coefficient(bits: &mut BitWriter, value: i32, prediction: &mut i32) {
    let difference = value - *prediction;
    *prediction = value;
    let size = 32 - difference.unsigned_abs().leading_zeros();
    bits.code(&DC_SYMBOLS, size as u8);
    let coded = if difference < 0 { difference - 1 } else { difference };
    bits.put(coded as u32 & ((1 << size) - 1), size);
}

/// `number` gives numbers at random, or none for a flat block.
fn other_coefficients(bits: &mut BitWriter, mut number: impl FnMut() -> Option<u32>) {
    let mut next = 1;
    while next < 64 {
        let chosen = number().map(|n| (AC_SYMBOLS[n as usize % AC_SYMBOLS.len()], n >> 8));
        let (symbol, value) =
            chosen.filter(|(symbol, _)| next + usize::from(symbol >> 4) < 64).unwrap_or((0, 0));
        bits.code(&AC_SYMBOLS, symbol);
        let size = u32::from(symbol & 15);
        bits.put(value & ((1 << size) - 1), size);
        if symbol == 0 {
            return;
        }
        next += usize::from(symbol >> 4) + 1;
    }
}

fn segment(file: &mut Vec<u8>, marker: u8, contents: &[u8]) {
    file.extend([0xFF, marker]);
    file.extend((contents.len() as u16 + 2).to_be_bytes());
    file.extend(contents);
}

/// Both Huffman tables, each with a code of every length from the shortest.
fn tables() -> Vec<u8> {
    let mut contents = Vec::new();
    for (selector, symbols) in [(0x00, &DC_SYMBOLS[..]), (0x10, &AC_SYMBOLS[..])] {
        contents.push(selector);
        let lengths = SHORTEST..SHORTEST + symbols.len();
        contents.extend((1..=16).map(|length| u8::from(lengths.contains(&length))));
        contents.extend(symbols);
    }
    contents
}

#[derive(Default)]
struct BitWriter {
    bytes: Vec<u8>,
    byte: u8,
    filled: u32,
}

impl BitWriter {
    fn put(&mut self, value: u32, width: u32) {
        for place in (0..width).rev() {
            self.byte = self.byte << 1 | (value >> place & 1) as u8;
            self.filled += 1;
            if self.filled == 8 {
                self.bytes.push(self.byte);
                if self.byte == 0xFF {
                    self.bytes.push(0);
                }
                self.filled = 0;
            }
        }
    }

    /// Codes of 2, 3, 4 … bits in ascending order are 00, 010, 0110, …
    fn code(&mut self, symbols: &[u8], symbol: u8) {
        let place = symbols.iter().position(|other| *other == symbol).unwrap() as u32;
        self.put((1 << place) - 1, place + 1);
        self.put(0, SHORTEST as u32 - 1);
    }

    fn flush(&mut self) {
        while self.filled > 0 {
            self.put(1, 1);
        }
    }
}
