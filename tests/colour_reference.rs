//! The colour layer against reference tables.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use mirecast::colour::{
    Adaptation, CIE_1931_2DEG_1NM, CctDuv, FIRST_NM, Kelvin, LAST_NM, Lab, Xy, Xyz, chromaticity,
    daylight, delta_e_2000, illuminants, planckian, spectrum_to_xyz,
};

/// The rows of a table under `tests/data`: its first column as text, the others as numbers.
/// Lines that begin with `#` say where it is from, the next names the columns.
fn table(text: &str) -> Vec<(String, Vec<f64>)> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            let numbers = record.iter().skip(1).map(|field| field.parse().unwrap()).collect();
            (record[0].to_owned(), numbers)
        })
        .collect()
}

/// The rows of a table of numbers only.
fn numbers(text: &str) -> Vec<Vec<f64>> {
    table(text)
        .into_iter()
        .map(|(first, mut rest)| {
            rest.insert(0, first.parse().unwrap());
            rest
        })
        .collect()
}

fn kelvin(value: f64) -> Kelvin {
    Kelvin::new(value).unwrap()
}

#[test]
fn observer_is_the_published_table() {
    let rows = numbers(include_str!("data/cie1931-2deg-1nm.csv"));
    assert_eq!(rows.len(), CIE_1931_2DEG_1NM.len());
    for ((row, nm), functions) in rows.iter().zip(FIRST_NM..=LAST_NM).zip(CIE_1931_2DEG_1NM) {
        assert_eq!(row[0], f64::from(nm));
        assert_eq!(row[1..], functions, "{nm} nm");
    }
}

#[test]
fn planckian_locus_matches_to_its_last_digit() {
    let rows = numbers(include_str!("data/planckian-locus.csv"));
    assert_eq!(rows.len(), 67);
    for row in rows {
        let uv = planckian::uv(kelvin(row[0]));
        assert!((uv.u - row[1]).abs() < 5.1e-11, "{row:?} {uv:?}");
        assert!((uv.v - row[2]).abs() < 5.1e-11, "{row:?} {uv:?}");
    }
}

#[test]
fn daylight_locus_matches_to_its_last_digit() {
    let rows = numbers(include_str!("data/daylight-locus.csv"));
    assert_eq!(rows.len(), 85);
    for row in rows {
        let xy = daylight::xy(kelvin(row[0])).unwrap();
        assert!((xy.x - row[1]).abs() < 5.1e-9, "{row:?} {xy:?}");
        assert!((xy.y - row[2]).abs() < 5.1e-9, "{row:?} {xy:?}");
    }
}

#[test]
fn cct_and_duv_match_brute_force() {
    let rows = numbers(include_str!("data/cct-duv.csv"));
    assert_eq!(rows.len(), 325);
    for row in rows {
        let found = CctDuv::from_xy(Xy::new(row[0], row[1])).unwrap();
        let miss = found.cct.mired() - kelvin(row[2]).mired();
        // Half a unit of the table's last digits: nine of kelvin, seven decimals of Duv.
        assert!(miss.abs().get() < 1e-5, "{row:?} {found:?} {miss:?}");
        assert!((found.duv.get() - row[3]).abs() < 1e-8, "{row:?} {found:?}");
    }
}

#[test]
fn illuminants_have_their_cct_and_duv() {
    let rows = table(include_str!("data/illuminants.csv"));
    assert_eq!(rows.len(), 33);
    for (name, row) in rows {
        let found = CctDuv::from_xy(Xy::new(row[0], row[1])).unwrap();
        // The coordinates have seven decimals, which at 7500 K is a hundredth of a kelvin.
        assert!((found.cct.get() - row[2]).abs() < 0.02, "{name} {row:?} {found:?}");
        assert!((found.duv.get() - row[3]).abs() < 5.2e-6, "{name} {row:?} {found:?}");
    }
}

#[test]
fn preset_whites_are_the_illuminants() {
    let rows = table(include_str!("data/illuminants.csv"));
    let named = [
        ("A", illuminants::A),
        ("D50", illuminants::D50),
        ("D55", illuminants::D55),
        ("D65", illuminants::D65),
        ("D75", illuminants::D75),
        ("FL2", illuminants::FL2),
    ];
    for (name, white) in named {
        let (_, row) = rows.iter().find(|(row, _)| row == name).unwrap();
        // Five decimals, from tables at other wavelength steps than the reference's.
        assert!((white.x - row[0]).abs() < 3e-5, "{name} {white:?} {row:?}");
        assert!((white.y - row[1]).abs() < 3e-5, "{name} {white:?} {row:?}");
    }
    let white = chromaticity(illuminants::PCS_D50).unwrap();
    assert!((white.x - illuminants::D50.x).abs() < 5e-5, "{white:?}");
    assert!((white.y - illuminants::D50.y).abs() < 5e-5, "{white:?}");
}

/// Standard daylight of `nominal` kelvin as the committee meant it, before c₂ was changed.
fn standard_daylight(nominal: f64) -> [(f64, f64); 54] {
    daylight::daylight_spd(kelvin(nominal * 1.4388 / 1.4380)).unwrap()
}

const DAYLIGHTS: [(&str, f64); 5] =
    [("D50", 5000.0), ("D55", 5500.0), ("D60", 6000.0), ("D65", 6500.0), ("D75", 7500.0)];

