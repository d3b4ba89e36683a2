//! Raw files in every packing and with every kind of level give the same cells.

mod common;

use common::{NEUTRAL, busy, calibrations, file, read};
use lab::dng::{Division, DngFile, LosslessJpeg, Packing, RawSamples, colour_tags};
use lab::tiff::{ByteOrder, Value};
use mirecast::still::{Cell, Still};

#[track_caller]
fn still(file: &DngFile) -> Still {
    read(&file.bytes()).unwrap_or_else(|error| panic!("{error}"))
}

/// The mean of each channel in each cell, straight from the samples: no levels but a white.
fn expected(raw: &RawSamples, pattern: &[usize], repeat: usize, white: f64) -> Vec<[f64; 3]> {
    let mut cells = Vec::new();
    for top in (0..raw.height).step_by(repeat) {
        for left in (0..raw.width).step_by(repeat) {
            let mut sums = [(0.0, 0.0); 3];
            for (place, &colour) in pattern.iter().enumerate() {
                let (row, column) = (top + place / repeat, left + place % repeat);
                sums[colour].0 += f64::from(raw.samples[row * raw.width + column]) / white;
                sums[colour].1 += 1.0;
            }
            cells.push(std::array::from_fn(|c| sums[c].0 / sums[c].1 / NEUTRAL[c]));
        }
    }
    cells
}

#[track_caller]
fn assert_means(cells: &[Cell], expected: &[[f64; 3]], what: &str) {
    assert_eq!(cells.len(), expected.len(), "{what}");
    for (n, (cell, wanted)) in cells.iter().zip(expected).enumerate() {
        for (got, want) in cell.mean.iter().zip(wanted) {
            assert!((f64::from(*got) - want).abs() < 2e-6, "{what}, cell {n}: {got}, not {want}");
        }
    }
}

#[test]
fn every_depth_packing_and_division_gives_the_same_cells() {
    let jpeg = |predictor, components| {
        Packing::LosslessJpeg(LosslessJpeg { predictor, components, ..Default::default() })
    };
    let mut packings = vec![Packing::Plain];
    packings.extend((1..=7).flat_map(|predictor| [1, 2, 4].map(|count| jpeg(predictor, count))));
    packings.push(Packing::LosslessJpeg(LosslessJpeg { restart_lines: 3, ..Default::default() }));
    packings.extend([0, 1, 2, 4].map(|difference| Packing::Deflate { difference }));
    let mut read_files = 0;
    for bits in [8, 10, 12, 14, 16] {
        let raw = busy(64, 44, 1, bits);
        let cells = expected(&raw, &[0, 1, 1, 2], 2, f64::from(u16::MAX >> (16 - bits)));
        for packing in &packings {
            if matches!(packing, Packing::Deflate { difference: 1.. }) && !matches!(bits, 8 | 16) {
                continue;
            }
            for division in [Division::Strips(44), Division::Strips(10), Division::Tiles(32, 16)] {
                for order in [ByteOrder::LittleEndian, ByteOrder::BigEndian] {
                    let file = DngFile { packing: *packing, division, order, ..file(raw.clone()) };
                    let found = still(&file);
                    let what = format!("{bits} bits, {packing:?}, {division:?}, {order:?}");
                    assert_means(&found.frame.cells, &cells, &what);
                    assert_eq!((found.frame.width, found.frame.height), (64, 44), "{what}");
                    assert_eq!(u32::from(found.frame.bits), bits, "{what}");
                    read_files += 1;
                }
            }
        }
    }
    assert!(read_files > 600, "{read_files}");
}

#[test]
fn low_bits_left_out_by_the_coder_come_back_as_zeros() {
    let mut raw = busy(32, 32, 1, 14);
    raw.samples.iter_mut().for_each(|sample| *sample &= !7);
    let coding = LosslessJpeg { point_transform: 3, ..Default::default() };
    let packed = DngFile { packing: Packing::LosslessJpeg(coding), ..file(raw.clone()) };
    assert_eq!(still(&packed).frame.cells, still(&file(raw)).frame.cells);
}

