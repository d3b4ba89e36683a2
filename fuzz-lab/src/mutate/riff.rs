//! By RIFF chunks: WebP (RFC 9649).

use lab::Rng;

use super::{bend_bytes, bend_icc, bend_parts, bend_text, bend_tiff, put, shuffle};
use crate::dice::Dice;
use crate::mutate::Grammar;

#[derive(Clone)]
struct Chunk {
    name: [u8; 4],
    data: Vec<u8>,
    /// What it says its length is, where that is a lie.
    length: Option<u32>,
}

fn parse(bytes: &[u8]) -> Vec<Chunk> {
    let mut chunks = Vec::new();
    let mut rest = bytes.get(12..).unwrap_or_default();
    while let Some((name, after)) = rest.split_first_chunk::<4>() {
        let Some((length, after)) = after.split_first_chunk::<4>() else { break };
        let length = (u32::from_le_bytes(*length) as usize).min(after.len());
        let (data, after) = after.split_at(length);
        chunks.push(Chunk { name: *name, data: data.to_vec(), length: None });
        rest = after.get(length % 2..).unwrap_or_default();
    }
    chunks
}

fn join(chunks: &[Chunk]) -> Vec<u8> {
    let mut body = b"WEBP".to_vec();
    for Chunk { name, data, length } in chunks {
        body.extend(name);
        body.extend(length.unwrap_or(data.len() as u32).to_le_bytes());
        body.extend(data);
        body.resize(body.len().next_multiple_of(2), 0);
    }
    [&b"RIFF"[..], &(body.len() as u32).to_le_bytes(), &body].concat()
}

/// Adds a chunk behind all others.
pub(crate) fn with_riff_chunk(webp: &[u8], name: [u8; 4], data: &[u8]) -> Vec<u8> {
    let mut chunks = parse(webp);
    chunks.push(Chunk { name, data: data.to_vec(), length: None });
    join(&chunks)
}

/// Changes a few chunks.
pub(crate) fn bend(rng: &mut Rng, bytes: &mut Vec<u8>) {
    let chunks = parse(bytes);
    if bend_parts(rng, bytes, chunks, once, join) && rng.once_in(10) {
        put(bytes, 4, 4, rng.odd_number(), true);
    }
}

fn once(rng: &mut Rng, chunks: &mut Vec<Chunk>) {
    if rng.once_in(5) {
        return shuffle(rng, chunks);
    }
    let at = rng.below(chunks.len());
    let Some(chunk) = chunks.get_mut(at) else { return };
    let data = &mut chunk.data;
    match &chunk.name {
        _ if rng.once_in(12) => chunk.length = Some(rng.odd_number() as u32),
        _ if rng.once_in(16) => {
            let names: [&[u8; 4]; 8] =
                [b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ANIM", b"ANMF", b"ICCP", b"EXIF"];
            chunk.name = *names[rng.below(8)];
        }
        b"VP8X" => match rng.below(2) {
            0 => put(data, 0, 1, rng.next_u64(), true),
            _ => put(data, 4 + 3 * rng.below(2), 3, rng.odd_number(), true),
        },
        // Sizes and places of an animation's frame; what is in it is chunks again.
        b"ANMF" if rng.once_in(2) => put(data, 3 * rng.below(5), 3, rng.odd_number(), true),
        // Width and height; the version and the use of alpha.
        b"VP8L" if rng.once_in(4) => put(data, 1, 4, rng.odd_number(), true),
        b"VP8 " if rng.once_in(4) => put(data, rng.below(10), 2, rng.odd_number(), true),
        b"EXIF" => bend_tiff(rng, data),
        b"ICCP" => bend_icc(rng, data),
        b"XMP " => bend_text(rng, data, Grammar::Xml),
        _ => bend_bytes(rng, data),
    }
}
