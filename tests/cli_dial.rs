//! `mirecast dial` from the outside.

mod cli_common;
mod still_common;

use cli_common::{Shoot, card, recorded, white_card};
use exif::Tag;
use image::ImageFormat;
use still_common::{Extras, ascii, encode, exif_block};

/// A card that came out as `rgb`, whose file says nothing.
fn silent(rgb: [f64; 3]) -> Vec<u8> {
    encode(&card(rgb), ImageFormat::Jpeg, Extras::default())
}

/// One card in one light at three settings: orange, nearly neutral, blue.
fn shoot() -> Shoot {
    Shoot::new()
        .with("a.jpg", &silent([0.58, 0.55, 0.49]))
        .with("b.jpg", &silent([0.55, 0.55, 0.545]))
        .with("c.jpg", &silent([0.52, 0.55, 0.61]))
        .with("white.jpg", &white_card())
}

const BRACKET: [&str; 3] = ["a.jpg@5600K", "b.jpg@5000K", "c.jpg@4500K"];

#[test]
fn the_neutral_setting_is_found_between_those_taken() {
    let mut words = vec!["dial", "--format", "json"];
    words.extend(BRACKET);
    let run = shoot().run(&words);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let [record] = &run.records()[..] else { panic!("one document") };
    let neutral = &record["neutral_at"];
    let kelvin = neutral["kelvin"].as_f64().unwrap();
    assert!((4600.0..5300.0).contains(&kelvin), "{neutral}");
    let ends = [0, 1].map(|end| neutral["kelvin_interval"][end].as_f64().unwrap());
    assert!(ends[0] < kelvin && kelvin < ends[1]);
    let settings: Vec<_> = record["photos"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["setting_kelvin"].as_f64().unwrap())
        .collect();
    assert_eq!(settings, [5600.0, 5000.0, 4500.0]);
    assert!(record["photos"][0]["residual"]["mired"].as_f64().unwrap() > 5.0);
}

#[test]
fn the_text_fits_the_page_and_says_what_to_set() {
    let mut words = vec!["dial"];
    words.extend(BRACKET);
    let run = shoot().run(&words);
    run.assert_fits_the_page();
    assert!(run.out.starts_with("The card is neutral on this camera at "), "{}", run.out);
    assert!(run.out.contains("tone curve"), "{}", run.out);
    assert!(run.out.contains("- Set this camera to "), "{}", run.out);
}

