//! Stills without a card: their casts, the lights that they share, and a correction for each light.
//!
//!     cargo run --example shoot -- sample-frames/frame-*.jpg

#![expect(clippy::print_stdout, clippy::print_stderr, reason = "a program prints")]

use std::error::Error;
use std::path::PathBuf;

use mirecast::balance::PresetTable;
use mirecast::frames::{FrameOptions, FrameReading, check_frame, group_frames};
use mirecast::grade::{Decision, Footage, GradeOptions, Strength, clf_file};
use mirecast::still::{self, ReadOptions};

fn main() -> Result<(), Box<dyn Error>> {
    let mut paths: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    if paths.is_empty() {
        paths.push("sample-frames/frame-bench-lamps-orange.jpg".into());
        paths.push("sample-frames/frame-wheel-window-blue.jpg".into());
    }
    let options = FrameOptions::new(PresetTable::built_in()?);
    // Made for frames: large JPEGs are read by their blocks, without being decoded.
    let reading = ReadOptions::default().for_frames();

    let mut read: Vec<(String, FrameReading)> = Vec::new();
    for path in &paths {
        match still::read(path, &reading) {
            Ok(still) => {
                read.push((path.display().to_string(), check_frame(&still, &options)));
            }
            // It names the file; the others are read all the same.
            Err(error) => eprintln!("{error}"),
        }
    }
    let frames: Vec<_> = read.iter().map(|(path, reading)| (path.as_str(), reading)).collect();
    let found = group_frames(&frames);
    for ((path, reading), group) in read.iter().zip(&found.group_of) {
        let cast = &reading.cast;
        println!("{path}: {} ({:+.0} mired), group {group}", reading.verdict, cast.mired);
    }
    let grade = GradeOptions::new(Footage::SRGB, Strength::default());
    for group in &found.groups {
        match Decision::of_group(group, &grade, &[]) {
            Decision::Correct(plan) => {
                let clf = clf_file(&plan)?;
                println!("Group {}: a correction in {} bytes of CLF", group.group, clf.len());
            }
            Decision::NotNeeded(why) | Decision::Refused(why) => {
                println!("Group {}: {why}", group.group);
            }
            // More may be decided in versions to come.
            _ => {}
        }
    }
    Ok(())
}
