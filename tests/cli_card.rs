//! `mirecast card` from the outside.

mod cli_common;
mod still_common;

use cli_common::{Run, Shoot, card, daylight_card, recorded, silent_card, white_card};

fn shoot() -> Shoot {
    Shoot::new()
        .with("good.jpg", &daylight_card())
        .with("silent.jpg", &silent_card())
        .with("white.jpg", &white_card())
}

#[test]
fn a_good_card_gives_its_light_the_presets_and_what_to_do() {
    let run = shoot().run(&["card", "good.jpg"]);
    run.assert_fits_the_page();
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let lines: Vec<&str> = run.out.lines().collect();
    assert_eq!(lines[0], "good.jpg: good to balance from");
    assert!(lines[2].starts_with("              5500 K ("), "{}", run.out);
    assert_eq!(lines[3], "  Shot at     Daylight, 5500 K, as the camera recorded");
    assert!(lines[4].starts_with("  The card    Covers 100 % of the frame; "), "{}", run.out);
    let presets: Vec<&str> = lines[8..14].iter().map(|line| &line[..20]).collect();
    let (nearest, farthest) = (presets[0].trim(), presets[5].trim());
    assert_eq!((nearest, farthest), ("daylight      5500", "tungsten      3200"));
    assert!(lines[8].contains('o') && lines[8].ends_with("about right"), "{}", run.out);
    assert!(run.out.ends_with("The daylight preset would be about right as well.\n"));
    assert!(!run.out.contains("photos:"), "one photo is not counted");
}

