//! `mirecast desk`: the same figures as the commands and the library, many at once, and a clean end.

#![cfg(feature = "desk")]
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod desk_common;

use std::io::Read;
use std::path::Path;
use std::thread;

use desk_common::{Served, printed, sample};
use mirecast::balance::{AsShot, PresetTable};
use mirecast::report::PhotoRecord;
use mirecast::still::{self, ReadOptions};
use mirecast::{CardOptions, Told, read_card};
use serde_json::Value;

/// Every card among the samples.
fn cards() -> Vec<String> {
    let folder = sample("card-raw.dng");
    let entries = std::fs::read_dir(folder.parent().unwrap()).unwrap();
    let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let mut cards: Vec<_> = names.filter(|name| name.starts_with("card-")).collect();
    cards.sort();
    assert!(cards.len() >= 10, "{cards:?}");
    cards
}

#[test]
fn the_page_the_command_and_the_library_say_the_same() {
    let desk = Served::start(&[]);
    let mut differing = 0;
    for (name, shot_at) in cards().iter().map(|name| (name, None)).chain([
        (&"card-auto-balance.jpg".to_owned(), Some("tungsten")),
        (&"card-window-fills-frame.jpg".to_owned(), Some("4300K,+0.002")),
    ]) {
        let bytes = std::fs::read(sample(name)).unwrap();
        let (status, answer) = desk.post("card", &[(name, shot_at, &bytes)]);
        assert_eq!(status, 200, "{name}: {answer}");
        let record = answer["record"].as_str().unwrap();
        let mut words = vec!["card", "--format", "json", name];
        words.extend(shot_at.iter().flat_map(|balance| ["--shot-at", balance]));
        // But for options, which nobody types on a page.
        let command = printed(&words);
        let [(own, advice), (others, typed)] = [record, command.trim_end()].map(split_advice);
        assert_eq!(own, others, "{name}: the command says otherwise");
        assert!(!advice.contains("--"), "{name}: {advice}");
        assert!(advice == typed || typed.contains("--"), "{name}: {advice} {typed}");
        differing += usize::from(advice != typed);

        // The command is the library's own figures; a few are enough to tell.
        if shot_at.is_none() && !name.ends_with(".dng") {
            continue;
        }
        let still = still::read_bytes(&bytes, &ReadOptions::default()).unwrap();
        let mut options = CardOptions::new(PresetTable::built_in().unwrap());
        options.told = Told::OnPage;
        options.shot_at = shot_at.map(|text| AsShot::stated(text, &options.presets).unwrap());
        let own = PhotoRecord::read(Path::new(name), read_card(&still, &options));
        let own = serde_json::to_string(&own).unwrap();
        assert_eq!(record, own, "{name}: the library says otherwise");
    }
    assert!(differing >= 1, "no card asks for its balance");
}

/// A card's record, and the advice at its end.
fn split_advice(record: &str) -> (&str, &str) {
    let at = record.find(",\"advice\":");
    at.map_or((record, ""), |at| record.split_at(at))
}

#[test]
fn set_ups_and_frames_are_the_commands_own() {
    let desk = Served::start(&[]);
    let names = ["card-window-fills-frame.jpg", "card-lamps-fills-frame.jpg"];
    let [a, b] = names.map(|name| std::fs::read(sample(name)).unwrap());
    let (status, answer) = desk.post("setups", &[(names[0], None, &a), (names[1], None, &b)]);
    assert_eq!(status, 200, "{answer}");
    let command = printed(&["setups", "--format", "json", names[0], names[1]]);
    assert_eq!(answer["record"].as_str().unwrap(), command.trim_end());

    let names = ["frame-bench-lamps-orange.jpg", "frame-studio-window-right.jpg"];
    let sealed = names.map(|name| {
        let bytes = std::fs::read(sample(name)).unwrap();
        let (status, answer) = desk.post("frame", &[(name, None, &bytes)]);
        assert_eq!(status, 200, "{answer}");
        answer["shown"].clone()
    });
    let body = serde_json::json!({"frames": sealed}).to_string();
    let (status, answer) = desk.post_bytes("frames", body.as_bytes());
    assert_eq!(status, 200, "{answer}");
    let records: Vec<_> =
        answer["records"].as_array().unwrap().iter().map(|r| r.as_str().unwrap()).collect();
    let command = printed(&["frames", "--format", "json", names[0], names[1]]);
    assert_eq!(records, command.lines().collect::<Vec<_>>());
}

