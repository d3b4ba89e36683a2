//! Means that are known to the last bit.

use super::super::colour::ColourModel;
use super::super::{BlockMeans, Plane, read};
use super::writer::{Detail, Sketch};

/// Checks every mean of a sketch against what was written; returns how many there were.
fn check(sketch: &Sketch) -> usize {
    let (file, grids) = sketch.write();
    let found = read(&file).unwrap_or_else(|error| panic!("{sketch:?}: {error:?}"));
    assert_eq!((found.width, found.height), (sketch.width.into(), sketch.height.into()));
    assert_eq!(found.components.len(), grids.len());
    let most = sketch.most_factors();
    let mut count = 0;
    for ((plane, grid), factors) in found.components.iter().zip(&grids).zip(&sketch.factors) {
        assert_eq!((plane.columns, plane.rows), (grid.columns, grid.rows), "{sketch:?}");
        assert_eq!(plane.block_width, 8.0 * most.0 as f64 / factors.0 as f64);
        assert_eq!(plane.block_height, 8.0 * most.1 as f64 / factors.1 as f64);
        for row in 0..grid.rows {
            let means: Vec<f32> = plane.means(row).collect();
            let expected: Vec<f32> = (0..grid.columns)
                .map(|column| grid.at(column, row) as f32 * f32::from(sketch.step) / 8.0 + 128.0)
                .collect();
            assert_eq!(means, expected, "row {row} of {sketch:?}");
            count += means.len();
        }
        assert_eq!(plane.means(grid.rows).count(), 0);
    }
    count
}

/// All factors from 1 to 4, as pairs.
fn factors() -> impl Iterator<Item = (usize, usize)> {
    (1..=4).flat_map(|across| (1..=4).map(move |down| (across, down)))
}

#[test]
fn every_sampling_in_every_process() {
    let mut samplings = 0;
    for first in factors() {
        for second in factors() {
            let blocks = first.0 * first.1 + second.0 * second.1 + 1;
            for frame in [0xC0, 0xC1, 0xC2] {
                let sketch = Sketch {
                    frame,
                    factors: vec![first, second, (1, 1)],
                    // Some do not fit into one interleaved unit.
                    interleaved: blocks <= 10,
                    refinements: 1,
                    ..Sketch::default()
                };
                assert!(check(&sketch) >= 3);
            }
            samplings += 1;
        }
    }
    assert_eq!(samplings, 256);
}

#[test]
fn every_size_to_beyond_a_unit() {
    for width in 1..=34 {
        for height in [1, 7, 8, 9, 15, 16, 17, 33] {
            for (frame, interleaved) in [(0xC0, true), (0xC0, false), (0xC2, true), (0xC2, false)] {
                check(&Sketch { frame, width, height, interleaved, ..Sketch::default() });
            }
        }
    }
}

/// Large enough for tables of several codes, and for data to be passed in two places at once.
#[test]
fn many_blocks() {
    for detail in [Detail::Flat, Detail::Busy] {
        for interleaved in [true, false] {
            for restart in [0, 3, 700] {
                let sketch = Sketch {
                    width: 523,
                    height: 461,
                    detail,
                    interleaved,
                    restart,
                    ..Sketch::default()
                };
                assert!(check(&sketch) > 5000);
            }
        }
    }
}

#[test]
fn restarts_wherever_they_fall() {
    for restart in 1..=40 {
        for (frame, interleaved) in [(0xC0, true), (0xC0, false), (0xC2, true), (0xC2, false)] {
            let sketch =
                Sketch { frame, interleaved, restart, refinements: 2, ..Sketch::default() };
            check(&sketch);
        }
    }
}

#[test]
fn bits_in_several_scans() {
    for refinements in 0..=9 {
        for seed in 0..10 {
            check(&Sketch { frame: 0xC2, refinements, seed, ..Sketch::default() });
        }
    }
}

#[test]
fn coefficients_and_steps_of_all_sizes() {
    for most in [0, 1, 7, 100, 1023] {
        for step in [1, 2, 255, 256, 1000, 65_535] {
            for detail in [Detail::Flat, Detail::Busy] {
                check(&Sketch { most, step, detail, ..Sketch::default() });
            }
        }
    }
}

