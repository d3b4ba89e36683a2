//! Files that are no photos and arguments that make no sense: each says what is wrong, none stops
//! the rest, none ends in a panic.

mod cli_common;
mod still_common;

use cli_common::{Shoot, daylight_card};
use image::ImageFormat;
use still_common::{Extras, encode, flat};

/// A PNG that says it is 30 000 pixels wide and high and holds next to nothing.
fn huge_png() -> Vec<u8> {
    let mut bytes = encode(&flat(1, 1, [200; 3]), ImageFormat::Png, Extras::default());
    // IHDR: width and height lie after the signature, the chunk's length and its type; the chunk's
    // checksum follows its 13 bytes (PNG, third edition, 11.2.1).
    bytes[16..20].copy_from_slice(&30_000_u32.to_be_bytes());
    bytes[20..24].copy_from_slice(&30_000_u32.to_be_bytes());
    let checksum = crc32(&bytes[12..29]);
    bytes[29..33].copy_from_slice(&checksum.to_be_bytes());
    bytes
}

/// CRC-32 (PNG, third edition, annex D).
fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0_u32, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            if crc & 1 == 1 { (crc >> 1) ^ 0xedb8_8320 } else { crc >> 1 }
        })
    })
}

#[test]
fn each_bad_file_has_its_own_error_and_the_others_are_read() {
    let whole = daylight_card();
    let shoot = Shoot::new()
        .with("good.jpg", &whole)
        .with("empty.jpg", b"")
        .with("text.jpg", b"Dear diary, today I photographed a white card.\n")
        .with("cut.jpg", &whole[..whole.len() / 2])
        .with("huge.png", &huge_png());
    std::fs::create_dir(shoot.path("folder")).unwrap();
    let cases = [
        ("missing.jpg", "missing", "no such file"),
        ("folder", "not-a-file", "a folder, not a file. Give the name of a photograph"),
        ("empty.jpg", "empty", "empty"),
        ("text.jpg", "not-a-picture", "JPEG, PNG, TIFF, WebP, JPEG XL or raw"),
        ("cut.jpg", "truncated", "cut short"),
        ("huge.png", "too-large", "30000"),
    ];
    let mut words = vec!["card", "--format", "json", "good.jpg"];
    words.extend(cases.iter().map(|(name, ..)| *name));
    words.push("good.jpg");
    let run = shoot.run(&words);
    assert_eq!(run.code, 1);
    assert!(!run.err.contains("panicked"), "{}", run.err);
    let records = run.records();
    assert_eq!(records.len(), cases.len() + 2);
    for (record, (name, code, word)) in records[1..].iter().zip(cases) {
        assert_eq!(record["path"], name);
        assert_eq!(record["status"], "failed", "{name}");
        assert_eq!(record["error"]["code"], code, "{name}");
        let message = record["error"]["message"].as_str().unwrap();
        assert!(message.contains(word), "{name}: {message}");
        assert!(run.err.contains(&format!("mirecast: {name}: {message}\n")), "{}", run.err);
    }
    for good in [&records[0], records.last().unwrap()] {
        assert_eq!(good["status"], "read");
    }

    words[2] = "text";
    let text = shoot.run(&words);
    text.assert_fits_the_page();
    let count = "8 photos: 2 good, 6 could not be read.";
    assert!(text.out.ends_with(&format!("\n{count}\n")), "{}", text.out);
}

#[test]
fn a_picture_of_one_pixel_is_no_card() {
    let pixel = encode(&flat(1, 1, [200, 199, 198]), ImageFormat::Png, Extras::default());
    let shoot = Shoot::new().with("pixel.png", &pixel);
    let run = shoot.run(&["card", "--format", "json", "pixel.png"]);
    assert_eq!(run.err, "");
    let records = run.records();
    assert_eq!((records.len(), records[0]["path"].as_str()), (1, Some("pixel.png")));
    assert!(records[0].get("error").is_none(), "the file itself is sound: {}", records[0]);
    assert_eq!(records[0]["status"], "refused");
    assert_eq!((run.code, &records[0]["card"]["problems"][0]["code"]), (1, &"not-found".into()));
}

#[cfg(unix)]
#[test]
fn a_hostile_file_name_is_shown_but_not_obeyed() {
    let name = "a\u{1b}[2J\n\u{202e}.jpg";
    let shoot = Shoot::new().with(name, &daylight_card());
    let text = shoot.run(&["card", name, "b\u{7}.jpg"]);
    text.assert_fits_the_page();
    assert!(text.out.starts_with("a\\u{1b}[2J\\n\\u{202e}.jpg: good"), "{}", text.out);
    assert!(text.err.starts_with("mirecast: b\\u{7}.jpg: there is no such"), "{}", text.err);
    let csv = shoot.run(&["card", "--format", "csv", name]);
    assert_eq!((csv.out.lines().count(), csv.out.contains('\u{1b}')), (2, false));
    let json = shoot.run(&["card", "--format", "json", name]);
    assert_eq!(json.records()[0]["path"], name, "JSON loses nothing");
}

#[cfg(unix)]
#[test]
fn a_file_name_that_is_not_unicode_is_read_and_recorded_in_full() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let shoot = Shoot::new();
    let name = OsStr::from_bytes(b"card-\xe9.jpg");
    if std::fs::write(shoot.folder().join(name), daylight_card()).is_err() {
        // Some file systems hold Unicode names only; then there is nothing to read.
        return;
    }
    let mut command = shoot.command(&["card", "--format", "json"]);
    command.arg(name);
    let record = &cli_common::Run::of(command).records()[0];
    assert_eq!(record["status"], "read");
    assert_eq!(record["path"], "card-\u{fffd}.jpg");
    assert_eq!(record["path_bytes"], "636172642de92e6a7067");
}

#[test]
fn wrong_usage_says_what_to_write_and_reads_nothing() {
    let shoot = Shoot::new()
        .with("good.jpg", &daylight_card())
        .with("typo.toml", b"[daylight]\nkelvin = 5500\n\n[cloudy]\nkelvn = 6500\n");
    for (words, said) in [
        (vec!["card"], "<PHOTO>"),
        (vec!["good.jpg"], "write: mirecast card good.jpg"),
        (vec!["card", "--area", "1,2,3", "good.jpg"], "1200,800,900,600"),
        (vec!["card", "--shot-at", "tungstn", "good.jpg"], "did you mean `tungsten`?"),
        (vec!["card", "--shot-at", "warm", "good.jpg"], "5600K,+0.003"),
        (vec!["card", "--shot-at", "900000K", "good.jpg"], "900000K"),
        (
            vec!["card", "--presets", "typo.toml", "good.jpg"],
            "typo.toml, line 5: there is no `kelvn`",
        ),
        (vec!["card", "--presets", "none.toml", "good.jpg"], "mirecast presets --write"),
        (vec!["presets", "--presets", "typo.toml"], "line 5"),
        (vec!["card", "--format", "xml", "good.jpg"], "text, json, csv"),
    ] {
        let run = shoot.run(&words);
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{words:?}: {}", run.err);
        assert!(run.err.contains(said), "{words:?}: {}", run.err);
    }
}
