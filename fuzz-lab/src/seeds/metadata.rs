//! What lies in a picture beside its pixels.

use lab::tiff::{ByteOrder, HEADER_LENGTH, Value, directory};
use moxcms::{ColorProfile, ToneReprCurve};

/// An Exif block with a directory below, and one that follows with a thumbnail's place.
pub(crate) fn exif(order: ByteOrder) -> Vec<u8> {
    let below = [
        (0x829A, Value::Rationals(vec![[1, 125]])),
        (0x829D, Value::Rationals(vec![[28, 10]])),
        (0x8827, Value::short(400)),
        (0x9000, Value::Undefined(b"0232".to_vec())),
        (0x9003, Value::Ascii("2024:03:12 09:41:00".to_owned())),
        (0x9204, Value::SignedRationals(vec![[-1, 3]])),
        (0x9208, Value::short(1)),
        (0x9209, Value::short(0)),
        (0xA001, Value::short(1)),
        (0xA403, Value::short(1)),
    ];
    let last = [(0x0103, Value::short(6)), (0x0201, Value::long(8)), (0x0202, Value::long(40))];
    let main = |exif_at: usize, last_at: usize| {
        let entries = [
            (0x010F, Value::Ascii("Made-up".to_owned())),
            (0x0110, Value::Ascii("Studio camera A".to_owned())),
            (0x0112, Value::short(6)),
            (0x8769, Value::long(exif_at as u32)),
        ];
        directory(order, HEADER_LENGTH, &entries, last_at as u32)
    };
    let exif_at = HEADER_LENGTH + main(0, 0).len();
    let below = directory(order, exif_at, &below, 0);
    let last_at = exif_at + below.len();
    [order.header(), main(exif_at, last_at), below, directory(order, last_at, &last, 0)].concat()
}

/// Profiles of every build: formulas, curves, grey, tables, much too long.
pub(crate) fn icc_profiles() -> Vec<Vec<u8>> {
    let mut curved = ColorProfile::new_srgb();
    let curve: Vec<u16> = (0..=1023_u32).map(|n| (n * n / 16).min(65_535) as u16).collect();
    for channel in [&mut curved.red_trc, &mut curved.green_trc, &mut curved.blue_trc] {
        *channel = Some(ToneReprCurve::Lut(curve.clone()));
    }
    let profiles = [
        ColorProfile::new_srgb(),
        ColorProfile::new_display_p3(),
        ColorProfile::new_pro_photo_rgb(),
        ColorProfile::new_gray_with_gamma(2.2),
        curved,
    ];
    let mut all: Vec<Vec<u8>> = profiles.iter().filter_map(|p| p.encode().ok()).collect();
    all.push(table_profile());
    all
}

/// A profile of tables (ICC.1:2022, 10.11): 8 bits, a grid of 3, the identity into Lab.
fn table_profile() -> Vec<u8> {
    let mut table = b"mft1\0\0\0\0\x03\x03\x03\0".to_vec();
    for n in 0..9 {
        table.extend(if n % 4 == 0 { [0, 1, 0, 0] } else { [0; 4] });
    }
    let ramp = || (0..=255_u8).collect::<Vec<u8>>();
    (0..3).for_each(|_| table.extend(ramp()));
    for n in 0..27_u8 {
        table.extend([n / 9 * 127, 96 + n / 3 % 3 * 32, 96 + n % 3 * 32]);
    }
    (0..3).for_each(|_| table.extend(ramp()));
    let white = [b"XYZ \0\0\0\0".to_vec(), vec![0, 0, 0xF6, 0xD6, 0, 1, 0, 0, 0, 0, 0xD3, 0x2D]];
    let white = white.concat();
    let tags = [(b"A2B0", &table), (b"wtpt", &white)];
    let mut profile = vec![0; 128];
    for (at, word) in
        [(8, [2, 0x40, 0, 0]), (12, *b"mntr"), (16, *b"RGB "), (20, *b"Lab "), (36, *b"acsp")]
    {
        profile[at..at + 4].copy_from_slice(&word);
    }
    profile[68..80].copy_from_slice(&white[8..20]);
    profile.extend((tags.len() as u32).to_be_bytes());
    let mut at = 132 + 12 * tags.len();
    for (name, data) in tags {
        profile.extend(name);
        profile.extend((at as u32).to_be_bytes());
        profile.extend((data.len() as u32).to_be_bytes());
        at += data.len();
    }
    tags.iter().for_each(|(_, data)| profile.extend(*data));
    let size = (profile.len() as u32).to_be_bytes();
    profile[..4].copy_from_slice(&size);
    profile
}

/// An XMP packet (ISO 16684-1).
pub(crate) fn xmp() -> Vec<u8> {
    br#"<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about="" xmlns:exif="http://ns.adobe.com/exif/1.0/"
    exif:LightSource="1" exif:WhiteBalance="1">
   <exif:DateTimeOriginal>2024-03-12T09:41:00</exif:DateTimeOriginal>
   <exif:Flash rdf:parseType="Resource"><exif:Fired>False</exif:Fired></exif:Flash>
  </rdf:Description>
 </rdf:RDF>
</x:xmpmeta>
<?xpacket end="w"?>"#
        .to_vec()
}
