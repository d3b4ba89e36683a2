//! Files cut short, changed or made to mislead: an error each, and soon.

use std::time::{Duration, Instant};

use super::super::error::{Damage, Unsupported};
use super::super::{Unread, read};
use super::writer::Sketch;
use super::{FIXTURES, Numbers};

/// No file of these sizes may take longer, on any machine and unoptimised.
const SOON: Duration = Duration::from_secs(10);

fn read_soon(bytes: &[u8]) -> Result<(), Unread> {
    let start = Instant::now();
    let result = read(bytes).map(drop);
    assert!(start.elapsed() < SOON, "{:?} for {} bytes", start.elapsed(), bytes.len());
    result
}

fn sketches() -> Vec<Vec<u8>> {
    let sketch =
        |frame, restart| Sketch { frame, restart, refinements: 1, ..Sketch::default() }.write().0;
    vec![sketch(0xC0, 0), sketch(0xC0, 2), sketch(0xC2, 0), sketch(0xC2, 3)]
}

fn files() -> Vec<Vec<u8>> {
    FIXTURES.iter().map(|(_, jpeg)| jpeg.to_vec()).chain(sketches()).collect()
}

/// The offset of the last marker of a kind.
fn last(marker: u8, file: &[u8]) -> usize {
    file.windows(2).rposition(|pair| pair == [0xFF, marker]).unwrap()
}

#[test]
fn every_prefix_is_known_to_be_one() {
    for file in files() {
        let whole = read(&file).unwrap();
        let mut read_whole = false;
        for length in 0..file.len() {
            match read(&file[..length]) {
                Err(error) => {
                    let expected = if length < 2 { Unread::NotJpeg } else { Unread::Truncated };
                    assert_eq!(error, expected, "{length} of {}", file.len());
                    assert!(!read_whole, "once whole, longer prefixes are as well");
                }
                Ok(found) => {
                    // Only ever all of it, and only once the last scan of means is over.
                    assert_eq!(found, whole);
                    read_whole = true;
                }
            }
        }
        assert!(read_whole, "the end marker is not needed");
    }
}

#[test]
fn changed_bytes() {
    const SEED: u64 = 20_240_611;
    let mut numbers = Numbers(SEED);
    let (mut refused, mut total) = (0, 0);
    for file in files() {
        for _ in 0..1_000 {
            let mut changed = file.clone();
            for _ in 0..=numbers.below(4) {
                let place = numbers.below(changed.len());
                match numbers.below(5) {
                    0 => changed[place] = 0xFF,
                    1 => changed[place] ^= 1 << numbers.below(8),
                    2 => changed[place] = numbers.next() as u8,
                    3 => drop(changed.remove(place)),
                    _ => changed.insert(place, numbers.next() as u8),
                }
            }
            refused += usize::from(read_soon(&changed).is_err());
            total += 1;
        }
    }
    assert_eq!(total, 15_000);
    // Not every change can be seen, but most leave a block too many, a code too long, or data over.
    assert!(refused * 2 > total, "{refused} of {total}");
}

#[test]
fn changed_headers() {
    // Where a byte means most: everything before the first scan.
    for file in sketches() {
        let scan = file.windows(2).position(|pair| pair == [0xFF, 0xDA]).unwrap() + 14;
        for place in 0..scan {
            let flips = (0..8).map(|bit| file[place] ^ (1 << bit));
            let steps = [1, 255].map(|step| file[place].wrapping_add(step));
            for value in flips.chain(steps).chain([0, 1, 16, 127, 128, 255]) {
                let mut changed = file.clone();
                changed[place] = value;
                let _ = read_soon(&changed);
            }
        }
    }
}

#[test]
fn noise_behind_a_start_marker() {
    let mut numbers = Numbers(99);
    for length in 0..2_000 {
        let mut bytes = vec![0xFF, 0xD8];
        bytes.extend((0..length).map(|_| numbers.next() as u8));
        assert!(read_soon(&bytes).is_err());
    }
}

#[test]
fn huge_sizes_cost_nothing() {
    for (width, height) in [(65_535, 65_535), (65_535, 7_000), (1, 65_535), (65_535, 1)] {
        for file in sketches() {
            let mut changed = file.clone();
            let frame = file.windows(2).position(|p| matches!(p, [0xFF, 0xC0 | 0xC2])).unwrap();
            changed[frame + 5..frame + 7].copy_from_slice(&u16::to_be_bytes(height));
            changed[frame + 7..frame + 9].copy_from_slice(&u16::to_be_bytes(width));
            assert!(read_soon(&changed).is_err());
        }
    }
}

#[test]
fn long_runs_of_the_same_bytes() {
    for file in sketches() {
        let scan = last(0xDA, &file);
        for pattern in [&[0xFF, 0x00][..], &[0xFF], &[0x00], &[0xFF, 0xD0], &[0xFF, 0xFE, 0, 2]] {
            for place in [2, scan, scan + 14, file.len() - 2] {
                let run = pattern.repeat((1 << 20) / pattern.len());
                let _ = read_soon(&[&file[..place], &run, &file[place..]].concat());
            }
        }
        // A table, over and over.
        let tables = last(0xC4, &file);
        let table = &file[tables..tables + 65];
        let many = [&file[..tables], &table.repeat(10_000), &file[tables..]].concat();
        assert_eq!(read_soon(&many), Ok(()));
    }
}