/// The files in the archive of an answer, by name.
fn unpacked(answer: &Value) -> Vec<(String, Vec<u8>)> {
    use base64::Engine;
    let zip = answer["zip"].as_str().expect("something was made");
    let zip = base64::engine::general_purpose::STANDARD.decode(zip).unwrap();
    let archive = rawzip::ZipArchive::from_slice(&zip).unwrap();
    let mut entries = archive.entries();
    let mut files = Vec::new();
    while let Some(entry) = entries.next_entry().unwrap() {
        let data = archive.get_entry(entry.wayfinder()).unwrap();
        let decoder = flate2::read::DeflateDecoder::new(data.data());
        let mut bytes = Vec::new();
        data.verifying_reader(decoder).read_to_end(&mut bytes).unwrap();
        files.push((entry.file_path().try_normalize().unwrap().as_ref().to_owned(), bytes));
    }
    assert_eq!(answer["files"], files.len());
    files.sort();
    files
}

/// What a command writes into a folder of corrections, and the lines that it prints.
fn corrected(words: &[&str]) -> (Vec<(String, Vec<u8>)>, String) {
    let folder = tempfile::tempdir().unwrap();
    let into = folder.path().join("grade");
    let lines =
        printed(&[words, &["--format", "json", "--corrections", into.to_str().unwrap()]].concat());
    let entries = std::fs::read_dir(into).unwrap().map(|entry| entry.unwrap());
    let mut files: Vec<_> = entries
        .map(|entry| {
            (entry.file_name().into_string().unwrap(), std::fs::read(entry.path()).unwrap())
        })
        .collect();
    files.sort();
    (files, lines)
}

/// What is said in answer to what the command says with options.
fn as_on_a_page(line: &str) -> String {
    let words = [
        (": mirecast card CARD --corrections FOLDER", ""),
        ("give --each-frame", "correct each frame by itself"),
    ];
    let said = words.iter().fold(line.to_owned(), |line, (typed, seen)| line.replace(typed, seen));
    let mut parts = said.split("or give --strength ");
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |said, part| {
        let (percent, rest) = part.split_once('.').unwrap();
        format!("{said}or make only {percent} of the correction.{rest}")
    })
}

#[test]
fn saved_corrections_are_the_commands_own_files() {
    let desk = Served::start(&[]);
    let read = |what: &str, name: &str| {
        let (status, answer) =
            desk.post(what, &[(name, None, &std::fs::read(sample(name)).unwrap())]);
        assert_eq!(status, 200, "{answer}");
        answer
    };
    let ask = |wanted: Value| {
        let (status, answer) = desk.post_bytes("corrections", wanted.to_string().as_bytes());
        assert_eq!(status, 200, "{answer}");
        answer
    };
    let same = |answer: &Value, words: &[&str]| {
        let (files, lines) = corrected(words);
        assert!(!files.is_empty());
        assert_eq!(unpacked(answer), files, "{words:?}");
        let records = answer["records"].as_array().unwrap();
        let lines: Vec<_> = lines.lines().map(as_on_a_page).collect();
        assert_eq!(records.len(), lines.len());
        for (record, line) in records.iter().zip(lines) {
            let record: Value = serde_json::from_str(record.as_str().unwrap()).unwrap();
            let line: Value = serde_json::from_str(&line).unwrap();
            assert_eq!(record["correction"], line["correction"]);
        }
    };

    let cards = ["card-lamps-fills-frame.jpg", "card-auto-balance.jpg", "card-clipped.jpg"];
    let sealed = cards.map(|name| read("card", name)["sealed"].clone());
    let answer = ask(serde_json::json!({"footage": "rec709", "strength": "60", "cards": sealed}));
    let words = ["card", "--footage", "rec709", "--strength", "60"];
    same(&answer, &[&words[..], &cards[..]].concat());
    let section = answer["section"].as_str().unwrap();
    assert!(section.contains("the card cannot be balanced from"), "{section}");

    let frames = [
        "frame-bench-lamps-orange.jpg",
        "frame-kiln-strip-greenish.jpg",
        "frame-studio-window-right.jpg",
        "frame-wheel-window-blue.jpg",
    ];
    let sealed = frames.map(|name| read("frame", name)["sampled"].clone());
    let wanted = serde_json::json!({"footage": "srgb", "strength": "100", "frames": sealed});
    let answer = ask(wanted.clone());
    same(&answer, &[&["frames"][..], &frames[..]].concat());
    let section = answer["section"].as_str().unwrap();
    for words in ["Group 4", "It would clip", "or make only", "no sure cast beyond 20"] {
        assert!(section.replace('\u{a0}', " ").contains(words), "{words} is not in {section}");
    }
    let mut each = wanted;
    each["each_frame"] = true.into();
    same(&ask(each), &[&["frames", "--each-frame"][..], &frames[..]].concat());
}

