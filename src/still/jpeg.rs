//! JPEG marker segments (ITU-T T.81, annex B): what the decoder does not tell.
//!
//! The decoder fills whatever is missing with mid-grey and says nothing, which for a program that measures
//! grey would be a wrong answer rather than a spoilt picture.

use image::DynamicImage;

use super::jpeg_blocks::{find_ff, next_marker};

/// What the markers say.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Markers {
    /// Number of colour components in the frame; 0 if no frame header was found.
    pub(super) components: u8,
    /// The picture comes in several passes over all of it.
    pub(super) progressive: bool,
    /// The end-of-image marker is there.
    pub(super) complete: bool,
    /// The longest scan's entropy-coded data, as offsets into the file.
    scan: (usize, usize),
}

/// Walks the segments from the first byte to the end of the picture.
pub(super) fn markers(bytes: &[u8]) -> Markers {
    walk(bytes, 2) // past the start-of-image marker
}

fn walk(bytes: &[u8], start: usize) -> Markers {
    let mut found = Markers::default();
    let mut at = start;
    while let Some((marker, after)) = next_marker(bytes, at) {
        at = after;
        match marker {
            0xD9 => {
                found.complete = true;
                break;
            }
            0x01 | 0xD0..=0xD8 => continue, // without a length
            _ => {}
        }
        let Some(&[high, low]) = bytes.get(at..at.saturating_add(2)).and_then(|b| b.first_chunk())
        else {
            break;
        };
        let body = at + 2;
        at += usize::from(u16::from_be_bytes([high, low])).max(2);
        match marker {
            // Frame headers: every SOF but DHT (C4), JPG (C8) and DAC (CC).
            0xC0..=0xC3 | 0xC5..=0xC7 | 0xC9..=0xCB | 0xCD..=0xCF => {
                found.components = bytes.get(body + 5).copied().unwrap_or(0);
                found.progressive = matches!(marker, 0xC2 | 0xC6 | 0xCA | 0xCE);
            }
            0xDA => {
                let end = scan_end(bytes, at);
                if end - at.min(end) > found.scan.1 - found.scan.0 {
                    found.scan = (at, end);
                }
                at = end;
            }
            _ => {}
        }
    }
    found
}

/// The offset of the first scan's data, behind all that describes the picture.
pub(super) fn first_scan(bytes: &[u8]) -> Option<usize> {
    let mut at = 2;
    loop {
        let (marker, after) = next_marker(bytes, at)?;
        if matches!(marker, 0x01 | 0xD0..=0xD9) {
            return None;
        }
        let length = bytes.get(after..)?.first_chunk()?;
        at = after + usize::from(u16::from_be_bytes(*length));
        if marker == 0xDA {
            return Some(at);
        }
    }
}

/// Whether the end marker comes at or after `at`, an offset behind a scan.
pub(super) fn ends_after(bytes: &[u8], at: usize) -> bool {
    walk(bytes, at).complete
}

/// The offset of the first marker that ends a scan, or the end of the file.
fn scan_end(bytes: &[u8], start: usize) -> usize {
    let mut at = start.min(bytes.len());
    while let Some(offset) = bytes.get(at..).and_then(find_ff) {
        at += offset;
        match bytes.get(at + 1) {
            Some(0x00 | 0xD0..=0xD7) => at += 2,
            Some(0xFF) => at += 1,
            Some(_) => return at,
            None => break,
        }
    }
    bytes.len()
}

/// How much of a decoded JPEG can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Soundness {
    /// Nothing amiss.
    Sound,
    /// The end marker is missing, but hardly anything of the picture.
    MissingEnd,
    /// A considerable part is missing from the end.
    Truncated,
    /// The data stops making sense part of the way down.
    Damaged,
}

/// What undecoded rows hold: the decoder fills them with mid-grey, or leaves them as they were given to it.
const FILLS: [u8; 2] = [128, 0];
/// The share of the rows that may be missing at the end of a file before it is refused.
const TOLERATED_LOSS: f64 = 0.02;
/// Rows of the largest usual coding unit: where the data ends, that many rows are partly made up.
const UNIT_ROWS: usize = 16;

