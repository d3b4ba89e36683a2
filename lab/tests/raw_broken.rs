//! Raw files that are cut, altered, or made to do harm: a clear error, bounded memory, no panic.

mod common;

use std::collections::BTreeMap;

use common::{busy, file, read};
use lab::dng::{Division, DngFile, LosslessJpeg, Packing, RawSamples};
use lab::tiff::Value;
use mirecast::still::{ReadOptions, read_bytes};
use proptest::prelude::*;

fn code(bytes: &[u8]) -> &'static str {
    match read(bytes) {
        Ok(_) => "read",
        Err(error) => error.code(),
    }
}

fn packings() -> [Packing; 3] {
    [
        Packing::Plain,
        Packing::LosslessJpeg(LosslessJpeg::default()),
        Packing::Deflate { difference: 0 },
    ]
}

#[test]
fn cut_files_are_refused() {
    for packing in packings() {
        let mut whole =
            DngFile { packing, division: Division::Tiles(16, 16), ..file(busy(64, 44, 1, 14)) };
        for preview in [false, true] {
            whole.preview = preview;
            let bytes = whole.bytes();
            // What follows the samples is the preview.
            let end = bytes.len() - 64;
            assert_eq!(code(&bytes[..end]), "read");
            for cut in 1..end {
                let got = code(&bytes[..cut]);
                assert!(!["read", "internal"].contains(&got), "{packing:?} cut at {cut}: {got}");
                if cut > end / 2 {
                    assert_eq!(got, "truncated", "{packing:?} cut at {cut} of {end}");
                }
            }
        }
    }
}

/// A file with one entry of the raw directory replaced or added.
fn with_raw(tag: u16, value: Value) -> Vec<u8> {
    let mut file = file(busy(64, 44, 1, 12));
    file.raw_tags.push((tag, value));
    file.bytes()
}

/// A file with one entry of the main directory replaced or added.
fn with_main(tag: u16, value: Value) -> Vec<u8> {
    let mut file = file(busy(64, 44, 1, 12));
    file.main_tags.retain(|(found, _)| *found != tag);
    file.main_tags.push((tag, value));
    file.bytes()
}

#[test]
fn each_contradiction_is_named() {
    let zeros = || Value::signed_decimals(&[0.0; 9]);
    let cases = [
        (with_main(50_721, zeros()), "damaged", "colour matrix has no inverse"),
        (with_main(50_722, zeros()), "damaged", "colour matrix has no inverse"),
        (with_main(50_721, Value::signed_decimals(&[1.0; 5])), "damaged", "not 3 × 3"),
        (with_main(50_721, Value::SignedRationals(vec![[1, 0]; 9])), "damaged", "not finite"),
        (
            with_main(50_721, Value::signed_decimals(&[1.0; 12])),
            "unsupported-format",
            "four colours",
        ),
        (with_main(50_728, Value::decimals(&[0.0; 3])), "damaged", "as-shot balance"),
        (with_main(50_728, Value::decimals(&[1.0, 0.0, 1.0])), "damaged", "as-shot balance"),
        (with_main(50_727, Value::decimals(&[1.0, 0.0, 1.0])), "damaged", "gains"),
        (with_raw(50_717, Value::short(0)), "damaged", "white level"),
        (with_raw(50_714, Value::short(4095)), "damaged", "white level"),
        (with_raw(50_714, Value::Shorts(vec![1, 2])), "damaged", "too long"),
        (with_raw(50_713, Value::Shorts(vec![0, 2])), "damaged", "do not repeat"),
        (
            with_raw(50_715, Value::signed_decimals(&[1.0; 3])),
            "damaged",
            "black levels are missing",
        ),
        (with_raw(50_829, Value::Longs(vec![0, 0, 45, 64])), "damaged", "active area"),
        (with_raw(50_829, Value::Longs(vec![9, 9, 9, 9])), "damaged", "active area"),
        (with_raw(50_720, Value::Longs(vec![65, 40])), "damaged", "crop"),
        (with_raw(50_720, Value::Longs(vec![0, 0])), "damaged", "crop"),
        (with_raw(50_711, Value::short(2)), "unsupported-format", "staggered"),
        (with_raw(50_710, Value::Bytes(vec![0, 1, 2, 6])), "unsupported-format", "four colours"),
        (with_raw(50_710, Value::Bytes(vec![3, 4, 5])), "damaged", "does not name"),
        (with_raw(339, Value::short(3)), "unsupported-format", "floating-point"),
        (with_main(50_707, Value::Bytes(vec![1, 9, 0, 0])), "unsupported-format", "newer kind"),
    ];
    for (bytes, wanted, words) in cases {
        let Err(error) = read(&bytes) else { panic!("was read in spite of: {words}") };
        assert_eq!(error.code(), wanted, "{error}");
        assert!(error.to_string().contains(words), "{error} does not say {words}");
    }
}

#[test]
fn black_levels_must_be_as_many_as_they_say() {
    let mut few = file(busy(64, 44, 1, 12));
    few.raw_tags.push((50_713, Value::Shorts(vec![2, 2])));
    assert_eq!(code(&few.bytes()), "read", "without any they are zero");
    few.raw_tags.push((50_714, Value::Shorts(vec![1, 2])));
    assert_eq!(code(&few.bytes()), "damaged");
}