#[test]
fn one_report_of_several_cards_is_the_commands_page() {
    let desk = Served::start(&[]);
    let names = ["card-lamps-fills-frame.jpg", "card-clipped.jpg", "card-window-fills-frame.jpg"];
    let sealed = names.map(|name| {
        let (_, answer) = desk.post("card", &[(name, None, &std::fs::read(sample(name)).unwrap())]);
        answer["sealed"].clone()
    });
    let body = serde_json::json!({"cards": sealed}).to_string();
    let (status, answer) = desk.post_bytes("cards", body.as_bytes());
    assert_eq!(status, 200, "{answer}");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("page.html");
    printed(&[&["card", "--report", file.to_str().unwrap()][..], &names[..]].concat());
    let command = std::fs::read_to_string(file).unwrap();
    assert!(command.contains(answer["section"].as_str().unwrap()), "{answer}");
}

#[test]
fn a_saved_report_is_the_commands_page_but_for_what_made_it() {
    let desk = Served::start(&[]);
    let name = "card-lamps-fills-frame.jpg";
    let bytes = std::fs::read(sample(name)).unwrap();
    let (_, answer) = desk.post("card", &[(name, None, &bytes)]);
    let part = |name: &str| answer[name].as_str().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("page.html");
    printed(&["card", "--report", file.to_str().unwrap(), name]);
    let command = std::fs::read_to_string(file).unwrap();
    let main = |page: &str| {
        let begin = page.find("<main>").unwrap();
        page[begin..page.rfind("</main>").unwrap()].to_owned()
    };
    let page = part("head").to_owned() + part("section") + part("tail");
    assert_eq!(main(&page), main(&command));
    assert!(part("tail").contains("mirecast desk"), "{}", part("tail"));
    assert!(part("head").contains("Content-Security-Policy"));
}

/// The most memory that a process has had, in MB.
fn peak_megabytes(id: u32) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{id}/status")).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(line.trim().trim_end_matches(" kB").parse::<u64>().ok()? / 1024)
}

/// A photo of a card, of so many pixels.
fn photo(width: u32, height: u32) -> Vec<u8> {
    let picture = image::RgbImage::from_fn(width, height, |x, y| {
        let [dx, dy] =
            [f64::from(x) / f64::from(width) - 0.5, f64::from(y) / f64::from(height) - 0.5];
        let falloff = 1.0 - 0.2 * (dx * dx + dy * dy);
        // A little grain, as cameras have, so that the file is as large as theirs.
        let grain =
            f64::from((x.wrapping_mul(2_654_435_761) ^ y.wrapping_mul(40_503)) >> 7 & 7) - 3.5;
        image::Rgb([206.0, 200.0, 188.0].map(|level| (level * falloff + grain) as u8))
    });
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Jpeg).unwrap();
    bytes.into_inner()
}

