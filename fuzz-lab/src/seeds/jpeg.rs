//! JPEG: baseline, progressive, CMYK, with and without Exif, profile and XMP.

use image::ImageFormat;
use lab::tiff::ByteOrder;

use super::{encode, exif, icc_profiles, strange, xmp};
use crate::mutate::with_segment;

pub(super) fn all() -> Vec<Vec<u8>> {
    let plain: Vec<Vec<u8>> =
        strange().iter().filter_map(|image| encode(image, ImageFormat::Jpeg)).collect();
    let mut all = vec![
        include_bytes!("../../../tests/data/still/progressive.jpg").to_vec(),
        include_bytes!("../../../tests/data/still/cmyk.jpg").to_vec(),
    ];
    let Some(card) = plain.first() else { return all };
    for order in [ByteOrder::LittleEndian, ByteOrder::BigEndian] {
        all.push(with_segment(card, 0xE1, &[&b"Exif\0\0"[..], &exif(order)].concat()));
    }
    for profile in icc_profiles() {
        let body = [&b"ICC_PROFILE\0\x01\x01"[..], &profile].concat();
        all.push(with_segment(card, 0xE2, &body));
    }
    let packet = [&b"http://ns.adobe.com/xap/1.0/\0"[..], &xmp()].concat();
    all.push(with_segment(card, 0xE1, &packet));
    all.extend(plain);
    all
}