#[test]
fn says_what_is_not_read() {
    let file = Sketch::default().write().0;
    let frame = last(0xC0, &file);
    let as_frame = |marker: u8| {
        let mut changed = file.clone();
        changed[frame + 1] = marker;
        read_soon(&changed)
    };
    let unsupported = |what: Unsupported| Err(Unread::Unsupported(what));
    assert_eq!(as_frame(0xC0), Ok(()));
    assert_eq!(as_frame(0xC1), Ok(()));
    assert_eq!(as_frame(0xC3), unsupported(Unsupported::Lossless));
    assert_eq!(as_frame(0xF7), unsupported(Unsupported::Lossless));
    for marker in [0xC5, 0xC6, 0xC7, 0xDE, 0xDF] {
        assert_eq!(as_frame(marker), unsupported(Unsupported::Hierarchical));
    }
    for marker in [0xC9, 0xCA, 0xCB, 0xCC, 0xCD, 0xCE, 0xCF] {
        assert_eq!(as_frame(marker), unsupported(Unsupported::Arithmetic));
    }
    assert_eq!(read_soon(b"\x89PNG\r\n\x1a\n"), Err(Unread::NotJpeg));
    assert_eq!(read_soon(b""), Err(Unread::NotJpeg));
    let cmyk = include_bytes!("../../../../tests/data/still/cmyk.jpg");
    assert_eq!(read_soon(cmyk), unsupported(Unsupported::Components(4)));
}

#[test]
fn says_what_is_damaged() {
    let sketch = Sketch::default();
    let file = sketch.write().0;
    let damaged = |what: Damage| Err(Unread::Damaged(what));
    let without = |marker: u8| {
        let start = last(marker, &file);
        let length = 2 + usize::from(u16::from_be_bytes([file[start + 2], file[start + 3]]));
        [&file[..start], &file[start + length..]].concat()
    };
    assert_eq!(read_soon(&without(0xDB)), damaged(Damage::NoQuantisation));
    assert_eq!(read_soon(&without(0xC4)), damaged(Damage::NoHuffman));
    assert_eq!(read_soon(&without(0xC0)), damaged(Damage::NoFrame));
    assert_eq!(read_soon(&[&file[..2], &file[..]].concat()), damaged(Damage::SecondFrame));

    let mut no_step = file.clone();
    no_step[last(0xDB, &file) + 5] = 0;
    assert_eq!(read_soon(&no_step), damaged(Damage::NoQuantisation));

    let mut overfull = file.clone();
    // Three codes of one bit, in the place of three longer ones.
    let counts = last(0xC4, &file) + 5;
    overfull[counts..counts + 4].copy_from_slice(&[3, 0, 0, 0]);
    assert_eq!(read_soon(&overfull), damaged(Damage::Overfull));

    // All ones is a code that these tables have not.
    let data = last(0xDA, &file) + 14;
    let no_code = [&file[..data], &[0xFF, 0x00, 0xFF, 0x00, 0xFF, 0x00], &file[data..]].concat();
    assert_eq!(read_soon(&no_code), damaged(Damage::Code));

    let short = [&file[..data + 40], &[0xFF, 0xD9]].concat();
    assert!(matches!(read_soon(&short), Err(Unread::Damaged(_))), "{:?}", read_soon(&short));

    let end = file.len() - 2;
    let long = [&file[..end], &[0x12, 0x34, 0x56], &file[end..]].concat();
    assert_eq!(read_soon(&long), damaged(Damage::ScanLong));

    // Two scans of the same component, and a scan missing.
    let apart = Sketch { interleaved: false, ..sketch.clone() }.write().0;
    let third = last(0xDA, &apart);
    let incomplete = [&apart[..third], &[0xFF, 0xD9]].concat();
    assert_eq!(read_soon(&incomplete), damaged(Damage::Incomplete));
    let twice = {
        let mut changed = apart.clone();
        changed[third + 5] = 1;
        changed
    };
    assert_eq!(read_soon(&twice), damaged(Damage::Scan));

    // The lowest bits never come.
    let progressive = Sketch { frame: 0xC2, refinements: 1, ..sketch.clone() }.write().0;
    let coarse = [&progressive[..last(0xDA, &progressive)], &[0xFF, 0xD9]].concat();
    assert_eq!(read_soon(&coarse), damaged(Damage::Incomplete));

    let crowded = Sketch { factors: vec![(4, 2), (2, 1), (1, 1)], ..sketch }.write().0;
    assert_eq!(read_soon(&crowded), damaged(Damage::Scan));
}

#[test]
fn restart_markers_must_be_those_due() {
    let file = Sketch { restart: 2, ..Sketch::default() }.write().0;
    assert_eq!(read_soon(&file), Ok(()));
    let first = last(0xD0, &file);
    let mut other = file.clone();
    other[first + 1] = 0xD3;
    assert_eq!(read_soon(&other), Err(Damage::Restart.into()));
    let long = [&file[..first], &[0x55], &file[first..]].concat();
    assert_eq!(read_soon(&long), Err(Damage::ScanLong.into()));
    let missing = [&file[..first], &file[first + 2..]].concat();
    assert!(matches!(read_soon(&missing), Err(Unread::Damaged(_))));
}
