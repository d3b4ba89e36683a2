//! Raw files in every packing that the lab's own writer has.

use lab::Rng;
use lab::dng::{Division, DngFile, LosslessJpeg, Packing, RawSamples, colour_tags};
use lab::tiff::{ByteOrder, Value};
use lab::{Rational, ShotData};
use mirecast::colour::{CameraCalibration, Kelvin, Matrix3};

pub(super) fn all() -> Vec<Vec<u8>> {
    let mut all = Vec::new();
    for packing in [
        Packing::Plain,
        Packing::LosslessJpeg(LosslessJpeg::default()),
        Packing::Deflate { difference: 0 },
        Packing::Deflate { difference: 2 },
    ] {
        for (planes, bits, division, order) in [
            (1, 12, Division::Strips(16), ByteOrder::LittleEndian),
            (1, 14, Division::Tiles(16, 16), ByteOrder::BigEndian),
            (3, 16, Division::Strips(8), ByteOrder::LittleEndian),
            (1, 8, Division::Tiles(32, 16), ByteOrder::LittleEndian),
        ] {
            let preview = planes == 1;
            let file = DngFile { packing, division, order, preview, ..file(planes, bits) };
            all.push(file.bytes());
        }
    }
    all.push(crowded().bytes());
    all
}

fn file(planes: usize, bits: u32) -> DngFile {
    let (width, height) = (64, 44);
    let mut rng = Rng::new(11);
    let full = f64::from(u16::MAX >> (16 - bits));
    let samples = (0..width * height * planes)
        .map(|n| {
            let card = (16..48).contains(&(n / planes % width));
            let level = if card { 0.6 } else { 0.15 };
            ((level + rng.between(-0.03, 0.03)) * full) as u16
        })
        .collect();
    let mut file = DngFile::new(RawSamples { width, height, planes, bits, samples });
    let at = |kelvin: f64, rows| CameraCalibration {
        illuminant: Kelvin::new(kelvin).ok(),
        from_xyz: Matrix3(rows),
    };
    let warm = [[0.9, -0.2, -0.05], [-0.55, 1.45, 0.35], [-0.1, 0.25, 0.9]];
    let cool = [[0.85, -0.25, -0.1], [-0.5, 1.4, 0.25], [-0.12, 0.3, 0.8]];
    let calibrations = [(at(2856.0, warm), 17), (at(6504.0, cool), 21)];
    file.main_tags = colour_tags(&calibrations, Some([0.6, 1.0, 0.7]));
    file
}

/// One with everything that may be said about levels, areas and shading.
fn crowded() -> DngFile {
    let mut file = file(1, 12);
    file.shot = Some(ShotData {
        model: "Studio camera A".to_owned(),
        taken_at: "2024:03:12 09:41:00".to_owned(),
        exposure_time: Rational { numerator: 1, denominator: 125 },
        f_number: Rational { numerator: 28, denominator: 10 },
        iso: 400,
        flash_fired: false,
        auto_balance: true,
        light_source: 1,
    });
    file.raw_tags = vec![
        (50_712, Value::Shorts((0..4096_u32).map(|n| (n * 15).min(65_535) as u16).collect())),
        (50_713, Value::Shorts(vec![2, 2])),
        (50_714, Value::Shorts(vec![60, 61, 62, 63])),
        (50_717, Value::long(60_000)),
        (50_719, Value::Longs(vec![2, 2])),
        (50_720, Value::Longs(vec![56, 36])),
        (50_829, Value::Longs(vec![2, 2, 42, 62])),
        (51_022, Value::Undefined(gain_map())),
    ];
    file
}

/// A list of one operation, a map of 2 × 2 gains (DNG 1.6, chapter 7).
fn gain_map() -> Vec<u8> {
    let mut map = Vec::new();
    map.extend([0_u32, 0, 44, 64, 0, 1, 1, 1, 2, 2].map(u32::to_be_bytes).concat());
    map.extend([1.0_f64, 1.0, 0.0, 0.0].map(f64::to_be_bytes).concat());
    map.extend(1_u32.to_be_bytes());
    map.extend([1.0_f32, 1.1, 1.2, 1.3].map(f32::to_be_bytes).concat());
    let mut list = 1_u32.to_be_bytes().to_vec();
    list.extend([9_u32, 0x0103_0000, 0, map.len() as u32].map(u32::to_be_bytes).concat());
    list.extend(map);
    list
}
