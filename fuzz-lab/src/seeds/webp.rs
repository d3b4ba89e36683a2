//! WebP: lossless and lossy, with alpha, Exif, profile and XMP, and an animation.

use image::ImageFormat;
use lab::tiff::ByteOrder;

use super::{deep_or_transparent, encode, exif, icc_profiles, strange, xmp};
use crate::mutate::with_riff_chunk;

pub(super) fn all() -> Vec<Vec<u8>> {
    let images = strange().into_iter().chain(deep_or_transparent());
    let plain: Vec<Vec<u8>> =
        images.filter_map(|image| encode(&image, ImageFormat::WebP)).collect();
    let mut all = vec![include_bytes!("../../../tests/data/still/lossy.webp").to_vec()];
    if let Some(picture) = plain.first().and_then(|webp| webp.get(12..)) {
        all.push(extended(0x08, picture, &[(*b"EXIF", exif(ByteOrder::LittleEndian))]));
        all.push(extended(0x04, picture, &[(*b"XMP ", xmp())]));
        for profile in icc_profiles() {
            let named = [&b"ICCP"[..], &(profile.len() as u32).to_le_bytes(), &profile].concat();
            let padded = [&named[..], &vec![0; named.len() % 2], picture].concat();
            all.push(extended(0x20, &padded, &[]));
        }
        all.push(animation(picture));
    }
    all.extend(plain);
    all
}

/// Side of the canvas: as the first of the strange pictures is.
const CANVAS: [u32; 2] = [96, 64];

/// A file with the extended header (RFC 9649, 2.7) before other chunks.
fn extended(flags: u8, chunks: &[u8], behind: &[([u8; 4], Vec<u8>)]) -> Vec<u8> {
    let mut header = vec![flags, 0, 0, 0];
    for side in CANVAS {
        header.extend(&(side - 1).to_le_bytes()[..3]);
    }
    let empty = b"RIFF\x04\0\0\0WEBP";
    let mut file = with_riff_chunk(empty, *b"VP8X", &header);
    file.extend(chunks);
    let (_, body) = file.split_at(8);
    let size = (body.len() as u32).to_le_bytes();
    let mut file = [&b"RIFF"[..], &size, body].concat();
    for (name, data) in behind {
        file = with_riff_chunk(&file, *name, data);
    }
    file
}

fn animation(picture: &[u8]) -> Vec<u8> {
    let mut frame = vec![0; 6];
    for side in CANVAS {
        frame.extend(&(side - 1).to_le_bytes()[..3]);
    }
    frame.extend([100, 0, 0, 0]);
    frame.extend(picture);
    let named = |name: &[u8; 4], data: &[u8]| {
        [&name[..], &(data.len() as u32).to_le_bytes(), data, &vec![0; data.len() % 2]].concat()
    };
    let frames = named(b"ANMF", &frame);
    let chunks = [named(b"ANIM", &[0, 0, 0, 0, 0, 0]), frames.clone(), frames].concat();
    extended(0x02, &chunks, &[])
}
