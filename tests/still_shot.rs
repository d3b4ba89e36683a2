//! What Exif says, from every container that holds it, and from blocks that are broken.

mod still_common;

use exif::{Rational, SRational, Tag, Value};
use image::ImageFormat::{self, Jpeg, Png, WebP};
use mirecast::still::ShotInfo;
use still_common::{Extras, ascii, assert_close, encode, exif_block, flat, still};

fn rational(num: u32, denom: u32) -> Value {
    Value::Rational(vec![Rational { num, denom }])
}

fn short(value: u16) -> Value {
    Value::Short(vec![value])
}

fn shot(format: ImageFormat, block: Vec<u8>) -> ShotInfo {
    still(&encode(&flat(8, 8, [90, 100, 110]), format, Extras::exif(block))).shot
}

fn full_block() -> Vec<u8> {
    exif_block(&[
        (Tag::Make, ascii("Example\u{7} Optics ")),
        (Tag::Model, ascii("Model\n One")),
        (Tag::BodySerialNumber, ascii("00\u{7}42\n ")),
        (Tag::Orientation, short(6)),
        (Tag::ExposureTime, rational(1, 50)),
        (Tag::FNumber, rational(28, 10)),
        (Tag::PhotographicSensitivity, short(400)),
        (Tag::DateTimeOriginal, ascii("2024:03:09 07:05:01")),
        (Tag::OffsetTimeOriginal, ascii("-03:30")),
        (Tag::ExposureBiasValue, Value::SRational(vec![SRational { num: -2, denom: 3 }])),
        (Tag::LightSource, short(3)),
        (Tag::Flash, short(0x19)),
        (Tag::ColorSpace, short(1)),
        (Tag::WhiteBalance, short(1)),
    ])
}

#[test]
fn every_field_from_every_container() {
    for format in [Jpeg, Png, WebP] {
        let shot = shot(format, full_block());
        assert_eq!(shot.camera.as_deref(), Some("Example Optics Model One"), "{format:?}");
        assert_eq!(shot.body.as_deref(), Some("0042"), "{format:?}");
        assert_eq!(shot.taken.as_deref(), Some("2024-03-09T07:05:01"));
        assert_eq!(shot.utc_offset_minutes, Some(-210));
        assert_close(shot.shutter_seconds.expect("there"), 0.02, 1e-12, "shutter");
        assert_close(shot.f_number.expect("there"), 2.8, 1e-12, "f-number");
        assert_eq!(shot.iso, Some(400));
        assert_eq!(shot.flash_fired, Some(true));
        assert_eq!(shot.white_balance_auto, Some(false));
        assert_eq!(shot.light_source, Some(3));
        assert_close(shot.exposure_bias.expect("there"), -2.0 / 3.0, 1e-12, "bias");
        assert_eq!(shot.orientation, 6);
        assert_eq!(shot.color_space, Some(1));
        assert_eq!(shot.notes, []);
    }
}

#[test]
fn tiff_tags_are_read_from_the_file_itself() {
    /// XMP lies in a tag of its own (ISO 16684-3, TIFF).
    const XMP: Tag = Tag(exif::Context::Tiff, 700);
    const PACKET: &[u8] = br#"<x:xmpmeta xmlns:x="adobe:ns:meta/">
        <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
        <rdf:Description xmlns:exif="http://ns.adobe.com/exif/1.0/" exif:LightSource="3"/>
        </rdf:RDF></x:xmpmeta>"#;
    // A TIFF of one pixel: the picture's own directory beside the camera's.
    let fields = [
        (Tag::Make, ascii("Example Optics")),
        (Tag::Model, ascii("Example Optics Two")),
        (Tag::LightSource, short(10)),
        (XMP, Value::Byte(PACKET.to_vec())),
        (Tag::ImageWidth, short(1)),
        (Tag::ImageLength, short(1)),
        (Tag::BitsPerSample, Value::Short(vec![8, 8, 8])),
        (Tag::Compression, short(1)),
        (Tag::PhotometricInterpretation, short(2)),
        (Tag::SamplesPerPixel, short(3)),
        (Tag::RowsPerStrip, short(1)),
    ];
    let fields: Vec<exif::Field> = fields
        .into_iter()
        .map(|(tag, value)| exif::Field { tag, ifd_num: exif::In::PRIMARY, value })
        .collect();
    let mut writer = exif::experimental::Writer::new();
    fields.iter().for_each(|field| writer.push_field(field));
    let strips: [&[u8]; 1] = [&[200, 100, 50]];
    writer.set_strips(&strips, exif::In::PRIMARY);
    let mut bytes = std::io::Cursor::new(Vec::new());
    writer.write(&mut bytes, true).expect("is written");
    let shot = still(&bytes.into_inner()).shot;
    assert_eq!(shot.camera.as_deref(), Some("Example Optics Two"));
    assert_eq!(shot.light_source, Some(10));
    assert_eq!(shot.xmp.and_then(|xmp| xmp.light_source), Some(3));
}

