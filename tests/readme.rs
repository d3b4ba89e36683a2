//! What the README shows is what the program prints.
//!
//! `MIRECAST_WRITE_README=1 cargo test --test readme` writes the README's output anew.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

use assert_cmd::Command;

const PROMPT: &str = "$ mirecast ";
const FENCE: &str = "```";

/// The README with the output of each `$ mirecast …` put in the place of what it shows.
fn run_again(readme: &str) -> (String, usize) {
    let mut fresh = String::new();
    let mut commands = 0;
    let folder = with_samples();
    let mut lines = readme.lines();
    while let Some(line) = lines.next() {
        fresh += line;
        fresh.push('\n');
        let Some(arguments) = line.strip_prefix(PROMPT) else { continue };
        commands += 1;
        let output = Command::cargo_bin("mirecast")
            .unwrap()
            .current_dir(folder.path())
            .env("NO_COLOR", "1")
            .env("XDG_CONFIG_HOME", folder.path().join(".config"))
            .args(arguments.split_whitespace().flat_map(expanded))
            .output()
            .unwrap();
        fresh += &String::from_utf8(output.stdout).unwrap();
        let end = lines.find(|line| line.starts_with(FENCE)).unwrap();
        fresh += end;
        fresh.push('\n');
    }
    (fresh, commands)
}

/// A folder of its own with the sample frames in it, so that what a command writes is not left behind.
fn with_samples() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let samples = folder.path().join("sample-frames");
    std::fs::create_dir(&samples).unwrap();
    for entry in std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/sample-frames")).unwrap() {
        let entry = entry.unwrap();
        std::fs::copy(entry.path(), samples.join(entry.file_name())).unwrap();
    }
    folder
}

/// The files that a pattern such as `folder/name-*.jpg` stands for in a shell, or the word itself.
fn expanded(word: &str) -> Vec<String> {
    let Some((start, end)) = word.split_once('*') else { return vec![word.to_owned()] };
    let folder = start.rsplit_once('/').map_or(".", |(folder, _)| folder);
    let entries = std::fs::read_dir(format!("{}/{folder}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let mut paths: Vec<_> = entries
        .map(|entry| format!("{folder}/{}", entry.unwrap().file_name().to_str().unwrap()))
        .filter(|path| path.starts_with(start) && path.ends_with(end))
        .collect();
    paths.sort();
    paths
}

#[test]
fn the_readme_shows_what_the_program_prints() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/README.md");
    let shown = std::fs::read_to_string(path).unwrap();
    let (fresh, commands) = run_again(&shown);
    assert!(commands >= 3, "the README shows only {commands} commands");
    if std::env::var_os("MIRECAST_WRITE_README").is_some() {
        std::fs::write(path, &fresh).unwrap();
    } else {
        assert!(shown == fresh, "the README is out of date; see the top of this test");
    }
}
