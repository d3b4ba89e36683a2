//! PNG: every colour type, depth and interlacing, with and without profile, Exif and XMP.

use image::ImageFormat;
use lab::tiff::ByteOrder;

use super::{deep_or_transparent, encode, exif, icc_profiles, strange, xmp};
use crate::mutate::{chunk, deflate, with_chunk};

pub(super) fn all() -> Vec<Vec<u8>> {
    let images = strange().into_iter().chain(deep_or_transparent());
    let plain: Vec<Vec<u8>> = images.filter_map(|image| encode(&image, ImageFormat::Png)).collect();
    let mut all = Vec::new();
    if let Some(card) = plain.first() {
        all.push(with_chunk(card, *b"eXIf", &exif(ByteOrder::BigEndian)));
        let text = [&b"XML:com.adobe.xmp\0\0\0\0\0"[..], &xmp()].concat();
        all.push(with_chunk(card, *b"iTXt", &text));
        for profile in icc_profiles() {
            let data = [&b"profile\0\0"[..], &deflate(&profile)].concat();
            all.push(with_chunk(card, *b"iCCP", &data));
        }
    }
    for (colour, depths) in [(0, &[1, 2, 4, 8, 16][..]), (2, &[8, 16]), (3, &[1, 2, 4, 8])] {
        for depth in depths {
            for interlaced in [false, true] {
                all.push(bare(colour, *depth, interlaced));
            }
        }
    }
    all.extend(plain);
    all
}

/// Passes of an interlaced picture (PNG third edition, 8.1): start and step, across and down.
const PASSES: [[usize; 4]; 7] = [
    [0, 8, 0, 8],
    [4, 8, 0, 8],
    [0, 4, 4, 8],
    [2, 4, 0, 4],
    [0, 2, 2, 4],
    [1, 2, 0, 2],
    [0, 1, 1, 2],
];

/// A picture written by hand, of a given colour type and depth.
fn bare(colour: u8, depth: u8, interlaced: bool) -> Vec<u8> {
    let (width, height) = (37_usize, 23_usize);
    let channels = if colour == 2 { 3 } else { 1 };
    let mut rows = Vec::new();
    let whole = [[0, 1, 0, 1]];
    let passes = if interlaced { &PASSES[..] } else { &whole };
    for [left, across, top, down] in passes {
        let columns = width.saturating_sub(*left).div_ceil(*across);
        for y in (*top..height).step_by(*down) {
            rows.push(0);
            let bytes = (columns * channels * usize::from(depth)).div_ceil(8);
            rows.extend((0..bytes).map(|x| (x * 11 + y * 5) as u8));
        }
    }
    let mut header = Vec::new();
    header.extend((width as u32).to_be_bytes());
    header.extend((height as u32).to_be_bytes());
    header.extend([depth, colour, 0, 0, u8::from(interlaced)]);
    let palette: Vec<u8> = (0..=255_u8).flat_map(|n| [n, 255 - n, n / 2]).collect();
    let palette = &palette[..3 << depth.min(8)];
    let mut bytes = b"\x89PNG\r\n\x1A\n".to_vec();
    bytes.extend(chunk(*b"IHDR", &header));
    if colour == 3 {
        bytes.extend(chunk(*b"PLTE", palette));
        bytes.extend(chunk(*b"tRNS", &[0, 128, 255][..(1 << depth.min(8)).min(3)]));
    }
    bytes.extend(chunk(*b"IDAT", &deflate(&rows)));
    bytes.extend(chunk(*b"IEND", &[]));
    bytes
}
