//! By JPEG marker segments (ITU-T T.81, annex B).

use lab::Rng;

use super::{bend_bytes, bend_icc, bend_parts, bend_text, bend_tiff, put, shuffle};
use crate::dice::Dice;
use crate::mutate::Grammar;

/// One marker, its segment, and the data behind it.
#[derive(Clone)]
struct Part {
    marker: u8,
    /// Without the length; `None` of a marker that stands alone.
    body: Option<Vec<u8>>,
    /// Entropy-coded data up to the next part.
    data: Vec<u8>,
    /// What the segment says its length is, where that is a lie.
    length: Option<u16>,
}

fn parse(bytes: &[u8]) -> Vec<Part> {
    let mut parts = Vec::new();
    let mut at = 0;
    while let [0xFF, marker, after @ ..] = bytes.get(at..).unwrap_or_default() {
        let alone = matches!(marker, 0x01 | 0xD0..=0xD9);
        let length = match after {
            _ if alone => 0,
            [high, low, ..] => usize::from(u16::from_be_bytes([*high, *low])).max(2),
            _ => break,
        };
        let body =
            (!alone).then(|| after.get(2..length.min(after.len())).unwrap_or_default().to_vec());
        let start = (at + 2 + length).min(bytes.len());
        let rest = &bytes[start..];
        let is_part = |pair: &[u8]| matches!(pair, [0xFF, m] if !matches!(m, 0 | 0xD0..=0xD7));
        let end = rest.windows(2).position(is_part).unwrap_or(rest.len());
        parts.push(Part { marker: *marker, body, data: rest[..end].to_vec(), length: None });
        at = start + end;
    }
    parts
}

fn join(parts: &[Part]) -> Vec<u8> {
    let mut bytes = Vec::new();
    for part in parts {
        bytes.extend([0xFF, part.marker]);
        if let Some(body) = &part.body {
            let length = part.length.unwrap_or((body.len() + 2).min(0xFFFF) as u16);
            bytes.extend(length.to_be_bytes());
            bytes.extend(body);
        }
        bytes.extend(&part.data);
    }
    bytes
}

/// Puts a segment right behind the start marker.
pub(crate) fn with_segment(jpeg: &[u8], marker: u8, body: &[u8]) -> Vec<u8> {
    let mut parts = parse(jpeg);
    let body = Some(body.get(..0xFFFD).unwrap_or(body).to_vec());
    let part = Part { marker, body, data: Vec::new(), length: None };
    parts.insert(1.min(parts.len()), part);
    join(&parts)
}

/// Changes a few segments.
pub(crate) fn bend(rng: &mut Rng, bytes: &mut Vec<u8>) {
    let parts = parse(bytes);
    bend_parts(rng, bytes, parts, once, join);
}

fn once(rng: &mut Rng, parts: &mut Vec<Part>) {
    if rng.once_in(5) {
        return shuffle(rng, parts);
    }
    let frame = parts.iter().position(|part| matches!(part.marker, 0xC0..=0xC2));
    let at = match rng.below(3) {
        0 => frame.unwrap_or(0),
        _ => rng.below(parts.len()),
    };
    let Some(part) = parts.get_mut(at) else { return };
    match (part.marker, &mut part.body) {
        (_, Some(_)) if rng.once_in(12) => part.length = Some(rng.odd_number() as u16),
        (_, Some(_)) if rng.once_in(16) => part.marker = 0xC0 + rng.below(64) as u8,
        (0xC0..=0xC2, Some(body)) => frame_header(rng, body, &mut part.marker),
        (0xDA, Some(body)) if rng.once_in(2) => scan_header(rng, body),
        (0xDA, _) => scan_data(rng, &mut part.data),
        (0xDD, Some(body)) => put(body, 0, 2, rng.odd_number(), false),
        (0xC4, Some(body)) => huffman(rng, body),
        (0xE1, Some(body)) if body.starts_with(b"Exif\0\0") => {
            let mut exif = body.split_off(6);
            bend_tiff(rng, &mut exif);
            body.extend(exif);
        }
        (0xE1, Some(body)) => bend_text(rng, body, Grammar::Xml),
        (0xE2, Some(body)) if body.len() > 14 && !rng.once_in(4) => {
            let mut icc = body.split_off(14);
            bend_icc(rng, &mut icc);
            body.extend(icc);
        }
        (_, Some(body)) => bend_bytes(rng, body),
        _ => shuffle(rng, parts),
    }
}

fn frame_header(rng: &mut Rng, body: &mut [u8], marker: &mut u8) {
    let side = |rng: &mut Rng| match rng.below(4) {
        0 => rng.odd_number(),
        1 => [0, 1, 7, 8, 9, 15, 16, 17, 65_500, 65_535][rng.below(10)],
        _ => 1 + rng.below(300) as u64,
    };
    match rng.below(7) {
        0 => put(body, 0, 1, [8, 12, 16, 2, 0, 1, 32][rng.below(7)], false),
        1 => put(body, 1, 2, side(rng), false),
        2 => put(body, 3, 2, side(rng), false),
        3 => put(body, 5, 1, [0, 1, 2, 3, 4, 5, 255][rng.below(7)], false),
        // Sampling factors, identifiers, tables.
        4 => {
            let factors = (rng.below(5) << 4 | rng.below(5)) as u64;
            put(body, 7 + 3 * rng.below(4), 1, factors, false);
        }
        5 => put(body, 6 + rng.below(12), 1, rng.odd_number(), false),
        _ => *marker = [0xC0, 0xC1, 0xC2, 0xC3, 0xC9, 0xCA, 0xC5, 0xCF][rng.below(8)],
    }
}

fn scan_header(rng: &mut Rng, body: &mut Vec<u8>) {
    match rng.below(4) {
        0 => put(body, 0, 1, rng.below(6) as u64, false),
        1 => {
            // Selection and approximation of a progressive scan.
            let at = body.len().saturating_sub(3) + rng.below(3);
            put(body, at, 1, [0, 1, 2, 5, 13, 63, 64, 0x10, 0x21, 255][rng.below(10)], false);
        }
        2 => put(body, 1 + rng.below(8), 1, rng.below(8) as u64, false),
        _ => bend_bytes(rng, body),
    }
}

fn scan_data(rng: &mut Rng, data: &mut Vec<u8>) {
    let at = rng.below(data.len() + 1);
    match rng.below(6) {
        0 => data.truncate(at),
        1 => {
            let marker = [0xD0 + rng.below(8) as u8, 0xD9, 0xFE, 0xDC, 0xDA, 0xC4, 0][rng.below(7)];
            data.splice(at..at, [0xFF, marker]);
        }
        2 => {
            let fill = [0, 0xFF][rng.below(2)];
            data[at..].fill(fill);
        }
        3 => data.clear(),
        _ => bend_bytes(rng, data),
    }
}

fn huffman(rng: &mut Rng, body: &mut Vec<u8>) {
    match rng.below(4) {
        0 => put(body, 0, 1, [0, 1, 2, 3, 0x10, 0x11, 0x13, 0x20, 0xFF][rng.below(9)], false),
        1 => put(body, 1 + rng.below(16), 1, rng.odd_number(), false),
        2 => {
            let at = 17 + rng.below(body.len().saturating_sub(17).max(1));
            put(body, at, 1, rng.odd_number(), false);
        }
        _ => bend_bytes(rng, body),
    }
}
