//! JPEG XL beside PNGs of the same pixels: colours, depths, profiles, what is in its boxes, and damage.
//!
//! The files under `data/still/jxl` were made with libjxl's own encoder. All but one hold the picture of
//! [`picture`], in the encodings of the PNGs beside them.

use image::{DynamicImage, ImageFormat, RgbImage};
use mirecast::still::{ReadOptions, Still, Transfer, read_bytes};

use crate::still_common::{Extras, encode, exif_block, refusal, still};

macro_rules! data {
    ($name:literal) => {
        include_bytes!(concat!("../data/still/jxl/", $name)).as_slice()
    };
}

/// Red rises to the right, green downward.
fn picture() -> DynamicImage {
    RgbImage::from_fn(40, 24, |x, y| image::Rgb([40 + 5 * x as u8, 40 + 8 * y as u8, 128])).into()
}

/// Greatest and mean difference of the cells in XYZ relative to white.
fn difference(a: &Still, b: &Still) -> (f64, f64) {
    let xyz = |still: &Still| -> Vec<f64> {
        let matrix = still.frame.encoding.to_xyz;
        let of = |mean: [f32; 3]| {
            matrix.map(|row| row.iter().zip(mean).map(|(m, v)| m * f64::from(v)).sum::<f64>())
        };
        still.frame.cells.iter().flat_map(|cell| of(cell.mean)).collect()
    };
    let (a, b) = (xyz(a), xyz(b));
    assert_eq!(a.len(), b.len());
    let off = a.iter().zip(&b).map(|(a, b)| (a - b).abs());
    (off.clone().fold(0.0, f64::max), off.sum::<f64>() / a.len() as f64)
}

/// A JPEG XL file and a PNG of the same pixels.
type Pair<'a> = [&'a [u8]; 2];

#[test]
fn colours_are_those_of_a_png_of_the_same_pixels() {
    let plain = encode(&picture(), ImageFormat::Png, Extras::default());
    let cases: [(&str, Pair, [f64; 2]); 7] = [
        ("lossless sRGB", [data!("srgb.jxl"), &plain], [3e-5, 1e-5]),
        ("16 bits, a profile", [data!("deep.jxl"), data!("deep.png")], [3e-5, 1e-5]),
        ("a profile with a curve of points", [data!("odd.jxl"), data!("odd.png")], [3e-5, 1e-5]),
        ("primaries and gamma by numbers", [data!("p3.jxl"), data!("p3.png")], [6e-4, 2e-4]),
        ("lossy, sRGB", [data!("lossy.jxl"), &plain], [0.02, 0.003]),
        ("lossy, by numbers", [data!("lossy-p3.jxl"), data!("p3.png")], [0.02, 0.003]),
        ("lossy, a profile", [data!("lossy-odd.jxl"), data!("odd.png")], [0.02, 0.003]),
    ];
    for (name, [jxl, png], [most, most_on_average]) in cases {
        let (jxl, png) = (still(jxl), still(png));
        assert_eq!((jxl.frame.width, jxl.frame.height), (40, 24), "{name}");
        assert_eq!(jxl.frame.bits, png.frame.bits, "{name}");
        assert!(jxl.shot.notes.is_empty(), "{name}: {:?}", jxl.shot.notes);
        let (greatest, mean) = difference(&jxl, &png);
        assert!(greatest <= most && mean <= most_on_average, "{name}: {greatest} {mean}");
        let white = |still: &Still| still.frame.encoding.white_xyz;
        for (got, want) in white(&jxl).iter().zip(white(&png)) {
            assert!((got - want).abs() < 2e-4, "{name}: {:?} {:?}", white(&jxl), white(&png));
        }
    }
}

#[test]
fn a_jpeg_packed_into_it_is_that_jpeg() {
    let packed = still(data!("jpeg.jxl"));
    let jpeg = still(include_bytes!("../data/still/progressive.jpg"));
    let (greatest, mean) = difference(&packed, &jpeg);
    assert!(greatest < 0.02 && mean < 0.003, "{greatest} {mean}");
}

