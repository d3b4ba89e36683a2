//! Runs the program on small photos of a card made on the spot.
#![allow(dead_code, reason = "each test program uses its own part of this module")]

use std::path::Path;

use assert_cmd::Command;
use exif::{Tag, Value};
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use serde_json::Value as Json;
use tempfile::TempDir;

use crate::still_common::{Extras, ascii, encode, exif_block, linear_to_srgb};

/// Where in a shoot's folder the user's own place is.
pub(crate) const CONFIG: &str = ".config";

/// A folder of photos, and the program run in it.
pub(crate) struct Shoot {
    folder: TempDir,
}

/// What a run gave.
pub(crate) struct Run {
    pub(crate) out: String,
    /// Each message in one line, as if the page had no edge.
    pub(crate) err: String,
    pub(crate) code: i32,
}

impl Shoot {
    pub(crate) fn new() -> Self {
        Self { folder: tempfile::tempdir().expect("a temporary folder") }
    }

    /// Puts a file in the folder.
    pub(crate) fn with(self, name: &str, content: &[u8]) -> Self {
        std::fs::write(self.path(name), content).expect("writes");
        self
    }

    pub(crate) fn path(&self, name: &str) -> std::path::PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// The program, about to run in the folder.
    pub(crate) fn command(&self, words: &[&str]) -> Command {
        Command::from_std(self.program(words))
    }

    /// The same with its ends free to be held.
    pub(crate) fn program(&self, words: &[&str]) -> std::process::Command {
        let mut command = std::process::Command::new(assert_cmd::cargo::cargo_bin!("mirecast"));
        command.current_dir(self.folder.path()).args(words);
        // The settings of whoever runs the tests are none of theirs.
        command.env("XDG_CONFIG_HOME", self.path(CONFIG));
        for variable in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE"] {
            command.env_remove(variable);
        }
        command
    }

    pub(crate) fn run(&self, words: &[&str]) -> Run {
        Run::of(self.command(words))
    }
}

/// Joins the lines that a message was broken into.
fn unbroken(said: &str) -> String {
    let mut text = String::new();
    let mut in_message = false;
    for line in said.split_inclusive('\n') {
        let goes_on = in_message && line.starts_with("  ");
        if goes_on {
            text.truncate(text.trim_end().len());
            text.push(' ');
        }
        in_message = goes_on || line.starts_with("mirecast: ");
        text.push_str(if goes_on { line.trim_start() } else { line });
    }
    text
}

impl Run {
    pub(crate) fn of(mut command: Command) -> Self {
        let output = command.output().expect("runs");
        Self {
            out: String::from_utf8(output.stdout).expect("UTF-8"),
            err: unbroken(&String::from_utf8(output.stderr).expect("UTF-8")),
            code: output.status.code().expect("was not killed"),
        }
    }

    /// The records of a JSON run.
    pub(crate) fn records(&self) -> Vec<Json> {
        self.out.lines().map(|line| serde_json::from_str(line).expect("a JSON line")).collect()
    }

    /// Fails if a line is wider than the page or holds a control character.
    #[track_caller]
    pub(crate) fn assert_fits_the_page(&self) {
        for line in self.out.lines() {
            assert!(line.chars().count() <= 80, "too wide: {line}");
            assert!(!line.chars().any(char::is_control), "{line:?}");
        }
    }
}

/// A card that fills the frame, of linear `rgb` at its brightest and darker toward the corners, with a
/// little of the colour noise that tells a photograph from one in black and white.
pub(crate) fn card(rgb: [f64; 3]) -> DynamicImage {
    let (width, height) = (240, 160);
    RgbImage::from_fn(width, height, |x, y| {
        let [dx, dy] = [f64::from(x) / 240.0 - 0.5, f64::from(y) / 160.0 - 0.5];
        let falloff = 1.0 - 0.3 * (dx * dx + dy * dy);
        let [r, g, b] = rgb.map(|v| (linear_to_srgb((v * falloff).min(1.0)) * 255.0).round() as u8);
        if (x + y) % 2 == 0 {
            Rgb([r.saturating_add(1), g, b.saturating_sub(1)])
        } else {
            Rgb([r.saturating_sub(1), g, b.saturating_add(1)])
        }
    })
    .into()
}

/// A well exposed neutral card whose file says that it was shot at the daylight preset.
pub(crate) fn daylight_card() -> Vec<u8> {
    recorded(&card([0.55; 3]), 1)
}

/// A well exposed neutral card whose file says nothing.
pub(crate) fn silent_card() -> Vec<u8> {
    encode(&card([0.55; 3]), ImageFormat::Jpeg, Extras::default())
}

/// A card burnt out to white.
pub(crate) fn white_card() -> Vec<u8> {
    recorded(&card([3.0; 3]), 1)
}

/// A JPEG with an Exif LightSource.
pub(crate) fn recorded(image: &DynamicImage, light_source: u16) -> Vec<u8> {
    let exif = exif_block(&[
        (Tag::LightSource, Value::Short(vec![light_source])),
        (Tag::WhiteBalance, Value::Short(vec![1])),
    ]);
    encode(image, ImageFormat::Jpeg, Extras::exif(exif))
}

pub(crate) const NEUTRAL: [f64; 3] = [1.0, 1.0, 1.0];
/// What a lamp does to a picture balanced for daylight, and the sky to one balanced for a lamp.
pub(crate) const ORANGE: [f64; 3] = [1.0, 0.62, 0.30];
pub(crate) const BLUE: [f64; 3] = [0.42, 0.72, 1.0];

/// Painted boards of many colours, some of them grey, in a light of linear `rgb`.
pub(crate) fn boards(rgb: [f64; 3]) -> DynamicImage {
    const SIDE: u32 = 20;
    let mut state = 1_u32;
    let mut next = move || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(state >> 16) / 65_536.0
    };
    let colours: Vec<[f64; 3]> = (0..12 * 8)
        .map(|_| {
            let grey = 0.05 + 0.7 * next();
            let strength = if next() < 0.4 { 0.0 } else { 0.5 };
            [next(), next(), next()].map(|v| grey * (1.0 + strength * (v - 0.5)))
        })
        .collect();
    RgbImage::from_fn(12 * SIDE, 8 * SIDE, |x, y| {
        let colour = colours[(y / SIDE * 12 + x / SIDE) as usize];
        let light = |i: usize| linear_to_srgb((colour[i] * rgb[i] * 0.9).min(1.0)) * 255.0;
        Rgb([0, 1, 2].map(|i| light(i).round() as u8))
    })
    .into()
}

/// Such a picture as a camera's file, taken so many minutes after nine at the daylight preset.
pub(crate) fn still(rgb: [f64; 3], minute: u32) -> Vec<u8> {
    still_of(&boards(rgb), minute)
}

/// Any picture as such a file.
pub(crate) fn still_of(picture: &DynamicImage, minute: u32) -> Vec<u8> {
    let time = format!("2024:03:12 {:02}:{:02}:00", 9 + minute / 60, minute % 60);
    let exif = exif_block(&[
        (Tag::LightSource, Value::Short(vec![1])),
        (Tag::WhiteBalance, Value::Short(vec![1])),
        (Tag::DateTimeOriginal, ascii(&time)),
        (Tag::Model, ascii("Camera A")),
    ]);
    encode(picture, ImageFormat::Jpeg, Extras::exif(exif))
}