#[test]
fn any_order_of_colours_and_larger_patterns_are_read() {
    for colours in [[0, 1, 1, 2], [1, 0, 2, 1], [1, 2, 0, 1], [2, 1, 1, 0]] {
        let raw = busy(40, 30, 1, 12);
        let mut file = file(raw.clone());
        file.mosaic = Some((2, 2, colours.map(|c| c as u8).to_vec()));
        assert_means(&still(&file).frame.cells, &expected(&raw, &colours, 2, 4095.0), "2 × 2");
    }
    let six = [
        1, 1, 0, 1, 1, 2, 1, 1, 2, 1, 1, 0, 2, 0, 1, 0, 2, 1, 1, 1, 2, 1, 1, 0, 1, 1, 0, 1, 1, 2,
        0, 2, 1, 2, 0, 1,
    ];
    let raw = busy(60, 36, 1, 14);
    let mut file = file(raw.clone());
    file.mosaic = Some((6, 6, six.map(|c| c as u8).to_vec()));
    let found = still(&file);
    assert_eq!(found.frame.cell, 6);
    assert_means(&found.frame.cells, &expected(&raw, &six, 6, 16_383.0), "6 × 6");
}

#[test]
fn the_file_may_have_its_colours_in_any_order_of_planes() {
    let raw = busy(20, 20, 1, 12);
    let plain = still(&file(raw.clone()));
    let mut turned = file(raw);
    // Blue, green, red: so are the rows of the matrices and the neutral.
    turned.raw_tags.push((50_710, Value::Bytes(vec![2, 1, 0])));
    let calibrations = calibrations().map(|(mut calibration, code)| {
        calibration.from_xyz.0.reverse();
        (calibration, code)
    });
    let [r, g, b] = NEUTRAL;
    turned.main_tags = colour_tags(&calibrations, Some([b, g, r]));
    let turned = still(&turned);
    assert_eq!(turned.frame.cells, plain.frame.cells);
    for (a, b) in turned
        .frame
        .encoding
        .to_xyz
        .as_flattened()
        .iter()
        .zip(plain.frame.encoding.to_xyz.as_flattened())
    {
        assert!((a - b).abs() < 1e-9, "{a} {b}");
    }
}

#[test]
fn linear_raw_has_all_channels_in_each_pixel() {
    let raw = busy(30, 20, 3, 16);
    for packing in [
        Packing::Plain,
        Packing::Deflate { difference: 1 },
        Packing::LosslessJpeg(LosslessJpeg { components: 3, ..Default::default() }),
    ] {
        let found = still(&DngFile { packing, ..file(raw.clone()) });
        assert_eq!(found.frame.cell, 1);
        let pixels = raw.samples.as_chunks::<3>().0;
        let wanted: Vec<[f64; 3]> = pixels
            .iter()
            .map(|pixel| std::array::from_fn(|c| f64::from(pixel[c]) / 65_535.0 / NEUTRAL[c]))
            .collect();
        assert_means(&found.frame.cells, &wanted, &format!("{packing:?}"));
    }
}

/// A flat picture: every place of the pattern stores what its own levels make of the same light.
fn levelled(table: bool) -> (DngFile, [f64; 3]) {
    const WHITE: f64 = 4000.0;
    let black = [200.0, 210.0, 190.0, 220.0];
    let across: Vec<f64> = (0..24).map(|column| f64::from(column) * 0.5).collect();
    let down: Vec<f64> = (0..16).map(|row| f64::from(row) * -0.5).collect();
    let light = [0.25, 0.5, 0.125];
    let span = WHITE - 220.0 - 11.5;
    let mut samples = Vec::new();
    for (row, down) in down.iter().enumerate() {
        for (column, across) in across.iter().enumerate() {
            let place = row % 2 * 2 + column % 2;
            let colour = [0, 1, 1, 2][place];
            let level = light[colour] * span + black[place] + across + down;
            // With the table the file stores twice as much.
            samples.push((level * if table { 2.0 } else { 1.0 }).round() as u16);
        }
    }
    let raw = RawSamples { width: 24, height: 16, planes: 1, bits: 16, samples };
    let mut file = file(raw);
    file.raw_tags = vec![
        (50_713, Value::Shorts(vec![2, 2])),
        (50_714, Value::decimals(&black)),
        (50_715, Value::signed_decimals(&across)),
        (50_716, Value::signed_decimals(&down)),
        (50_717, Value::short(WHITE as u16)),
    ];
    if table {
        let table = (0..=u16::MAX).map(|stored| stored / 2).take(9000).collect();
        file.raw_tags.push((50_712, Value::Shorts(table)));
    }
    (file, light)
}

