//! By boxes (ISO/IEC 14496-12, section 4): JPEG XL in its container (ISO/IEC 18181-2).

use lab::Rng;

use super::{bend_bytes, bend_parts, bend_text, bend_tiff, shuffle};
use crate::dice::Dice;
use crate::mutate::Grammar;

#[derive(Clone)]
struct Part {
    name: [u8; 4],
    data: Vec<u8>,
    /// What it says its size is, where that is a lie.
    size: Option<u32>,
}

/// Of a size and a name.
const HEAD: u32 = 8;

fn parse(bytes: &[u8]) -> Option<Vec<Part>> {
    let mut parts = Vec::new();
    let mut rest = bytes;
    while let Some((size, after)) = rest.split_first_chunk::<4>() {
        let (name, after) = after.split_first_chunk::<4>()?;
        // 0 is up to the end; the long form of the size is not taken apart.
        let length = match u32::from_be_bytes(*size) {
            0 => after.len(),
            size => size.checked_sub(HEAD)? as usize,
        };
        let (data, after) = after.split_at_checked(length)?;
        parts.push(Part { name: *name, data: data.to_vec(), size: None });
        rest = after;
    }
    Some(parts)
}

fn join(parts: &[Part]) -> Vec<u8> {
    let whole = parts.iter().flat_map(|Part { name, data, size }| {
        let size = size.unwrap_or(HEAD + data.len() as u32);
        [&size.to_be_bytes()[..], name, data].concat()
    });
    whole.collect()
}

/// Changes a few boxes; of a file without any, bytes.
pub(crate) fn bend(rng: &mut Rng, bytes: &mut Vec<u8>) {
    let parts = parse(bytes).unwrap_or_default();
    bend_parts(rng, bytes, parts, once, join);
}

fn once(rng: &mut Rng, parts: &mut Vec<Part>) {
    if rng.once_in(5) {
        return shuffle(rng, parts);
    }
    let at = rng.below(parts.len());
    let Some(part) = parts.get_mut(at) else { return };
    match &part.name {
        _ if rng.once_in(12) => part.size = Some(rng.odd_number() as u32),
        _ if rng.once_in(12) => {
            let names: [&[u8; 4]; 8] =
                [b"jxlc", b"jxlp", b"jxll", b"jxli", b"jbrd", b"brob", b"Exif", b"xml "];
            part.name = *names[rng.below(8)];
        }
        b"Exif" => bend_tiff(rng, &mut part.data),
        b"xml " => bend_text(rng, &mut part.data, Grammar::Xml),
        _ => bend_bytes(rng, &mut part.data),
    }
}
