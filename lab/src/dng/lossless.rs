//! Writes lossless JPEG (ITU-T T.81, process 14), as raw files use it.

/// How a picture is coded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LosslessJpeg {
    /// Prediction from the neighbours, 1–7 (T.81, table H.1).
    pub predictor: u8,
    /// Samples that lie side by side and are coded as one pixel's components, 1–4.
    pub components: usize,
    /// Lines between restart markers, 0 for none.
    pub restart_lines: usize,
    /// Low bits left out.
    pub point_transform: u32,
}

impl Default for LosslessJpeg {
    fn default() -> Self {
        Self { predictor: 1, components: 2, restart_lines: 0, point_transform: 0 }
    }
}

/// The number of codes of each length from 1 to 16, for differences of 0 to 16 bits: short codes for what noise makes.
const CODE_LENGTHS: [u8; 16] = [0, 0, 6, 2, 2, 2, 2, 1, 1, 1, 0, 0, 0, 0, 0, 0];
/// Numbers of bits in order of their codes.
const CODE_VALUES: [u8; 17] = [4, 5, 6, 3, 7, 2, 8, 1, 0, 9, 10, 11, 12, 13, 14, 15, 16];

impl LosslessJpeg {
    /// Codes rows of `width` samples of `bits` bits each. The width must hold whole pixels.
    #[must_use]
    pub fn encode(&self, samples: &[u16], width: usize, bits: u32) -> Vec<u8> {
        let lines: Vec<&[u16]> = samples.chunks(width).collect();
        let pixels = width / self.components;
        let mut out = self.headers(pixels, lines.len(), bits);
        let codes = codes();
        let mut scan = Scan::default();
        for (row, line) in lines.iter().enumerate() {
            let restarts = self.restart_lines > 0 && row % self.restart_lines == 0;
            if restarts && row > 0 {
                scan.flush();
                scan.bytes.extend([0xFF, 0xD0 + ((row / self.restart_lines - 1) % 8) as u8]);
            }
            for place in 0..line.len() {
                let above = (row > 0 && !restarts).then(|| lines[row - 1]);
                let prediction = self.prediction(line, above, place, bits);
                let value = i32::from(line[place] >> self.point_transform);
                scan.put_difference((value - prediction) as i16, &codes);
            }
        }
        scan.flush();
        out.extend(scan.bytes);
        out.extend([0xFF, 0xD9]);
        out
    }

    fn prediction(&self, line: &[u16], above: Option<&[u16]>, place: usize, bits: u32) -> i32 {
        let at = |line: &[u16], place: usize| i32::from(line[place] >> self.point_transform);
        match (above, place.checked_sub(self.components)) {
            (None, None) => 1 << (bits - self.point_transform - 1),
            (None, Some(left)) => at(line, left),
            (Some(above), None) => at(above, place),
            (Some(above), Some(left)) => {
                let (a, b, c) = (at(line, left), at(above, place), at(above, left));
                match self.predictor {
                    1 => a,
                    2 => b,
                    3 => c,
                    4 => a + b - c,
                    5 => a + ((b - c) >> 1),
                    6 => b + ((a - c) >> 1),
                    _ => (a + b) >> 1,
                }
            }
        }
    }

    fn headers(&self, width: usize, height: usize, bits: u32) -> Vec<u8> {
        let segment = |marker: u8, body: &[u8]| {
            let length = (body.len() as u16 + 2).to_be_bytes();
            [&[0xFF, marker][..], &length, body].concat()
        };
        let count = self.components as u8;
        let mut frame = vec![bits as u8];
        frame.extend((height as u16).to_be_bytes());
        frame.extend((width as u16).to_be_bytes());
        frame.push(count);
        frame.extend((0..count).flat_map(|id| [id, 0x11, 0]));
        let mut scan = vec![count];
        scan.extend((0..count).flat_map(|id| [id, 0]));
        scan.extend([self.predictor, 0, self.point_transform as u8]);
        let table = [&[0][..], &CODE_LENGTHS, &CODE_VALUES].concat();

        let mut out = vec![0xFF, 0xD8];
        out.extend(segment(0xC4, &table));
        out.extend(segment(0xC3, &frame));
        if self.restart_lines > 0 {
            out.extend(segment(0xDD, &((self.restart_lines * width) as u16).to_be_bytes()));
        }
        out.extend(segment(0xDA, &scan));
        out
    }
}

/// Code and its length for each number of bits.
fn codes() -> [(u32, u32); 17] {
    let mut codes = [(0, 0); 17];
    let (mut code, mut values) = (0, CODE_VALUES.iter());
    for (length, count) in (1..).zip(CODE_LENGTHS) {
        for value in values.by_ref().take(usize::from(count)) {
            codes[usize::from(*value)] = (code, length);
            code += 1;
        }
        code <<= 1;
    }
    codes
}

#[derive(Default)]
struct Scan {
    bytes: Vec<u8>,
    held: u64,
    count: u32,
}

impl Scan {
    fn put_difference(&mut self, difference: i16, codes: &[(u32, u32); 17]) {
        // −32 768 and 32 768 are the same modulo 65 536 and have a code without further bits.
        let size = if difference == i16::MIN {
            16
        } else {
            16 - difference.unsigned_abs().leading_zeros()
        };
        let (code, length) = codes[size as usize];
        self.put(code, length);
        if size > 0 && size < 16 {
            let low =
                if difference < 0 { i32::from(difference) - 1 } else { i32::from(difference) };
            self.put(low as u32 & ((1 << size) - 1), size);
        }
    }

    fn put(&mut self, bits: u32, length: u32) {
        self.held = self.held << length | u64::from(bits);
        self.count += length;
        while self.count >= 8 {
            self.count -= 8;
            let byte = (self.held >> self.count) as u8;
            self.bytes.push(byte);
            if byte == 0xFF {
                self.bytes.push(0);
            }
        }
    }

    /// Fills the last byte with ones.
    fn flush(&mut self) {
        if self.count > 0 {
            let spare = 8 - self.count;
            self.put((1 << spare) - 1, spare);
        }
    }
}