#[test]
fn several_photos_come_in_order_with_a_count() {
    let run = shoot().run(&["card", "white.jpg", "none.jpg", "silent.jpg"]);
    run.assert_fits_the_page();
    assert_eq!(run.code, 1);
    assert_eq!(
        run.err,
        "mirecast: none.jpg: there is no such file. Check the name and the folder.\n"
    );
    insta::assert_snapshot!(run.out, @r"
        white.jpg: cannot be balanced from
          Over-exposed: 100 % of the card is saturated, so its colour is lost.

          What next
            - Close down by one to two stops, until the card sits below the right end of
              the histogram, and photograph it again.

        none.jpg: could not be read
          There is no such file. Check the name and the folder.

        silent.jpg: can be balanced from, but its light is unknown
          The card    Came out about neutral: 0 mired and Duv 0.0000 from neutral
                      Covers 100 % of the frame; brightest channel at 75 % of full scale
          Shot at     Unknown: the file does not record it
          Note: The file does not say what balance the camera used, so the light cannot
            be placed.

          What next
            - A custom balance can be set from this photo; only the light stays unknown.
            - Say what the camera was set to, as in --shot-at daylight or
              --shot-at 5600K.

        3 photos: 1 good but in unknown light, 1 cannot be balanced from, 1 could not be
          read.
        ");
}

#[test]
fn text_is_coloured_only_where_that_is_wanted() {
    let shoot = shoot();
    let plain = shoot.run(&["card", "good.jpg"]).out;
    assert!(!plain.contains('\u{1b}'), "a pipe gets plain text");
    let mut forced = shoot.command(&["card", "good.jpg"]);
    forced.env("CLICOLOR_FORCE", "1");
    assert!(Run::of(forced).out.contains("\u{1b}[1;32mgood to balance from\u{1b}[0m"));
    let mut declined = shoot.command(&["card", "good.jpg"]);
    declined.env("NO_COLOR", "1");
    assert_eq!(Run::of(declined).out, plain);
}

#[test]
fn json_is_one_record_a_line() {
    let run = shoot().run(&[
        "card",
        "--format",
        "json",
        "good.jpg",
        "silent.jpg",
        "white.jpg",
        "none.jpg",
    ]);
    assert_eq!(run.code, 1);
    let records = run.records();
    let statuses: Vec<_> = records.iter().map(|r| r["status"].as_str().unwrap()).collect();
    assert_eq!(statuses, ["read", "residual-only", "refused", "failed"]);

    let good = &records[0];
    let fields: Vec<_> = good.as_object().unwrap().keys().map(String::as_str).collect();
    let mut wanted =
        ["path", "status", "card", "shot", "residual", "light", "presets", "advice", "verdict"];
    wanted.sort_unstable();
    assert_eq!(fields, wanted);
    assert_eq!(good["path"], "good.jpg");
    assert_eq!(good["card"]["coverage"], 1.0);
    assert_eq!(good["card"]["area"].as_array().unwrap().len(), 4);
    assert_eq!(good["shot"]["balance"]["source"], "light-source");
    let kelvin = good["light"]["cct_kelvin"].as_f64().unwrap();
    assert!((kelvin - 5500.0).abs() < 20.0, "{kelvin}");
    let interval = |name: &str| -> Vec<f64> {
        good["light"][name].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
    };
    let [low, high] = interval("cct_interval_kelvin")[..] else { panic!("two ends") };
    assert!(low < kelvin && kelvin < high);
    assert_eq!(good["presets"][0]["name"], "daylight");

    assert!(records[1]["light"].is_null() && records[1]["residual"].is_object());
    assert_eq!(records[2]["card"]["problems"][0]["code"], "clipped");
    let failed = records[3].as_object().unwrap();
    assert_eq!(failed.len(), 4, "path, status, error, verdict");
    let verdicts: Vec<_> = records.iter().map(|record| record["verdict"].as_str()).collect();
    let wanted = ["good", "light-unknown", "refused", "failed"].map(Some);
    assert_eq!(verdicts, wanted);
    assert_eq!(failed["error"]["code"], "missing");
}

#[test]
fn csv_is_one_row_a_photo() {
    let run = shoot().run(&["card", "--format", "csv", "good.jpg", "white.jpg", "none.jpg"]);
    let mut table = csv::Reader::from_reader(run.out.as_bytes());
    let headings = table.headers().unwrap().clone();
    let rows: Vec<_> = table.records().map(Result::unwrap).collect();
    let cell = |row: usize, column: &str| {
        rows[row].get(headings.iter().position(|name| name == column).unwrap()).unwrap().to_owned()
    };
    assert_eq!(rows.len(), 3);
    assert_eq!((cell(0, "path"), cell(0, "status")), ("good.jpg".into(), "read".into()));
    assert_eq!(cell(0, "nearest_preset"), "daylight");
    assert_eq!((cell(1, "status"), cell(1, "problems")), ("refused".into(), "clipped".into()));
    assert_eq!((cell(2, "status"), cell(2, "cct_kelvin")), ("failed".into(), String::new()));
    assert!(cell(2, "error").starts_with("there is no such file"));
}

#[test]
fn records_come_in_the_order_given_whatever_is_read_first() {
    let mut shoot = Shoot::new();
    let mut names = Vec::new();
    let large = image::imageops::resize(
        &card([0.5; 3]).to_rgb8(),
        1500,
        1000,
        image::imageops::FilterType::Nearest,
    );
    for index in 0..24 {
        let name = format!("{index}.jpg");
        // Every third takes much longer than the others.
        let content =
            if index % 3 == 0 { recorded(&large.clone().into(), 1) } else { white_card() };
        shoot = shoot.with(&name, &content);
        names.push(name);
    }
    let mut words = vec!["card", "--format", "json"];
    words.extend(names.iter().map(String::as_str));
    let records = shoot.run(&words).records();
    let got: Vec<_> = records.iter().map(|record| record["path"].as_str().unwrap()).collect();
    assert_eq!(got, names);
}

#[test]
fn a_list_of_photos_comes_from_a_file_or_a_pipe() {
    let shoot = shoot().with("list.txt", b"silent.jpg\r\n\r\ngood.jpg\n");
    let paths = |run: &Run| -> Vec<String> {
        run.records().iter().map(|r| r["path"].as_str().unwrap().to_owned()).collect()
    };
    let words = ["card", "--format", "json", "good.jpg", "--files-from", "list.txt"];
    assert_eq!(paths(&shoot.run(&words)), ["good.jpg", "silent.jpg", "good.jpg"]);
    let mut piped = shoot.command(&["card", "--format", "json", "--files-from", "-"]);
    piped.write_stdin("good.jpg\nwhite.jpg");
    assert_eq!(paths(&Run::of(piped)), ["good.jpg", "white.jpg"]);
    let mut empty = shoot.command(&["card", "--files-from", "-"]);
    empty.write_stdin("\n");
    let run = Run::of(empty);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("names no photo"), "{}", run.err);
}