#[test]
fn png_exif_may_follow_the_pixels() {
    let early = encode(&flat(8, 8, [90, 100, 110]), Png, Extras::exif(full_block()));
    // Move the chunk from where the encoder put it to the place before IEND.
    let start = early.windows(4).position(|name| name == b"eXIf").expect("there") - 4;
    let size = u32::from_be_bytes(early[start..start + 4].try_into().expect("four")) as usize + 12;
    let mut late = early.clone();
    let chunk: Vec<u8> = late.drain(start..start + size).collect();
    let end = late.len() - 12;
    late.splice(end..end, chunk);
    assert_eq!(still(&late).shot, still(&early).shot);
}

#[test]
fn identifier_left_in_front_of_the_block_is_skipped() {
    let mut block = b"Exif\0\0".to_vec();
    block.extend(full_block());
    assert_eq!(shot(WebP, block).light_source, Some(3));
}

#[test]
fn values_without_sense_are_left_out() {
    let found = shot(
        Jpeg,
        exif_block(&[
            (Tag::Make, ascii("  \n ")),
            (Tag::Orientation, short(9)),
            (Tag::ExposureTime, rational(1, 0)),
            (Tag::FNumber, rational(0, 10)),
            (Tag::PhotographicSensitivity, short(0)),
            (Tag::DateTimeOriginal, ascii("2024:13:40 99:00:00")),
            (Tag::WhiteBalance, short(7)),
        ]),
    );
    assert_eq!(found, ShotInfo::default());
}

#[test]
fn substitutes_are_used_where_the_usual_field_is_missing() {
    let found = shot(
        Jpeg,
        exif_block(&[
            (Tag::ShutterSpeedValue, Value::SRational(vec![SRational { num: 5, denom: 1 }])),
            (Tag::ApertureValue, rational(4, 1)),
            (Tag::PhotographicSensitivity, short(65_535)),
            (Tag::RecommendedExposureIndex, Value::Long(vec![102_400])),
            (Tag::DateTimeDigitized, ascii("2024:03:09 07:05:01")),
            (Tag::OffsetTimeOriginal, ascii("+09:00")),
        ]),
    );
    assert_close(found.shutter_seconds.expect("there"), 1.0 / 32.0, 1e-12, "shutter");
    assert_close(found.f_number.expect("there"), 4.0, 1e-12, "f-number");
    assert_eq!(found.iso, Some(102_400));
    assert_eq!(found.taken.as_deref(), Some("2024-03-09T07:05:01"));
    assert_eq!(found.utc_offset_minutes, None, "that of another time");
}

#[test]
fn broken_exif_never_costs_the_picture() {
    let block = full_block();
    let image = flat(8, 8, [90, 100, 110]);
    let mut noted = 0;
    for cut in 0..block.len() {
        let found = still(&encode(&image, WebP, Extras::exif(block[..cut].to_vec())));
        assert_eq!(found.frame.cells.len(), 64);
        noted += usize::from(found.shot.notes.iter().any(|note| note.code() == "bad-exif"));
    }
    assert!(noted > block.len() / 2, "only {noted} of {} cuts were noted", block.len());
    for at in 0..block.len() {
        let mut bent = block.clone();
        bent[at] ^= 0xFF;
        assert_eq!(still(&encode(&image, WebP, Extras::exif(bent))).frame.cells.len(), 64);
    }
}

#[test]
fn fields_before_the_damage_are_kept() {
    // The block without its last bytes still has its first directory whole.
    let block = full_block();
    let found = shot(WebP, block[..block.len() - 20].to_vec());
    assert_eq!(found.orientation, 6);
    assert!(found.notes.iter().any(|note| note.code() == "bad-exif"), "{:?}", found.notes);
}
