//! Raw files in a camera's own format, by the decoder library: the same samples and matrices give
//! the same cells as in a DNG.
//!
//! The file is written here, in the simplest format that the library reads. It names one of the
//! models in the library's own table, chosen by what the table says of it.

mod common;

use std::collections::BTreeMap;

use lab::Rng;
use lab::dng::{DngFile, RawSamples, colour_tags};
use lab::tiff::{ByteOrder, Value, directory};
use mirecast::balance::PresetTable;
use mirecast::card::{CardOptions, Status, read_card};
use mirecast::colour::{CameraCalibration, CameraColour, CctDuv, Kelvin, Matrix3, illuminants};
use mirecast::still::{ReadOptions, Still, read, read_bytes};
use rawler::decoders::Camera;
use rawler::imgop::xyz::Illuminant;

const WIDTH: usize = 1200;
const HEIGHT: usize = 800;

/// A three-colour model under two known lights, whose levels and edges are the whole picture's.
fn model() -> &'static Camera {
    let plain = |camera: &&Camera| {
        let lights = [Illuminant::A, Illuminant::D65];
        camera.mode.is_empty()
            && camera.cfa.is_rgb()
            && [camera.cfa.width, camera.cfa.height] == [2, 2]
            && lights
                .iter()
                .all(|light| camera.color_matrix.get(light).is_some_and(|m| m.len() == 9))
            && camera.whitelevel.as_ref().is_some_and(|w| w.len() == 1 && w[0] < 4096)
            && camera.blacklevel.is_none()
            && camera.blackareah.is_none()
            && camera.blackareav.is_none()
            && camera.active_area.is_none_or(|edges| edges.iter().all(|edge| *edge < 100))
            && camera.crop_area.is_none_or(|edges| edges.iter().all(|edge| *edge < 100))
            && camera.hints.is_empty()
    };
    let cameras = rawler::global_loader().get_cameras().values().filter(plain);
    cameras.min_by_key(|c| (&c.make, &c.model)).expect("the library knows such a model")
}

fn calibrations(camera: &Camera) -> [(CameraCalibration, u16); 2] {
    [(Illuminant::A, 2856.0, 17), (Illuminant::D65, 6504.0, 21)].map(|(light, kelvin, code)| {
        let values: Vec<f64> = camera.color_matrix[&light].iter().map(|v| f64::from(*v)).collect();
        let rows =
            std::array::from_fn(|row| std::array::from_fn(|column| values[3 * row + column]));
        let illuminant = Kelvin::new(kelvin).ok();
        (CameraCalibration { illuminant, from_xyz: Matrix3(rows) }, code)
    })
}

fn colour(camera: &Camera) -> CameraColour {
    let [(first, _), (second, _)] = calibrations(camera);
    CameraColour::new(first, Some(second)).expect("regular matrices")
}

fn white(camera: &Camera) -> u32 {
    camera.whitelevel.as_ref().expect("chosen so")[0]
}

/// A card of the channels `neutral` that falls off to one side, with a little noise.
fn card(camera: &Camera, neutral: [f64; 3]) -> RawSamples {
    let white = f64::from(white(camera));
    let mut rng = Rng::new(7);
    let samples = (0..WIDTH * HEIGHT)
        .map(|place| {
            let (row, column) = (place / WIDTH, place % WIDTH);
            let level = 0.6 - 0.1 * column as f64 / WIDTH as f64;
            let channel = camera.cfa.color_at(row, column);
            let noise = rng.between(-0.004, 0.004);
            ((neutral[channel] * level + noise) * white) as u16
        })
        .collect();
    RawSamples { width: WIDTH, height: HEIGHT, planes: 1, bits: 12, samples }
}