/// Judges the decoded picture by the markers and by the rows the decoder has filled.
pub(super) fn soundness(bytes: &[u8], markers: &Markers, pixels: &DynamicImage) -> Soundness {
    let samples = pixels.as_bytes();
    let row = samples.len() / (pixels.height() as usize).max(1);
    let rows = || samples.rchunks(row.max(1));
    let filled = FILLS
        .iter()
        .map(|fill| rows().take_while(|row| row.iter().all(|value| value == fill)).count())
        .max()
        .unwrap_or(0);
    let share = |rows: usize| rows as f64 / f64::from(pixels.height().max(1));
    if markers.complete {
        let pixels = filled.saturating_mul(pixels.width() as usize);
        // A progressive scan may skip any number of flat blocks in a few bytes, so it shows nothing.
        let undecoded = !markers.progressive
            && share(filled) > TOLERATED_LOSS
            && scan_tail_is_busy(bytes, markers, pixels);
        return if undecoded { Soundness::Damaged } else { Soundness::Sound };
    }
    // A progressive picture that is cut short is complete but coarse, which no row shows. A tail of zeros
    // is a copy that was given its space and never its content; the decoder takes it for picture.
    let zero_tail = bytes.len() > 64 && bytes.iter().rev().take(64).all(|byte| *byte == 0);
    if markers.progressive || zero_tail || share(filled + UNIT_ROWS) > TOLERATED_LOSS {
        Soundness::Truncated
    } else {
        Soundness::MissingEnd
    }
}

/// Whether the end of the scan, where the last `flat_pixels` pixels are, holds varied data. Pixels that are
/// truly flat code to a short pattern repeated; where the decoder gave up, the data is still in the file.
fn scan_tail_is_busy(bytes: &[u8], markers: &Markers, flat_pixels: usize) -> bool {
    // A block of 8 × 8 takes at least one bit for its mean and one for its end.
    const MOST_PIXELS_PER_BYTE: usize = 256;
    // Enough for varied data to show some hundred different bytes; more tells nothing new.
    const LEAST: usize = 128;
    const MOST: usize = 512;
    // The pattern of flat blocks repeats within some 30 bytes.
    const FLAT_MOST: usize = 48;
    let (start, end) = markers.scan;
    let stretch = (flat_pixels / MOST_PIXELS_PER_BYTE).min(MOST);
    let Some(stretch) = bytes.get(end.saturating_sub(stretch).max(start)..end) else {
        return false;
    };
    if stretch.len() < LEAST {
        return false;
    }
    let mut seen = [false; 256];
    for byte in stretch {
        seen[usize::from(*byte)] = true;
    }
    seen.iter().filter(|seen| **seen).count() > FLAT_MOST
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn walks_segments_and_ignores_what_is_inside_them() {
        let mut bytes = vec![0xFF, 0xD8];
        // A segment with a complete little JPEG in it, as a thumbnail would be.
        bytes.extend([0xFF, 0xE1, 0, 6, 0xFF, 0xD8, 0xFF, 0xD9]);
        bytes.extend([0xFF, 0xC2, 0, 8, 8, 0, 1, 0, 1, 4]);
        bytes.extend([0xFF, 0xDA, 0, 2, 1, 2, 0xFF, 0x00, 3, 0xFF, 0xD0, 4]);
        let cut = markers(&bytes);
        assert!(!cut.complete);
        bytes.extend([0xFF, 0xD9]);
        let whole = markers(&bytes);
        assert!(whole.complete && whole.progressive);
        assert_eq!(whole.components, 4);
        assert_eq!(whole.scan.1 - whole.scan.0, 8);
    }

    #[test]
    fn hostile_lengths_end_the_walk() {
        for bytes in [
            &[0xFF, 0xD8][..],
            &[0xFF, 0xD8, 0xFF],
            &[0xFF, 0xD8, 0xFF, 0xE0],
            &[0xFF, 0xD8, 0xFF, 0xE0, 0xFF, 0xFF],
            &[0xFF, 0xD8, 0xFF, 0xDA, 0x00, 0x00],
            &[0xFF, 0xD8, 0xFF, 0xDA, 0xFF, 0xFF],
        ] {
            assert!(!markers(bytes).complete);
        }
        let stuffing = [0xFF, 0x00].repeat(1 << 16);
        assert_eq!(markers(&stuffing), Markers::default());
    }
}