#[test]
fn what_the_user_says_counts() {
    let shoot = shoot();
    let light = |words: &[&str]| {
        let mut all = vec!["card", "--format", "json"];
        all.extend(words);
        let run = shoot.run(&all);
        assert_eq!(run.code, 0, "{}", run.err);
        run.records()[0]["light"].clone()
    };
    let kelvin = |words: &[&str]| light(words)["cct_kelvin"].as_f64().unwrap();
    assert!((kelvin(&["--shot-at", "tungsten", "silent.jpg"]) - 3200.0).abs() < 20.0);
    assert!((kelvin(&["--shot-at", "4300K", "good.jpg"]) - 4300.0).abs() < 30.0);
    let tinted = light(&["--shot-at", "5600K,-0.01", "good.jpg"]);
    assert!((tinted["duv"].as_f64().unwrap() + 0.01).abs() < 0.001, "{tinted}");
    // A card that is yellowish itself comes out neutral in a light that is bluer.
    let corrected = kelvin(&["--card-lab", "90,0,6", "good.jpg"]);
    assert!(corrected > 5700.0, "{corrected}");
    let advised = |lab: &str| {
        let run = shoot.run(&["card", "--format", "json", "--card-lab", lab, "good.jpg"]);
        run.records()[0]["advice"][0].as_str().unwrap().to_owned()
    };
    // A balance set from it would make the pictures as blue as it is yellow.
    assert!(advised("90,0,6").contains("take the card's own colour for white"), "{corrected}");
    assert_eq!(advised("90,0,2"), "Set the custom balance from this photo.");
}

#[test]
fn an_area_takes_the_place_of_the_search() {
    // Two cards side by side: which is meant must be said.
    let mut both = image::RgbImage::new(240, 160);
    let [left, right] = [card([0.6, 0.5, 0.4]), card([0.4, 0.5, 0.6])];
    for (x, y, pixel) in both.enumerate_pixels_mut() {
        *pixel = *if x < 120 { &left } else { &right }.as_rgb8().unwrap().get_pixel(x, y);
    }
    let shoot = Shoot::new().with("both.jpg", &recorded(&both.into(), 1));
    let mired = |area: &str| {
        let run = shoot.run(&["card", "--format", "json", "--area", area, "both.jpg"]);
        run.records()[0]["light"]["mired"].as_f64().expect("is read")
    };
    assert!(mired("10,10,90,140") > mired("140,10,90,140") + 50.0);

    // A slip in the area is not the card's fault.
    let problem = |area: &str| {
        let run = shoot.run(&["card", "--format", "json", "--area", area, "both.jpg"]);
        let record = &run.records()[0];
        let problem = &record["card"]["problems"][0];
        assert_eq!((run.code, &problem["code"]), (1, &"not-found".into()), "{area}");
        assert!(record["advice"][0].as_str().expect("is said").contains("--area"), "{record}");
        problem["message"].as_str().expect("is said").to_owned()
    };
    let outside = "lies outside the picture, which is 240 x 160 pixels";
    assert_eq!(problem("5000,5000,200,200"), format!("the area 5000,5000,200,200 {outside}"));
    assert_eq!(problem("240,0,20,20"), format!("the area 240,0,20,20 {outside}"));
    let small = problem("10,10,2,2");
    let least = small.strip_prefix("the area is too small to read; name one of at least ");
    let least = least.and_then(|least| least.strip_suffix(" pixels each way")).expect(&small);
    mired(&format!("11,11,{least},{least}"));
    let run = shoot.run(&["card", "--area", "5000,5000,200,200", "both.jpg"]);
    run.assert_fits_the_page();
    assert!(!run.out.contains("four-sided"), "{}", run.out);
}

/// The record of a sample frame's area.
fn of_area(photo: &str, area: &str) -> serde_json::Value {
    let photo = format!("{}/sample-frames/{photo}", env!("CARGO_MANIFEST_DIR"));
    let run = Shoot::new().run(&["card", "--format", "json", "--area", area, &photo]);
    run.records().remove(0)
}

fn codes(record: &serde_json::Value) -> Vec<&str> {
    let problems = record["card"]["problems"].as_array().expect("a list");
    problems.iter().map(|problem| problem["code"].as_str().expect("a code")).collect()
}