/// Blocks with a size before the samples, big-endian: the picture's size, the channels' multipliers
/// and a directory, then the samples.
fn camera_file(camera: &Camera, raw: &RawSamples, multipliers: [u16; 4]) -> Vec<u8> {
    let block = |name: &[u8; 4], content: &[u8]| {
        [&name[..], &(content.len() as u32).to_be_bytes(), content].concat()
    };
    let size = [raw.height as u16, raw.width as u16].map(u16::to_be_bytes).concat();
    // Offset 16 of the block: 12 bits in 16.
    let layout = [&[0; 8][..], &size, &[0; 4], &[16, 12, 0, 0, 0, 0, 0, 0]].concat();
    let balance = [&[0; 4][..], &multipliers.map(u16::to_be_bytes).concat()].concat();
    let order = ByteOrder::BigEndian;
    let entries =
        [(271, Value::Ascii(camera.make.clone())), (272, Value::Ascii(camera.model.clone()))];
    let tiff = [&b"MM\0\x2A\0\0\0\x08"[..], &directory(order, 8, &entries, 0), &[0; 32]].concat();
    let blocks =
        [block(b"\0PRD", &layout), block(b"\0WBG", &balance), block(b"\0TTW", &tiff)].concat();
    let samples = raw.samples.iter().flat_map(|sample| sample.to_be_bytes());
    let mut file = block(b"\0MRM", &blocks);
    file.extend(samples);
    file
}

fn dng_file(camera: &Camera, raw: RawSamples, neutral: [f64; 3]) -> DngFile {
    let white = white(camera);
    let edges = |area: Option<[usize; 4]>| area.unwrap_or([0; 4]);
    let [left, top, right, bottom] = edges(camera.active_area);
    let [crop_left, crop_top, crop_right, crop_bottom] = match camera.crop_area {
        Some(crop) => crop,
        None => [left, top, right, bottom],
    };
    let pattern = camera.cfa.shift(left, top).flat_pattern();
    let size = |value: usize| value as f64;
    let mut file = DngFile::new(raw);
    file.mosaic = Some((2, 2, pattern));
    file.raw_tags = vec![
        (50_717, Value::long(white)),
        (
            50_829,
            Value::Longs([top, left, HEIGHT - bottom, WIDTH - right].map(|v| v as u32).to_vec()),
        ),
        (50_719, Value::decimals(&[size(crop_left - left), size(crop_top - top)])),
        (
            50_720,
            Value::decimals(&[
                size(WIDTH - crop_left - crop_right),
                size(HEIGHT - crop_top - crop_bottom),
            ]),
        ),
    ];
    file.main_tags = colour_tags(&calibrations(camera), Some(neutral));
    file
}

#[track_caller]
fn still(bytes: &[u8]) -> Still {
    read_bytes(bytes, &ReadOptions::default()).unwrap_or_else(|error| panic!("{error}"))
}

/// 1024 for 1, as the format counts.
fn multipliers(neutral: [f64; 3]) -> [u16; 4] {
    let [red, green, blue] = neutral.map(|channel| (1024.0 * neutral[1] / channel).round() as u16);
    [red, green, green, blue]
}

#[test]
fn a_cameras_own_format_gives_what_a_dng_gives() {
    let camera = model();
    let colour = colour(camera);
    let light = illuminants::A;
    let neutral = colour.neutral_of(light).unwrap();
    let balance = colour.neutral_of(illuminants::D55).unwrap();
    let raw = card(camera, neutral);

    let own = still(&camera_file(camera, &raw, multipliers(balance)));
    let dng = still(&dng_file(camera, raw, balance).bytes());
    assert_eq!(
        [own.frame.width, own.frame.height, own.frame.cell],
        [dng.frame.width, dng.frame.height, dng.frame.cell]
    );
    for (own, dng) in own.frame.cells.iter().zip(&dng.frame.cells) {
        for (own, dng) in own.mean.iter().zip(dng.mean) {
            // The balances are rounded, to 1/1024 and to 1/10 000.
            assert!((own / dng - 1.0).abs() < 2e-3, "{own}, not {dng}");
        }
    }
    let as_shot = own.shot.raw_white.expect("the balance is known");
    let miss = CctDuv::from_xy(as_shot).unwrap().cct.mired().get() - 1e6 / 5500.0;
    assert!(miss.abs() < 2.0, "as-shot balance {miss} mired off");

    let reading = read_card(&own, &CardOptions::new(PresetTable::built_in().unwrap()));
    assert_eq!(reading.status, Status::Read, "{:?}", reading.card.problems);
    let found = reading.light.expect("raw gives the light");
    let truth = CctDuv::from_xy(light).unwrap().cct.mired().get();
    assert!((found.mired - truth).abs() < 1.5, "{} mired, not {truth}", found.mired);
}

