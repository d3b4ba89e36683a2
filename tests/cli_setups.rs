//! `mirecast setups` from the outside.

mod cli_common;
mod still_common;

use cli_common::{Shoot, card, daylight_card, recorded, silent_card, white_card};

/// A card that comes out orange at the daylight preset.
fn orange_card() -> Vec<u8> {
    recorded(&card([0.62, 0.5, 0.3]), 1)
}

fn shoot() -> Shoot {
    Shoot::new()
        .with("window.jpg", &daylight_card())
        .with("lamp.jpg", &orange_card())
        .with("silent.jpg", &silent_card())
        .with("white.jpg", &white_card())
}

fn interval(value: &serde_json::Value) -> [f64; 2] {
    [0, 1].map(|end| value[end].as_f64().expect("a number"))
}

#[test]
fn two_photos_and_a_stated_light_are_compared() {
    let words = ["setups", "--format", "json", "win=window.jpg", "lamp.jpg", "tungsten"];
    let run = shoot().run(&words);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let [record] = &run.records()[..] else { panic!("one document") };
    let names: Vec<_> =
        record["setups"].as_array().unwrap().iter().map(|s| s["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["win", "lamp.jpg", "tungsten"]);
    let shifts = record["shifts"].as_array().unwrap();
    assert_eq!(shifts.len(), 3);
    let shift = &shifts[0];
    assert_eq!((&shift["from"], &shift["to"]), (&"win".into(), &"lamp.jpg".into()));
    let mired = shift["mired"].as_f64().unwrap();
    let [low, high] = interval(&shift["mired_interval"]);
    assert!(mired > 40.0 && low < mired && mired < high, "{shift}");
    assert_eq!(shift["mired_is_real"], true);
    let misses = record["balance"]["misses"].as_array().unwrap();
    assert_eq!(misses.len(), 3);
    assert!(record["balance"]["preset"]["worst_miss_mired"].as_f64().unwrap() > 0.0);
    let gel = record["gels"].as_array().unwrap().iter().find(|gel| gel["on"] == "tungsten");
    assert!(gel.unwrap()["gel"].as_str().unwrap().contains("CTB"));
}

#[test]
fn the_text_fits_the_page_and_cautions_go_with_gels() {
    let run = shoot().run(&["setups", "window.jpg", "lamp=3200K"]);
    run.assert_fits_the_page();
    assert_eq!(run.code, 0);
    assert!(run.out.contains("On lamp, toward window.jpg: full CTB"), "{}", run.out);
    assert!(run.out.contains("let it cool"), "{}", run.out);
    assert!(run.out.contains("local codes come first"), "{}", run.out);
}

#[test]
fn a_folder_is_one_setup_and_its_bad_photos_are_left_out() {
    let shoot = shoot();
    std::fs::create_dir(shoot.path("sky")).unwrap();
    for (name, photo) in
        [("a.jpg", daylight_card()), ("b.jpg", daylight_card()), ("c.jpg", white_card())]
    {
        std::fs::write(shoot.path("sky").join(name), photo).unwrap();
    }
    std::fs::write(shoot.path("sky").join("notes.txt"), "clouds").unwrap();
    let run = shoot.run(&["setups", "--format", "json", "sky", "lamp.jpg"]);
    assert_eq!(run.code, 1, "a photo was left out");
    let sky = &run.records()[0]["setups"][0];
    assert_eq!((&sky["name"], &sky["photos"]), (&"sky".into(), &2.into()));
    assert_eq!(sky["spread_mired"], 0.0);
    assert_eq!(sky["left_out"][0]["code"], "clipped");
    assert_eq!(sky["left_out"].as_array().unwrap().len(), 1);
}

#[test]
fn proofs_of_an_earlier_run_are_no_photos_of_a_setup() {
    let shoot = shoot();
    std::fs::create_dir(shoot.path("sky")).unwrap();
    std::fs::write(shoot.path("sky/a.jpg"), daylight_card()).unwrap();
    let frame = include_bytes!("../sample-frames/frame-bench-lamps-orange.jpg");
    let shoot = shoot.with("bench.jpg", frame);
    let words = ["setups", "--format", "json", "sky", "lamp.jpg"];
    let before = shoot.run(&words);
    assert_eq!(before.code, 0);
    let proofs = shoot.run(&["frames", "--proofs", "sky", "bench.jpg"]);
    assert_eq!(proofs.code, 0, "{}", proofs.err);
    assert!(std::fs::read_dir(shoot.path("sky")).unwrap().count() > 1, "{}", proofs.out);
    let after = shoot.run(&words);
    assert_eq!((after.code, after.out), (0, before.out));
    assert_eq!(after.err, "mirecast: passed over in folders: 2 proofs of an earlier run\n");
}

#[test]
fn a_card_whose_balance_is_unknown_says_what_to_do() {
    let run = shoot().run(&["setups", "silent.jpg", "lamp.jpg"]);
    assert_eq!(run.code, 1);
    assert!(run.out.starts_with("silent.jpg: its light is unknown\n"), "{}", run.out);
    assert!(run.out.contains("PHOTO@daylight"), "{}", run.out);
    assert!(!run.out.contains("--shot-at"), "it would hold for all of them: {}", run.out);
    let told = shoot().run(&["setups", "silent.jpg@5600K", "lamp.jpg"]);
    assert_eq!(told.code, 0, "{}", told.out);
    let shared = shoot().run(&["setups", "--shot-at", "cloudy", "silent.jpg", "lamp.jpg"]);
    assert_eq!(shared.code, 0, "{}", shared.out);
}

#[test]
fn cameras_in_one_light_are_told_what_to_dial() {
    let run =
        shoot().run(&["setups", "--same-light", "--format", "json", "window.jpg", "lamp.jpg"]);
    assert_eq!(run.code, 0);
    let record = &run.records()[0];
    let camera = &record["cameras"][0];
    assert!(camera["mired"].as_f64().unwrap() > 40.0);
    assert!(camera["setting_kelvin"].as_f64().unwrap() < 5000.0, "{camera}");
    assert!(record["balance"].is_null() && record["gels"].as_array().unwrap().is_empty());
    let light = shoot().run(&["setups", "--same-light", "window.jpg", "5600K"]);
    assert_eq!(light.code, 2);
    assert!(light.err.contains("`5600K` is a light, not a photo"), "{}", light.err);
}

#[test]
fn the_page_explains_the_marks_that_it_draws() {
    let shoot = shoot();
    let page = |words: &[&str]| {
        let run = shoot.run(&[&["setups", "--force", "--report", "page.html"], words].concat());
        assert_eq!(run.code, 0, "{}", run.err);
        std::fs::read_to_string(shoot.path("page.html")).unwrap()
    };
    let photos = ["window.jpg", "lamp.jpg"];
    let compared = page(&photos);
    let marks = ["dark arrow", "broken arrow", "the cross is", "Arrows lead"];
    for mark in marks {
        assert!(compared.contains(mark), "{mark}");
    }
    let same = page(&[&["--same-light"][..], &photos].concat());
    for mark in marks {
        assert!(!same.contains(mark), "{mark}");
    }
    assert!(same.contains("lines of equal temperature.</figcaption>"), "the caption ends there");
}

#[test]
fn what_cannot_be_compared_says_why() {
    let shoot = shoot();
    std::fs::create_dir(shoot.path("empty")).unwrap();
    for (words, code, message) in [
        (vec!["setups"], 2, "SETUP"),
        (vec!["setups", "lamp.jpg"], 2, "nothing to compare `lamp.jpg` with"),
        (vec!["setups", "lamp.jpg", "tungstem"], 2, "did you mean `tungsten`?"),
        (vec!["setups", "lamp.jpg", "window"], 2, "no file, folder or preset named `window`"),
        (vec!["setups", "lamp.jpg", "lamp.jpg@clody"], 2, "did you mean `cloudy`?"),
        (vec!["setups", "lamp.jpg", "20K"], 2, "1000 K"),
        (vec!["setups", "lamp.jpg", "gone.jpg"], 1, "gone.jpg: there is no such file"),
        (vec!["setups", "--gels", "none.toml", "lamp.jpg", "5600K"], 2, "mirecast gels --write"),
    ] {
        let run = shoot.run(&words);
        assert_eq!(run.code, code, "{words:?}: {}", run.err);
        assert!(run.err.contains(message), "{words:?}: {}", run.err);
    }
    let run = shoot.run(&["setups", "lamp.jpg", "empty"]);
    assert_eq!(run.code, 1);
    assert!(
        run.out.contains("empty: there is no photo that is read in this folder"),
        "{}",
        run.out
    );
}

#[test]
fn csv_is_one_row_for_each_two() {
    let run = shoot().run(&["setups", "--format", "csv", "window.jpg", "lamp.jpg", "5600K"]);
    let mut table = csv::Reader::from_reader(run.out.as_bytes());
    let pairs: Vec<_> = table
        .records()
        .map(|row| row.unwrap())
        .map(|row| (row[0].to_owned(), row[1].to_owned()))
        .collect();
    let pair = |from: &str, to: &str| (from.to_owned(), to.to_owned());
    assert_eq!(
        pairs,
        [pair("window.jpg", "lamp.jpg"), pair("window.jpg", "5600K"), pair("lamp.jpg", "5600K")]
    );
}

#[test]
fn a_table_says_beside_it_why_a_photo_has_no_part_in_it() {
    let run = shoot().run(&["setups", "--format", "csv", "white.jpg", "window.jpg"]);
    assert_eq!((run.code, run.out.lines().count()), (1, 1), "{}", run.out);
    assert!(run.err.starts_with("mirecast: white.jpg: over-exposed: "), "{}", run.err);
}

#[test]
fn stated_lights_that_are_equal_are_the_same() {
    let run = shoot().run(&["setups", "3200K", "tungsten"]);
    assert!(run.out.contains("\n  The two are the same.\n"), "{}", run.out);
    assert!(!run.out.contains("within the uncertainty"), "{}", run.out);
}

#[test]
fn of_three_lights_all_but_one_are_gelled() {
    let run = shoot().run(&["setups", "window.jpg", "3200K", "4200K"]);
    assert!(run.out.contains("Gel the others to match one source"), "{}", run.out);
    let two = shoot().run(&["setups", "window.jpg", "3200K"]);
    assert!(two.out.contains("Gel one source to match the other"), "{}", two.out);
}

#[test]
fn gels_that_leave_what_is_clearly_off_are_not_advised() {
    let far = Shoot::new().run(&["setups", "2000K", "20000K"]);
    far.assert_fits_the_page();
    let said = far.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("what they leave is clearly off: balance for the one"), "{said}");
    assert!(!said.contains("Gel one source"), "{said}");
}

#[test]
fn a_preset_is_off_by_its_tint_too() {
    let tints = Shoot::new().run(&["setups", "5600K,+0.02", "5600K,-0.01"]);
    let said = tints.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("(5500 K), at worst 3 mired and 0.0167 Duv off."), "{said}");
    let none = Shoot::new().run(&["setups", "5600K", "5500K"]);
    assert!(none.out.contains("at worst 3 mired off."), "{}", none.out);
}

#[test]
fn set_ups_that_have_photos_in_common_are_told() {
    let shoot = Shoot::new().with("a.jpg", &daylight_card());
    let run = shoot.run(&["setups", "one=a.jpg", "two=./a.jpg"]);
    assert!(run.err.contains("one and two have 1 photo in common"), "{}", run.err);
}