#[test]
fn daylight_spectra_are_the_standard_ones() {
    let text = include_str!("data/illuminants-spd-5nm.csv");
    let header = text.lines().find(|line| !line.starts_with('#')).unwrap();
    let rows = numbers(text);
    assert_eq!(rows.len(), 65);
    for (name, nominal) in DAYLIGHTS {
        let column = header.split(',').position(|column| column == name).unwrap();
        let spectrum = standard_daylight(nominal);
        let mut compared = 0;
        for &(nm, value) in &spectrum {
            let Some(row) = rows.iter().find(|row| row[0] == nm) else { continue };
            // The published spectra are of M₁ and M₂ rounded to three decimals.
            assert!((value - row[column]).abs() < 0.03, "{name} {nm} nm: {value}, {row:?}");
            compared += 1;
        }
        assert_eq!(compared, 33);
    }
}

#[test]
fn daylight_spectra_have_the_chromaticity_of_the_illuminants() {
    let rows = table(include_str!("data/illuminants.csv"));
    for (name, nominal) in DAYLIGHTS {
        let white = spectrum_to_xyz(&standard_daylight(nominal)).and_then(chromaticity).unwrap();
        let (_, row) = rows.iter().find(|(row, _)| row == name).unwrap();
        assert!((white.x - row[0]).abs() < 3e-5, "{name} {white:?} {row:?}");
        assert!((white.y - row[1]).abs() < 3e-5, "{name} {white:?} {row:?}");
    }
}

#[test]
fn spectra_of_lamps_have_nearly_their_chromaticity() {
    let text = include_str!("data/illuminants-spd-5nm.csv");
    let header: Vec<&str> =
        text.lines().find(|line| !line.starts_with('#')).unwrap().split(',').collect();
    let rows = numbers(text);
    let lamps = table(include_str!("data/illuminants.csv"));
    assert_eq!(lamps.len(), header.len() - 1);
    for (name, lamp) in lamps {
        let column = header.iter().position(|column| *column == name).unwrap();
        let samples: Vec<(f64, f64)> = rows.iter().map(|row| (row[0], row[column])).collect();
        let white = spectrum_to_xyz(&samples).and_then(chromaticity).unwrap();
        // These spectra end at 400 and 720 nm, which costs up to 0.0005.
        assert!((white.x - lamp[0]).abs() < 2e-4, "{name} {white:?} {lamp:?}");
        assert!((white.y - lamp[1]).abs() < 5e-4, "{name} {white:?} {lamp:?}");
    }
}

#[test]
fn adaptation_matches_its_vectors() {
    let rows = table(include_str!("data/adaptation.csv"));
    assert_eq!(rows.len(), 40);
    for (name, row) in rows {
        let adaptation = match name.as_str() {
            "CAT16" => Adaptation::Cat16,
            "Bradford" => Adaptation::Bradford,
            other => panic!("unknown transform {other}"),
        };
        let at = |index: usize| Xyz::new(row[index], row[index + 1], row[index + 2]);
        let (found, wanted) = (adaptation.adapt(at(0), at(3), at(6)), at(9));
        let pairs = [(found.x, wanted.x), (found.y, wanted.y), (found.z, wanted.z)];
        for (found, wanted) in pairs {
            // Nine digits went in and came out.
            let tolerance = 1e-8 * wanted.abs().max(1.0);
            assert!((found - wanted).abs() < tolerance, "{name} {row:?} {found}");
        }
    }
}

#[test]
fn delta_e_2000_matches_its_vectors() {
    let rows = numbers(include_str!("data/delta-e-2000.csv"));
    assert_eq!(rows.len(), 60);
    let mut opposite = 0;
    for row in rows {
        let (first, second) = (Lab::new(row[0], row[1], row[2]), Lab::new(row[3], row[4], row[5]));
        // Six decimals of the difference.
        let close = |first, second| (delta_e_2000(first, second) - row[6]).abs() < 6e-7;
        if (first.a, first.b) == (-second.a, -second.b) {
            // The formula jumps where hues are opposite, so there rounding chose the table's side.
            let sides = [-1e-9, 1e-9].map(|turn| Lab::new(row[3], row[4], row[5] * (1.0 + turn)));
            assert!(sides.into_iter().any(|side| close(first, side)), "{row:?}");
            opposite += 1;
        } else {
            assert!(close(first, second), "{row:?}");
            assert!(close(second, first), "{row:?} the other way");
        }
    }
    assert_eq!(opposite, 6);
}

/// Where the mean of opposite hues lies must not hang on rounding: it is half way, not beyond.
#[test]
fn opposite_hues_have_one_difference() {
    for row in numbers(include_str!("data/delta-e-2000.csv")) {
        let (first, second) =
            (Lab::new(row[0], row[1], row[2]), Lab::new(row[0], -row[1], -row[2]));
        let found = delta_e_2000(first, second);
        for lightness in [-1e-9, 1e-9] {
            let nearby = Lab::new(row[0] + lightness, -row[1], -row[2]);
            assert!((delta_e_2000(first, nearby) - found).abs() < 1e-6, "{row:?}");
        }
        for scale in [1.0 - 1e-13, 1.0 + 1e-13] {
            let nearby = Lab::new(row[0], -row[1] * scale, -row[2]);
            assert!((delta_e_2000(first, nearby) - found).abs() < 1e-6, "{row:?}");
        }
    }
}
