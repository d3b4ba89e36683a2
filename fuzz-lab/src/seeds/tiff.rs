//! TIFF: strips and planes, every packing, palettes, one bit, floating point, several pages, 64-bit.

use std::io::Cursor;

use image::{DynamicImage, ImageFormat};
use lab::tiff::{ByteOrder, HEADER_LENGTH, Value, directory};
use tiff::encoder::compression::DeflateLevel;
use tiff::encoder::{Compression, TiffEncoder, colortype};

use super::{card, deep_or_transparent, encode, icc_profiles, strange, xmp};

pub(super) fn all() -> Vec<Vec<u8>> {
    let images = strange().into_iter().chain(deep_or_transparent());
    let mut all: Vec<Vec<u8>> =
        images.filter_map(|image| encode(&image, ImageFormat::Tiff)).collect();
    for packing in
        [Compression::Lzw, Compression::Deflate(DeflateLevel::Fast), Compression::Packbits]
    {
        all.extend(packed(packing));
    }
    all.extend(big());
    for order in [ByteOrder::LittleEndian, ByteOrder::BigEndian] {
        all.push(bare(order, 2, 8, 3, &[]));
        all.push(bare(order, 2, 16, 3, &[(284, Value::short(2))]));
        all.push(bare(order, 2, 8, 3, &[(284, Value::short(2))]));
        all.push(bare(order, 0, 1, 1, &[]));
        all.push(bare(order, 1, 4, 1, &[]));
        all.push(bare(order, 1, 16, 1, &[]));
        all.push(bare(order, 3, 8, 1, &[(320, Value::Shorts(vec![999; 768]))]));
        all.push(bare(order, 2, 32, 3, &[(339, Value::Shorts(vec![3; 3]))]));
        all.push(bare(order, 5, 8, 4, &[]));
        all.push(bare(order, 2, 8, 4, &[(338, Value::short(2))]));
        for profile in icc_profiles().into_iter().take(2) {
            all.push(bare(order, 2, 8, 3, &[(34_675, Value::Undefined(profile))]));
        }
        all.push(bare(order, 2, 8, 3, &[(700, Value::Bytes(xmp()))]));
    }
    all
}

fn packed(packing: Compression) -> Option<Vec<u8>> {
    let picture = card(60, 40);
    let mut bytes = Cursor::new(Vec::new());
    let mut file = TiffEncoder::new(&mut bytes).ok()?.with_compression(packing);
    // Two pages.
    for _ in 0..2 {
        file.write_image::<colortype::RGB8>(60, 40, picture.as_raw()).ok()?;
    }
    Some(bytes.into_inner())
}

fn big() -> Option<Vec<u8>> {
    let picture = DynamicImage::from(card(60, 40)).to_rgb16();
    let mut bytes = Cursor::new(Vec::new());
    let mut file = TiffEncoder::new_big(&mut bytes).ok()?;
    file.write_image::<colortype::RGB16>(60, 40, picture.as_raw()).ok()?;
    Some(bytes.into_inner())
}

/// A picture of two strips written by hand (in planes: two strips a plane).
fn bare(
    order: ByteOrder,
    photometric: u16,
    bits: u16,
    channels: u16,
    more: &[(u16, Value)],
) -> Vec<u8> {
    let (width, height, rows) = (40_usize, 24_usize, 12_usize);
    let planar = more.iter().any(|(tag, _)| *tag == 284);
    let (planes, in_row) =
        if planar { (usize::from(channels), 1) } else { (1, usize::from(channels)) };
    let strip = (width * in_row * usize::from(bits)).div_ceil(8) * rows;
    let strips = 2 * planes;
    let laid_out = |data_at: usize| {
        let mut entries = vec![
            (254, Value::long(0)),
            (256, Value::long(width as u32)),
            (257, Value::long(height as u32)),
            (258, Value::Shorts(vec![bits; usize::from(channels)])),
            (259, Value::short(1)),
            (262, Value::short(photometric)),
            (273, Value::Longs((0..strips).map(|n| (data_at + n * strip) as u32).collect())),
            (274, Value::short(3)),
            (277, Value::short(channels)),
            (278, Value::long(rows as u32)),
            (279, Value::Longs(vec![strip as u32; strips])),
        ];
        entries.extend(more.iter().cloned());
        directory(order, HEADER_LENGTH, &entries, 0)
    };
    let data_at = HEADER_LENGTH + laid_out(0).len();
    let samples = (0..strips * strip).map(|n| (n * 37 % 251) as u8);
    [order.header(), laid_out(data_at), samples.collect()].concat()
}
