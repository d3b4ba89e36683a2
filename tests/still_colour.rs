//! Colour encodings: one picture written in several must come out as the same light.

mod still_common;

use exif::{Tag, Value};
use image::{DynamicImage, ImageBuffer, ImageFormat, Luma, Rgb};
use mirecast::still::{EncodingSource, Still, Transfer};
use moxcms::{
    ColorProfile, DataColorSpace, LutDataType, LutStore, LutType, LutWarehouse, Matrix3d,
    ToneReprCurve,
};
use still_common::{
    Extras, ascii, assert_close, encode, exif_block, flat, linear_to_srgb, srgb_to_linear, still,
};

use ImageFormat::{Jpeg, Png, Tiff, WebP};

type Matrix = [[f64; 3]; 3];

/// Linear RGB to XYZ at D65, to five digits: IEC 61966-2-1 recomputed from its primaries, P3 with D65 from
/// SMPTE EG 432-1's primaries, and the 1998 wide-gamut encoding's.
const SRGB: Matrix =
    [[0.41239, 0.35758, 0.18048], [0.21264, 0.71517, 0.07219], [0.01933, 0.11919, 0.95053]];
const P3: Matrix =
    [[0.48657, 0.26567, 0.19822], [0.22897, 0.69174, 0.07929], [0.0, 0.04511, 1.04394]];
const WIDE: Matrix =
    [[0.57667, 0.18556, 0.18823], [0.29734, 0.62736, 0.07529], [0.02703, 0.07069, 0.99134]];

fn apply(m: &Matrix, [a, b, c]: [f64; 3]) -> [f64; 3] {
    m.map(|[x, y, z]| x * a + y * b + z * c)
}

fn invert(m: &Matrix) -> Matrix {
    let [[a, b, c], [d, e, f], [g, h, i]] = *m;
    let det = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
    [
        [e * i - f * h, c * h - b * i, b * f - c * e],
        [f * g - d * i, a * i - c * g, c * d - a * f],
        [d * h - e * g, b * g - a * h, a * e - b * d],
    ]
    .map(|row| row.map(|value| value / det))
}

/// Patches in linear sRGB: whites under several lights, and colours inside every gamut.
const PATCHES: [[f64; 3]; 6] = [
    [0.8, 0.8, 0.8],
    [0.8, 0.55, 0.25],
    [0.45, 0.6, 0.8],
    [0.3, 0.5, 0.2],
    [0.1, 0.1, 0.1],
    [0.5, 0.2, 0.3],
];

/// The patches, 8 × 8 pixels each in a row, written in another encoding at 16 bits.
fn picture(encoding: &Matrix, encode_channel: impl Fn(f64) -> f64) -> DynamicImage {
    let to_encoding = invert(encoding);
    ImageBuffer::from_fn(8 * PATCHES.len() as u32, 8, |x, _| {
        let xyz = apply(&SRGB, PATCHES[x as usize / 8]);
        let rgb = apply(&to_encoding, xyz);
        Rgb(rgb.map(|value| (encode_channel(value).clamp(0.0, 1.0) * 65_535.0).round() as u16))
    })
    .into()
}

fn chromaticity([x, y, z]: [f64; 3]) -> [f64; 2] {
    [x / (x + y + z), y / (x + y + z)]
}

/// The XYZ in the middle of each patch.
fn xyz_of_patches(still: &Still) -> Vec<[f64; 3]> {
    let frame = &still.frame;
    assert_eq!(frame.cell, 1);
    (0..PATCHES.len() as u32)
        .map(|n| {
            let mean = frame.get(8 * n + 4, 4).expect("inside").mean;
            apply(&frame.encoding.to_xyz, mean.map(f64::from))
        })
        .collect()
}

fn power(value: f64) -> f64 {
    value.max(0.0).powf(256.0 / 563.0)
}