#[test]
fn black_levels_repeat_and_vary_along_rows_and_columns() {
    for table in [false, true] {
        let (file, light) = levelled(table);
        let found = still(&file);
        assert_eq!(found.frame.cells.len(), 12 * 8);
        for cell in &found.frame.cells {
            for channel in 0..3 {
                let got = f64::from(cell.mean[channel]) * NEUTRAL[channel];
                assert!((got - light[channel]).abs() < 3e-4, "{got}, not {}", light[channel]);
            }
        }
    }
}

#[test]
fn masked_borders_are_left_out_and_the_pattern_starts_inside_them() {
    let inner = busy(30, 20, 1, 12);
    let (width, height, left, top) = (37, 26, 5, 3);
    let mut samples = vec![4095; width * height];
    for (row, line) in inner.samples.chunks(30).enumerate() {
        let start = (row + top) * width + left;
        samples[start..start + 30].copy_from_slice(line);
    }
    let mut masked = file(RawSamples { width, height, planes: 1, bits: 12, samples });
    masked.raw_tags.push((50_829, Value::Longs(vec![3, 5, 23, 35])));
    for division in [Division::Strips(4), Division::Tiles(16, 16)] {
        masked.division = division;
        let found = still(&masked);
        assert_eq!((found.frame.width, found.frame.height), (30, 20));
        assert_eq!(found.frame.cells, still(&file(inner.clone())).frame.cells);
    }
}

#[test]
fn the_default_crop_is_the_picture() {
    let raw = busy(40, 30, 1, 12);
    let mut cropped = file(raw.clone());
    cropped
        .raw_tags
        .extend([(50_719, Value::decimals(&[4.0, 6.0])), (50_720, Value::decimals(&[21.0, 16.0]))]);
    let found = still(&cropped);
    // Cut to whole repeats of the pattern.
    assert_eq!((found.frame.width, found.frame.height), (20, 16));
    let whole = still(&file(raw));
    for row in 0..8 {
        for column in 0..10 {
            assert_eq!(found.frame.get(column, row), whole.frame.get(column + 2, row + 3));
        }
    }
}

#[test]
fn turned_pictures_come_upright() {
    let raw = busy(40, 30, 1, 12);
    let plain = still(&file(raw.clone()));
    let mut turned = file(raw);
    turned.main_tags.push((274, Value::short(6)));
    let turned = still(&turned);
    assert_eq!((turned.frame.width, turned.frame.height), (30, 40));
    // The stored first row is the upright right column.
    assert_eq!(turned.frame.get(14, 3), plain.frame.get(3, 0));
    assert_eq!(turned.frame.get(0, 0), plain.frame.get(0, 14));
}

#[test]
fn the_raw_picture_is_read_and_not_its_preview() {
    let raw = busy(40, 30, 1, 12);
    let mut with_preview = file(raw.clone());
    with_preview.preview = true;
    for order in [ByteOrder::LittleEndian, ByteOrder::BigEndian] {
        with_preview.order = order;
        let found = still(&with_preview);
        assert_eq!(found.frame.cells, still(&file(raw.clone())).frame.cells);
    }
}