#[test]
fn an_area_round_a_card_is_read_by_the_card_in_it() {
    for area in ["300,200,500,350", "0,0,1140,760", "200,100,800,600"] {
        let record = of_area("card-small-in-frame.jpg", area);
        assert_eq!(
            (record["status"].as_str(), codes(&record)),
            (Some("read"), vec!["area-beyond"])
        );
        let figure = |name: &str| record["card"][name].as_f64().expect("a figure");
        assert!(figure("level") > 0.8 && figure("coverage") < 0.08, "{record}");
        assert_eq!(record["card"]["stated"], true);
    }
}

#[test]
fn an_area_that_is_no_card_is_refused() {
    for (photo, area) in [
        ("frame-bench-lamps-orange.jpg", "0,400,300,200"),
        ("frame-kiln-strip-greenish.jpg", "100,100,900,500"),
    ] {
        let record = of_area(photo, area);
        assert_eq!((record["status"].as_str(), codes(&record)[0]), (Some("refused"), "not-found"));
        assert!(record["advice"][0].as_str().expect("is said").contains("--area"), "{record}");
    }
}

#[test]
fn a_part_of_a_card_is_as_good_as_the_whole() {
    let part = of_area("card-lamps-fills-frame.jpg", "100,100,200,200");
    assert_eq!((part["verdict"].as_str(), codes(&part)), (Some("good"), vec![]));
    let cut = of_area("card-lamps-fills-frame.jpg", "100,100,5000,5000");
    assert_eq!((cut["status"].as_str(), codes(&cut)), (Some("read"), vec!["area-cut"]));
}

#[test]
fn where_no_card_is_found_a_page_draws_no_outline() {
    let photo =
        format!("{}/sample-frames/card-missing-wrong-photo.jpg", env!("CARGO_MANIFEST_DIR"));
    let shoot = Shoot::new();
    shoot.run(&["card", "--report", "page.html", &photo]);
    let page = std::fs::read_to_string(shoot.path("page.html")).expect("is written");
    assert!(!page.contains("class=\"outline"), "there is no card to draw");
    assert_eq!(page.matches("class=\"place\"").count(), 1, "what may be it is marked");
}

#[test]
fn a_preset_table_of_ones_own_is_used_for_names_and_misses() {
    let table = b"[window]\nkelvin = 5000\n[my-lamp]\nkelvin = 3000\n";
    let shoot = shoot().with("mine.toml", table);
    let run = shoot.run(&[
        "card",
        "--presets",
        "mine.toml",
        "--shot-at",
        "my-lamp",
        "--format",
        "json",
        "silent.jpg",
    ]);
    let record = &run.records()[0];
    assert_eq!(record["shot"]["balance"]["name"], "my-lamp");
    let names: Vec<_> =
        record["presets"].as_array().unwrap().iter().map(|p| p["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["my-lamp", "window"]);
}

#[cfg(unix)]
#[test]
fn a_reader_that_has_seen_enough_ends_the_program_quietly() {
    use std::io::{BufRead, BufReader, Read};
    use std::process::Stdio;
    let shoot = shoot();
    let mut child = shoot
        .program(&["card", "--format", "json"])
        .args(vec!["good.jpg"; 400])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap());
    lines.read_line(&mut String::new()).unwrap();
    drop(lines);
    let mut said = String::new();
    child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
    assert_eq!((child.wait().unwrap().code(), said.as_str()), (Some(0), ""));
}

/// Pink paper is read, as whoever photographs it may have gelled their lamps, but not without a doubt.
#[test]
fn a_card_of_a_colour_that_no_light_has_is_doubted() {
    let shoot = Shoot::new().with("pink.jpg", &recorded(&card([0.7, 0.3, 0.45]), 1));
    let run = shoot.run(&["card", "pink.jpg"]);
    run.assert_fits_the_page();
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.contains("Hardly any light is so magenta"), "{}", run.out);
    assert!(run.out.contains("If the card is white, set the custom balance"), "{}", run.out);
    let record = &shoot.run(&["card", "--format", "json", "pink.jpg"]).records()[0];
    assert_eq!(record["card"]["problems"][0]["code"], "coloured");
}

