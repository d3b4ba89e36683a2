//! Corrections and proofs from the outside.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod cli_common;
mod still_common;

use std::fs;

use cli_common::{
    BLUE, NEUTRAL, ORANGE, Shoot, boards, card, daylight_card, still, still_of, white_card,
};
use exif::{In, Tag, Value};
use image::{DynamicImage, ImageFormat};
use moxcms::ColorProfile;
use serde_json::Value as Json;
use still_common::{Extras, encode, exif_block};

/// Two lights: a neutral group and an orange one.
fn shoot() -> Shoot {
    let shoot = Shoot::new();
    fs::create_dir(shoot.path("day")).unwrap();
    shoot
        .with("day/a.jpg", &still(NEUTRAL, 0))
        .with("day/b.jpg", &still(NEUTRAL, 2))
        .with("day/c.jpg", &still(ORANGE, 40))
        .with("day/d.jpg", &still(ORANGE, 42))
}

fn files(shoot: &Shoot, folder: &str) -> Vec<String> {
    let entries = fs::read_dir(shoot.path(folder)).unwrap();
    let mut names: Vec<_> =
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

fn text(shoot: &Shoot, file: &str) -> String {
    fs::read_to_string(shoot.path(file)).unwrap()
}

#[test]
fn a_group_with_a_cast_has_its_files_and_a_neutral_one_needs_none() {
    let shoot = shoot();
    let run = shoot.run(&["frames", "--corrections", "grade/day", "day"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    run.assert_fits_the_page();
    assert!(run.out.contains("Corrections for srgb footage, at full strength, in grade/day"));
    assert!(
        run.out.contains("Group 1: neutral: no sure cast beyond 20 mired or 0.006 Duv."),
        "{}",
        run.out
    );
    assert_eq!(files(&shoot, "grade/day"), ["corrections.ccc", "group-2.cc", "group-2.clf"]);
    let [cc, clf, ccc] = ["group-2.cc", "group-2.clf", "corrections.ccc"]
        .map(|f| text(&shoot, &format!("grade/day/{f}")));
    for file in [&cc, &clf, &ccc] {
        assert!(
            file.contains("2 frames of Camera A") && file.contains("nine times in ten"),
            "{file}"
        );
        assert!(file.contains("the camera was balanced for 5500 K, daylight"), "{file}");
        assert!(file.contains("Its 2 frames: day/c.jpg and d.jpg."), "{file}");
    }
    assert!(ccc.contains("<ColorCorrection id=\"group-2\">"), "{ccc}");
}

#[test]
fn records_say_what_was_decided_and_are_else_as_they_were() {
    let shoot = shoot();
    let plain = shoot.run(&["frames", "--format", "json", "day"]).records();
    let run = shoot.run(&["frames", "--format", "json", "--corrections", "grade", "day"]);
    let decided: Vec<_> = run.err.lines().collect();
    assert_eq!(decided[0], "mirecast: Group 1: neutral: no sure cast beyond 20 mired or 0.006 Duv");
    assert!(decided[1].starts_with("mirecast: Group 2: 8-bit footage would not stand it"));
    assert_eq!(decided.len(), 2);
    let mut records = run.records();
    let corrections: Vec<Json> = records
        .iter_mut()
        .filter_map(|record| record.as_object_mut()?.remove("correction"))
        .collect();
    assert_eq!(records, plain);
    let [neutral, orange] = corrections.as_slice() else { panic!("{corrections:?}") };
    assert_eq!((&neutral["status"], &neutral["made"]), (&"not-needed".into(), &Json::Null));
    let made = &orange["made"];
    assert_eq!(orange["status"], "made");
    assert_eq!(made["files"], serde_json::json!(["group-2.cc", "group-2.clf"]));
    assert!(made["fit_mean_delta_e_2000"].as_f64().unwrap() > 0.5);
    assert!(made["headroom"]["noise_stops"][2].as_f64().unwrap() > 0.5, "{made}");
    assert_eq!(made["headroom"]["clipped"].as_array().unwrap().len(), 3);
}

#[test]
fn what_is_there_stays_as_it_is_and_is_found_before_anything_is_read() {
    let shoot = shoot();
    fs::create_dir(shoot.path("grade")).unwrap();
    let shoot = shoot.with("grade/group-7.cc", b"mine").with("grade/notes.txt", b"mine");
    let run = shoot.run(&["frames", "--corrections", "grade", "day"]);
    assert_eq!((run.code, run.out.as_str()), (1, ""));
    assert!(run.err.contains("group-7.cc: there is such a file already"), "{}", run.err);
    assert_eq!(files(&shoot, "grade"), ["group-7.cc", "notes.txt"]);
    let forced = shoot.run(&["frames", "--corrections", "grade", "--force", "day"]);
    assert_eq!(forced.code, 0, "{}", forced.err);
    assert!(forced.out.contains("not written by this run") && forced.out.contains("group-7.cc"));
    assert_eq!(text(&shoot, "grade/group-7.cc"), "mine");
    assert_eq!(files(&shoot, "grade").len(), 5);
    let file = shoot.run(&["frames", "--corrections", "grade/notes.txt", "day"]);
    assert_eq!(file.code, 2);
    assert!(file.err.contains("is a file; name a folder"), "{}", file.err);
}

#[test]
fn a_page_lists_the_corrections_and_shows_what_they_make() {
    let shoot = shoot();
    let page = |words: &[&str]| {
        let run = shoot.run(&[&["frames", "--force", "--report", "page.html"], words].concat());
        assert_eq!(run.code, 0, "{}", run.err);
        text(&shoot, "page.html")
    };
    assert!(!page(&["day"]).contains("Corrections for"));
    let by_group = page(&["--corrections", "grade", "--strength", "60", "day"]);
    for words in [
        "<h2>Corrections for srgb footage, at 60% strength, in grade</h2>",
        "group-2.clf",
        "neutral: no sure cast beyond",
        "Corrected as group 2, at 60%",
    ] {
        assert!(by_group.contains(words), "{words}");
    }
    let proofs = page(&["--proofs", "looks", "--each-frame", "day"]);
    assert!(proofs.contains("Proofs of 2 frames, in looks"), "{proofs}");
    assert!(proofs.contains("Corrected by its own figures") && !proofs.contains("as group 2"));
    let shoot = Shoot::new().with("card.jpg", &daylight_card());
    let run = shoot.run(&["card", "--corrections", "grade", "--report", "page.html", "card.jpg"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(text(&shoot, "page.html").contains("<bdi>card.clf</bdi>"));
}

#[test]
fn a_correction_from_a_card_says_what_it_fits() {
    let described = |card: &[u8]| {
        let shoot = Shoot::new().with("card.jpg", card);
        let run = shoot.run(&["card", "--corrections", "grade", "card.jpg"]);
        assert!(run.out.contains("grade"), "{} {}", run.out, run.err);
        (text(&shoot, "grade/card.clf"), run.out)
    };
    let (fixed, _) = described(&daylight_card());
    assert!(fixed.contains("for footage of the same camera at the same balance"), "{fixed}");
    let automatic = include_bytes!("../sample-frames/card-auto-balance.jpg");
    let (automatic, told) = described(automatic);
    assert!(automatic.contains("and for no other footage"), "{automatic}");
    assert!(!automatic.contains("for footage of the same camera"), "{automatic}");
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("so it fits this photo only"), "{told}");
}

#[test]
fn a_folder_is_made_for_corrections_and_not_for_none() {
    let shoot = shoot();
    let run =
        shoot.run(&["frames", "--corrections", "a/grade", "--proofs", "a/looks", "day/a.jpg"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.out.contains("No correction was made"), "{}", run.out);
    assert!(!shoot.path("a").exists());
}

#[test]
fn a_log_encoding_is_refused_with_advice() {
    let shoot = shoot();
    let run = shoot.run(&["frames", "--corrections", "grade", "--footage", "x-log3", "day"]);
    assert_eq!(run.code, 2);
    assert!(run.err.contains("Convert the footage") && run.err.contains("rec709"), "{}", run.err);
    assert!(!shoot.path("grade").exists());
    let bare = shoot.run(&["frames", "--footage", "rec709", "day"]);
    assert_eq!(bare.code, 2);
    assert!(bare.err.contains("--corrections"), "{}", bare.err);
    let none = shoot.run(&["frames", "--corrections", "grade", "--strength", "0", "day"]);
    assert!(none.code == 2 && none.err.contains("from 1 to 100"), "{}", none.err);
}

#[test]
fn less_strength_takes_out_less() {
    let shoot = shoot();
    let matrix = |strength: &str| {
        let words = ["groups", "--corrections", "grade", "--force", "--format", "json"];
        let records = shoot.run(&["frames", "--format", "json", "day"]).out;
        let mut command = shoot.command(&[&words[..], &["--strength", strength]].concat());
        command.write_stdin(records);
        let records = cli_common::Run::of(command).records();
        let group = records.last().unwrap();
        assert_eq!(group["correction"]["made"]["headroom"]["clipped"], Json::Null, "no pictures");
        group["correction"]["made"]["matrix"][2][2].as_f64().unwrap()
    };
    let (half, full) = (matrix("50%"), matrix("100"));
    assert!(1.05 < half && half < full, "{half} {full}");
}

#[test]
fn nothing_is_built_on_what_does_not_tell() {
    let shoot = shoot();
    let records = shoot.run(&["frames", "--format", "json", "day/c.jpg"]).out;
    assert!(records.contains("\"verdict\":\"orange\""), "{records}");
    let records = records.replace("\"verdict\":\"orange\"", "\"verdict\":\"undecided\"");
    let shoot = shoot.with("records.jsonl", records.as_bytes());
    let run = shoot.run(&["groups", "--corrections", "grade", "records.jsonl"]);
    assert!(run.out.contains("No correction was made."), "{}", run.out);
    let text = run.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("Group 1: it does not tell") && text.contains("Photograph a card"),
        "{text}"
    );
    assert!(!shoot.path("grade").exists(), "nothing to write into it");
}

/// A frame in black and white is not tinted with what its neighbours need, nor does it say that nothing
/// in it were neutral.
#[test]
fn what_is_black_and_white_is_in_no_group_and_left_as_it_is() {
    let large = |picture: DynamicImage| {
        picture.resize_exact(2100, 1400, image::imageops::FilterType::Nearest)
    };
    let grey = DynamicImage::from(boards(NEUTRAL).to_luma8());
    let three_channels = DynamicImage::from(grey.to_rgb8());
    let shoot = Shoot::new();
    fs::create_dir(shoot.path("day")).unwrap();
    let shoot = shoot
        .with("day/a.jpg", &still(ORANGE, 0))
        .with("day/b.jpg", &still_of(&three_channels, 1))
        .with("day/c.jpg", &still_of(&large(three_channels), 2))
        .with("day/d.jpg", &still_of(&grey, 3))
        .with("day/e.jpg", &still(ORANGE, 4));
    let run = shoot.run(&["frames", "--corrections", "grade", "--proofs", "looks", "day"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    run.assert_fits_the_page();
    let said = run.out.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "2 orange, 3 undecided",
        "on both frames, multiply",
        "3 frames are black and white and show no cast",
        "undecided black and white: shows no cast d.jpg",
    ] {
        assert!(said.contains(words), "{words} is not in {}", run.out);
    }
    assert!(!said.contains("undecided frame") && !said.contains("Group 2"), "{}", run.out);
    assert_eq!(
        files(&shoot, "looks"),
        ["a-proof-cdl.png", "a-proof-clf.png", "e-proof-cdl.png", "e-proof-clf.png"]
    );
    let records = shoot.run(&["frames", "--format", "json", "day"]).out;
    let lines: Vec<Json> = records.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    let groups: Vec<_> = lines[..5].iter().map(|frame| frame["group"].as_u64()).collect();
    assert_eq!(groups, [Some(1), None, None, None, Some(1)]);
    let without = lines.iter().filter(|line| line["black_and_white"] == true);
    assert_eq!((without.count(), lines[5]["frames"].as_u64()), (3, Some(2)), "{records}");
    let shoot = shoot.with("records.jsonl", records.as_bytes());
    let grouped = shoot.run(&["groups", "--format", "json", "records.jsonl"]).out;
    assert_eq!(grouped, records);
    let each = shoot.run(&["frames", "--each-frame", "--proofs", "each", "day"]);
    let said = each.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("day/d.jpg: black and white: it shows no cast."), "{}", each.out);
    assert_eq!(files(&shoot, "each").len(), 4);
    let tolerant = shoot.run(&["frames", "--tolerance", "200,0.05", "day/d.jpg"]);
    assert!(tolerant.out.contains("1 frame: 1 undecided."), "{}", tolerant.out);
}

/// A plain grey surface, which a coarse file may have taken the colour from, is all that is seen.
#[test]
fn of_an_undecided_frame_nothing_is_claimed_that_its_picture_denies() {
    let plain = DynamicImage::from(image::RgbImage::from_pixel(240, 160, image::Rgb([140; 3])));
    let shoot = Shoot::new().with("plain.jpg", &still_of(&plain, 0));
    let run = shoot.run(&["frames", "plain.jpg"]);
    let said = run.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let wanted = "Look at the undecided frame by itself: nothing in it tells for sure. A card";
    assert!(said.contains(wanted), "{}", run.out);
}

#[test]
fn a_card_gives_a_correction_and_says_what_it_neutralises() {
    let silent = encode(&card([0.60, 0.55, 0.45]), ImageFormat::Jpeg, Extras::default());
    let shoot = Shoot::new()
        .with("silent.jpg", &silent)
        .with("good.jpg", &daylight_card())
        .with("burnt.jpg", &white_card());
    let cards = ["card", "--corrections", "grade", "silent.jpg", "good.jpg", "burnt.jpg"];
    let run = shoot.run(&cards);
    assert_eq!(run.code, 1, "one was refused");
    run.assert_fits_the_page();
    let files = files(&shoot, "grade");
    assert_eq!(files, ["corrections.ccc", "good.cc", "good.clf", "silent.cc", "silent.clf"]);
    let said = run.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("silent.jpg: It neutralises the colour that the card has"), "{said}");
    assert!(said.contains("burnt.jpg: the card cannot be balanced from"), "{said}");
    let clf = text(&shoot, "grade/silent.clf");
    assert!(clf.contains("Light: not known"), "{clf}");
    let again = shoot.run(&cards);
    assert_eq!((again.code, again.out.as_str()), (1, ""));
}

/// A cast picture as a PNG, lying on its side, with a profile.
fn sideways(rgb: [f64; 3], icc: Option<Vec<u8>>) -> Vec<u8> {
    let exif = exif_block(&[(Tag::Orientation, Value::Short(vec![6]))]);
    encode(&boards(rgb), ImageFormat::Png, Extras { icc, exif: Some(exif) })
}

#[test]
fn a_proof_is_what_the_matrix_makes_of_the_picture_and_keeps_profile_and_orientation() {
    let icc = ColorProfile::new_srgb().encode().unwrap();
    let original = sideways(ORANGE, Some(icc.clone()));
    let shoot = Shoot::new().with("a.png", &original);
    let run = shoot.run(&["frames", "--proofs", "looks", "--format", "json", "a.png"]);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(files(&shoot, "looks"), ["a-proof-cdl.png", "a-proof-clf.png"]);
    assert_eq!(fs::read(shoot.path("a.png")).unwrap(), original, "the original is not touched");
    let made = run.records().last().unwrap()["correction"]["made"].clone();
    let number = |value: &Json| value.as_f64().unwrap();
    let linear = |code: u8| {
        let value = f64::from(code) / 255.0;
        if value <= 0.04045 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
    };
    let before = image::load_from_memory(&original).unwrap().to_rgb8();
    for (file, is_clf) in [("looks/a-proof-clf.png", true), ("looks/a-proof-cdl.png", false)] {
        let bytes = fs::read(shoot.path(file)).unwrap();
        let after = image::load_from_memory(&bytes).unwrap().to_rgb8();
        assert_eq!(before.dimensions(), after.dimensions(), "lies as the picture does");
        for (before, after) in before.pixels().zip(after.pixels()) {
            for channel in 0..3 {
                let wanted = if is_clf {
                    let row = &made["matrix"][channel];
                    let light: f64 = (0..3).map(|i| number(&row[i]) * linear(before[i])).sum();
                    255.0 * still_common::linear_to_srgb(light.clamp(0.0, 1.0))
                } else {
                    (f64::from(before[channel]) * number(&made["slope"][channel])).min(255.0)
                };
                let off = (wanted - f64::from(after[channel])).abs();
                assert!(off <= 0.6, "{file}: {after:?}, channel {channel} is {wanted}");
            }
        }
        let exif =
            exif::Reader::new().read_from_container(&mut std::io::Cursor::new(&bytes)).unwrap();
        let orientation = exif.get_field(Tag::Orientation, In::PRIMARY).unwrap();
        assert_eq!(orientation.value.get_uint(0), Some(6));
        let said = exif.get_field(Tag::ImageDescription, In::PRIMARY).unwrap();
        assert!(said.display_value().to_string().contains("Proof, not for delivery"));
        assert!(bytes.windows(4).any(|chunk| chunk == b"iCCP"));
    }
}

#[test]
fn proofs_of_files_of_one_name_stay_apart_and_stand_in_nobodys_way() {
    let shoot = Shoot::new();
    fs::create_dir_all(shoot.path("one")).unwrap();
    fs::create_dir_all(shoot.path("two")).unwrap();
    let shoot =
        shoot.with("one/a.png", &sideways(ORANGE, None)).with("two/a.png", &sideways(BLUE, None));
    let words =
        ["frames", "--each-frame", "--corrections", "grade", "--proofs", "looks", "one", "two"];
    let run = shoot.run(&words);
    assert_eq!(run.code, 0, "{}", run.err);
    run.assert_fits_the_page();
    let looks = [
        "one-a-proof-cdl.png",
        "one-a-proof-clf.png",
        "two-a-proof-cdl.png",
        "two-a-proof-clf.png",
    ];
    assert_eq!(files(&shoot, "looks"), looks);
    assert_eq!(
        files(&shoot, "grade"),
        ["corrections.ccc", "one-a.cc", "one-a.clf", "two-a.cc", "two-a.clf"]
    );
    fs::remove_dir_all(shoot.path("grade")).unwrap();
    let again = shoot.run(&words);
    assert_eq!((again.code, again.out.as_str()), (1, ""), "the proofs are in the way");
    assert!(again.err.contains("-proof-"), "{}", again.err);
}

/// Whoever loads the whole folder would load what an earlier run left there.
#[test]
fn corrections_that_this_run_did_not_write_are_named_and_kept() {
    let shoot = shoot();
    assert_eq!(shoot.run(&["frames", "--corrections", "grade", "day"]).code, 0);
    let again = ["frames", "--corrections", "grade", "--force", "--each-frame", "day/c.jpg"];
    let text = shoot.run(&again);
    let wanted = "Still there, and not written by this run: group-2.cc, group-2.clf.";
    assert!(text.code == 0 && text.out.contains(wanted), "{}", text.out);
    let json = shoot.run(&[&again[..], &["--format", "json"]].concat());
    assert!(
        json.err.contains("not written by this run: group-2.cc, group-2.clf\n"),
        "{}",
        json.err
    );
    // Where nothing is made the collection is an earlier run's too.
    let none = shoot.run(&["frames", "--corrections", "grade", "--force", "day/a.jpg"]);
    let said = none.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let wanted = "run: c.cc, c.clf, corrections.ccc, group-2.cc, group-2.clf.";
    assert!(said.contains(wanted), "{}", none.out);
    assert_eq!(files(&shoot, "grade").len(), 5);
}

#[test]
fn a_large_picture_has_a_small_proof() {
    let large: DynamicImage =
        boards(ORANGE).resize_exact(2400, 1600, image::imageops::FilterType::Nearest);
    let jpeg = encode(&large, ImageFormat::Jpeg, Extras::default());
    let shoot = Shoot::new().with("a.jpg", &jpeg);
    assert_eq!(shoot.run(&["frames", "--proofs", "looks", "a.jpg"]).code, 0);
    let proof = image::open(shoot.path("looks/a-proof-clf.png")).unwrap();
    assert_eq!((proof.width(), proof.height()), (800, 534));
}

#[test]
fn a_proof_is_named_as_its_frames_correction_even_where_the_other_has_none() {
    let shoot = Shoot::new();
    fs::create_dir_all(shoot.path("one")).unwrap();
    fs::create_dir_all(shoot.path("two")).unwrap();
    let shoot = shoot.with("one/a.jpg", &still(NEUTRAL, 0)).with("two/a.jpg", &still(ORANGE, 40));
    let words =
        ["frames", "--each-frame", "--corrections", "grade", "--proofs", "looks", "one", "two"];
    let run = shoot.run(&words);
    assert_eq!(run.code, 0, "{}", run.err);
    assert_eq!(files(&shoot, "grade"), ["corrections.ccc", "two-a.cc", "two-a.clf"]);
    assert_eq!(files(&shoot, "looks"), ["two-a-proof-cdl.png", "two-a-proof-clf.png"]);
}

#[test]
fn proofs_take_the_place_of_earlier_proofs_and_of_no_other_picture() {
    let shoot = Shoot::new().with("a.jpg", &still(ORANGE, 0));
    let words = ["frames", "--proofs", "looks", "--force", "a.jpg"];
    assert_eq!(shoot.run(&words).code, 0);
    let clf = "looks/a-proof-clf.png";
    let first = fs::read(shoot.path(clf)).unwrap();
    let less = shoot.run(&[&words[..], &["--strength", "50"]].concat());
    assert_eq!(less.code, 0, "{}", less.err);
    assert!(fs::read(shoot.path(clf)).unwrap() != first, "the earlier proof");
    let mine = sideways(BLUE, None);
    fs::write(shoot.path(clf), &mine).unwrap();
    let kept = shoot.run(&words);
    assert_eq!((kept.code, kept.out.as_str()), (1, ""), "before anything is read");
    assert!(kept.err.contains("a-proof-clf.png") && kept.err.contains("is a picture"));
    assert!(fs::read(shoot.path(clf)).unwrap() == mine);
    // Nor of a proof that is checked as a frame itself.
    fs::remove_file(shoot.path(clf)).unwrap();
    assert_eq!(shoot.run(&words).code, 0);
    let both = shoot.run(&["frames", "--proofs", "looks", "--force", "a.jpg", clf]);
    assert_eq!((both.code, both.out.as_str()), (1, ""));
    assert!(both.err.contains("is read in this run"), "{}", both.err);
}

#[test]
fn proofs_of_an_earlier_run_are_no_frames_of_the_shoot() {
    let shoot = Shoot::new().with("a.jpg", &still(ORANGE, 0));
    let words = ["frames", "--format", "json", "--proofs", "looks", "a.jpg"];
    assert_eq!(shoot.run(&words).code, 0);
    // A picture that is only called so is one.
    fs::write(shoot.path("b-proof-clf.png"), sideways(BLUE, None)).unwrap();
    let run = shoot.run(&["frames", "--format", "json", "--no-groups", "."]);
    assert_eq!((run.code, run.records().len()), (0, 2), "{}", run.out);
    assert!(run.err.contains("passed over in folders: 2 proofs of an earlier run"), "{}", run.err);
    let named = shoot.run(&["frames", "--format", "json", "--no-groups", "looks/a-proof-clf.png"]);
    assert_eq!((named.code, named.records().len(), named.err.as_str()), (0, 1, ""));
}

#[test]
fn a_pictures_correction_in_the_way_is_found_before_anything_is_read() {
    let shoot = Shoot::new().with("a.jpg", &still(ORANGE, 0)).with("card.jpg", &daylight_card());
    fs::create_dir(shoot.path("grade")).unwrap();
    let shoot = shoot.with("grade/a.clf", b"mine").with("grade/card.cc", b"mine");
    for words in [&["frames", "--each-frame", "a.jpg"][..], &["card", "card.jpg"]] {
        let run = shoot.run(&[words, &["--corrections", "grade"]].concat());
        assert_eq!((run.code, run.out.as_str()), (1, ""), "{words:?}");
        assert!(run.err.contains("there is such a file already"), "{}", run.err);
    }
    assert_eq!(files(&shoot, "grade"), ["a.clf", "card.cc"]);
}
