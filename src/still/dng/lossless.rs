//! Lossless JPEG (ITU-T T.81, process 14: Huffman coding with sequential prediction), as DNG uses
//! it. Samples come out line by line, so that a picture in one piece needs no memory of its size.

use super::bits::{HuffmanTable, ScanBits};
use crate::still::ReadErrorKind;

/// What a frame and scan header say.
#[derive(Debug, Clone, Default)]
struct Header {
    precision: u32,
    width: usize,
    height: usize,
    /// The identifier of each component, in the frame's order.
    components: Vec<u8>,
    restart_interval: usize,
    predictor: u8,
    point_transform: u32,
    /// Which Huffman table each component uses.
    tables: Vec<usize>,
}

fn damaged() -> ReadErrorKind {
    ReadErrorKind::DamagedRaw { what: "its compressed samples make no sense" }
}

/// Decodes a picture and hands its lines (all components of each pixel together) to `line` until
/// that says that it has enough.
pub(super) fn each_line(
    bytes: &[u8],
    mut line: impl FnMut(&[u16]) -> Result<Progress, ReadErrorKind>,
) -> Result<(), ReadErrorKind> {
    let (header, tables, scan) = headers(bytes)?;
    let count = header.components.len();
    let samples = header.width * count;
    let mut bits = ScanBits::new(scan);
    let chosen: Vec<&HuffmanTable> =
        header.tables.iter().filter_map(|&id| tables.get(id)?.as_ref()).collect();
    if chosen.len() != count || samples == 0 {
        return Err(damaged());
    }
    let start = 1_i32 << (header.precision - header.point_transform - 1);
    let lines_apart = header.restart_interval / header.width;
    let mut above = vec![0_i32; samples];
    let mut here = vec![0_i32; samples];
    let mut out = vec![0_u16; samples];
    for row in 0..header.height {
        let restarts = lines_apart > 0 && row % lines_apart == 0;
        if restarts && row > 0 {
            bits.restart()?;
        }
        let first_line = row == 0 || restarts;
        for place in 0..samples {
            let table = chosen.get(place % count).ok_or_else(damaged)?;
            let left = place.checked_sub(count);
            let at = |line: &[i32], place: Option<usize>| {
                place.and_then(|place| line.get(place)).copied().unwrap_or(0)
            };
            let prediction = match (first_line, left) {
                (true, None) => start,
                (true, left) => at(&here, left),
                (false, None) => at(&above, Some(place)),
                (false, left) => {
                    let (a, b, c) = (at(&here, left), at(&above, Some(place)), at(&above, left));
                    predicted(header.predictor, a, b, c)
                }
            };
            let value = (prediction + bits.difference(table)?) & 0xFFFF;
            if let (Some(kept), Some(out)) = (here.get_mut(place), out.get_mut(place)) {
                *kept = value;
                *out = (value << header.point_transform) as u16;
            }
        }
        if line(&out)? == Progress::Enough {
            return Ok(());
        }
        std::mem::swap(&mut above, &mut here);
    }
    Ok(())
}

/// Whether more lines are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Progress {
    More,
    Enough,
}

/// ITU-T T.81, table H.1: from the samples to the left, above, and above left.
fn predicted(predictor: u8, left: i32, above: i32, corner: i32) -> i32 {
    match predictor {
        1 => left,
        2 => above,
        3 => corner,
        4 => left + above - corner,
        5 => left + ((above - corner) >> 1),
        6 => above + ((left - corner) >> 1),
        _ => (left + above) >> 1,
    }
}

type Tables = [Option<HuffmanTable>; 4];

/// Reads the segments up to the scan; gives the scan's data too.
fn headers(bytes: &[u8]) -> Result<(Header, Tables, &[u8]), ReadErrorKind> {
    let mut header = Header::default();
    let mut tables = Tables::default();
    let mut rest = bytes.strip_prefix(b"\xFF\xD8").ok_or_else(damaged)?;
    loop {
        let [0xFF, marker, after @ ..] = rest else { return Err(damaged()) };
        if *marker == 0xFF {
            // Fill bytes may come before a marker.
            rest = rest.get(1..).unwrap_or_default();
            continue;
        }
        let (length, _) = after.split_first_chunk::<2>().ok_or_else(damaged)?;
        let length = usize::from(u16::from_be_bytes(*length));
        let body = after.get(2..length).ok_or_else(damaged)?;
        rest = after.get(length..).ok_or_else(damaged)?;
        match marker {
            0xC3 => frame(body, &mut header)?,
            0xC4 => huffman(body, &mut tables)?,
            0xDD => {
                let interval = body.first_chunk().ok_or_else(damaged)?;
                header.restart_interval = usize::from(u16::from_be_bytes(*interval));
            }
            0xDA => {
                scan(body, &mut header)?;
                return Ok((header, tables, rest));
            }
            0xC0..=0xCF => {
                return Err(ReadErrorKind::UnsupportedRaw {
                    found: "samples in lossy compression",
                });
            }
            _ => {}
        }
    }
}

fn frame(body: &[u8], header: &mut Header) -> Result<(), ReadErrorKind> {
    let [precision, h1, h0, w1, w0, count, components @ ..] = body else { return Err(damaged()) };
    header.precision = u32::from(*precision);
    header.height = usize::from(u16::from_be_bytes([*h1, *h0]));
    header.width = usize::from(u16::from_be_bytes([*w1, *w0]));
    let (specifications, odd) = components.as_chunks::<3>();
    let sound = (2..=16).contains(&header.precision)
        && header.width > 0
        && (1..=4).contains(&specifications.len())
        && specifications.len() == usize::from(*count)
        && odd.is_empty()
        // No component is subsampled.
        && specifications.iter().all(|[_, sampling, _]| *sampling == 0x11);
    header.components = specifications.iter().map(|[id, ..]| *id).collect();
    sound.then_some(()).ok_or_else(damaged)
}

fn huffman(mut body: &[u8], tables: &mut Tables) -> Result<(), ReadErrorKind> {
    while let Some((place, after)) = body.split_first() {
        let (counts, after) = after.split_first_chunk::<16>().ok_or_else(damaged)?;
        let total = counts.iter().map(|count| usize::from(*count)).sum();
        let (values, after) = after.split_at_checked(total).ok_or_else(damaged)?;
        // The upper half is the class: 0 for what lossless coding uses.
        let table = tables.get_mut(usize::from(*place)).ok_or_else(damaged)?;
        *table = Some(HuffmanTable::new(counts, values).ok_or_else(damaged)?);
        body = after;
    }
    Ok(())
}

fn scan(body: &[u8], header: &mut Header) -> Result<(), ReadErrorKind> {
    let (count, after) = body.split_first().ok_or_else(damaged)?;
    let (chosen, after) = after.split_at_checked(2 * usize::from(*count)).ok_or_else(damaged)?;
    let [predictor, _, low] = after else { return Err(damaged()) };
    let chosen = chosen.as_chunks::<2>().0;
    let in_order = chosen.iter().map(|[id, _]| id).eq(&header.components);
    header.tables = chosen.iter().map(|[_, tables]| usize::from(tables >> 4)).collect();
    header.predictor = *predictor;
    header.point_transform = u32::from(low & 15);
    let sound = in_order
        && (1..=7).contains(predictor)
        && header.point_transform < header.precision
        // Restarts fall between lines (T.81, H.1.1).
        && header.restart_interval.is_multiple_of(header.width.max(1));
    sound.then_some(()).ok_or_else(damaged)
}