/// A card whose three channels are one.
fn card_without_colour() -> image::DynamicImage {
    image::DynamicImage::from(card([0.55; 3]).to_luma8()).to_rgb8().into()
}

#[test]
fn a_card_in_black_and_white_is_refused_whatever_its_channels() {
    use image::ImageFormat::{Png, Tiff};
    let grey = card_without_colour();
    let plain = |format| still_common::encode(&grey, format, still_common::Extras::default());
    let shoot = shoot()
        .with("bw.jpg", &recorded(&grey, 3))
        .with("bw.png", &plain(Png))
        .with("bw.tif", &plain(Tiff));
    for name in ["bw.jpg", "bw.png", "bw.tif"] {
        let run = shoot.run(&["card", name]);
        assert_eq!(run.code, 1, "{}", run.out);
        let first = run.out.lines().nth(1);
        assert_eq!(first, Some("  The picture is black and white."), "{}", run.out);
    }
    // What is no reason is a note.
    let silent = shoot.run(&["card", "bw.png"]).out;
    assert!(
        silent.lines().nth(2).unwrap().starts_with("  Note: The file does not say what balance")
    );
    for command in [&["setups", "good.jpg"][..], &["dial", "good.jpg@5000K"]] {
        let run = shoot.run(&[command, &["bw.jpg"]].concat());
        assert!(run.out.contains("black and white"), "{}", run.out);
        assert_eq!(run.code, 1);
    }
    let run = shoot.run(&["frames", "--reference", "bw.jpg", "good.jpg"]);
    assert!(run.err.contains("the picture is black and white"), "{}", run.err);
}

#[test]
fn a_black_picture_is_told_no_number_of_stops() {
    let black = image::DynamicImage::from(image::RgbImage::new(240, 160));
    let run = Shoot::new().with("black.jpg", &recorded(&black, 1)).run(&["card", "black.jpg"]);
    assert!(run.out.contains("Under-exposed: ") && !run.out.contains("stops"), "{}", run.out);
    assert!(run.out.contains("in front of the lens"), "{}", run.out);
}

#[test]
fn a_stated_balance_that_is_not_the_recorded_one_is_noted() {
    let noted = |words: &[&str]| {
        let run = shoot().run(words);
        assert_eq!(run.code, 0, "{}", run.err);
        run.assert_fits_the_page();
        run.out.replace("\n    ", " ")
    };
    let said = "Note: The file records daylight, 5500 K, and you say tungsten, 3200 K: the light \
                is placed by what you say.";
    let tungsten = noted(&["card", "--shot-at", "tungsten", "good.jpg"]);
    assert!(tungsten.contains(said), "{tungsten}");
    assert!(tungsten.contains("leave --shot-at out"), "{tungsten}");
    for near in [&["--shot-at", "5600K", "good.jpg"], &["--shot-at", "tungsten", "silent.jpg"]] {
        let out = noted(&[&["card"][..], near].concat());
        assert!(!out.contains("you say"), "{out}");
    }
    let setups = noted(&["setups", "good.jpg@tungsten", "3200K"]).replace("\n  ", " ");
    assert!(setups.contains("Note: In good.jpg, the file records daylight"), "{setups}");
}

#[test]
fn a_temperature_out_of_range_comes_with_the_range() {
    let run = shoot().run(&["card", "--shot-at", "500000K", "good.jpg"]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("a temperature is from 1000K to 25000K"), "{}", run.err);
}

#[test]
fn arrows_at_the_ends_of_the_scale_are_explained_where_there_are_any() {
    let orange = recorded(&card([0.7, 0.5, 0.22]), 3);
    let shoot = shoot().with("orange.jpg", &orange);
    let legend = "Where < or > stands, it goes on beyond the scale";
    let far = shoot.run(&["card", "orange.jpg"]);
    far.assert_fits_the_page();
    assert!(far.out.contains("[-"), "{}", far.out);
    assert_eq!(far.out.contains('>'), far.out.contains(legend), "{}", far.out);
    assert!(
        far.out.lines().any(|line| line.contains("shade") && line.contains('>')),
        "{}",
        far.out
    );
    assert!(!shoot.run(&["card", "good.jpg"]).out.contains(legend));
}