#[test]
fn saturation_is_told_for_each_channel() {
    let mut raw = busy(20, 20, 1, 12);
    // The red ones of the left half.
    for row in (0..20).step_by(2) {
        for column in (0..10).step_by(2) {
            raw.samples[row * 20 + column] = 4095;
        }
    }
    let found = still(&file(raw));
    for column in 0..10 {
        let share = f32::from(u8::from(column < 5));
        let cell = found.frame.get(column, 4).expect("is there");
        assert_eq!((cell.clipped, cell.clipped_channels), (share, [share, 0.0, 0.0]));
    }
}

#[test]
fn large_pictures_have_cells_of_whole_repeats() {
    let found = still(&file(busy(2000, 40, 1, 8)));
    assert_eq!((found.frame.cell, found.frame.columns, found.frame.rows), (6, 334, 7));
    assert!(found.frame.cells.iter().all(|cell| cell.weight > 0.0));
}

/// A gain map for the places of one phase of a 2 × 2 mosaic: `gains` at the four corners.
fn gain_map(size: [u32; 2], phase: [u32; 2], gains: [f32; 4]) -> Vec<u8> {
    let [width, height] = size;
    let [top, left] = phase;
    let longs = |numbers: &[u32]| numbers.iter().flat_map(|n| n.to_be_bytes()).collect::<Vec<u8>>();
    let mut parameters = longs(&[top, left, height, width, 0, 1, 2, 2, 2, 2]);
    // One spacing from edge to edge, from the very edge on.
    parameters.extend([1.0_f64, 1.0, 0.0, 0.0].iter().flat_map(|n| n.to_be_bytes()));
    parameters.extend(longs(&[1]));
    parameters.extend(gains.iter().flat_map(|gain| gain.to_be_bytes()));
    [longs(&[9, 0x0103_0000, 0, parameters.len() as u32]), parameters].concat()
}

#[test]
fn gain_maps_undo_what_the_lens_took_from_each_colour() {
    let (width, height) = (40, 30);
    let light = [0.2, 0.4, 0.3];
    // Red falls off to the right by half; green and blue stay.
    let fall = |column: usize| 1.0 + (column as f64 + 0.5) / 40.0;
    let samples = (0..width * height)
        .map(|i| {
            let (row, column) = (i / width, i % width);
            let colour = [0, 1, 1, 2][row % 2 * 2 + column % 2];
            let seen = light[colour] / if colour == 0 { fall(column) } else { 1.0 };
            (seen * 65_535.0).round() as u16
        })
        .collect();
    let mut shaded = file(RawSamples { width, height, planes: 1, bits: 16, samples });
    let uneven = still(&shaded);
    let red = |still: &Still| {
        let cells = &still.frame.cells;
        cells.iter().map(|cell| f64::from(cell.mean[0]) * NEUTRAL[0]).collect::<Vec<f64>>()
    };
    assert!(red(&uneven).iter().any(|value| *value < 0.11));
    let map = gain_map([40, 30], [0, 0], [1.0, 2.0, 1.0, 2.0]);
    // An opcode that is not known comes before it, and the order of bytes is the list's own.
    let unknown = [15_u32, 0x0103_0000, 1, 4, 77].map(u32::to_be_bytes).concat();
    let list = [&2_u32.to_be_bytes()[..], &unknown, &map].concat();
    for order in [ByteOrder::LittleEndian, ByteOrder::BigEndian] {
        shaded.order = order;
        shaded.raw_tags = vec![(51_009, Value::Undefined(list.clone()))];
        let even = still(&shaded);
        for (cell, before) in even.frame.cells.iter().zip(&uneven.frame.cells) {
            assert_eq!(cell.mean[1..], before.mean[1..]);
        }
        for value in red(&even) {
            assert!((value - light[0]).abs() < 1e-4, "{value}");
        }
    }
    for cut in (0..list.len()).step_by(7) {
        shaded.raw_tags = vec![(51_009, Value::Undefined(list[..cut].to_vec()))];
        let error = read(&shaded.bytes()).expect_err("is refused");
        assert_eq!(error.code(), "damaged", "cut at {cut}");
    }
}
