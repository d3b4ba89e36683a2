//! By PNG chunks, their checksums made right again (PNG third edition, 5.3).

use std::io::{Read, Write};

use flate2::Compression;
use flate2::read::ZlibDecoder;
use flate2::write::ZlibEncoder;
use lab::Rng;

use super::{bend_bytes, bend_icc, bend_parts, bend_text, bend_tiff, put, shuffle};
use crate::dice::Dice;
use crate::mutate::Grammar;

#[derive(Clone)]
struct Chunk {
    name: [u8; 4],
    data: Vec<u8>,
}

/// A chunk's bytes, with length and checksum.
pub(crate) fn chunk(name: [u8; 4], data: &[u8]) -> Vec<u8> {
    let named = [&name[..], data].concat();
    let mut sum = flate2::Crc::new();
    sum.update(&named);
    [&(data.len() as u32).to_be_bytes()[..], &named, &sum.sum().to_be_bytes()].concat()
}

const SIGNATURE: &[u8; 8] = b"\x89PNG\r\n\x1A\n";

fn parse(bytes: &[u8]) -> Vec<Chunk> {
    let mut chunks = Vec::new();
    let mut rest = bytes.get(8..).unwrap_or_default();
    while let Some((length, after)) = rest.split_first_chunk::<4>() {
        let Some((name, after)) = after.split_first_chunk::<4>() else { break };
        let length = (u32::from_be_bytes(*length) as usize).min(after.len());
        let (data, after) = after.split_at(length);
        chunks.push(Chunk { name: *name, data: data.to_vec() });
        rest = after.get(4..).unwrap_or_default();
    }
    chunks
}

fn join(chunks: &[Chunk]) -> Vec<u8> {
    let mut bytes = SIGNATURE.to_vec();
    for Chunk { name, data } in chunks {
        bytes.extend(chunk(*name, data));
    }
    bytes
}

/// Puts a chunk right behind the header.
pub(crate) fn with_chunk(png: &[u8], name: [u8; 4], data: &[u8]) -> Vec<u8> {
    let mut chunks = parse(png);
    chunks.insert(1.min(chunks.len()), Chunk { name, data: data.to_vec() });
    join(&chunks)
}

/// Changes a few chunks.
pub(crate) fn bend(rng: &mut Rng, bytes: &mut Vec<u8>) {
    let chunks = parse(bytes);
    if bend_parts(rng, bytes, chunks, once, join) && rng.once_in(8) {
        // A checksum that is wrong, a length that is wrong.
        bend_bytes(rng, bytes);
    }
}

fn once(rng: &mut Rng, chunks: &mut Vec<Chunk>) {
    if rng.once_in(4) {
        return shuffle(rng, chunks);
    }
    if rng.once_in(5) {
        let at = 1 + rng.below(chunks.len());
        let new = strange(rng);
        chunks.insert(at.min(chunks.len()), new);
        return;
    }
    let at = rng.below(chunks.len());
    let Some(Chunk { name, data }) = chunks.get_mut(at) else { return };
    match &*name {
        b"IHDR" => header(rng, data),
        b"IDAT" if rng.once_in(2) => {
            if let Some(mut pixels) = inflate(data) {
                bend_bytes(rng, &mut pixels);
                *data = deflate(&pixels);
            }
        }
        b"iCCP" => {
            let start = data.iter().position(|byte| *byte == 0).map_or(0, |zero| zero + 2);
            if let Some(mut icc) = data.get(start..).and_then(inflate) {
                bend_icc(rng, &mut icc);
                data.truncate(start);
                data.extend(deflate(&icc));
            }
        }
        b"eXIf" => bend_tiff(rng, data),
        b"iTXt" | b"tEXt" if rng.once_in(2) => bend_text(rng, data, Grammar::Xml),
        _ if rng.once_in(8) => {
            let names: [&[u8; 4]; 8] =
                [b"IDAT", b"PLTE", b"tRNS", b"IEND", b"fdAT", b"fcTL", b"acTL", b"ABCD"];
            *name = *names[rng.below(8)];
        }
        _ => bend_bytes(rng, data),
    }
}

fn header(rng: &mut Rng, data: &mut [u8]) {
    match rng.below(5) {
        0 | 1 => {
            let side = match rng.below(3) {
                0 => rng.odd_number(),
                _ => 1 + rng.below(200) as u64,
            };
            put(data, 4 * rng.below(2), 4, side, false);
        }
        2 => put(data, 8, 1, [1, 2, 4, 8, 16, 0, 3, 32][rng.below(8)], false),
        3 => put(data, 9, 1, rng.below(8) as u64, false),
        _ => put(data, 10 + rng.below(3), 1, rng.below(3) as u64, false),
    }
}

/// Chunks that pictures of cameras do not have.
fn strange(rng: &mut Rng) -> Chunk {
    let numbers = |rng: &mut Rng, count: usize| -> Vec<u8> {
        (0..count).flat_map(|_| (rng.odd_number() as u32).to_be_bytes()).collect()
    };
    let bomb = |rng: &mut Rng, head: &[u8]| {
        let inflated = vec![0; [1_000, 1 << 20, 24 << 20][rng.below(3)]];
        [head, &deflate(&inflated)].concat()
    };
    let (name, data) = match rng.below(14) {
        0 => (b"gAMA", numbers(rng, 1)),
        1 => (b"cHRM", numbers(rng, 8)),
        2 => (b"sRGB", vec![rng.below(9) as u8]),
        3 => (b"acTL", numbers(rng, 2)),
        4 => (b"fcTL", numbers(rng, 6).into_iter().chain([0, 0]).collect()),
        5 => (b"fdAT", numbers(rng, 3)),
        6 => {
            let count = 3 * rng.below(70);
            (b"PLTE", numbers(rng, count))
        }
        7 => {
            let count = rng.below(70);
            (b"tRNS", numbers(rng, count))
        }
        8 => (b"iCCP", bomb(rng, b"p\0\0")),
        9 => (b"zTXt", bomb(rng, b"XML:com.adobe.xmp\0\0")),
        10 => (b"iTXt", bomb(rng, b"XML:com.adobe.xmp\0\x01\0\0\0")),
        11 => (b"eXIf", numbers(rng, 10)),
        12 => (b"cICP", numbers(rng, 1)),
        _ => (b"sBIT", numbers(rng, 1)),
    };
    Chunk { name: *name, data }
}

fn inflate(data: &[u8]) -> Option<Vec<u8>> {
    let mut inflated = Vec::new();
    let read = ZlibDecoder::new(data).take(1 << 22).read_to_end(&mut inflated);
    (read.is_ok() || !inflated.is_empty()).then_some(inflated)
}

/// Deflated, with the header that PNG wants.
pub(crate) fn deflate(data: &[u8]) -> Vec<u8> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    // Writing to memory does not fail.
    encoder.write_all(data).and_then(|()| encoder.finish()).unwrap_or_default()
}
