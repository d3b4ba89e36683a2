//! One strip or tile → its rows of samples.

use std::io::{ErrorKind, Read};

use flate2::read::ZlibDecoder;

use super::layout::{Compression, Layout};
use super::lossless::{self, Progress};
use crate::still::ReadErrorKind;

fn cut() -> ReadErrorKind {
    ReadErrorKind::Truncated { source: None }
}

/// Hands the first `rows` rows of a segment to `row`, one at a time.
pub(super) fn each_row(
    layout: &Layout,
    little_endian: bool,
    bytes: &[u8],
    rows: usize,
    mut row: impl FnMut(usize, &[u16]) -> Result<(), ReadErrorKind>,
) -> Result<(), ReadErrorKind> {
    let planes = if layout.sensor.planar { 1 } else { layout.sensor.planes };
    let [width, _] = layout.segment;
    let samples = width as usize * planes;
    let packing = Packing {
        bits: layout.bits,
        little_endian,
        low_bit_first: layout.low_bit_first,
        row_bytes: (samples * layout.bits as usize).div_ceil(8),
    };
    match layout.compression {
        Compression::None => {
            let mut out = vec![0; samples];
            for (n, packed) in
                bytes.chunks(packing.row_bytes).chain([&[][..]]).take(rows).enumerate()
            {
                if packed.len() < packing.row_bytes {
                    return Err(ReadErrorKind::DamagedRaw { what: "a strip or tile is too short" });
                }
                packing.unpack(packed, &mut out);
                row(n, &out)?;
            }
            Ok(())
        }
        Compression::Deflate => {
            let mut data = ZlibDecoder::new(bytes);
            let mut packed = vec![0; packing.row_bytes];
            let mut out = vec![0; samples];
            for n in 0..rows {
                data.read_exact(&mut packed).map_err(|error| match error.kind() {
                    ErrorKind::UnexpectedEof => cut(),
                    _ => ReadErrorKind::Damaged { source: Some(Box::new(error)) },
                })?;
                packing.unpack(&packed, &mut out);
                undo_differences(&mut out, layout.difference, layout.bits);
                row(n, &out)?;
            }
            Ok(())
        }
        Compression::LosslessJpeg => lossless_rows(bytes, samples, rows, row),
    }
}

/// The JPEG's own width and height need not be the segment's: two fields of a mosaic often lie side
/// by side as two components. Only the order of the samples counts.
fn lossless_rows(
    bytes: &[u8],
    samples: usize,
    rows: usize,
    mut row: impl FnMut(usize, &[u16]) -> Result<(), ReadErrorKind>,
) -> Result<(), ReadErrorKind> {
    let mut gathered: Vec<u16> = Vec::with_capacity(samples);
    let mut done = 0;
    lossless::each_line(bytes, |mut line| {
        while !line.is_empty() && done < rows {
            let (now, later) = line.split_at((samples - gathered.len()).min(line.len()));
            gathered.extend_from_slice(now);
            line = later;
            if gathered.len() == samples {
                row(done, &gathered)?;
                gathered.clear();
                done += 1;
            }
        }
        Ok(if done < rows { Progress::More } else { Progress::Enough })
    })?;
    if done < rows {
        return Err(ReadErrorKind::DamagedRaw { what: "a strip or tile is too short" });
    }
    Ok(())
}

/// How samples lie in the bytes of a row; a row starts on a whole byte.
struct Packing {
    bits: u32,
    little_endian: bool,
    low_bit_first: bool,
    row_bytes: usize,
}

impl Packing {
    fn unpack(&self, packed: &[u8], out: &mut [u16]) {
        match self.bits {
            8 => out.iter_mut().zip(packed).for_each(|(out, byte)| *out = u16::from(*byte)),
            16 => {
                let number =
                    if self.little_endian { u16::from_le_bytes } else { u16::from_be_bytes };
                let pairs = packed.as_chunks::<2>().0;
                out.iter_mut().zip(pairs).for_each(|(out, pair)| *out = number(*pair));
            }
            bits => {
                // From the highest bit down whatever the byte order (TIFF 6.0, FillOrder 1).
                let (mut held, mut count) = (0_u32, 0);
                let mut bytes = packed.iter();
                for out in out {
                    while count < bits {
                        let byte = bytes.next().copied().unwrap_or(0);
                        let byte = if self.low_bit_first { byte.reverse_bits() } else { byte };
                        held = held << 8 | u32::from(byte);
                        count += 8;
                    }
                    count -= bits;
                    *out = (held >> count) as u16 & (u16::MAX >> (16 - bits));
                }
            }
        }
    }
}

/// Each sample is stored as what it adds to the one `reach` before it.
fn undo_differences(row: &mut [u16], reach: usize, bits: u32) {
    if reach == 0 {
        return;
    }
    let mask = u16::MAX >> (16 - bits);
    for place in reach..row.len() {
        let before = row.get(place - reach).copied().unwrap_or(0);
        if let Some(sample) = row.get_mut(place) {
            *sample = sample.wrapping_add(before) & mask;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn packed_samples_come_from_the_highest_bit_down() {
        let unpacked = |bits: u32, low_bit_first, packed: &[u8]| {
            let packing =
                Packing { bits, little_endian: true, low_bit_first, row_bytes: packed.len() };
            let mut out = vec![0; packed.len() * 8 / bits as usize];
            packing.unpack(packed, &mut out);
            out
        };
        assert_eq!(unpacked(12, false, &[0xAB, 0xCD, 0xEF]), [0xABC, 0xDEF]);
        assert_eq!(unpacked(12, true, &[0xD5, 0xB3, 0xF7]), [0xABC, 0xDEF]);
        assert_eq!(unpacked(10, false, &[0xFF, 0xC0, 0x08, 0x02, 0x01]), [0x3FF, 0, 0x200, 0x201]);
        assert_eq!(unpacked(14, false, &[0xFF, 0xFC, 0, 0, 0, 0, 1]), [0x3FFF, 0, 0, 1]);
        assert_eq!(unpacked(16, false, &[0x34, 0x12]), [0x1234]);
    }

    #[test]
    fn differences_add_up_and_wrap() {
        let mut row = [10, 20, 1, 0xFFFF, 5, 0];
        undo_differences(&mut row, 2, 16);
        assert_eq!(row, [10, 20, 11, 19, 16, 19]);
        let mut row = [200, 100];
        undo_differences(&mut row, 1, 8);
        assert_eq!(row, [200, 44]);
    }
}