#[test]
fn grey_is_grey() {
    let grey = still(data!("grey.jxl"));
    assert!(grey.shot.notes.iter().any(|note| note.code() == "grey"), "{:?}", grey.shot.notes);
    let cell = grey.frame.get(7, 10).expect("inside");
    let want = Transfer::Srgb.to_linear(0, 120.0 / 255.0);
    assert!(cell.mean.iter().all(|v| (f64::from(*v) - want).abs() < 1e-5), "{:?}", cell.mean);
}

/// A codestream in boxes (ISO/IEC 18181-2), with Exif data that say it lies on its side, and XMP behind it.
fn in_boxes() -> Vec<u8> {
    let exif = exif_block(&[
        (exif::Tag::Orientation, exif::Value::Short(vec![6])),
        (exif::Tag::LightSource, exif::Value::Short(vec![3])),
        (exif::Tag::WhiteBalance, exif::Value::Short(vec![1])),
    ]);
    let xmp = br#"<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF
        xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description
        xmlns:exif="http://ns.adobe.com/exif/1.0/" exif:LightSource="10"/></rdf:RDF></x:xmpmeta>"#;
    let mut file = Vec::new();
    for (name, content) in [
        (b"JXL ", b"\r\n\x87\n".as_slice()),
        (b"ftyp", b"jxl \0\0\0\0jxl "),
        // Where the TIFF header begins behind this number.
        (b"Exif", &[&[0; 4], exif.as_slice()].concat()),
        (b"jxlc", data!("srgb.jxl")),
        (b"xml ", xmp),
    ] {
        file.extend(u32::try_from(content.len() + 8).expect("small").to_be_bytes());
        file.extend(name);
        file.extend(content);
    }
    file
}

#[test]
fn exif_and_xmp_are_read_and_exif_does_not_turn_it() {
    let Still { shot, frame, .. } = still(&in_boxes());
    assert_eq!((shot.light_source, shot.white_balance_auto), (Some(3), Some(false)));
    assert_eq!(shot.xmp.expect("a packet").light_source, Some(10));
    // The picture's own data, which count, say that it does not lie on its side.
    assert_eq!((shot.orientation, frame.width, frame.height), (1, 40, 24));
}

#[test]
fn what_is_not_read_is_refused_by_name() {
    let refused = refusal(data!("pq.jxl"));
    assert_eq!(refused.code(), "unsupported-colour");
    assert!(refused.to_string().contains("high dynamic range"), "{refused}");
    let mut few = ReadOptions::default();
    few.max_pixels = 900;
    let large = read_bytes(data!("srgb.jxl"), &few).expect_err("too large");
    assert!(large.to_string().contains("40 × 24 pixels"), "{large}");
    let mut little = ReadOptions::default();
    for (bytes, code) in [(10_000, "too-large"), (4 << 20, "")] {
        little.max_memory_bytes = bytes;
        let read = read_bytes(data!("lossy.jxl"), &little);
        assert_eq!(read.err().map_or("", |error| error.code()), code, "{bytes}");
    }
}

#[test]
fn cut_and_flipped_files_never_panic() {
    let mut refused = 0;
    for (whole, step) in [(data!("srgb.jxl"), 1), (data!("lossy.jxl"), 5), (&in_boxes(), 3)] {
        for cut in (0..whole.len()).step_by(step) {
            if let Err(error) = read_bytes(&whole[..cut], &ReadOptions::default()) {
                assert_ne!(error.code(), "internal", "cut at {cut}");
                refused += 1;
            }
        }
        for at in (0..whole.len()).step_by(step) {
            let mut bent = whole.to_vec();
            bent[at] ^= 0x55;
            let mut few = ReadOptions::default();
            few.max_pixels = 1 << 16;
            if let Err(error) = read_bytes(&bent, &few) {
                // A panic in the library would be caught and called so.
                assert_ne!(error.code(), "internal", "flipped at {at}");
            }
        }
    }
    assert!(refused > 150, "{refused}");
}