#[test]
fn a_picture_beside_it_gets_its_balance_from_it() {
    let camera = model();
    let balance = colour(camera).neutral_of(illuminants::D55).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let jpeg = folder.path().join("a.jpg");
    image::RgbImage::from_pixel(64, 48, image::Rgb([150, 140, 130])).save(&jpeg).unwrap();
    let before = read(&jpeg, &ReadOptions::default()).unwrap();
    assert_eq!(before.shot.raw_beside, None);
    let raw = card(camera, balance);
    let bytes = camera_file(camera, &raw, multipliers(balance));
    std::fs::write(folder.path().join("a.MRW"), bytes).unwrap();
    let after = read(&jpeg, &ReadOptions::default()).unwrap();
    let white = after.shot.raw_beside.expect("found by name");
    let miss = CctDuv::from_xy(white).unwrap().cct.mired().get() - 1e6 / 5500.0;
    assert!(miss.abs() < 2.0, "{miss} mired off");
}

#[test]
fn what_is_cut_or_too_large_or_not_known_is_an_error() {
    let camera = model();
    let balance = [0.5, 1.0, 0.6];
    let whole = camera_file(camera, &card(camera, balance), multipliers(balance));
    let code = |bytes: &[u8], options: &ReadOptions| match read_bytes(bytes, options) {
        Ok(_) => "read",
        Err(error) => error.code(),
    };
    let usual = ReadOptions::default();
    assert_eq!(code(&whole, &usual), "read");
    for cut in (4..600).step_by(7).chain([whole.len() / 2, whole.len() - 2]) {
        assert_ne!(code(&whole[..cut], &usual), "read", "of {cut} bytes");
    }
    let mut small = ReadOptions::default();
    small.max_pixels = 1000;
    assert_eq!(code(&whole, &small), "too-large");
    let stranger = Camera { model: "none such".into(), ..camera.clone() };
    let stranger = camera_file(&stranger, &card(camera, balance), multipliers(balance));
    assert_eq!(code(&stranger, &usual), "unsupported-format");
}

#[test]
fn altered_files_are_read_or_refused() {
    let camera = model();
    let balance = [0.5, 1.0, 0.6];
    let whole = camera_file(camera, &card(camera, balance), multipliers(balance));
    let mut rng = Rng::new(3);
    let mut codes = BTreeMap::new();
    for _ in 0..400 {
        let mut bytes = whole.clone();
        for _ in 0..3 {
            // The head: what follows are samples.
            let place = rng.between(4.0, 200.0) as usize;
            bytes[place] = rng.between(0.0, 256.0) as u8;
        }
        let code = match read_bytes(&bytes, &ReadOptions::default()) {
            Ok(_) => "read",
            Err(error) => error.code(),
        };
        *codes.entry(code).or_insert(0) += 1;
    }
    // Not all alike: the alterations do hit what matters, and not always.
    assert!(codes.len() > 1 && codes.contains_key("read"), "{codes:?}");
}

#[test]
fn an_entry_that_counts_more_than_there_is_is_refused() {
    const COUNT: u16 = 50_000;
    // A mosaic's photometric interpretation makes it a raw file.
    let entries = [(262, Value::short(32_803)), (COUNT, Value::Longs(vec![1, 2]))];
    let mut bytes = b"II\x2A\0\x08\0\0\0".to_vec();
    bytes.extend(directory(ByteOrder::LittleEndian, 8, &entries, 0));
    let code = |bytes: &[u8]| match read_bytes(bytes, &ReadOptions::default()) {
        Ok(_) => "read",
        Err(error) => error.code(),
    };
    assert_eq!(code(&bytes), "unsupported-format", "of no maker");
    let entry = bytes.windows(2).position(|tag| tag == COUNT.to_le_bytes()).expect("it is there");
    bytes[entry + 4..entry + 8].copy_from_slice(&u32::MAX.to_le_bytes());
    assert_eq!(code(&bytes), "damaged");
}