fn twins() -> [(&'static str, DynamicImage, ColorProfile); 3] {
    [
        ("sRGB", picture(&SRGB, linear_to_srgb), ColorProfile::new_srgb()),
        ("P3", picture(&P3, linear_to_srgb), ColorProfile::new_display_p3()),
        ("wide", picture(&WIDE, power), ColorProfile::new_adobe_rgb()),
    ]
}

#[test]
fn twins_in_other_encodings_are_the_same_light() {
    for (name, deep, profile) in twins() {
        let icc = profile.encode().expect("encodes");
        let narrow = DynamicImage::from(deep.to_rgb8());
        let cases =
            [(Png, &deep, 3e-5), (Tiff, &deep, 3e-5), (Jpeg, &narrow, 2e-3), (WebP, &narrow, 2e-3)];
        for (format, image, tolerance) in cases {
            let what = format!("{name} {format:?}");
            let found = still(&encode(image, format, Extras::icc(icc.clone())));
            assert_eq!(found.shot.notes, [], "{what}");
            assert_eq!(found.frame.encoding.source, EncodingSource::IccProfile, "{what}");
            for (got, want) in found.frame.encoding.white_xyz.iter().zip([0.95046, 1.0, 1.08906]) {
                assert_close(*got, want, 1e-5, &what);
            }
            for (xyz, patch) in xyz_of_patches(&found).into_iter().zip(PATCHES) {
                let want = chromaticity(apply(&SRGB, patch));
                for (got, want) in chromaticity(xyz).iter().zip(want) {
                    assert_close(*got, want, tolerance + 1e-4, &what);
                }
                assert_close(xyz[1], apply(&SRGB, patch)[1], 0.008, &what);
            }
        }
    }
}

#[test]
fn reading_a_twin_without_its_profile_would_be_wrong() {
    // Shows that the test above can fail: the same pixels taken for sRGB are another light.
    let (_, deep, _) = &twins()[2];
    let found = still(&encode(deep, Png, Extras::default()));
    let got = chromaticity(xyz_of_patches(&found)[1]);
    let want = chromaticity(apply(&SRGB, PATCHES[1]));
    assert!((got[0] - want[0]).abs() > 0.005, "{got:?} {want:?}");
}

#[test]
fn old_profile_with_its_white_beside_it_is_the_same_light() {
    // Version 2 style: adapted primaries, the real white in wtpt, no chad.
    let mut profile = ColorProfile::new_srgb();
    profile.chromatic_adaptation = None;
    profile.media_white_point = Some(moxcms::Xyzd { x: 0.9505, y: 1.0, z: 1.0891 });
    let icc = profile.encode().expect("encodes");
    let found = still(&encode(&picture(&SRGB, linear_to_srgb), Png, Extras::icc(icc)));
    for (xyz, patch) in xyz_of_patches(&found).into_iter().zip(PATCHES) {
        for (got, want) in chromaticity(xyz).iter().zip(chromaticity(apply(&SRGB, patch))) {
            assert_close(*got, want, 1e-4, "chromaticity");
        }
    }
}

#[test]
fn exif_optional_space_is_the_same_light() {
    let image = picture(&WIDE, power);
    for code in [0xFFFF, 2] {
        let block = exif_block(&[
            (Tag::ColorSpace, Value::Short(vec![code])),
            (Tag::InteroperabilityIndex, ascii("R03")),
        ]);
        let found = still(&encode(&image, Png, Extras::exif(block)));
        assert_eq!(found.frame.encoding.source, EncodingSource::ExifColorSpace);
        assert_eq!(found.frame.encoding.transfer, Transfer::Power(563.0 / 256.0));
        assert_eq!(found.shot.notes, []);
        for (xyz, patch) in xyz_of_patches(&found).into_iter().zip(PATCHES) {
            for (got, want) in chromaticity(xyz).iter().zip(chromaticity(apply(&SRGB, patch))) {
                assert_close(*got, want, 5e-5, "chromaticity");
            }
        }
    }
    let block = exif_block(&[(Tag::ColorSpace, Value::Short(vec![0xFFFF]))]);
    let found = still(&encode(&image, Png, Extras::exif(block)));
    assert_eq!(found.frame.encoding.source, EncodingSource::Assumed);
    assert_eq!(found.shot.notes.iter().map(|n| n.code()).collect::<Vec<_>>(), ["odd-encoding"]);
}

#[test]
fn tiff_profile_is_found_under_either_type() {
    let icc = ColorProfile::new_display_p3().encode().expect("encodes");
    let mut bytes = encode(&flat(4, 4, [90, 80, 70]), Tiff, Extras::icc(icc));
    // Tag 34675 of type BYTE, as the encoder writes it, then UNDEFINED, as the ICC specification asks for.
    let tag = [34_675u16.to_le_bytes(), 1u16.to_le_bytes()].concat();
    let at = bytes.windows(4).position(|entry| entry == tag).expect("there");
    assert_eq!(still(&bytes).frame.encoding.name, "Display P3");
    bytes[at + 2] = 7;
    assert_eq!(still(&bytes).frame.encoding.name, "Display P3");
}

#[test]
fn profile_wins_over_exif() {
    let block = exif_block(&[(Tag::ColorSpace, Value::Short(vec![0xFFFF]))]);
    let icc = ColorProfile::new_display_p3().encode().expect("encodes");
    let extras = Extras { icc: Some(icc), exif: Some(block) };
    let found = still(&encode(&flat(4, 4, [90, 80, 70]), Jpeg, extras));
    assert_eq!(found.frame.encoding.name, "Display P3");
    assert_eq!(found.shot.notes, []);
}

#[test]
fn grey_profile_gives_its_curve() {
    let icc = ColorProfile::new_gray_with_gamma(1.8).encode().expect("encodes");
    let image: DynamicImage = ImageBuffer::from_pixel(4, 4, Luma([128u8])).into();
    let found = still(&encode(&image, Png, Extras::icc(icc)));
    let want = (128.0f64 / 255.0).powf(1.8);
    // The curve's exponent is kept to 1/256 in the profile.
    assert_close(f64::from(found.frame.cells[0].mean[1]), want, 2e-3, "grey");
    assert_eq!(found.frame.encoding.source, EncodingSource::IccProfile);
    assert_eq!(found.shot.notes.iter().map(|n| n.code()).collect::<Vec<_>>(), ["grey"]);
}

#[test]
fn each_channel_has_its_own_curve() {
    let mut profile = ColorProfile::new_srgb();
    profile.red_trc = Some(ToneReprCurve::Lut(vec![]));
    profile.green_trc = Some(ToneReprCurve::Lut(vec![0, 16_384, 65_535]));
    let icc = profile.encode().expect("encodes");
    let found = still(&encode(&flat(2, 2, [51, 51, 51]), Png, Extras::icc(icc)));
    let [r, g, b] = found.frame.cells[0].mean.map(f64::from);
    assert_close(r, 0.2, 1e-5, "identity");
    assert_close(g, 0.4 * 16_384.0 / 65_535.0, 1e-5, "table of three");
    assert_close(b, srgb_to_linear(0.2), 1e-5, "sRGB");
}

/// An RGB profile with nothing but a table to XYZ: input curves of sRGB, then the adapted sRGB primaries.
fn table_profile() -> ColorProfile {
    let mut profile = ColorProfile::new_srgb();
    let matrix = profile.colorant_matrix().v;
    let steps: u16 = 1024;
    let curve: Vec<u16> = (0..steps)
        .map(|n| (srgb_to_linear(f64::from(n) / f64::from(steps - 1)) * 65_535.0).round() as u16)
        .collect();
    // XYZ of the eight corners, blue running fastest; 1.0 is coded 32768 (ICC.1:2022, 6.3.4.2).
    let corners = (0..8u8).flat_map(|n| {
        let rgb = [4, 2, 1].map(|bit| f64::from(u8::from(n & bit != 0)));
        apply(&matrix, rgb).map(|value| (value * 32_768.0).round() as u16)
    });
    let lut = LutDataType {
        num_input_channels: 3,
        num_output_channels: 3,
        num_clut_grid_points: 2,
        matrix: Matrix3d::IDENTITY,
        num_input_table_entries: steps,
        num_output_table_entries: 2,
        input_table: LutStore::Store16(curve.repeat(3)),
        clut_table: LutStore::Store16(corners.collect()),
        output_table: LutStore::Store16([0, 65_535].repeat(3)),
        lut_type: LutType::Lut16,
    };
    profile.pcs = DataColorSpace::Xyz;
    (profile.red_trc, profile.green_trc, profile.blue_trc) = (None, None, None);
    profile.cicp = None;
    profile.lut_a_to_b_perceptual = Some(LutWarehouse::Lut(lut.clone()));
    profile.lut_a_to_b_colorimetric = Some(LutWarehouse::Lut(lut));
    profile
}

#[test]
fn table_profile_is_converted_to_the_same_light() {
    let icc = table_profile().encode().expect("encodes");
    let found = still(&encode(&picture(&SRGB, linear_to_srgb), Png, Extras::icc(icc)));
    assert_eq!(found.shot.notes, []);
    assert_eq!(found.frame.encoding.transfer, Transfer::Converted);
    for (xyz, patch) in xyz_of_patches(&found).into_iter().zip(PATCHES) {
        for (got, want) in chromaticity(xyz).iter().zip(chromaticity(apply(&SRGB, patch))) {
            assert_close(*got, want, 2e-3, "chromaticity");
        }
        assert_close(xyz[1], apply(&SRGB, patch)[1], 0.01, "luminance");
    }
}

#[test]
fn unusable_profiles_leave_the_picture_as_srgb_with_a_note() {
    let image = flat(4, 4, [200, 100, 50]);
    let mut foreign = ColorProfile::new_srgb();
    foreign.color_space = DataColorSpace::Cmyk;
    let mut wrecked = ColorProfile::new_srgb().encode().expect("encodes");
    wrecked.truncate(200);
    let cases = [
        (foreign.encode().expect("encodes"), "unsuitable-profile"),
        (ColorProfile::new_gray_with_gamma(2.2).encode().expect("encodes"), "unsuitable-profile"),
        (wrecked, "bad-profile"),
        (vec![7; 300], "bad-profile"),
    ];
    for (icc, code) in cases {
        for format in [Jpeg, Png, Tiff, WebP] {
            let found = still(&encode(&image, format, Extras::icc(icc.clone())));
            let codes: Vec<_> = found.shot.notes.iter().map(|note| note.code()).collect();
            assert_eq!(codes, [code], "{format:?}");
            assert_eq!(found.frame.encoding.source, EncodingSource::Assumed);
            let green = f64::from(found.frame.cells[0].mean[1]);
            assert_close(green, srgb_to_linear(100.0 / 255.0), 0.005, "green");
        }
    }
}

#[test]
fn the_blocks_of_a_jpeg_agree_with_its_pixels_where_it_is_flat() {
    let flat = image::RgbImage::from_fn(96, 64, |x, _| {
        if x < 48 { image::Rgb([200, 150, 90]) } else { image::Rgb([60, 90, 140]) }
    });
    let mut jpeg = Vec::new();
    let encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut jpeg, 95);
    flat.write_with_encoder(encoder).unwrap();
    let frame =
        mirecast::still::read_bytes(&jpeg, &mirecast::still::ReadOptions::default()).unwrap().frame;
    let mut without = mirecast::still::ReadOptions::default();
    without.stored_colours = false;
    let plain = mirecast::still::read_bytes(&jpeg, &without).unwrap().frame;
    assert_eq!(plain.stored, None);
    assert!(plain.cells.iter().all(|cell| cell.block_mean.is_none()));
    let stored = frame.stored.as_ref().unwrap();
    for (x, [r, g, b]) in [(24.0, [200.0, 150.0, 90.0]), (72.0, [60.0, 90.0, 140.0])] {
        let nearest = |block: &&mirecast::still::StoredBlock| (block.middle[0] - x).abs();
        let block = stored.blocks.iter().min_by(|a, b| nearest(a).total_cmp(&nearest(b))).unwrap();
        let luma: f32 = 0.299 * r + 0.587 * g + 0.114 * b;
        assert!((block.luma - luma).abs() < 1.0, "{block:?}");
        let differences = [(b - luma) / 1.772, (r - luma) / 1.402];
        for i in 0..2 {
            let apart = (block.differences[i] - differences[i]).abs();
            assert!(apart < stored.steps[i] / 2.0 + 0.6, "{block:?}, not {differences:?}");
        }
    }
    for (column, row) in [(20, 20), (80, 40)] {
        let cell = frame.get(column, row).unwrap();
        let blocks = cell.block_mean.unwrap();
        for channel in 0..3 {
            let apart = (blocks[channel] - cell.mean[channel]).abs();
            assert!(apart < 0.012, "{blocks:?} by blocks, {:?} by pixels", cell.mean);
        }
    }
}
