//! `mirecast frames` and `mirecast groups` from the outside.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod cli_common;
mod still_common;

use std::collections::HashSet;

use cli_common::{
    BLUE, NEUTRAL, ORANGE, Run, Shoot, boards, card, daylight_card, recorded, still, white_card,
};
use image::{DynamicImage, ImageFormat};
use serde_json::Value as Json;
use still_common::{Extras, encode};

/// Two lights, one come back to, beside what is no picture.
fn shoot() -> Shoot {
    let shoot = Shoot::new();
    std::fs::create_dir_all(shoot.path("day/later")).unwrap();
    std::fs::create_dir(shoot.path("day/.thumbnails")).unwrap();
    shoot
        .with("day/still-1.jpg", &still(NEUTRAL, 0))
        .with("day/still-2.jpg", &still(NEUTRAL, 2))
        .with("day/still-3.jpg", &still(ORANGE, 40))
        .with("day/still-10.jpg", &still(ORANGE, 42))
        .with("day/later/still-11.jpg", &still(NEUTRAL, 80))
        .with("day/notes.txt", b"Dear diary")
        .with("day/.thumbnails/still-1.jpg", b"no picture")
}

fn verdicts(records: &[Json]) -> Vec<(&str, &str)> {
    records.iter().filter_map(|r| Some((r["path"].as_str()?, r["verdict"].as_str()?))).collect()
}