/// The bytes of a file with an entry's first value overwritten in place.
fn patched(tag: u16, value: u32) -> Vec<u8> {
    let mut bytes = file(busy(64, 44, 1, 12)).bytes();
    let mut patches = 0;
    let count = usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
    for entry in 0..count {
        let at = 10 + 12 * entry;
        if u16::from_le_bytes([bytes[at], bytes[at + 1]]) == tag {
            let short = bytes[at + 2] == 3;
            let value = if short { value & 0xFFFF } else { value };
            bytes[at + 8..at + 12].copy_from_slice(&value.to_le_bytes());
            patches += 1;
        }
    }
    assert_eq!(patches, 1, "tag {tag}");
    bytes
}

#[test]
fn absurd_sizes_are_refused_before_anything_is_allocated() {
    let cases = [
        (256, u32::MAX, "too-large"),
        (257, u32::MAX, "too-large"),
        (256, 4_000_000, "damaged"),
        (256, 0, "damaged"),
        (277, 60_000, "damaged"),
        (258, 0, "damaged"),
        (258, 32, "unsupported-format"),
        (259, 34_892, "unsupported-format"),
        (259, 52_546, "unsupported-format"),
        (262, 34_892, "unsupported-format"),
        (278, 0, "damaged"),
        (278, 1, "damaged"),
        (273, u32::MAX, "truncated"),
        (279, u32::MAX, "truncated"),
        (279, 3, "damaged"),
    ];
    for (tag, value, wanted) in cases {
        assert_eq!(code(&patched(tag, value)), wanted, "tag {tag} = {value}");
    }
    // A tile a pixel, and tiles far larger than the picture.
    let flat =
        RawSamples { width: 1024, height: 1024, planes: 1, bits: 8, samples: vec![9; 1 << 20] };
    let tiles = DngFile { division: Division::Tiles(16, 16), ..file(flat) };
    for side in [1, 60_000] {
        let mut bytes = tiles.bytes();
        let count = usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
        for entry in 0..count {
            let at = 10 + 12 * entry;
            if [322, 323].contains(&u16::from_le_bytes([bytes[at], bytes[at + 1]])) {
                bytes[at + 8..at + 12].copy_from_slice(&u32::to_le_bytes(side));
            }
        }
        assert_eq!(code(&bytes), "damaged", "{side}");
    }
    let mut limited = ReadOptions::default();
    limited.max_pixels = 100;
    let error = read_bytes(&file(busy(32, 32, 1, 8)).bytes(), &limited).expect_err("too large");
    assert_eq!(error.code(), "too-large");
}

#[test]
fn directories_that_run_in_circles_end() {
    let mut looped = file(busy(64, 44, 1, 12));
    looped.main_tags.push((330, Value::Longs(vec![8; 200])));
    assert_eq!(code(&looped.bytes()), "read");
    let mut bytes = file(busy(64, 44, 1, 12)).bytes();
    let count = usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
    bytes[10 + 12 * count] = 8;
    assert_eq!(code(&bytes), "read");
}

#[test]
fn altered_bytes_never_panic() {
    // Every byte of the directories in turn, to what breaks most.
    let mut codes: BTreeMap<&str, u32> = BTreeMap::new();
    for packing in packings() {
        let whole =
            DngFile { packing, division: Division::Strips(16), ..file(busy(32, 32, 1, 14)) }
                .bytes();
        for place in 0..900.min(whole.len()) {
            for value in [0, 1, 0x7F, 0xFF] {
                let mut bytes = whole.clone();
                bytes[place] = value;
                *codes.entry(code(&bytes)).or_default() += 1;
            }
        }
    }
    assert_eq!(codes.get("internal"), None, "{codes:?}");
    assert!(codes["read"] > 100 && codes["damaged"] > 100, "{codes:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 600, ..ProptestConfig::default() })]

    #[test]
    fn any_few_altered_bytes_never_panic(
        packing in 0..3_usize,
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..12),
        cut in any::<prop::sample::Index>(),
        cuts in any::<bool>(),
    ) {
        let whole = DngFile {
            packing: packings()[packing],
            division: Division::Tiles(16, 16),
            ..file(busy(48, 32, 1, 12))
        };
        let mut bytes = whole.bytes();
        for (place, value) in changes {
            let place = place.index(bytes.len());
            bytes[place] = value;
        }
        if cuts {
            bytes.truncate(cut.index(bytes.len()));
        }
        prop_assert_ne!(code(&bytes), "internal");
    }

    #[test]
    fn lossless_data_of_any_kind_never_panics(
        data in prop::collection::vec(any::<u8>(), 0..400),
        place in any::<prop::sample::Index>(),
    ) {
        let packing = Packing::LosslessJpeg(LosslessJpeg::default());
        let mut bytes = DngFile { packing, ..file(busy(48, 32, 1, 12)) }.bytes();
        // Anywhere in the compressed picture, its headers included.
        let start = bytes.windows(2).position(|pair| pair == [0xFF, 0xD8]).expect("a picture");
        let at = start + place.index(bytes.len() - start);
        for (byte, new) in bytes[at..].iter_mut().zip(data) {
            *byte = new;
        }
        prop_assert_ne!(code(&bytes), "internal");
    }
}
