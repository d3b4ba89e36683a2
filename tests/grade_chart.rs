//! The 24-patch chart that fits are judged on, from its published reflectances.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use mirecast::colour::{Adaptation, Xyz, illuminants, spectrum_to_xyz};
use mirecast::grade::chart;

/// The rows of a table of numbers.
fn numbers(text: &str) -> Vec<Vec<f64>> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let row = |row: csv::StringRecord| row.iter().map(|field| field.parse().unwrap()).collect();
    reader.records().map(|record| row(record.unwrap())).collect()
}

#[test]
fn the_chart_is_that_of_its_reflectances_under_d65() {
    let text = include_str!("data/illuminants-spd-5nm.csv");
    let names = text.lines().find(|line| line.starts_with("nm,")).unwrap();
    let d65 = names.split(',').position(|name| name == "D65").unwrap();
    let light = numbers(text);
    let patches = numbers(include_str!("data/chart-24-reflectance-5nm.csv"));
    assert_eq!((patches.len(), patches[0].len()), (65, 25));
    let sum = |reflectance: &dyn Fn(usize) -> f64| {
        let samples = light.iter().enumerate().map(|(i, row)| (row[0], row[d65] * reflectance(i)));
        spectrum_to_xyz(&samples.collect::<Vec<_>>()).unwrap()
    };
    let white = sum(&|_| 1.0);
    let to_encoding = |colour: Xyz| {
        let scale = white.y.recip();
        let target = illuminants::ENCODING_D65.to_xyz();
        Adaptation::Cat16.adapt(colour * scale, white * scale, target)
    };
    for (patch, known) in chart().into_iter().enumerate() {
        let wanted = to_encoding(sum(&|i| {
            assert_eq!(patches[i][0], light[i][0], "the same wavelengths");
            patches[i][patch + 1]
        }));
        for (known, wanted) in [(known.x, wanted.x), (known.y, wanted.y), (known.z, wanted.z)] {
            assert!((known - wanted).abs() < 1e-5, "patch {}: {known} is not {wanted}", patch + 1);
        }
    }
}