/// Sends fifty at once; returns the most memory that it took.
fn crowd(width: u32, height: u32) -> Option<u64> {
    let desk = Served::start(&[]);
    let photo = photo(width, height);
    thread::scope(|threads| {
        let sent = |number: usize| {
            let name = format!("card-{number}.jpg");
            let (status, answer) = desk.post("card", &[(&name, Some("5600K"), &photo)]);
            assert_eq!(status, 200, "{answer}");
            let record: Value = serde_json::from_str(answer["record"].as_str().unwrap()).unwrap();
            assert_eq!(record["path"], name.as_str());
            assert!(record["light"]["cct_kelvin"].is_number(), "{record}");
        };
        let sending: Vec<_> = (0..50).map(|number| threads.spawn(move || sent(number))).collect();
        assert_eq!(sending.into_iter().map(|thread| thread.join().unwrap()).count(), 50);
    });
    peak_megabytes(desk.id())
}

#[test]
fn fifty_uploads_at_once_are_all_answered_in_bounded_memory() {
    if let Some(megabytes) = crowd(1200, 900) {
        assert!(megabytes < 400, "{megabytes} MB");
    }
}

/// By hand: `cargo test --release --test cli_desk -- --ignored --nocapture`.
#[test]
#[ignore = "takes its time: fifty photos of twelve megapixels"]
#[expect(clippy::print_stderr, reason = "the figure is what it is run for")]
fn fifty_photos_of_twelve_megapixels_at_once() {
    let begun = std::time::Instant::now();
    let peak = crowd(4000, 3000);
    eprintln!("50 photos of 4000 × 3000 at once: {:?}, at most {peak:?} MB", begun.elapsed());
    assert!(peak.is_none_or(|megabytes| megabytes < 1200), "{peak:?} MB");
}

#[cfg(unix)]
#[test]
fn it_says_where_it_is_and_ends_cleanly() {
    let mut desk = Served::start(&[]);
    assert!(desk.url.starts_with("http://127.0.0.1:"), "{}", desk.url);
    assert!(desk.printed.lines().all(|line| line.chars().count() <= 80), "{}", desk.printed);
    assert!(desk.printed.contains("not kept"), "{}", desk.printed);
    let interrupt =
        std::process::Command::new("kill").args(["-INT", &desk.id().to_string()]).status().unwrap();
    assert!(interrupt.success());
    let (status, said) = desk.end();
    assert!(status.success(), "{status}");
    assert_eq!(said, "The desk is closed. Nothing was kept.\n");
}

/// Whoever presses Ctrl-C at the sight of the address ends it no less cleanly.
#[cfg(unix)]
#[test]
fn it_can_be_ended_as_soon_as_its_address_is_there() {
    use std::io::{BufRead, BufReader, Read};
    use std::process::{Command, Stdio};
    let mut desk = Command::new(env!("CARGO_BIN_EXE_mirecast"))
        .env("XDG_CONFIG_HOME", "/nowhere")
        .arg("desk")
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut out = BufReader::new(desk.stdout.take().unwrap());
    let mut said = String::new();
    while !said.contains("http://") {
        assert_ne!(out.read_line(&mut said).unwrap(), 0, "{said}");
    }
    let interrupt = Command::new("kill").args(["-INT", &desk.id().to_string()]).status().unwrap();
    assert!(interrupt.success());
    out.read_to_string(&mut said).unwrap();
    assert!(desk.wait().unwrap().success());
    assert!(said.ends_with("The desk is closed. Nothing was kept.\n"), "{said}");
}

#[test]
fn a_port_that_is_taken_is_said_with_what_to_do() {
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let port = taken.local_addr().unwrap().port().to_string();
    let run = std::process::Command::new(env!("CARGO_BIN_EXE_mirecast"))
        .env("XDG_CONFIG_HOME", "/nowhere")
        .args(["desk", "--port", &port])
        .output()
        .unwrap();
    let said = String::from_utf8(run.stderr).unwrap();
    assert_eq!(run.status.code(), Some(1), "{said}");
    // Text is broken into lines.
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("Address already in use. Another program has that port"), "{said}");
}
