//! What may be typed to the bench: an input is made again, a finding is kept, seeds are added to.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use fuzz_lab::{Setting, input, target};

fn bench(words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fuzz-lab")).args(words).output().expect("starts")
}

fn said(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}

/// The input of a number, as the program makes it.
fn only(words: &[&str]) -> Vec<u8> {
    let output = bench(&[&["--only"], words].concat());
    assert!(output.status.success(), "{}", said(&output));
    output.stdout
}

fn text(path: &Path) -> &str {
    path.to_str().expect("UTF-8")
}

/// A program that there is none of: whatever is given to it ends wrong.
const NOWHERE: &str = "/no/such/program";

#[test]
fn an_input_is_made_again_by_its_target_seed_and_number() {
    let first = only(&["--target", "presets", "--seed", "7", "--from", "3"]);
    assert!(!first.is_empty());
    assert_eq!(only(&["--target", "presets", "--seed", "7", "--from", "3"]), first);
    for other in [
        ["--target", "presets", "--seed", "7", "--from", "4"],
        ["--target", "presets", "--seed", "8", "--from", "3"],
        ["--target", "gels", "--seed", "7", "--from", "3"],
    ] {
        assert_ne!(only(&other), first, "{other:?}");
    }
}

#[test]
fn what_makes_no_sense_is_refused_with_what_would() {
    for (words, wanted) in [
        (&["--target", "films"][..], "there is no target `films`; there are jpeg, png"),
        (&["--only"], "name its one --target"),
        (&["--only", "--target", "gels", "--target", "presets"], "name its one --target"),
        (&["--worker", "films"], "there is no target `films`"),
    ] {
        let output = bench(words);
        assert_eq!(output.status.code(), Some(2), "{words:?}");
        assert!(output.stdout.is_empty(), "{words:?}");
        assert!(said(&output).contains(wanted), "{words:?}: {}", said(&output));
    }
}

#[test]
fn a_target_is_fed_alone_and_from_the_number_that_is_named() {
    let output = bench(&["--target", "gels", "--seconds", "1", "--from", "1000000"]);
    let said = said(&output);
    assert!(output.status.success(), "{said}");
    let [line, ..] = said.lines().collect::<Vec<_>>()[..] else { panic!("nothing was said") };
    let inputs = line.strip_prefix("gels: ").and_then(|rest| rest.split(' ').next());
    let inputs: u64 = inputs.and_then(|n| n.parse().ok()).expect("a number of inputs");
    let slowest = line.split("(input ").nth(1).and_then(|rest| rest.split(')').next());
    let slowest: u64 = slowest.and_then(|n| n.parse().ok()).expect("a number");
    assert!(inputs > 0, "{line}");
    assert!((1_000_000..1_000_000 + inputs).contains(&slowest), "{line}");
    assert!(!said.contains("presets"), "{said}");
}

#[test]
fn what_something_was_found_with_is_kept_and_is_the_input_of_its_number() {
    let folder = tempfile::tempdir().expect("a folder");
    let keep = text(folder.path());
    let words = ["--target", "list", "--seed", "5", "--from", "20", "--program", NOWHERE];
    let output = bench(&[&words[..], &["--seconds", "1", "--keep", keep]].concat());
    let said = said(&output);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("list 20: Wrong: cannot start"), "{said}");
    let found = said.lines().filter(|line| line.contains(": Wrong: ")).count();
    assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), found, "{said}");
    let kept = fs::read(folder.path().join("list-5-20")).expect("kept");
    assert_eq!(only(&["--target", "list", "--seed", "5", "--from", "20"]), kept);
}

/// A folder with one more WebP file, within another; the marks in it are found again in inputs.
fn seeds() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let within = folder.path().join("more/of them");
    fs::create_dir_all(&within).expect("a folder");
    let content = [&b"RIFF\x68\0\0\0WEBPMARK\x58\0\0\0"[..], &MARK.repeat(8)].concat();
    fs::write(within.join("a.webp"), content).expect("writes");
    fs::write(within.join("notes.txt"), b"of no kind").expect("writes");
    let path = folder.path().to_path_buf();
    (folder, path)
}

const MARK: &[u8] = b"one of them";

#[test]
fn further_seeds_are_begun_with_as_well() {
    let (_held, path) = seeds();
    let holds = |bytes: &[u8]| bytes.windows(MARK.len()).any(|window| window == MARK);
    let setting = |folders| Setting { folders, program: NOWHERE.into() };
    let more = target("webp", &setting(vec![path.clone()])).expect("a target");
    let own = target("webp", &setting(Vec::new())).expect("a target");
    let made = |number| input("webp", more.as_ref(), 1, number);
    let number = (0..1000).find(|number| holds(&made(*number))).expect("one of a thousand");
    assert!(!(0..1000).any(|number| holds(&input("webp", own.as_ref(), 1, number))));
    let words = ["--target", "webp", "--from", &number.to_string()];
    assert!(!holds(&only(&words)));
    assert_eq!(only(&[&words[..], &["--seeds", text(&path)]].concat()), made(number));
}