#[test]
fn a_folder_is_walked_and_frames_are_judged_and_grouped() {
    let run = shoot().run(&["frames", "--format", "json", "day"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let records = run.records();
    assert_eq!(
        verdicts(&records),
        [
            ("day/still-1.jpg", "neutral"),
            ("day/still-2.jpg", "neutral"),
            ("day/still-3.jpg", "orange"),
            ("day/still-10.jpg", "orange"),
            ("day/later/still-11.jpg", "neutral"),
        ]
    );
    let groups: Vec<_> = records[..5].iter().map(|record| record["group"].as_u64()).collect();
    assert_eq!(groups, [1, 1, 2, 2, 1].map(Some));
    let totals: Vec<_> = records[5..].iter().map(|g| (&g["group"], &g["frames"])).collect();
    assert_eq!(totals, [(&1.into(), &3.into()), (&2.into(), &2.into())]);
    let cast = &records[2]["cast"];
    let [low, high] = [0, 1].map(|i| cast["mired_interval"][i].as_f64().unwrap());
    assert!(low < cast["mired"].as_f64().unwrap() && cast["mired"].as_f64().unwrap() < high);
    let [white, gains] = [&cast["white_linear_srgb"], &records[2]["gains"]];
    let channel = |of: &Json, i: usize| of[i].as_f64().unwrap();
    assert_eq!(channel(gains, 1), 1.0);
    for i in [0, 2] {
        let corrected = channel(white, i) * channel(gains, i) / channel(white, 1);
        assert!((corrected - 1.0).abs() < 0.01, "{white} {gains}");
    }
}

/// There are no results, so none are printed.
#[test]
fn what_holds_nothing_to_judge_by_is_undecided_with_its_reason() {
    let plain = |side: u32, colour: [u8; 3]| {
        let picture = image::RgbImage::from_pixel(side, side, image::Rgb(colour));
        encode(&DynamicImage::ImageRgb8(picture), ImageFormat::Png, Extras::default())
    };
    let shoot = Shoot::new()
        .with("a.png", &plain(64, [220, 150, 90]))
        .with("b.png", &plain(1, [90, 140, 210]))
        .with("c.png", &plain(64, [255; 3]));
    let run = shoot.run(&["frames", "--format", "json", "."]);
    let records = run.records();
    for (record, why) in records.iter().zip(["one even colour", "too little in it", "burnt out"]) {
        assert_eq!(record["verdict"], "undecided", "{record}");
        assert!(record["reason"].as_str().unwrap().starts_with(why), "{record}");
    }
    assert_eq!(records.len(), 3, "nothing says which group they belong to");
    let text = shoot.run(&["frames", "."]);
    text.assert_fits_the_page();
    let row = text.out.lines().find(|line| line.ends_with("  a.png")).unwrap();
    let row: Vec<_> = row.split_whitespace().collect();
    assert_eq!(row, ["undecided", "one", "even", "colour", "a.png"]);
}

#[test]
fn a_list_that_is_none_leaves_standard_output_empty() {
    let shoot = Shoot::new().with("zeros.jpg", &[0; 1 << 16]);
    std::fs::create_dir(shoot.path("folder")).unwrap();
    for list in ["folder", "zeros.jpg", "gone.txt"] {
        for how in [&["frames"][..], &["frames", "--no-groups"]] {
            let run = shoot.run(&[how, &["--files-from", list]].concat());
            assert_eq!((run.code, run.out.as_str()), (1, ""), "{list}");
            assert!(run.err.contains(&format!("{list}: cannot read the list of photos")));
        }
    }
}

#[test]
fn the_light_of_a_preset_and_its_opposite_are_told_apart() {
    let shoot =
        Shoot::new().with("blue.jpg", &still(BLUE, 0)).with("right.jpg", &still(NEUTRAL, 1));
    let records = shoot.run(&["frames", "--format", "json", "blue.jpg", "right.jpg"]).records();
    assert_eq!(verdicts(&records), [("blue.jpg", "blue"), ("right.jpg", "neutral")]);
    // The verdict is of the picture as it is: the balance only says where on the scale it lies.
    let tungsten = shoot.run(&["frames", "--format", "json", "--shot-at", "tungsten", "blue.jpg"]);
    let record = &tungsten.records()[0];
    assert_eq!(record["verdict"], "blue");
    assert_eq!(record["shot"]["balance"]["source"], "flag");
}

#[test]
fn the_tolerance_is_the_users() {
    let shoot = shoot();
    let verdict = |tolerance: &str| {
        let run =
            shoot.run(&["frames", "--format", "json", "--tolerance", tolerance, "day/still-3.jpg"]);
        run.records()[0]["verdict"].as_str().unwrap().to_owned()
    };
    assert_eq!(verdict("20,0.006"), "orange");
    assert_eq!(verdict("200,0.05"), "neutral");
}

#[test]
fn text_says_the_counts_the_groups_and_what_to_do() {
    let run = shoot().run(&["frames", "day"]);
    run.assert_fits_the_page();
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    assert!(run.out.starts_with("5 frames: 2 orange, 3 neutral.\n"), "{}", run.out);
    for said in [
        "on 2024-03-12",
        "09:00 to 10:20",
        "What next",
        "Group 2 came out strongly orange",
        "both frames",
        "Every frame, in day/",
    ] {
        assert!(run.out.contains(said), "{said}: {}", run.out);
    }
}

#[test]
fn the_listing_can_be_cut_and_sorted() {
    let shoot = shoot();
    let casts = shoot.run(&["frames", "--format", "json", "--only", "casts", "day"]).records();
    assert_eq!(verdicts(&casts).len(), 2);
    assert_eq!(casts.len(), 4, "groups are of all frames");
    let sorted = ["frames", "--format", "json", "--sort", "group", "day"];
    let records = shoot.run(&sorted).records();
    let names: Vec<_> = verdicts(&records).iter().map(|v| v.0).collect();
    assert_eq!(names[..3], ["day/still-1.jpg", "day/still-2.jpg", "day/later/still-11.jpg"]);
    let none = shoot.run(&["frames", "--only", "undecided", "day"]);
    assert!(!none.out.contains("still-1.jpg"), "{}", none.out);
}

#[test]
fn one_bad_file_does_not_stop_the_rest() {
    let shoot = shoot().with("day/empty.jpg", b"").with("day/text.png", b"Dear diary");
    let run = shoot.run(&["frames", "--format", "json", "day", "day/none.jpg"]);
    assert_eq!(run.code, 1);
    let records = run.records();
    let errors: Vec<_> = records
        .iter()
        .filter(|record| record.get("error").is_some())
        .map(|record| (record["path"].as_str().unwrap(), record["error"]["code"].as_str().unwrap()))
        .collect();
    let wanted = [
        ("day/empty.jpg", "empty"),
        ("day/text.png", "not-a-picture"),
        ("day/none.jpg", "missing"),
    ];
    assert_eq!(errors, wanted);
    assert!(records.iter().all(|record| record.get("status").is_none()));
    assert_eq!(verdicts(&records).len(), 5);
    assert!(run.err.contains("mirecast: day/empty.jpg: the file is empty"), "{}", run.err);
    let text = shoot.run(&["frames", "day"]);
    text.assert_fits_the_page();
    assert!(text.out.contains("2 could not be read"), "{}", text.out);
    let csv = shoot.run(&["frames", "--format", "csv", "day"]);
    assert_eq!((csv.code, csv.out.lines().count()), (1, 8));
}

#[test]
fn nothing_to_check_is_said() {
    let shoot = shoot();
    std::fs::create_dir(shoot.path("bare")).unwrap();
    for (words, said) in [
        (vec!["frames", "bare"], "no picture that is read in `bare`"),
        (vec!["frames", "--tolerance", "wide", "day"], "20,0.006"),
        (vec!["frames", "--shot-at", "tungstn", "day"], "did you mean `tungsten`?"),
        (vec!["groups", "day"], "mirecast frames --format json day > FILE"),
        (vec!["groups", "/dev/null"], "mirecast frames --format json"),
    ] {
        let run = shoot.run(&words);
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{words:?}: {}", run.err);
        assert!(run.err.contains(said), "{words:?}: {}", run.err);
    }
    let mut listed = shoot.command(&["frames", "--files-from", "-"]);
    listed.write_stdin("");
    assert_eq!(Run::of(listed).code, 2);
}

#[test]
fn a_list_may_name_files_and_folders() {
    let shoot = shoot();
    let mut listed = shoot.command(&["frames", "--format", "json", "--files-from", "-"]);
    listed.write_stdin("day/still-3.jpg\nday/later\n");
    let records = Run::of(listed).records();
    let names: Vec<_> = verdicts(&records).iter().map(|verdict| verdict.0).collect();
    assert_eq!(names, ["day/still-3.jpg", "day/later/still-11.jpg"]);
}

#[test]
fn against_a_card_frames_are_what_is_left_after_it() {
    let warm = recorded(&card(ORANGE.map(|v| 0.55 * v)), 1);
    let shoot = shoot().with("card.jpg", &warm).with("white.jpg", &white_card());
    let run = shoot.run(&["frames", "--format", "json", "--reference", "card.jpg", "day"]);
    assert_eq!((run.code, run.err.as_str()), (0, ""));
    let records = run.records();
    let verdicts: Vec<_> = verdicts(&records).iter().map(|verdict| verdict.1).collect();
    assert_eq!(verdicts, ["blue", "blue", "neutral", "neutral", "blue"]);
    let reference = &records[0]["reference"];
    assert_eq!(reference["path"], "card.jpg");
    assert!(reference["gains"][2].as_f64().unwrap() > 1.5, "{reference}");
    // The card's gains and the frame's together undo what the light did.
    let plain = shoot.run(&["frames", "--format", "json", "day"]).records();
    for i in [0, 2] {
        let both =
            reference["gains"][i].as_f64().unwrap() * records[2]["gains"][i].as_f64().unwrap();
        let alone = plain[2]["gains"][i].as_f64().unwrap();
        assert!((both / alone - 1.0).abs() < 0.01, "{both} {alone}");
    }
    let text = shoot.run(&["frames", "--reference", "card.jpg", "day"]);
    assert!(text.out.contains("balanced from the card in card.jpg"), "{}", text.out);
    assert!(text.out.contains("is to be balanced from it: multiply"), "{}", text.out);
    // What a group is to be multiplied by is for footage as it was shot.
    assert!(text.out.contains("card's part included"), "{}", text.out);
    let table = shoot.run(&["frames", "--format", "csv", "--reference", "card.jpg", "day"]);
    assert!(table.out.lines().nth(1).unwrap().contains(",card.jpg,"), "{}", table.out);

    // Frames at another balance are judged by themselves.
    let other = shoot.with("day/lamp.jpg", &recorded(&boards(NEUTRAL), 3));
    let run = other.run(&["frames", "--reference", "card.jpg", "day"]);
    assert!(run.out.contains("1 frame was judged without it"), "{}", run.out);

    for (card, said) in [("white.jpg", "Over-exposed"), ("none.jpg", "no such file")] {
        let run = other.run(&["frames", "--reference", card, "day"]);
        assert_eq!((run.code, run.out.as_str()), (1, ""), "{}", run.err);
        assert!(run.err.to_lowercase().contains(&said.to_lowercase()), "{}", run.err);
        assert!(run.err.contains(&format!("--reference: {card}")), "{}", run.err);
    }
}

#[test]
fn groups_follow_from_records_alone() {
    let shoot = shoot().with("day/empty.jpg", b"");
    let whole = shoot.run(&["frames", "--format", "json", "day"]);
    // Two machines, one of which did not group, and the frames in another order.
    let later = shoot.run(&["frames", "--format", "json", "--no-groups", "day/later"]);
    assert!(later.records().iter().all(|record| record["group"].is_null()));
    let first: String = whole
        .out
        .lines()
        .filter(|line| !line.contains("later"))
        .map(|line| format!("{line}\r\n"))
        .collect();
    let shoot = shoot
        .with("both.jsonl", format!("{first}\n{}", later.out).as_bytes())
        .with("whole.jsonl", whole.out.as_bytes());
    let mut again = shoot.command(&["groups", "--format", "json"]);
    again.write_stdin(whole.out.clone());
    assert_eq!(Run::of(again).out, whole.out, "what is grouped stays as it is");
    let sorted = |run: &Run| {
        let mut lines: Vec<_> = run.out.lines().map(str::to_owned).collect();
        lines.sort();
        lines
    };
    let joined = shoot.run(&["groups", "--format", "json", "both.jsonl"]);
    assert_eq!((joined.code, sorted(&joined)), (1, sorted(&whole)));
    for format in ["text", "csv"] {
        let direct = shoot.run(&["frames", "--format", format, "day"]);
        let records = shoot.run(&["groups", "--format", format, "whole.jsonl"]);
        assert_eq!(records.out, direct.out);
    }
}

#[test]
fn what_shells_put_before_records_is_no_part_of_them() {
    let shoot = shoot();
    let whole = shoot.run(&["frames", "--format", "json", "day"]).out;
    let wide: Vec<u8> = whole.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let shoot = shoot
        .with("marked.jsonl", &[b"\xef\xbb\xbf", whole.as_bytes()].concat())
        .with("wide.jsonl", &[b"\xff\xfe", wide.as_slice()].concat());
    let run = shoot.run(&["groups", "--format", "json", "marked.jsonl"]);
    assert_eq!((run.code, run.err.as_str(), &run.out), (0, "", &whole));
    let run = shoot.run(&["groups", "--format", "json", "wide.jsonl"]);
    assert!(run.code != 0 && run.err.contains("UTF-16"), "{}", run.err);
    assert_eq!(run.err.matches("wide.jsonl").count(), 1, "{}", run.err);
}

#[test]
fn a_photo_that_is_named_twice_counts_once() {
    let shoot = shoot();
    let once = shoot.run(&["frames", "--format", "json", "day"]);
    for (words, said) in [
        (&["day", "day/later"][..], "1 file was named more than once, and counts once."),
        (&["day", "day/../day"], "5 files were named more than once, and count once."),
        (&["day", "day/still-3.jpg", "./day/still-3.jpg"], "1 file was named more than once"),
    ] {
        let run = shoot.run(&[&["frames", "--format", "json"], words].concat());
        assert_eq!((run.code, &run.out), (0, &once.out), "{words:?}");
        assert!(run.err.contains(said), "{words:?}: {}", run.err);
    }
    let gone = shoot.run(&["frames", "--format", "json", "gone.jpg", "gone.jpg"]);
    assert_eq!(gone.out.lines().count(), 1, "{}", gone.out);

    let shoot = shoot.with("day.jsonl", once.out.as_bytes());
    let again = shoot.run(&["groups", "--format", "json", "day.jsonl", "day.jsonl"]);
    assert_eq!((again.code, &again.out), (0, &once.out));
    assert!(again.err.contains("5 records are of photos that were there before"), "{}", again.err);
    let dotted = once.out.replace(r#""path":""#, r#""path":"./"#);
    let shoot = shoot.with("dotted.jsonl", dotted.as_bytes());
    let again = shoot.run(&["groups", "--format", "json", "day.jsonl", "dotted.jsonl"]);
    assert_eq!((again.code, &again.out), (0, &once.out));
    // Another machine's photos of the same names are others.
    let other = once.out.replace("2024-03-12", "2024-03-13");
    let shoot = shoot.with("other.jsonl", other.as_bytes());
    let both = shoot.run(&["groups", "--format", "json", "day.jsonl", "other.jsonl"]);
    assert_eq!((verdicts(&both.records()).len(), both.err.as_str()), (10, ""));
}

#[test]
fn frames_of_two_record_files_that_name_no_camera_are_of_two_cameras() {
    let whole = shoot().run(&["frames", "--format", "json", "day"]);
    // What the cameras of two machines wrote: the same day, photos of other names.
    let records = |prefix: &str, camera: serde_json::Value| {
        let lines = whole.records().into_iter().filter(|record| record["path"].is_string());
        let lines = lines.map(|mut record| {
            let name = record["path"].as_str().unwrap().replace("day/", &format!("day/{prefix}"));
            record["path"] = name.into();
            if record["shot"].is_object() {
                record["shot"]["camera"] = camera.clone();
            }
            record.to_string() + "\n"
        });
        lines.collect::<String>()
    };
    // Whether any group has frames of both.
    let pooled = |camera: serde_json::Value, given: &[&str]| {
        let [a, b] = ["a-", "b-"].map(|prefix| records(prefix, camera.clone()));
        let shoot = Shoot::new()
            .with("a.jsonl", a.as_bytes())
            .with("b.jsonl", b.as_bytes())
            .with("both.jsonl", (a + &b).as_bytes());
        let run = shoot.run(&[&["groups", "--format", "json"], given].concat());
        let of = |prefix: &str| -> HashSet<u64> {
            let records = run
                .records()
                .into_iter()
                .filter(|record| record["path"].as_str().is_some_and(|path| path.contains(prefix)));
            records.filter_map(|record| record["group"].as_u64()).collect()
        };
        let (a, b) = (of("day/a-"), of("day/b-"));
        assert!(!a.is_empty() && !b.is_empty(), "{}", run.out);
        !a.is_disjoint(&b)
    };
    let none = serde_json::Value::Null;
    assert!(pooled("Camera A".into(), &["a.jsonl", "b.jsonl"]), "a camera that is named is one");
    assert!(pooled(none.clone(), &["both.jsonl"]), "one file is of one camera");
    assert!(!pooled(none, &["a.jsonl", "b.jsonl"]));
}

/// Records of frames of these casts, each sure within 25 mired; `taken` is when.
fn records_of(casts: &[f64], taken: impl Fn(usize) -> Json) -> String {
    let run = Shoot::new().with("a.jpg", &still(NEUTRAL, 0)).run(&[
        "frames",
        "--no-groups",
        "--format",
        "json",
        "a.jpg",
    ]);
    let like = run.records().remove(0);
    let record = |(index, mired): (usize, &f64)| {
        let mut record = like.clone();
        record["path"] = format!("stills/take-{index:02}.jpg").into();
        record["verdict"] = match mired {
            mired if *mired > 20.0 => "orange".into(),
            mired if *mired < -20.0 => "blue".into(),
            _ => "neutral".into(),
        };
        record["cast"]["mired"] = (*mired).into();
        record["cast"]["mired_interval"] = serde_json::json!([mired - 25.0, mired + 25.0]);
        record["shot"]["taken"] = taken(index);
        // Each of a view of its own: about half of the bits differ between any two.
        let mark = (1 + index as u128).wrapping_mul(0x9e37_79b9_7f4a_7c15_f39c_c060_5ced_c835);
        record["view"] = format!("{:028x}", mark >> 16).into();
        record.to_string() + "\n"
    };
    casts.iter().enumerate().map(record).collect()
}

#[test]
fn lights_in_no_order_are_not_called_neutral() {
    // From −60 to 60, whatever comes next.
    let casts: Vec<_> = (0..24).map(|i| f64::from(i * 11 % 24) * 120.0 / 23.0 - 60.0).collect();
    let same = |_| Json::from("2024-03-12T12:00:00");
    let shoot = Shoot::new()
        .with("none.jsonl", records_of(&casts, |_| Json::Null).as_bytes())
        .with("same.jsonl", records_of(&casts, same).as_bytes());
    for records in ["none.jsonl", "same.jsonl"] {
        let run = shoot.run(&["groups", "--corrections", "grade", records]);
        run.assert_fits_the_page();
        let said = run.out.split_whitespace().collect::<Vec<_>>().join(" ");
        for wanted in [
            "1 24 undecided",
            "since its 24 frames look like more than one light's, in an order that tells nothing",
            "the frames of group 1, 16 of which are called for a cast, each by its own cast \
             (frames --each-frame)",
            "Without times, groups are guesses",
        ] {
            assert!(said.contains(wanted), "{wanted} is not in {said}");
        }
        assert!(!said.contains("much surer") && !said.contains("hunting"), "{said}");
        let stands = said.contains("24 of 24 frames say one and the same time");
        assert_eq!(stands, records == "same.jsonl", "{said}");
    }
    let table = shoot.run(&["groups", "--format", "csv", "none.jsonl"]).out;
    let mut rows = csv::Reader::from_reader(table.as_bytes());
    let heads = rows.headers().unwrap().clone();
    let gain = heads.iter().position(|head| head == "group_gain_red").unwrap();
    assert!(rows.records().all(|row| row.unwrap()[gain].is_empty()));
    let group = shoot.run(&["groups", "--format", "json", "none.jsonl"]).records().pop().unwrap();
    assert!(group["gains"].is_null(), "{group}");
    assert_eq!(group["first"], "stills/take-00.jpg");
}

#[test]
fn lights_far_apart_in_no_order_are_parted() {
    let casts: Vec<_> = (0..20).map(|i| f64::from(i % 5) + [-60.0, 55.0][i as usize % 2]).collect();
    let run = Shoot::new()
        .with("a.jsonl", records_of(&casts, |_| Json::Null).as_bytes())
        .run(&["groups", "--format", "json", "a.jsonl"]);
    let groups: Vec<_> =
        run.records().into_iter().filter(|record| record["frames"] == 10).collect();
    let verdicts: Vec<_> = groups.iter().map(|group| group["verdict"].as_str().unwrap()).collect();
    assert_eq!(verdicts, ["blue", "orange"], "{}", run.out);
}

#[test]
fn a_frame_with_a_cast_in_a_group_without_one_is_counted_and_marked() {
    let mut casts = [2.0, -5.0, 4.0, 0.0, -3.0, 6.0, 1.0, -2.0, 3.0, -1.0];
    casts[4] = 70.0;
    let time = |index| Json::from(format!("2024-03-12T09:{index:02}:00"));
    let run = Shoot::new()
        .with("a.jsonl", records_of(&casts, time).as_bytes())
        .run(&["groups", "a.jsonl"]);
    run.assert_fits_the_page();
    let said = run.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let wanted = "1 frame is called for a cast by itself in group 1, which has none: no group's \
                  correction reaches it. Look at it; frames --each-frame corrects by a frame's own cast.";
    assert!(said.contains(wanted), "{said}");
    assert!(run.out.contains("     *1  take-04.jpg"), "{}", run.out);
    assert!(said.contains("* Looks otherwise than its group"), "{said}");
    assert!(!said.contains("much surer"), "it has an odd one: {said}");

    casts[4] = 32.0;
    let run = Shoot::new()
        .with("a.jsonl", records_of(&casts, time).as_bytes())
        .run(&["groups", "a.jsonl"]);
    let said = run.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let wanted = "in group 1, which has none and is much surer: no group's correction reaches it.";
    assert!(said.contains(wanted), "{said}");
}

#[test]
fn lines_that_are_no_records_are_named_and_passed_over() {
    let shoot = shoot();
    let whole = shoot.run(&["frames", "--format", "json", "day"]).out;
    let card = shoot.with("card.jpg", &daylight_card());
    let card_line = card.run(&["card", "--format", "json", "card.jpg"]).out;
    let long = "x".repeat((1 << 20) + 10);
    let mixed = format!("Dear diary\n{whole}\u{1b}[2J\n{card_line}{long}\n{{\"path\":1}}\n");
    let mut command = card.command(&["groups", "--format", "json"]);
    command.write_stdin(mixed);
    let run = Run::of(command);
    assert_eq!((run.code, &run.out), (1, &whole));
    let lines = whole.lines().count();
    for (number, said) in [
        (1, "not a JSON record"),
        (lines + 2, "not a JSON record"),
        (lines + 3, "not a frame's"),
        (lines + 4, "longer than any record"),
        (lines + 5, "not a frame's"),
    ] {
        let line = format!("mirecast: standard input, line {number}: ");
        assert!(run.err.lines().any(|l| l.starts_with(&line) && l.contains(said)), "{}", run.err);
    }
    assert!(!run.err.contains('\u{1b}'), "{}", run.err);
}

#[test]
fn a_table_in_place_of_records_is_told_once() {
    let shoot = shoot();
    let table = shoot.run(&["frames", "--format", "csv", "day"]).out;
    let records = shoot.run(&["frames", "--format", "json", "day"]).out;
    let again = format!("\u{feff}{}", table.replace(',', ";"));
    let shoot = shoot
        .with("day.csv", table.as_bytes())
        .with("again.csv", again.as_bytes())
        .with("day.jsonl", records.as_bytes());
    for name in ["day.csv", "again.csv"] {
        let run = shoot.run(&["groups", "--format", "json", name, "day.jsonl"]);
        assert_eq!((run.code, &run.out), (1, &records));
        let said = format!("mirecast: {name}: it is a table for a spreadsheet; groups reads what");
        assert!(run.err.starts_with(&said), "{}", run.err);
        assert_eq!(run.err.lines().count(), 1, "{}", run.err);
    }
    assert_eq!(shoot.run(&["groups", "day.csv"]).code, 2);
}

#[test]
fn the_order_of_files_changes_no_verdict_and_no_group() {
    let shoot = shoot();
    let sorted = |words: &[&str]| {
        let mut all = vec!["frames", "--format", "json"];
        all.extend(words);
        let mut lines: Vec<_> = shoot.run(&all).out.lines().map(str::to_owned).collect();
        lines.sort();
        lines
    };
    let forward =
        sorted(&["day/still-1.jpg", "day/still-2.jpg", "day/still-3.jpg", "day/still-10.jpg"]);
    let backward =
        sorted(&["day/still-10.jpg", "day/still-3.jpg", "day/still-2.jpg", "day/still-1.jpg"]);
    assert_eq!(forward, backward);
}

#[cfg(unix)]
#[test]
fn a_reader_that_has_seen_enough_ends_it_quietly() {
    use std::io::Read;
    use std::process::Stdio;
    let shoot = shoot();
    let copies: Vec<String> = (0..60).map(|n| format!("copy-{n}.jpg")).collect();
    for copy in &copies {
        std::fs::hard_link(shoot.path("day/still-1.jpg"), shoot.path(copy)).unwrap();
    }
    let mut child = shoot
        .program(&["frames", "--no-groups", "--format", "json"])
        .args(copies)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut start = [0; 100];
    child.stdout.take().unwrap().read_exact(&mut start).unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    assert_eq!(output.status.code(), Some(0));
}

#[test]
fn a_card_that_no_frame_fits_is_not_dropped_in_silence() {
    // The frames were shot at daylight.
    let lamp = recorded(&card([0.55; 3]), 3);
    let shoot = shoot().with("card.jpg", &lamp);
    let said = "mirecast: no frame was judged against the card in card.jpg: shot at another \
                balance (5). Photograph the card with the camera and at the balance of the \
                frames; where a file does not say its balance, --shot-at does.\n";
    for format in ["json", "text", "csv"] {
        let words = ["frames", "--format", format, "--reference", "card.jpg", "day"];
        let run = shoot.run(&words);
        assert_eq!((run.code, run.err.as_str()), (0, said), "{format}");
    }
    shoot.run(&["frames", "--report", "page.html", "--reference", "card.jpg", "day"]);
    let page = std::fs::read_to_string(shoot.path("page.html")).unwrap();
    assert!(page.contains("card.jpg, which no frame fits"), "{page}");
}

#[test]
fn what_is_no_list_of_records_is_named_in_a_sentence() {
    let shoot = shoot().with("card.jpg", &recorded(&card([0.55; 3]), 1));
    let cards = shoot.run(&["card", "--format", "json", "card.jpg"]).out;
    std::fs::write(shoot.path("cards.jsonl"), [cards.as_str(), &cards].concat()).unwrap();
    let said = |name: &str| {
        let run = shoot.run(&["groups", name]);
        assert_ne!(run.code, 0);
        run.err.lines().next().unwrap().to_owned()
    };
    assert_eq!(
        said("cards.jsonl"),
        "mirecast: cards.jsonl: these are records of mirecast card; groups reads what mirecast \
         frames --format json prints"
    );
    assert!(
        said("card.jpg").starts_with("mirecast: card.jpg: it is no list of records but a picture;")
    );
    assert_eq!(
        said("none.jsonl"),
        "mirecast: none.jsonl: cannot read the records: there is no such file. Check the name and \
         the folder"
    );
}

#[test]
fn a_balance_that_overrules_what_files_record_is_told() {
    let shoot = shoot();
    let said = |words: &[&str]| shoot.run(words).err;
    let line = "another balance than --shot-at says, which counts.";
    let err = said(&["frames", "--shot-at", "tungsten", "day"]);
    assert!(err.contains(line), "{err}");
    assert!(!said(&["frames", "--shot-at", "daylight", "day"]).contains(line));
    assert!(!said(&["frames", "day"]).contains(line));
}

#[test]
fn a_balance_after_a_photos_name_says_how_to_say_it() {
    let shoot = Shoot::new().with("a.jpg", &still(NEUTRAL, 0));
    let run = shoot.run(&["frames", "a.jpg@3200K"]);
    assert_eq!(run.code, 1, "{}", run.out);
    assert!(run.err.contains("for frames say it with --shot-at 3200K"), "{}", run.err);
}