#[test]
fn settings_come_from_the_files_where_they_record_a_preset() {
    let shoot = Shoot::new()
        .with("day.jpg", &recorded(&card([0.56, 0.55, 0.53]), 1))
        .with("cloudy.jpg", &recorded(&card([0.6, 0.55, 0.46]), 10))
        .with("tube.jpg", &recorded(&card([0.46, 0.55, 0.66]), 2));
    let run = shoot.run(&["dial", "--format", "json", "day.jpg", "cloudy.jpg", "tube.jpg"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let record = &run.records()[0];
    assert_eq!(record["photos"][1]["setting_kelvin"], 6500.0);
    assert_eq!(record["neutral_at"]["enclosed"], true, "{record}");
}

#[test]
fn what_is_missing_says_what_to_do() {
    for (words, code, message) in [
        (vec!["dial"], 2, "PHOTO"),
        (vec!["dial", "a.jpg@56OOK"], 2, "`a.jpg@56OOK`"),
        (vec!["dial", "a.jpg@tungstem"], 2, "did you mean `tungsten`?"),
        (vec!["dial", "a.jpg@5600K", "gone.jpg@5000K"], 1, "gone.jpg: there is no such file"),
    ] {
        let run = shoot().run(&words);
        assert_eq!(run.code, code, "{words:?}: {}", run.err);
        assert!(run.err.contains(message), "{words:?}: {}", run.err);
    }
    for (words, message) in [
        (vec!["dial", "a.jpg", "b.jpg@5000K", "c.jpg@4500K"], "as in a.jpg@5600K or"),
        (vec!["dial", "b.jpg@5600K"], "all at one balance setting"),
        (
            vec!["dial", "a.jpg@5600K", "b.jpg@5600K"],
            "they are at one setting, but the card came out",
        ),
        (vec!["dial", "white.jpg@5600K"], "no photo of the bracket can be used"),
        (vec!["dial", "a.jpg@9000K", "a.jpg@7500K"], "contradict each other"),
        (vec!["dial", "white.jpg@5600K", "b.jpg@5000K", "c.jpg@4500K"], "Left out: white.jpg"),
    ] {
        let run = shoot().run(&words);
        assert_eq!(run.code, 1, "{words:?}: {}", run.out);
        let unbroken = run.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(unbroken.contains(message), "{words:?}: {}", run.out);
    }
}

#[test]
fn a_bracket_that_contradicts_itself_sets_nothing() {
    // The settings the wrong way round: at higher settings the card came out bluer.
    let words = ["dial", "a.jpg@4500K", "b.jpg@5000K", "c.jpg@5600K"];
    let run = shoot().run(&words);
    assert_eq!(run.code, 1, "{}", run.out);
    run.assert_fits_the_page();
    assert!(run.out.starts_with("The bracket contradicts itself: "), "{}", run.out);
    assert!(!run.out.contains("Set this camera"), "{}", run.out);

    let with = |more: &[&'static str]| shoot().run(&[&words[..], more].concat());
    let run = with(&["--format", "json"]);
    let record = &run.records()[0];
    assert!(record["neutral_at"].is_null() && record["light"].is_null(), "{record}");
    assert_eq!(record["problems"][0]["code"], "contradiction");
    let csv = with(&["--format", "csv"]).out;
    assert!(csv.lines().skip(1).all(|row| row.ends_with(",,,,,")), "{csv}");
    let shoot = shoot();
    shoot.run(&[&words[..], &["--report", "page.html"]].concat());
    let page = std::fs::read_to_string(shoot.path("page.html")).unwrap();
    assert!(page.contains("The bracket contradicts itself"), "the page says so too");
}

#[test]
fn one_photo_at_a_wrong_setting_is_left_out_by_name() {
    let shoot = shoot().with("d.jpg", &silent([0.565, 0.55, 0.515]));
    let words = ["dial", "a.jpg@5600K", "b.jpg@5000K", "c.jpg@4500K", "d.jpg@9000K"];
    let run = shoot.run(&[&words[..], &["--format", "csv"]].concat());
    assert_eq!(run.code, 1, "{}", run.err);
    let rows: Vec<&str> = run.out.lines().skip(1).collect();
    let out: Vec<bool> = rows.iter().map(|row| row.ends_with(",contradiction")).collect();
    assert_eq!(out, [false, false, false, true], "{}", run.out);
    let text = shoot.run(&words).out;
    assert!(text.contains("Left out: d.jpg") && text.contains("Set this camera"), "{text}");
}

#[test]
fn a_list_may_hold_settings_and_csv_is_one_row_a_photo() {
    let shoot = shoot().with("list.txt", b"a.jpg@5600K\nb.jpg@5000K\nc.jpg@4500K\n");
    let run = shoot.run(&["dial", "--files-from", "list.txt", "--format", "csv"]);
    assert_eq!(run.code, 0, "{}", run.err);
    let mut table = csv::Reader::from_reader(run.out.as_bytes());
    let rows: Vec<_> = table.records().map(|row| row.unwrap()).collect();
    assert_eq!(rows.len(), 3);
    assert_eq!((&rows[0][0], &rows[0][2]), ("a.jpg", "5600"));
    assert_eq!(rows[0][6], rows[2][6], "the neutral setting stands on each row");
}

/// The same from a camera that says its name.
fn by(camera: &str, rgb: [f64; 3]) -> Vec<u8> {
    let exif = exif_block(&[(Tag::Model, ascii(camera))]);
    encode(&card(rgb), ImageFormat::Jpeg, Extras::exif(exif))
}

#[test]
fn a_bracket_is_of_one_camera() {
    let shoot = Shoot::new()
        .with("a.jpg", &by("One", [0.58, 0.55, 0.49]))
        .with("b.jpg", &by("One", [0.55, 0.55, 0.545]))
        .with("c.jpg", &by("Other", [0.52, 0.55, 0.61]));
    let run = shoot.run(&["dial", "a.jpg@5600K", "b.jpg@5000K", "c.jpg@4500K"]);
    run.assert_fits_the_page();
    assert_eq!(run.code, 1, "{}", run.out);
    assert!(run.out.contains("Left out: c.jpg: It was shot with Other, the others with One."));
    assert!(run.out.contains("Set this camera"), "{}", run.out);
    let run = shoot.run(&["dial", "a.jpg@5600K", "c.jpg@4500K"]);
    run.assert_fits_the_page();
    assert!(run.out.starts_with("Where the card is neutral cannot be said"), "{}", run.out);
    assert!(run.out.contains("of 2 cameras: One, Other"), "{}", run.out);
}

#[test]
fn a_photo_that_is_named_twice_counts_once() {
    let shoot = shoot();
    let once = shoot.run(&[&["dial"], &BRACKET[..]].concat());
    let twice = shoot.run(&[&["dial", "./b.jpg@5000K"], &BRACKET[..]].concat());
    assert!(twice.err.contains("1 file was named more than once, and counts once."));
    let first = |run: &str| run.lines().next().unwrap_or_default().to_owned();
    assert_eq!(first(&once.out), first(&twice.out));
}