#[test]
fn many_seeds() {
    let blocks: usize = (0..300)
        .map(|seed| check(&Sketch { width: 200, height: 100, seed, ..Sketch::default() }))
        .sum();
    assert!(blocks > 100_000);
}

#[test]
fn a_lone_component_is_read_block_by_block() {
    for factor in factors() {
        let sketch = Sketch { factors: vec![factor], ..Sketch::default() };
        assert_eq!(check(&sketch), 8 * 6);
        assert_eq!(read(&sketch.write().0).unwrap().colour, ColourModel::Grey);
    }
}

/// A picture of known levels, flat in each of the areas that one coarse block covers.
fn known(colour: ColourModel) -> BlockMeans {
    let identifiers = if colour == ColourModel::Rgb { *b"RGB" } else { [1, 2, 3] };
    let (file, _) = Sketch { identifiers, step: 1, most: 1000, ..Sketch::default() }.write();
    let found = read(&file).unwrap();
    assert_eq!(found.colour, colour);
    found
}

#[test]
fn colour_comes_from_the_block_each_component_has_there() {
    let picture = known(ColourModel::Rgb);
    let [red, green, blue] = picture.components.as_slice() else { panic!("three components") };
    for y in 0..picture.height {
        for x in 0..picture.width {
            let [x, y] = [x, y].map(|pixel| f64::from(pixel) + 0.5);
            let found = picture.rgb_at(x, y).unwrap();
            let (column, row) = ((x / 8.0) as usize, (y / 8.0) as usize);
            let coarse = |plane: &Plane| plane.mean(column / 2, row / 2).unwrap();
            let expected = [red.mean(column, row).unwrap(), coarse(green), coarse(blue)];
            assert_eq!(found, expected.map(|level| f64::from(level) / 255.0));
        }
    }

    let picture = known(ColourModel::YCbCr);
    let [luma, blue, red] =
        [0, 1, 2].map(|plane| f64::from(picture.components[plane].mean(0, 0).unwrap()));
    let found = picture.rgb_at(0.0, 0.0).unwrap().map(|level| level * 255.0);
    assert!((found[0] - (luma + 1.402 * (red - 128.0))).abs() < 1e-9);
    assert!((found[2] - (luma + 1.772 * (blue - 128.0))).abs() < 1e-9);
    // The factors of T.871 for green have six digits.
    let green = luma - 0.344_136 * (blue - 128.0) - 0.714_136 * (red - 128.0);
    assert!((found[1] - green).abs() < 1e-3);
}

#[test]
fn there_is_no_colour_outside() {
    let picture = known(ColourModel::YCbCr);
    let (width, height) = (f64::from(picture.width), f64::from(picture.height));
    assert!(picture.rgb_at(0.0, 0.0).is_some());
    assert!(picture.rgb_at(width - 1e-9, height - 1e-9).is_some());
    for (x, y) in [(width, 0.0), (0.0, height), (-1e-9, 0.0), (0.0, -1.0), (f64::NAN, 0.0)] {
        assert_eq!(picture.rgb_at(x, y), None);
    }
    assert_eq!(picture.rgb_at(0.0, f64::INFINITY), None);
}

#[test]
fn trailing_bytes_and_a_missing_end_change_nothing() {
    for frame in [0xC0, 0xC2] {
        let (file, _) = Sketch { frame, refinements: 1, ..Sketch::default() }.write();
        // Where reading ends does change with what is there.
        let read = |bytes: &[u8]| read(bytes).map(|means| BlockMeans { end: 0, ..means });
        let whole = read(&file).unwrap();
        assert_eq!(read(&file[..file.len() - 2]).as_ref(), Ok(&whole));
        assert_eq!(read(&[&file[..], &file[..]].concat()).as_ref(), Ok(&whole));
        // Whole bytes of padding before the end marker, as some encoders leave.
        for padding in [0x00, 0xAA] {
            let end = file.len() - 2;
            let padded = [&file[..end], &[padding; 100], &file[end..]].concat();
            assert_eq!(read(&padded).as_ref(), Ok(&whole));
        }
    }
}
